"""Travel prices: over what travel each knob goes where none is given, and what is missed by it."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from knobpack.words import Layout, Request, Route, Travel


def chosen_travels(request: Request, layout: Layout, on: dict[str, list[str]]) -> dict[str, Travel]:
    """The travel of each used knob: the one given, else the kept one, else the cheapest wanted.

    Of equally cheap ones that of the previous layout stands, else the first wanted. In an edit of a
    layout in use the travel that a knob had is one of those to choose from, and stays where the
    knob keeps a route. Where each route has a travel of its own, every knob goes all the way.
    """
    if request.surface.per_route:
        return dict.fromkeys(on, Travel.full(request.surface.bits))
    before = travels_before(request)
    stays = {route.destination: route.knob for route in routes_before(request)}
    given = {setting.knob: setting.travel for setting in layout.travels}
    kept = {setting.knob: setting.travel for setting in request.keep.travels}
    keeps = {route.knob for route in request.keep.routes}
    chosen = {}
    for knob, names in on.items():
        if knob in given:
            chosen[knob] = given[knob]
        elif knob in kept and knob in keeps:
            chosen[knob] = kept[knob]
        else:
            wishes = wished_travels(request, names)
            wanted = list(wishes)
            keeping = any(stays.get(name) == knob for name in names)
            if request.in_use and knob in before:
                # Where a route stays, to leave it there comes before what the others miss.
                wanted = [before[knob]] if keeping else [*wanted, before[knob]]
            chosen[knob] = wanted[0]
            if len(wanted) > 1:
                prices = [
                    (travel_price(request, wishes, t), keeping and t != before.get(knob))
                    for t in wanted
                ]
                chosen[knob] = wanted[prices.index(min(prices))]
    return chosen


def travels_before(request: Request) -> dict[str, Travel]:
    """The travels of the knobs in the previous layout; none where they are set on routes."""
    previous = None if request.surface.per_route else request.previous
    return {setting.knob: setting.travel for setting in previous.travels} if previous else {}


def wished_travels(request: Request, names: Iterable[str]) -> dict[Travel, int]:
    """Each travel that is wanted, and what a hundredth of full travel costs that is missed of it.

    That is added up over those that want it.
    """
    rates, found = request.weights.travel, dict[Travel, int]()
    for name in names:
        wanted = request.wanted(name)
        rate = rates[request.by_full_name[name].priority - 1]
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
    # Hundredths of full travel, to the nearest; a half is rounded up.
    missed = [
        (200 * (abs(wanted.start - travel.start) + abs(wanted.end - travel.end)) + top)
        // (2 * top)
        * rate
        for wanted, rate in wishes.items()
    ]
    return sum(missed)


def routes_before(request: Request) -> list[Route]:
    """The routes of the previous layout whose destinations are still there."""
    routes = request.previous.routes if request.previous else ()
    return [route for route in routes if route.destination in request.by_full_name]
