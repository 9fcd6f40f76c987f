"""The answer: every song of a show laid out, checked, and what the show costs."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import cached_property
from typing import ClassVar

import attrs

from knobpack.allocation import Allocation, Tier
from knobpack.allocation.records import Tiered
from knobpack.definition.phrases import TIER_WORDS, first_of, many
from knobpack.errors import Stopped
from knobpack.questions import AskedElsewhere, AskedOfShow
from knobpack.setups.missed_travels import MissedTravel, alarming_in
from knobpack.setups.undriven import missed_of, undriven_in
from knobpack.sheets import PatchSheet
from knobpack.show.asked import asked_of
from knobpack.show.definition import joined_in, things_of
from knobpack.show.faults import broken_told, faults_told
from knobpack.show.jumps import SongJumps, song_jumps
from knobpack.show.page import show_page
from knobpack.show.prices import (
    PARTS,
    SHOW_TIERS,
    SeveralTravels,
    ShowDestination,
    ShowPrices,
    SongLoads,
    several_travels,
)
from knobpack.show.setups import (
    alarms_told,
    essential_moves_told,
    idle_in_songs,
    programmed,
    sheets_between,
    song_setup,
    undriven_in_songs,
)
from knobpack.show.song import Show, Song, song_name
from knobpack.text.shown import Told, counted, html_list, html_table
from knobpack.words import Setup
from knobpack.words.fields import check_kind, check_named
from knobpack.words.names import knob_told, listed

SHOW_TIER_WORDS = TIER_WORDS | {
    "relearning": "to be relearned",
    "moves": "moved from song to song",
    "travels": "turned from song to song",
}
"""What each tier of a show is about."""

PART_WORDS = {
    "bundles": "what one knob drove together",
    "destinations": "destinations",
    "roles": "voices",
    "kinds": "kinds of destination",
}
"""What each part of a tier counts."""


_WHETHER = {
    "unplaced": "less can be left out",
    "bundles": "less can be parted",
    "independence": "fewer snapshots can be broken",
    "relearning": "less has to be relearned",
    "moves": "less can move from song to song",
    "sharing": "knobs can be shared better",
    "travels": "less can be turned from song to song",
    "change": "fewer routes can change",
    "layout": "places on the panel can be better",
}
"""What is not known of a tier that is not proven."""


@attrs.frozen
class ShowAllocation(Told, AskedOfShow, AskedElsewhere, Tiered):
    """A whole show laid out, checked, with what it costs and how far that is proven best.

    Args:
        show: what was asked.
        songs: how each song is laid out, in playing order. Bounds of its tiers are those that it
            has alone.
        alone: what each song is like when it is laid out by itself; of a song that stays as it is,
            as it is.
        tiers: value, bound and proof of every tier of the show, the most important first. Where a
            tier counts several things, each before all of the next (relearning and moves), its
            value is one large number of them all: ``points`` tells them one by one.
        prices: the cost of the tiers that are the show's own, term by term.
        more_joined: how many loads more than alone might share a knob in each song.
        stopped: what cut the search short; None if nothing did.
    """

    question: ClassVar[str] = "show"

    show: Show = attrs.field(repr=False)
    songs: tuple[Allocation, ...] = attrs.field(repr=counted)
    alone: tuple[Allocation, ...] = attrs.field(repr=False)
    tiers: tuple[Tier, ...]
    prices: ShowPrices = attrs.field(repr=False)
    more_joined: int = 0
    stopped: Stopped | None = None

    def song(self, name: str | Song) -> Allocation:
        """How one song is laid out.

        Args:
            name: a song, or its name.

        Returns:
            Its allocation.

        Raises:
            InputError: the show has no such song.
        """
        return self.laid[self._named("song", name)]

    def _named(self, method: str, name: str | Song) -> str:
        where, right = f"ShowAllocation.{method}.name", "name a song of the show"
        return check_named(where, song_name(name), self.laid, right)

    @cached_property
    def laid(self) -> dict[str, Allocation]:
        """How each song is laid out, by its name."""
        return dict(zip((song.name for song in self.show.songs), self.songs, strict=True))

    @cached_property
    def things(self) -> tuple[ShowDestination, ...]:
        """Every destination of the show, and where it is found in each song that asks for it."""
        return things_of(asked_of(self.show), [song.layout for song in self.songs])

    @property
    def joined(self) -> tuple[SongLoads, ...]:
        """How many loads share knobs in each song, and how many may."""
        return joined_in(self.songs, self.alone, self.show, self.more_joined)

    @property
    def wandering(self) -> tuple[ShowDestination, ...]:
        """What is found on more than one knob over the show, the most important first."""
        spread = [thing for thing in self.things if len(thing.knobs) > 1]
        return tuple(sorted(spread, key=lambda thing: (thing.priority, -len(thing.knobs))))

    @property
    def essential_out(self) -> tuple[str, ...]:
        """What is essential (priority 1) and left out, each behind the name of its song."""
        return tuple(
            f"{song.name}: {name}"
            for song in self.show.songs
            for name in (*self.laid[song.name].essential_out, *_undriven(song))
        )

    @property
    def several_travels(self) -> tuple[SeveralTravels, ...]:
        """What goes over another travel in some songs than in most, the other way first."""
        return several_travels(self.things)

    @property
    def jumps(self) -> SongJumps:
        """What jumps from one song to the next while the master stands still."""
        return song_jumps(self)

    @property
    def alarming(self) -> dict[str, tuple[MissedTravel, ...]]:
        """What is alarming of travels in each song, unlike before or what it wants."""
        return {
            song.name: alarming_in(programmed(song), self.setup(song.name))
            for song in self.show.songs
        }

    @property
    def alarm_sentences(self) -> tuple[str, ...]:
        """That of the songs that do not stay as they are, and so are to be told of it first."""
        stay = {song.name for song in self.show.songs if song.pinned}
        return alarms_told({song: each for song, each in self.alarming.items() if song not in stay})

    @property
    def out_sentences(self) -> tuple[str, ...]:
        """What each song leaves out, and what is essential and was driven by no knob before."""
        out = ((name, laid.unplaced) for name, laid in self.laid.items())
        before = undriven_in_songs({song.name: _undriven(song) for song in self.show.songs})
        return (*(f"'{name}' leaves {listed(left)} out." for name, left in out if left), *before)

    @property
    def fault_sentences(self) -> tuple[str, ...]:
        """What cannot work, or does nothing, in songs that are played with setups."""
        names = (song.name for song in self.show.songs if isinstance(song.played, Setup))
        setups = {name: self.setup(name) for name in names}
        return (*broken_told(setups), *faults_told(setups))

    @property
    def travel_sentences(self) -> tuple[str, ...]:
        """What the master moves the other way in some songs, then what it moves otherwise."""
        found = self.several_travels
        turned = [f"{each}." for each in found if each.turned_round]
        rest = [name for each in found if not each.turned_round for name in each.destinations]
        told = first_of(turned, "line more", " of what goes the other way in some songs")
        if rest:
            told.append(f"Over another travel in some songs: {listed(rest)}.")
        return tuple(told)

    def setup(self, name: str | Song) -> Setup:
        """One song as a setup: what is programmed.

        Args:
            name: a song, or its name.

        Returns:
            The setup, called as the song; of a setup that was programmed, all but its routes and
            travels is as it was, its name too.

        Raises:
            InputError: the show has no such song.
        """
        called = self._named("setup", name)
        song = next(each for each in self.show.songs if each.name == called)
        return song_setup(song, self.laid[called])

    def sheets(self, before: Show | ShowAllocation | None = None) -> dict[str, PatchSheet]:
        """The patch sheets of those songs in which anything is to be programmed.

        Args:
            before: the show as it is programmed, songs by their names; None: as ``show`` says. A
                song that is not programmed starts from an empty panel.

        Returns:
            A sheet for each such song, by its name, in playing order.

        Raises:
            InputError: ``before`` is no show.
        """
        was: dict[str, Setup] = {}
        if isinstance(before, ShowAllocation):
            was = {name: before.setup(name) for name in before.laid}
        else:
            show = self.show if before is None else before
            check_kind("ShowAllocation.sheets.before", show, Show)
            was = {song.name: made for song in show.songs if (made := programmed(song))}
        return sheets_between(was, {name: self.setup(name) for name in self.laid})

    def page(self) -> str:
        """All songs side by side and each by itself, for the music stand.

        Returns:
            One HTML page that needs nothing else, for a screen and for paper.
        """
        return show_page(self, [*map(self.setup, self.laid)], self.alarming, self.losses)

    @property
    def points(self) -> tuple[tuple[str, int, str], ...]:
        """What each tier counts, part by part: in words, how much, and the proof.

        No proof stands at a part of which nothing is known, as one before it may be less.
        """
        found, proven = list[tuple[str, int, str]](), True
        for tier in self.tiers:
            told, known = SHOW_TIER_WORDS[tier.name], True
            names = [f"{told}: {PART_WORDS[part]}" for part in PARTS.get(tier.name, ())] or [told]
            values, bounds = (self.prices.split(tier.name, n) for n in (tier.value, tier.bound))
            for name, value, least in zip(names, values, bounds, strict=True):
                proven = proven and value == least
                proof = "proven" if proven else f"at least {least:,}" if known else ""
                found.append((name, value, proof))
                known = known and value == least
        return tuple(found)

    @property
    def losses(self) -> tuple[str, ...]:
        """What songs leave out, what essential moves in them, what is alarming or faulty."""
        moves = essential_moves_told(
            {
                song.name: (made, self.setup(song.name))
                for song in self.show.songs
                if not song.pinned and (made := programmed(song))
            }
        )
        anew = {s.name: _idle(s, self.song(s)) for s in self.show.songs if s.free}
        told = (*self.alarm_sentences, *self.fault_sentences, *idle_in_songs(anew))
        return (*self.out_sentences, *moves, *told)

    @property
    def headlines(self) -> tuple[str, ...]:
        """What is told first: what songs leave out, what is alarming or faulty, the verdict."""
        return (*self.losses, *self.verdict)

    @property
    def verdict(self) -> tuple[str, ...]:
        """How long it is, how good, what is not known of that, how much is found where it was."""
        songs, knobs = many(len(self.songs), "song"), many(len(self.show.surface.knobs), "knob")
        proven, unknown = "proven best", list[str]()
        if all(song.pinned for song in self.show.songs):
            proven = "as they are" if self.songs[1:] else "as it is"
        elif not self.proven:
            proven = "best found, not proven best"
            tier = next(tier.name for tier in self.tiers if not tier.proven)
            more = "; what counts more is proven best" if tier != SHOW_TIERS[0] else ""
            unknown.append(f"Whether {_WHETHER[tier]} is not known{more}.")
        again = [thing.knobs for thing in self.things if len(thing.found) > 1]
        steady = sum(len(on) == 1 for on in again)
        are = "is" if steady == 1 else "are"
        what = f"{many(len(again), 'destination')} in several songs"
        told = [f"{steady} of {what} {are} on one knob throughout."] if again else []
        return (f"{songs} on {knobs}, {proven}.", *unknown, *told)

    @property
    def sentences(self) -> tuple[str, ...]:
        """What is left out, alarming or faulty, how good it is, what is not found where it was."""
        return tuple(self._told())

    def _told(self) -> Iterator[str]:
        first, *rest = self.verdict
        yield from self.losses
        yield f"Show '{self.show.name}': {first}"
        yield from rest
        yield from (f"{each}." for each in self.several_travels)
        for thing in self.wandering:
            placed = [each for each in thing.found if each.knob is not None]
            turns = [each for each in placed if each is placed[0] or each.song in thing.came_from]
            where = ", ".join(f"{knob_told(str(e.knob))} from '{e.song}' on" for e in turns)
            yield f"{thing.role}/{thing.name} is on {where}."

    @property
    def _parts(self) -> Sequence[str]:
        tiers = ((what, f"{value:,}", proof) for what, value, proof in self.points)
        at = [{each.song: each.knob or "out" for each in thing.found} for thing in self.things]
        on = (
            (f"{thing.role}/{thing.name}", *(knobs.get(name, "") for name in self.laid))
            for thing, knobs in zip(self.things, at, strict=True)
        )
        return (
            html_list(self.sentences),
            html_table("Where it is found", ("destination", *self.laid), tuple(on)),
            html_table("Points, fewer are better", ("tier", "points", "proof"), tuple(tiers)),
        )


def _idle(song: Song, laid: Allocation) -> tuple[str, ...]:
    """What no knob of a setup drives and is not asked for, but for what is essential or hidden."""
    if not isinstance(song.played, Setup):
        return ()
    asked = {*laid.unplaced, *(route.destination for route in laid.routes)}
    return tuple(name for name in undriven_in(song.played)[1] if name not in asked)


def _undriven(song: Song) -> tuple[str, ...]:
    """What is essential in a setup that is played, and no knob drives: it is not asked for."""
    return missed_of(song.played) if isinstance(song.played, Setup) else ()
