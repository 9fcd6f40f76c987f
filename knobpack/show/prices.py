"""What a whole show costs, from the layouts of its songs alone: the definition of its own tiers.

Nothing here is shared with the search. What each song costs by itself is priced by the plain
checker; here is what is between songs.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import pairwise

import attrs

from knobpack.prices import Prices
from knobpack.show.asked import Asked, Key
from knobpack.shown import Fielded
from knobpack.words import Layout, Request, Travel
from knobpack.words.travel import hundredths

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

LEAST_SIZE = 1_000_000
"""What a part is multiplied by at least: the same from show to show, so that they compare."""

ALONE = ("unplaced", "bundles", "independence")
"""Those in which each song is as good as it is alone."""

Places = Mapping[str, str]
"""The knob of each destination of a song that is placed, by its full name."""


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
        """What it counts: 4 for what is essential, 0 for what is hidden."""
        return 5 - self.priority

    @property
    def knobs(self) -> tuple[str, ...]:
        """The different knobs that it is found on, in the order they are met."""
        return tuple(dict.fromkeys(each.knob for each in self.found if each.knob is not None))

    @property
    def came_from(self) -> dict[str, FoundAt]:
        """Where it was before, for each song in which it is on another knob than last."""
        placed = [each for each in self.found if each.knob is not None]
        return {now.song: was for was, now in pairwise(placed) if was.knob != now.knob}


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
class Turned(Fielded):
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
class Joined(Fielded):
    """How many loads share knobs in one song, and how many may.

    Args:
        song: the name of the song.
        loads: for each knob its loads less one, added up.
        allowed: as many as there may be: what the song has alone, and what was allowed besides.
    """

    song: str
    loads: int
    allowed: int


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
    turned: tuple[Turned, ...]
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
            KeyError: there is no such tier.
        """
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


def sizes_of(show: Sequence[Asked]) -> tuple[int, int, int]:
    """By what the parts of *relearning* and *moves* are multiplied, each more than all of the next.

    Powers of ten, so that the parts can be read off the whole. A role or a kind costs at most one
    point for each knob, a destination at most four for each song that asks for it.
    """
    knobs = len(show[0].request.surface.knobs)
    kinds = {inner.kind for each in show for inner in each.request.destinations.values()}
    roles = {each.song.role_of(voice.name) for each in show for voice in each.request.voices}
    asked = sum(len(each.request.destinations) for each in show)
    after_roles, after_moved = _above(len(kinds) * knobs), _above(4 * asked)
    return _above(len(roles) * knobs) * after_roles, after_roles, after_moved


def _above(most: int) -> int:
    """A power of ten that is more than this."""
    size = LEAST_SIZE
    while size <= most:
        size *= 10
    return size


def things_of(show: Sequence[Asked], layouts: Sequence[Layout]) -> tuple[ShowDestination, ...]:
    """Every destination of a show, and where it is found.

    Args:
        show: what each song asks for.
        layouts: how each is laid out, travels with it.

    Returns:
        One for each role and destination, in the order they are first asked for.
    """
    found: dict[Key, list[FoundAt]] = {}
    kinds: dict[Key, str] = {}
    ranks: dict[Key, int] = {}
    for asked, layout in zip(show, layouts, strict=True):
        on = {route.destination: route.knob for route in layout.routes}
        for name, inner in asked.request.destinations.items():
            key = asked.key_of(name)
            place = FoundAt(asked.song.name, name, on.get(name), layout.goes.get(name))
            found.setdefault(key, []).append(place)
            kinds.setdefault(key, inner.kind)
            ranks[key] = min(ranks.get(key, 5), inner.priority)
    return tuple(
        ShowDestination(role, name, kinds[role, name], ranks[role, name], tuple(places))
        for (role, name), places in found.items()
    )


def joined(request: Request, on: Places) -> int:
    """For each knob its loads less one, added up.

    Args:
        request: what is asked.
        on: the knob of each destination that is placed.
    """
    load_of = {name: at for at, load in enumerate(request.loads) for name in load}
    here = {(knob, load_of.get(name, name)) for name, knob in on.items()}
    return len(here) - len(set(on.values()))


