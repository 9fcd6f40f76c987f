"""What is answered about a show: what another one changes, and which song costs most."""

from __future__ import annotations

from typing import ClassVar

import attrs

from knobpack.allocation import Tier
from knobpack.clash import Clash
from knobpack.definition.phrases import PRIORITIES, many
from knobpack.errors import Stopped
from knobpack.reasons.answer_graph import Answer
from knobpack.show.answer import ShowAllocation
from knobpack.show.prices import PARTS, SHOW_TIERS, ShowPrices, SongLoads
from knobpack.text.shown import Fielded
from knobpack.words.demand import sentences_of
from knobpack.words.names import knob_told, knobs_told, listed

MOST_MOVES = 8
"""Moves that sentences name, at most."""


LESS_AND_MORE = {
    "unplaced": ("less left out", "more left out"),
    "bundles": ("less parted", "more parted"),
    "independence": ("fewer snapshots broken", "more snapshots broken"),
    "relearning": ("less to relearn", "more to relearn"),
    "moves": ("less moved from song to song", "more moved from song to song"),
    "sharing": ("knobs shared better", "knobs shared worse"),
    "travels": ("less turned from song to song", "more turned from song to song"),
    "change": ("fewer routes changed", "more routes changed"),
    "layout": ("better places on the panel", "worse places on the panel"),
}
"""What it is called that a tier comes to less, and to more."""


@attrs.frozen
class MovedInSong(Fielded):
    """A destination that is elsewhere in one song.

    Args:
        song: the name of the song.
        destination: its full name there.
        before: the knob it was on; None: it was left out.
        after: the knob it is on; None: it is left out.
    """

    song: str
    destination: str
    before: str | None
    after: str | None

    def __str__(self) -> str:
        was = "nowhere" if self.before is None else knob_told(self.before)
        now = "nowhere" if self.after is None else knob_told(self.after)
        return f"{self.destination} in '{self.song}' from {was} to {now}"


@attrs.frozen
class SetAnew(Fielded):
    """How many routes are to be programmed in one song.

    Args:
        song: the name of the song.
        routes: those that are on another knob, or over another travel, than they were; in a song
            that is new, than where it is programmed already, so of a Request all.
        new: whether it is.
    """

    song: str
    routes: int
    new: bool

    def __str__(self) -> str:
        return f"{self.routes:,} in '{self.song}'"


@attrs.frozen
class LeftOut(Fielded):
    """What is left out of a song and was not before.

    Args:
        song: the name of the song.
        destination: its full name there.
    """

    song: str
    destination: str


_WHOSE = {"roles": "all of {}", "kinds": "{} of any voice"}
"""What a role and a kind are called beside destinations."""


@attrs.frozen
class ThingChange(Fielded):
    """What one thing counts in a part of a tier, in one show and in another.

    Args:
        what: a destination, a role or a kind; what moves with the song to which it does.
        knobs: the knobs that it is found on in the other show, if it is a destination.
        priority: the highest that a song gives it, if it is a destination.
        was: its points.
        now: its points in the other show.
        of: what is counted, such as ``destinations``.
    """

    what: str
    knobs: tuple[str, ...]
    priority: int | None
    was: int
    now: int
    of: str = "destinations"

    def __str__(self) -> str:
        whose = _WHOSE.get(self.of, "{}").format(self.what)
        where = f" on {knobs_told(self.knobs)}" if self.knobs else ""
        rank = f"{PRIORITIES[self.priority - 1]}, " if self.priority else ""
        return f"{whose}{where} ({rank}{abs(self.now - self.was):,})"


