"""What a whole show costs, from the layouts of its songs alone: the definition of its own tiers.

Nothing here is shared with the search. What each song costs by itself is priced by the plain
checker; here is what is between songs.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from math import comb

from knobpack.allocation import Allocation
from knobpack.definition.phrases import ESSENTIAL
from knobpack.definition.prices import Prices
from knobpack.show.asked import AskedSong, Key, known_of
from knobpack.show.prices import (
    FoundAt,
    Relearned,
    Shift,
    ShowDestination,
    ShowPrices,
    SongLoads,
    TravelBetween,
)
from knobpack.show.song import Show
from knobpack.words import Layout, Request
from knobpack.words.travel import distance

LEAST_SIZE = 1_000_000
"""What a part is multiplied by at least: the same from show to show, so that they compare."""


def sizes_of(show: Sequence[AskedSong]) -> tuple[int, int, int]:
    """By what the parts of *relearning* and *moves* are multiplied, each more than all of the next.

    Powers of ten, so that the parts can be read off the whole. A role or a kind costs at most one
    point for each knob, a destination at most eight for each song that asks for it.
    """
    first, *_ = show
    knobs = len(first.request.surface.knobs)
    kinds = {inner.kind for each in show for inner in each.request.by_full_name.values()}
    roles = {each.song.role_of(voice.name) for each in show for voice in each.request.voices}
    asked = sum(len(each.request.by_full_name) for each in show)
    after_roles, after_moved = _above(len(kinds) * knobs), _above(8 * asked)
    return _above(len(roles) * knobs) * after_roles, after_roles, after_moved


def _above(most: int) -> int:
    """A power of ten that is more than this."""
    size = LEAST_SIZE
    while size <= most:
        size *= 10
    return size


def things_of(show: Sequence[AskedSong], layouts: Sequence[Layout]) -> tuple[ShowDestination, ...]:
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
        for name, inner in asked.request.by_full_name.items():
            key = asked.key_of(name)
            place = FoundAt(asked.song.name, name, on.get(name), layout.goes.get(name))
            found.setdefault(key, []).append(place)
            kinds.setdefault(key, inner.kind)
            ranks[key] = min(ranks.get(key, inner.priority), inner.priority)
    return tuple(
        ShowDestination(role, name, kinds[role, name], ranks[role, name], tuple(places))
        for (role, name), places in found.items()
    )


def joined_in(
    songs: Sequence[Allocation], alone: Sequence[Allocation], show: Show, more: int
) -> tuple[SongLoads, ...]:
    """How many loads share knobs in each song, and how many may.

    Args:
        songs: how each song is laid out.
        alone: how each is by itself.
        show: the songs.
        more: how many loads more than alone may share a knob in each that is not programmed.
    """
    found = []
    for song, laid, by_itself in zip(show.songs, songs, alone, strict=True):
        here, least = (
            loads_joined(each.request, {r.destination: r.knob for r in each.routes})
            for each in (laid, by_itself)
        )
        allowed = [each + (0 if song.pinned else more) for each in least]
        found.append(SongLoads(song.name, *here, *allowed))
    return tuple(found)


def loads_joined(request: Request, on: Mapping[str, str]) -> tuple[int, int]:
    """How many loads share knobs: for each knob its loads less one, added up; and how many pairs.

    Only those pairs of loads count that are on one knob with something essential. Counted so, two
    knobs with two loads each lose less than one that has three while another has one.

    Args:
        request: what is asked.
        on: the knob of each destination that is placed.
    """
    load_of = {name: at for at, load in enumerate(request.loads) for name in load}
    here = {(knob, load_of.get(name, name)) for name, knob in on.items()}
    dear = {on[name] for name in on if request.by_full_name[name].priority == ESSENTIAL}
    loads = Counter(knob for knob, _ in here)
    return len(here) - len(loads), sum(comb(loads[knob], 2) for knob in dear)


def priced_show(
    show: Sequence[AskedSong],
    layouts: Sequence[Layout],
    songs: Iterable[Prices],
    neighbours: Iterable[tuple[int, int]],
) -> ShowPrices:
    """What a show costs, with what the hand knows before it; it takes what the next does."""
    known = known_of(show)
    there = filter(None, (each.layout for each in known))
    return show_prices([*show, *known], [*layouts, *there], songs, neighbours)


def show_prices(
    show: Sequence[AskedSong],
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
    first, *_ = show
    panel = first.request.surface.knob_names
    on = [{route.destination: route.knob for route in layout.routes} for layout in layouts]
    roles = _found_on(show, on, lambda song, name: song.key_of(name)[0])
    kinds = _found_on(show, on, lambda song, name: song.request.by_full_name[name].kind)
    return ShowPrices(
        songs=tuple(songs),
        relearned=(
            *_relearned_things(things, panel),
            *_relearned_classes("role", roles, panel),
            *_relearned_classes("kind", kinds, panel),
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


def _found_on(
    show: Sequence[AskedSong],
    on: Sequence[Mapping[str, str]],
    class_of: Callable[[AskedSong, str], str],
) -> dict[str, dict[int, set[str]]]:
    """For each role or kind the knobs that it is found on in each song."""
    found: dict[str, dict[int, set[str]]] = {}
    for at, (asked, knob_of) in enumerate(zip(show, on, strict=True)):
        for name, knob in knob_of.items():
            found.setdefault(class_of(asked, name), {}).setdefault(at, set()).add(knob)
    return found


def _relearned_classes(
    of: str, classes: Mapping[str, Mapping[int, set[str]]], panel: Sequence[str]
) -> Iterator[Relearned]:
    for what, by_song in classes.items():
        everywhere = set().union(*by_song.values())
        at_once = max(map(len, by_song.values()))
        if len(everywhere) > at_once:
            knobs = tuple(knob for knob in panel if knob in everywhere)
            yield Relearned(of, what, knobs, at_once, len(everywhere) - at_once)


def _in_both(
    show: Sequence[AskedSong], things: Iterable[ShowDestination], pair: tuple[int, int]
) -> Iterator[tuple[ShowDestination, FoundAt, FoundAt]]:
    """What is placed in both of two songs."""
    before, after = (show[at].song.name for at in pair)
    for thing in things:
        placed = {each.song: each for each in thing.found if each.knob is not None}
        if before in placed and after in placed:
            yield thing, placed[before], placed[after]


def _shifts(
    show: Sequence[AskedSong],
    things: Sequence[ShowDestination],
    neighbours: Iterable[tuple[int, int]],
) -> Iterator[Shift]:
    for pair in neighbours:
        moved: dict[str, list[tuple[ShowDestination, str, str]]] = {}
        for thing, one, other in _in_both(show, things, pair):
            if one.knob != other.knob:
                moved.setdefault(thing.role, []).append((thing, str(one.knob), str(other.knob)))
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
    show: Sequence[AskedSong],
    things: Sequence[ShowDestination],
    neighbours: Iterable[tuple[int, int]],
) -> Iterator[TravelBetween]:
    first, *_ = show
    top = first.request.surface.top
    for pair in neighbours:
        before, after = (show[at].song.name for at in pair)
        for thing, one, other in _in_both(show, things, pair):
            if one.knob != other.knob or not one.travel or not other.travel:
                continue
            points = thing.weight * distance(one.travel, other.travel, top)
            if points:
                what = f"{thing.role}/{thing.name}"
                knob = str(one.knob)
                yield TravelBetween(before, after, what, knob, one.travel, other.travel, points)
