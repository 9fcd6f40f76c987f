"""What is answered about a show: what another show changes, and which song is the odd one out."""

from __future__ import annotations

import attrs

from knobpack.allocation import Tier
from knobpack.clash import Clash
from knobpack.definition.phrases import many
from knobpack.reasons.answer_graph import Reasoned
from knobpack.show.answer import SHOW_TIER_WORDS, ShowAllocation
from knobpack.show.prices import SHOW_TIERS
from knobpack.text.shown import Fielded, Told
from knobpack.words.demand import sentences_of
from knobpack.words.names import knob_told, listed

MOST_MOVES = 8
"""Moves that sentences name, at most."""


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
class PartChange(Fielded):
    """What a tier in parts counts, in one show and in another.

    Args:
        tier: ``relearning`` or ``moves``.
        what: what is counted, such as ``destinations``.
        was: how much that comes to.
        now: how much it comes to in the other show.
    """

    tier: str
    what: str
    was: int
    now: int


@attrs.frozen
class ShowDifference(Told, Reasoned):
    """What another show changes.

    Args:
        asked: what is otherwise, in words.
        before: the tiers of the show as it is laid out.
        after: those of the other show; none where a song of it has no layout.
        moved: what is elsewhere in the songs of both.
        allocation: the other show laid out; None where a song of it has no layout.
        clash: why not; None where it has.
        parts: what the tiers in parts count, in both.
    """

    asked: str
    before: tuple[Tier, ...]
    after: tuple[Tier, ...] = ()
    moved: tuple[MovedInSong, ...] = ()
    allocation: ShowAllocation | None = attrs.field(default=None, repr=False)
    clash: Clash | None = None
    parts: tuple[PartChange, ...] = ()

    @property
    def deciding(self) -> str | None:
        """The first tier that is not the same; None: all are, or there is no other layout."""
        pairs = zip(self.before, self.after, strict=False)
        return next((one.name for one, other in pairs if one.value != other.value), None)

    @property
    def certain(self) -> bool:
        """Whether the difference is proven: the deciding tier and all before it, on both sides."""
        order = SHOW_TIERS[: SHOW_TIERS.index(self.deciding or SHOW_TIERS[-1]) + 1]
        return all(tier.proven for tier in (*self.before, *self.after) if tier.name in order)

    @property
    def sentences(self) -> tuple[str, ...]:
        """What it costs or saves, then what moves."""
        if self.clash is not None:
            demands = "; ".join(sentences_of(self.clash.demands))
            return (f"{self.asked}: no layout is possible, as these clash: {demands}.",)
        proven = ", proven" if self.certain else "; that is not proven"
        tier = self.deciding
        if tier is None:
            return (f"{self.asked}: a tie, nothing is gained or lost{proven}.", *self._moves)
        at = SHOW_TIERS.index(tier)
        what, was, now = SHOW_TIER_WORDS[tier], self.before[at].value, self.after[at].value
        for part in self.parts:
            if part.tier == tier and part.was != part.now:
                what, was, now = f"{what}: {part.what}", part.was, part.now
                break
        verb = "costs" if now > was else "saves"
        points = f"{verb} {abs(now - was):,} in '{what}'"
        return (f"{self.asked}: {points}, from {was:,} to {now:,}{proven}.", *self._moves)

    @property
    def _moves(self) -> tuple[str, ...]:
        if not self.moved:
            return ("No route moves.",)
        told = listed(tuple(map(str, self.moved)), MOST_MOVES)
        return (f"{many(len(self.moved), 'route')} elsewhere: {told}.",)


@attrs.frozen
class OddSong(Fielded):
    """What there would be less to relearn without one song, all others as they are laid out.

    Args:
        song: its name.
        pinned: whether it is programmed already and stays as it is.
        destinations: the points of destinations less.
        roles: of roles.
        kinds: of kinds.
    """

    song: str
    pinned: bool
    destinations: int
    roles: int
    kinds: int

    @property
    def less(self) -> tuple[int, int, int]:
        """All three, each before the next."""
        return self.destinations, self.roles, self.kinds

    def __str__(self) -> str:
        programmed = ", which is programmed already" if self.pinned else ""
        return (
            f"without '{self.song}'{programmed}, {self.destinations} points of destinations, "
            f"{self.roles} of roles and {self.kinds} of kinds less"
        )


@attrs.frozen
class OddSongs(Told, Reasoned):
    """Which songs differ from the rest of the show, the one that differs most first.

    Args:
        songs: every song, with what there would be less to relearn without it.
    """

    songs: tuple[OddSong, ...]

    @property
    def sentences(self) -> tuple[str, ...]:
        """One for each song without which there would be less to relearn."""
        odd = [
            each for each in self.songs if (each.destinations, each.roles, each.kinds) > (0, 0, 0)
        ]
        return tuple(f"{each}." for each in odd) or ("No song is the odd one out.",)