@attrs.frozen
class PartChange(Fielded):
    """What a tier in parts counts, in one show and in another.

    Args:
        tier: ``relearning`` or ``moves``.
        what: what is counted, such as ``destinations``.
        was: how much that comes to.
        now: how much it comes to in the other show.
        terms: what it is made up of, as far as that is not the same in both.
        known: whether the knobs count, too, where the hand knows it to be at home.
    """

    tier: str
    what: str
    was: int
    now: int
    terms: tuple[ThingChange, ...] = ()
    known: bool = False

    @property
    def sentences(self) -> tuple[str, ...]:
        """What makes the difference, in one sentence."""
        home = " (those at home count too)" if self.known else ""
        more, fewer = f"found on more knobs{home}", f"found on fewer knobs{home}"
        if self.tier == "moves":
            more, fewer = "elsewhere than in the song before", "no longer elsewhere"
        told = [
            f"{head}: {listed(list(map(str, those)), MOST_MOVES)}"
            for head, those in (
                (more, [each for each in self.terms if each.now > each.was]),
                (fewer, [each for each in self.terms if each.now < each.was]),
            )
            if those
        ]
        text = "; ".join(told)
        return (f"{text[:1].upper()}{text[1:]}.",) if told else ()


def part_changes(one: ShowAllocation, other: ShowAllocation) -> tuple[PartChange, ...]:
    """What the tiers in parts count in two shows, part by part.

    Args:
        one: a show laid out.
        other: the other one.
    """
    things = {f"{thing.role}/{thing.name}": thing for thing in other.things}
    known = any(song.known for song in (*one.show.songs, *other.show.songs))
    found = []
    for tier in PARTS:
        counts = (each.prices.parts(tier) for each in (one, other))
        for (part, was), (_, now) in zip(*counts, strict=True):
            before, after = (_terms(each.prices, tier, part) for each in (one, other))
            terms = []
            for what in {**before, **after}:
                old, new, thing = before.get(what, 0), after.get(what, 0), things.get(what)
                if old != new:
                    knobs, rank = (thing.knobs, thing.priority) if thing else ((), None)
                    terms.append(ThingChange(what, knobs, rank, old, new, part))
            found.append(PartChange(tier, part, was, now, tuple(terms), known))
    return tuple(found)


def _terms(prices: ShowPrices, tier: str, part: str) -> dict[str, int]:
    """What each thing counts in a part of a tier."""
    if tier == "relearning":
        return {each.what: each.points for each in prices.relearned if f"{each.of}s" == part}
    return {
        f"{each.role} in '{each.after}'": each.bundles if part == "bundles" else each.points
        for each in prices.shifts
    }


