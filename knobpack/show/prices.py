"""What a whole show costs, as values: where each thing is found, and each term of a price."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise

import attrs

from knobpack.definition.prices import Prices
from knobpack.grouped import grouped
from knobpack.text.shown import Fielded
from knobpack.words import Travel
from knobpack.words.fields import check_named
from knobpack.words.names import knobs_told, listed, quoted
from knobpack.words.voice import STANDING

SHOW_TIERS = (
    "unplaced",
    "bundles",
    "independence",
    "relearning",
    "moves",
    "sharing",
    "travels",
    "change",
    "layout",
)
"""The tiers of a show, the most important first."""

PARTS = {"relearning": ("destinations", "roles", "kinds"), "moves": ("bundles", "destinations")}
"""What the tiers in parts count, each before the next."""

OF_SONGS = ("unplaced", "bundles", "independence", "sharing", "change", "layout")
"""Those that are what songs cost by themselves, added up."""

ALONE = ("unplaced", "bundles", "independence")
"""Those in which each song is as good as it is alone."""


@attrs.frozen
class FoundAt(Fielded):
    """Where one destination is found in one song.

    Args:
        song: the name of the song.
        destination: its full name there.
        knob: the knob; None: it is left out.
        travel: the travel that it goes over; None: it is left out.
    """

    song: str
    destination: str
    knob: str | None
    travel: Travel | None


@attrs.frozen
class ShowDestination(Fielded):
    """One destination of the show, and where it is found in each song that asks for it.

    Args:
        role: what its voice is called in the show.
        name: what it is called in that voice.
        kind: what it controls, as the first song says.
        priority: the highest that a song gives it: 1 essential to 5 hidden.
        found: song by song, in playing order.
    """

    role: str
    name: str
    kind: str
    priority: int
    found: tuple[FoundAt, ...]

    @property
    def weight(self) -> int:
        """What it counts: 8, 4, 2 and 1 from what is essential to what is low, 0 if hidden."""
        return STANDING[self.priority - 1]

    @property
    def knobs(self) -> tuple[str, ...]:
        """The different knobs that it is found on, in the order they are met."""
        return tuple(dict.fromkeys(each.knob for each in self.found if each.knob is not None))

    @property
    def came_from(self) -> dict[str, FoundAt]:
        """Where it was before, for each song in which it is on another knob than last."""
        placed = [each for each in self.found if each.knob is not None]
        return {now.song: was for was, now in pairwise(placed) if was.knob != now.knob}

    @property
    def travels(self) -> tuple[tuple[Travel, tuple[str, ...]], ...]:
        """Each travel that it goes over, with the songs, that of most songs first."""
        songs = grouped((each.travel, each.song) for each in self.found if each.travel is not None)
        usual = sorted(songs.items(), key=lambda each: -len(each[1]))
        return tuple((travel, tuple(names)) for travel, names in usual)

    @property
    def turned_in(self) -> tuple[str, ...]:
        """The songs in which the master moves it the other way than in most."""
        return tuple(song for _, songs in _turned_round(self.travels) for song in songs)


@attrs.frozen
class SeveralTravels(Fielded):
    """What the master moves over another travel in some songs than in most.

    Args:
        destinations: role and name of each that goes over the same ones, on the same knobs.
        knobs: the knobs that they are found on.
        travels: each travel with the songs in which it is had, that of most songs first.
    """

    destinations: tuple[str, ...]
    knobs: tuple[str, ...]
    travels: tuple[tuple[Travel, tuple[str, ...]], ...]

    @property
    def turned_round(self) -> tuple[tuple[Travel, tuple[str, ...]], ...]:
        """The travels that go the other way than that of most songs."""
        return _turned_round(self.travels)

    def __str__(self) -> str:
        round_about = self.turned_round
        told = [
            f"in {quoted(songs)} {'' if at else 'over '}{travel}"
            for at, (travel, songs) in enumerate(t for t in self.travels if t not in round_about)
        ]
        turned = [f"the other way in {quoted(songs)}: {travel}" for travel, songs in round_about]
        verb = "go" if self.destinations[1:] else "goes"
        where = f"{knobs_told(self.knobs)}: {listed(self.destinations)} {verb}"
        return f"{where} {'; '.join([*turned, listed(told)])}"


def _turned_round(
    travels: tuple[tuple[Travel, tuple[str, ...]], ...],
) -> tuple[tuple[Travel, tuple[str, ...]], ...]:
    return tuple(each for each in travels if each[0].reversed != travels[0][0].reversed)


def several_travels(things: Iterable[ShowDestination]) -> tuple[SeveralTravels, ...]:
    """What goes over several travels, first what goes the other way in some songs.

    Args:
        things: every destination of a show.
    """
    ranked = sorted(things, key=lambda thing: thing.priority)
    alike = grouped(
        ((each.knobs, each.travels), f"{each.role}/{each.name}")
        for each in ranked
        if each.travels[1:]
    )
    found = (SeveralTravels(tuple(names), *key) for key, names in alike.items())
    return tuple(sorted(found, key=lambda each: not each.turned_round))


@attrs.frozen
class Relearned(Fielded):
    """Tier *relearning*: what is found on more knobs over the show than it has to be.

    Args:
        of: ``destination``, ``role`` or ``kind``.
        what: which one.
        knobs: the knobs that it is found on over the show, in panel order.
        at_once: how many of them it is found on in one song, at most.
        points: for each knob more: for a destination what it counts, else 1.
    """

    of: str
    what: str
    knobs: tuple[str, ...]
    at_once: int
    points: int


@attrs.frozen
class Shift(Fielded):
    """Tier *moves*: what of one role changes its knob from one song to the next.

    Args:
        before: the song before.
        after: the song after it.
        role: the role.
        moved: each destination of it that is elsewhere: its name, its knob before, and after.
        bundles: the knobs that something of it leaves, or those that something of it comes to,
            whichever are more.
        points: what these destinations count.
    """

    before: str
    after: str
    role: str
    moved: tuple[tuple[str, str, str], ...]
    bundles: int
    points: int


@attrs.frozen
class TravelBetween(Fielded):
    """Tier *travels*: what stays on its knob from one song to the next and goes another way.

    Args:
        before: the song before.
        after: the song after it.
        what: role and name of the destination.
        knob: the knob that it is on in both.
        was: its travel before, in positions.
        now: its travel after.
        points: the hundredths of full travel that one misses the other by, times what it counts.
    """

    before: str
    after: str
    what: str
    knob: str
    was: Travel
    now: Travel
    points: int


@attrs.frozen
class SongLoads(Fielded):
    """How many loads share knobs in one song, and how many may.

    Args:
        song: the name of the song.
        loads: for each knob its loads less one, added up.
        beside_essential: how many pairs of loads are on one knob with something essential.
        allowed: as many as there may be: what the song has alone, and what was allowed besides.
        allowed_beside: likewise, beside what is essential.
    """

    song: str
    loads: int
    beside_essential: int
    allowed: int
    allowed_beside: int

    @property
    def over(self) -> int:
        """How many more there are than may be, 0 if none."""
        beside = self.beside_essential - self.allowed_beside
        return max(0, self.loads - self.allowed, beside)


@attrs.frozen
class ShowPrices(Fielded):
    """The price of a show. Only what costs something is listed.

    Args:
        songs: what each song costs by itself.
        relearned: tier *relearning*.
        shifts: tier *moves*.
        turned: tier *travels*.
        sizes: by what destinations, then roles, are multiplied in *relearning*, and bundles in
            *moves*, so that each counts before all of the next.
    """

    songs: tuple[Prices, ...]
    relearned: tuple[Relearned, ...]
    shifts: tuple[Shift, ...]
    turned: tuple[TravelBetween, ...]
    sizes: tuple[int, int, int]

    @property
    def relearning(self) -> tuple[int, int, int]:
        """The points of destinations, of roles and of kinds, each before the next."""
        points = dict.fromkeys(("destination", "role", "kind"), 0)
        for each in self.relearned:
            points[each.of] += each.points
        return points["destination"], points["role"], points["kind"]

    @property
    def moves(self) -> tuple[int, int]:
        """The bundles that move, and the points of the destinations, the first before the other."""
        return (
            sum(each.bundles for each in self.shifts),
            sum(each.points for each in self.shifts),
        )

    def parts(self, tier: str) -> tuple[tuple[str, int], ...]:
        """What a tier in parts counts, each with its value; nothing of a tier that is one number.

        Args:
            tier: one of :data:`SHOW_TIERS`.

        Returns:
            What is counted, and how much that comes to, each before the next.
        """
        counts = {"relearning": self.relearning, "moves": self.moves}.get(tier, ())
        return tuple(zip(PARTS.get(tier, ()), counts, strict=True))

    def split(self, tier: str, total: int) -> tuple[int, ...]:
        """What a value of a tier comes to in its parts, each before the next.

        Args:
            tier: one of :data:`SHOW_TIERS`.
            total: the value, in points: of a bound, its first part that differs bounds that part.

        Returns:
            As many as :meth:`parts` tells; the value itself of a tier that is one number.
        """
        first, second, third = self.sizes
        if tier == "moves":
            return divmod(total, third)
        if tier == "relearning":
            points, rest = divmod(total, first)
            return (points, *divmod(rest, second))
        return (total,)

    @property
    def totals(self) -> tuple[int, ...]:
        """The value of each tier, in the order of :data:`SHOW_TIERS`. Less is better."""
        return tuple(map(self.total, SHOW_TIERS))

    def total(self, tier: str) -> int:
        """The value of one tier.

        Args:
            tier: one of :data:`SHOW_TIERS`.

        Returns:
            Its value, in points.

        Raises:
            InputError: there is no such tier.
        """
        check_named("ShowPrices.total.tier", tier, SHOW_TIERS, "name a tier of a show")
        first, second, third = self.sizes
        if tier == "relearning":
            points, roles, kinds = self.relearning
            return points * first + roles * second + kinds
        if tier == "moves":
            bundles, points = self.moves
            return bundles * third + points
        if tier == "travels":
            return sum(each.points for each in self.turned)
        return sum(each.total(tier) for each in self.songs)
