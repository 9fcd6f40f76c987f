"""Travel prices: over what travel each knob goes where none is given, and what is missed by it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from knobpack.words import Destination, Layout, Request, Route, Travel
from knobpack.words.loudness import is_level
from knobpack.words.travel import hundredths


def chosen_travels(request: Request, layout: Layout, on: dict[str, list[str]]) -> dict[str, Travel]:
    """The travel of each used knob: the one given, else the kept one, else the cheapest wanted.

    Of equally cheap ones that of the previous layout stands, else what the most important wants, a
    level first of what is as important, else the first wanted. In an edit of a layout in use the
    travel that a knob had is one of those to choose from; it stays where the knob keeps a route and
    gets nothing new, and where something comes the more important goes first. Where each route has
    a travel of its own, every knob goes all the way.
    """
    if request.surface.per_route:
        return dict.fromkeys(on, Travel.full(request.surface.bits))
    before = travels_before(request)
    stays = {route.destination: route.knob for route in routes_before(request)}
    given = {setting.knob: setting.travel for setting in layout.travels}
    keeps = {route.knob for route in request.keep.routes}
    kept = {each.knob: each.travel for each in request.keep.travels if each.knob in keeps}
    had = {k: {name for name in names if stays.get(name) == k} for k, names in on.items()}
    return {
        k: given.get(k) or kept.get(k) or _cheapest(request, names, had[k], before.get(k))
        for k, names in on.items()
    }


def _cheapest(request: Request, names: list[str], had: set[str], before: Travel | None) -> Travel:
    """The cheapest travel of a knob, some of whose destinations it had, over a travel before."""
    wishes = wished_travels(request, names)
    wanted = list(wishes)
    comes = request.in_use and not had.issuperset(names)
    if request.in_use and before is not None:
        # Where nothing new comes, to leave it there comes before what the others miss.
        wanted = [*wanted, before] if comes else [before]
    ranks: dict[Travel, tuple[int, bool]] = {}
    for name in names:
        wish, rank = request.wanted(name), importance(request.by_full_name[name])
        ranks[wish] = min(rank, ranks.get(wish, rank))

    def turn(travel: Travel) -> tuple[object, ...]:
        anew, price = bool(had) and travel != before, travel_price(request, wishes, travel)
        return price, anew and not comes, travel not in ranks, ranks.get(travel), anew

    return min(wanted, key=turn)


def importance(inner: Destination) -> tuple[int, bool]:
    """What orders destinations where the travels of two cost the same: the least goes first."""
    return inner.priority, not is_level(inner.kind)


def travels_before(request: Request) -> dict[str, Travel]:
    """The travels of the knobs in the previous layout; none where they are set on routes."""
    if request.surface.per_route or request.previous is None:
        return {}
    return {setting.knob: setting.travel for setting in request.previous.travels}


def wished_travels(request: Request, names: Iterable[str]) -> dict[Travel, int]:
    """Each travel that is wanted, and what a hundredth of full travel costs that is missed of it.

    That is added up over those that want it.
    """
    found: dict[Travel, int] = {}
    for name in names:
        wanted = request.wanted(name)
        rate = request.weights.travel[request.by_full_name[name].priority - 1]
        found[wanted] = found.get(wanted, 0) + rate
    return found


def travel_price(request: Request, wishes: Mapping[Travel, int], travel: Travel) -> int:
    """What it costs that those with some wishes go over one travel instead.

    Args:
        request: what was asked.
        wishes: each travel that is wanted, and what a hundredth costs that is missed of it.
        travel: the travel that they go over.
    """
    if request.surface.per_route:
        return 0  # each route goes where it is wanted, whatever else is on the knob
    top = request.surface.top
    return sum(missed(wanted, travel, top) * rate for wanted, rate in wishes.items())


def missed(wanted: Travel, given: Travel, top: int) -> int:
    """By how many hundredths of full travel the one that is given misses the one wanted.

    It is how far its ends are off, and what of the positions wanted is out of reach. Without that,
    two levels that want opposite travels would both lose as much over any travel, and the least of
    sends would choose it: turned round a level still reaches all, cut short its voice is gone.

    Args:
        wanted: the travel that is wanted.
        given: the one that there is instead.
        top: the highest position of the surface.

    Returns:
        0 to 200, to the nearest: 200 where all that there is is turned round, or stands still.
    """
    low, high = sorted((wanted.start, wanted.end))
    last, first = sorted((given.start, given.end), reverse=True)
    lost = high - low - max(0, min(high, last) - max(low, first))
    off = abs(wanted.start - given.start) + abs(wanted.end - given.end)
    return hundredths(off + lost, top)


def routes_before(request: Request) -> list[Route]:
    """The routes of the previous layout whose destinations are still there."""
    routes = request.previous.routes if request.previous else ()
    return [route for route in routes if route.destination in request.by_full_name]