@attrs.frozen
class ShowDifference(Answer):
    """What another show changes.

    Args:
        asked: what is otherwise, in words.
        before: the tiers of the show as it is laid out; of a song that is put in or dropped, what
            it costs by itself is put to it or taken from it.
        after: those of the other show; none where a song of it has no layout.
        moved: what is elsewhere in the songs of both.
        allocation: the other show laid out; None where a song of it has no layout.
        clash: why not; None where it has.
        parts: what the tiers in parts count, in both.
        out: what is left out and was not before.
        anew: the songs in which routes are to be programmed.
        freed: the songs that are programmed and might be laid out anew for it.
        along: what is elsewhere too, as one knob drove it with what was asked about.
        beside: what else would be on the knob that was asked about.
        joined: the song that was asked about, if more of it would share knobs than in the show may.
        song: the song that has no layout; None where all have one.
    """

    question: ClassVar[str] = "show difference"

    asked: str
    before: tuple[Tier, ...]
    after: tuple[Tier, ...] = ()
    moved: tuple[MovedInSong, ...] = ()
    allocation: ShowAllocation | None = attrs.field(default=None, repr=False)
    clash: Clash | None = None
    parts: tuple[PartChange, ...] = ()
    out: tuple[LeftOut, ...] = ()
    anew: tuple[SetAnew, ...] = ()
    freed: tuple[str, ...] = ()
    along: tuple[str, ...] = ()
    beside: tuple[str, ...] = ()
    joined: SongLoads | None = None
    song: str | None = None

    @property
    def deciding(self) -> str | None:
        """The first tier that is not the same; None: all are, or there is no other layout."""
        pairs = zip(self.before, self.after, strict=False)
        return next((one.name for one, other in pairs if one.value != other.value), None)

    @property
    def stopped(self) -> Stopped | None:
        """What cut the search short before the difference was proven; None: nothing did."""
        return None if self.proven or self.allocation is None else self.allocation.stopped

    @property
    def proven(self) -> bool:
        """Whether the difference is proven: the deciding tier and all before it, on both sides."""
        order = SHOW_TIERS[: SHOW_TIERS.index(self.deciding or SHOW_TIERS[-1]) + 1]
        return all(tier.proven for tier in (*self.before, *self.after) if tier.name in order)

    @property
    def gain(self) -> tuple[int, ...]:
        """How much less each tier comes to, *relearning* and *moves* in their parts.

        More of it counts before any of the next. Empty: a song has no layout.
        """
        parts = {tier: [p.was - p.now for p in self.parts if p.tier == tier] for tier in PARTS}
        tiers = zip(self.before, self.after, strict=False)
        found = (parts.get(was.name) or [was.value - now.value] for was, now in tiers)
        return tuple(each for several in found for each in several)

    @property
    def routes_anew(self) -> int:
        """How many routes are to be programmed in all songs."""
        return sum(each.routes for each in self.anew)

    @property
    def sentences(self) -> tuple[str, ...]:
        """What it costs or saves and what makes that up, what moves, then what is programmed."""
        if self.clash is not None:
            return self.costs
        moves = () if self.anew and not self.moved else self.moves
        return (*self.costs, *moves, *self.programmed)

    @property
    def programmed(self) -> tuple[str, ...]:
        """What is to be programmed, in one sentence; none where nothing is."""
        if not self.anew:
            return ()
        to = "is" if self.routes_anew == 1 else "are"
        told = listed(list(map(str, self.anew)))
        return (f"{many(self.routes_anew, 'route')} {to} to be programmed: {told}.",)

    @property
    def costs(self) -> tuple[str, ...]:
        """What it costs or saves, and what makes that up."""
        if self.clash is not None:
            demands = "; ".join(sentences_of(self.clash.demands))
            none = f"{self.asked}: no layout is possible for '{self.song}'"
            return (f"{none}, as these clash: {demands}.",)
        proven = ", proven" if self.proven else "; that is not proven"
        tier, asked, more = self.deciding, f"{self.asked}: ", tuple[str, ...]()
        if self.joined is not None:
            over, song = self.joined.over, f"'{self.joined.song}'"
            more = (
                f"{asked}{song} would have {over:,} more share a knob than it needs to.",
                "That counts before what songs have alike: laid out to match, it has it elsewhere.",
            )
            asked = "Beside that: "
        if tier is None:
            return (*more, f"{asked}neither better nor worse{proven}.")
        at = SHOW_TIERS.index(tier)
        was, now = self.before[at].value, self.after[at].value
        first = next((p for p in self.parts if p.tier == tier and p.was != p.now), None)
        if first is not None:
            was, now = first.was, first.now
        # What is elsewhere than most of the time is told, whatever decides.
        spread = (p for p in self.parts if (p.tier, p.what) == ("relearning", "destinations"))
        told = dict.fromkeys([*([first] if first else []), *spread])
        terms = (line for part in told for line in part.sentences)
        what = f"{LESS_AND_MORE[tier][now > was]} ({many(now, 'point')}, not {was:,})"
        return (*more, f"{asked}{what}{proven}.", *terms)

    @property
    def moves(self) -> tuple[str, ...]:
        """What is elsewhere, what of it goes along and what shares a knob with it."""
        if not self.moved:
            return ("No route moves.",)
        told = listed(tuple(map(str, self.moved)), MOST_MOVES)
        found = [f"{many(len(self.moved), 'route')} elsewhere: {told}."]
        if self.along:
            go, of = ("go", "all of them") if self.along[1:] else ("goes", "both")
            found.append(f"{listed(self.along)} {go} along, as one knob drove {of}.")
        if self.beside:
            found.append(f"There it would share a knob with {listed(self.beside)}.")
        return tuple(found)