def show_prices(
    show: Sequence[Asked],
    layouts: Sequence[Layout],
    songs: Iterable[Prices],
    neighbours: Iterable[tuple[int, int]],
) -> ShowPrices:
    """What a show costs, term by term.

    Args:
        show: what each song asks for.
        layouts: how each is laid out, travels with it.
        songs: what each costs by itself.
        neighbours: the positions of each two songs that follow each other.
    """
    things = things_of(show, layouts)
    panel = show[0].request.surface.knob_names
    on = [{route.destination: route.knob for route in layout.routes} for layout in layouts]
    return ShowPrices(
        songs=tuple(songs),
        relearned=(
            *_relearned_things(things, panel),
            *_relearned_classes("role", _by_role(show, on), panel),
            *_relearned_classes("kind", _by_kind(show, on), panel),
        ),
        shifts=tuple(_shifts(show, things, neighbours)),
        turned=tuple(_turned(show, things, neighbours)),
        sizes=sizes_of(show),
    )


def _relearned_things(
    things: Iterable[ShowDestination], panel: Sequence[str]
) -> Iterator[Relearned]:
    for each in things:
        points = each.weight * (len(each.knobs) - 1)
        if points > 0:
            knobs = tuple(knob for knob in panel if knob in each.knobs)
            yield Relearned("destination", f"{each.role}/{each.name}", knobs, 1, points)


_Classes = dict[str, dict[int, set[str]]]
"""For each role or kind, the knobs that it is found on in each song."""


def _by_role(show: Sequence[Asked], on: Sequence[Places]) -> _Classes:
    found: _Classes = {}
    for at, (asked, knob_of) in enumerate(zip(show, on, strict=True)):
        for name, knob in knob_of.items():
            found.setdefault(asked.key_of(name)[0], {}).setdefault(at, set()).add(knob)
    return found


def _by_kind(show: Sequence[Asked], on: Sequence[Places]) -> _Classes:
    found: _Classes = {}
    for at, (asked, knob_of) in enumerate(zip(show, on, strict=True)):
        for name, knob in knob_of.items():
            kind = asked.request.destinations[name].kind
            found.setdefault(kind, {}).setdefault(at, set()).add(knob)
    return found


def _relearned_classes(of: str, classes: _Classes, panel: Sequence[str]) -> Iterator[Relearned]:
    for what, by_song in classes.items():
        everywhere = set().union(*by_song.values())
        at_once = max(map(len, by_song.values()))
        if len(everywhere) > at_once:
            knobs = tuple(knob for knob in panel if knob in everywhere)
            yield Relearned(of, what, knobs, at_once, len(everywhere) - at_once)


def _in_both(
    show: Sequence[Asked], things: Iterable[ShowDestination], pair: tuple[int, int]
) -> Iterator[tuple[ShowDestination, FoundAt, FoundAt]]:
    """What is placed in both of two songs."""
    before, after = (show[at].song.name for at in pair)
    for thing in things:
        placed = {each.song: each for each in thing.found if each.knob is not None}
        if before in placed and after in placed:
            yield thing, placed[before], placed[after]


def _shifts(
    show: Sequence[Asked], things: Sequence[ShowDestination], neighbours: Iterable[tuple[int, int]]
) -> Iterator[Shift]:
    for pair in neighbours:
        moved: dict[str, list[tuple[ShowDestination, str, str]]] = {}
        for thing, one, other in _in_both(show, things, pair):
            if one.knob != other.knob and one.knob and other.knob:
                moved.setdefault(thing.role, []).append((thing, one.knob, other.knob))
        before, after = (show[at].song.name for at in pair)
        for role, those in moved.items():
            left, come = ({each[side] for each in those} for side in (1, 2))
            yield Shift(
                before,
                after,
                role,
                tuple((thing.name, one, other) for thing, one, other in those),
                max(len(left), len(come)),
                sum(thing.weight for thing, _, _ in those),
            )


def _turned(
    show: Sequence[Asked], things: Sequence[ShowDestination], neighbours: Iterable[tuple[int, int]]
) -> Iterator[Turned]:
    top = show[0].request.surface.top
    for pair in neighbours:
        before, after = (show[at].song.name for at in pair)
        for thing, one, other in _in_both(show, things, pair):
            if one.knob != other.knob or one.knob is None or not one.travel or not other.travel:
                continue
            points = thing.weight * hundredths(one.travel, other.travel, top)
            if points:
                what = f"{thing.role}/{thing.name}"
                yield Turned(before, after, what, one.knob, one.travel, other.travel, points)
