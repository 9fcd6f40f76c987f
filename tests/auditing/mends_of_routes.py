"""Mends of routes, travels and knobs: each as its finding says."""

from __future__ import annotations

import re

import attrs

from knobpack.auditing import causes
from knobpack.auditing.findings import Finding
from knobpack.words import KnobTravel, Route, Setup, Surface, Travel
from tests.auditing.altering import changed, mends, without_routes


@mends(causes.MISSING_KNOB)
def _(setup: Setup, finding: Finding) -> Setup:
    assert "take the route away" in finding.mend
    return without_routes(setup, finding.destinations, finding.missing)


@mends(causes.MISSING_VOICE, causes.MISSING_DESTINATION)
def _(setup: Setup, finding: Finding) -> Setup:
    assert "take the route away" in finding.mend
    return without_routes(setup, finding.missing, finding.knobs)


@mends(causes.REPEATED)
def _(setup: Setup, finding: Finding) -> Setup:
    assert finding.mend == "keep it once"
    ends = finding.destinations[0], finding.knobs[0]
    same = [each for each in setup.routes if (each.destination, each.knob) == ends]
    others = [each for each in setup.routes if each not in same]
    return attrs.evolve(setup, routes=(*others, same[0]))


@mends(causes.DOUBLED)
def _(setup: Setup, finding: Finding) -> Setup:
    told = re.fullmatch(r"keep (\w+), and take the route from ([\w, ]+) away", finding.mend)
    assert told
    gone = re.split(", | and ", told[2])
    assert {told[1], *gone} == set(finding.knobs)
    return without_routes(setup, finding.destinations, gone)


@mends(causes.TORN)
def _(setup: Setup, finding: Finding) -> Setup:
    assert all(name in finding.mend for name in finding.wronged)
    return without_routes(setup, finding.wronged, finding.knobs)


def _set(setup: Setup, knob: str, travel: Travel) -> Setup:
    others = [each for each in setup.travels if each.knob != knob]
    return attrs.evolve(setup, travels=(*others, KnobTravel(knob, travel)))


def _set_anew(setup: Setup, finding: Finding, travel: Travel | None) -> Setup:
    """The setup with another travel on the knob of a finding, or on its route."""
    if not finding.on_route:
        assert travel is not None
        return _set(setup, finding.knobs[0], travel)
    ends = finding.destinations[0], finding.knobs[0]
    routes = (
        attrs.evolve(each, travel=travel) if (each.destination, each.knob) == ends else each
        for each in setup.routes
    )
    return attrs.evolve(setup, routes=tuple(routes))


@mends(causes.OUTSIDE)
def _(setup: Setup, finding: Finding) -> Setup:
    told = re.fullmatch(r"set start and end anew, apart and from 0 to (\d+)", finding.mend)
    assert told
    return _set_anew(setup, finding, Travel(0, int(told[1])))


@mends(causes.EMPTY_TRAVEL)
def _(setup: Setup, finding: Finding) -> Setup:
    start = finding.numbers[0]
    return _set_anew(setup, finding, Travel(start, start - 1 if start else 1))


@mends(causes.ONE_STEP)
def _(setup: Setup, finding: Finding) -> Setup:
    assert finding.mend == "set start and end further apart"
    return _set_anew(setup, finding, Travel(0, setup.surface.top))


@mends(causes.MISPLACED)
def _(setup: Setup, finding: Finding) -> Setup:
    assert finding.mend.startswith("take it away")
    if finding.on_route:
        return _set_anew(setup, finding, None)
    left = tuple(each for each in setup.travels if each.knob not in finding.knobs)
    return attrs.evolve(setup, travels=left)


@mends(causes.STRAY_TRAVEL)
def _(setup: Setup, finding: Finding) -> Setup:
    left = tuple(each for each in setup.travels if each.knob not in finding.missing)
    return attrs.evolve(setup, travels=left)


@mends(causes.UNSET)
def _(setup: Setup, finding: Finding) -> Setup:
    assert finding.mend == "set the one that is meant"
    return _set_anew(setup, finding, Travel(*finding.numbers))


@mends(causes.TURNED)
def _(setup: Setup, finding: Finding) -> Setup:
    assert finding.mend.endswith("or let it want what it has")
    return changed(setup, finding.destinations, travel=Travel(*finding.numbers[:2]))


@mends(causes.WISH_OUTSIDE)
def _(setup: Setup, finding: Finding) -> Setup:
    told = re.fullmatch(r"let it want a travel from 0 to (\d+)", finding.mend)
    assert told
    return changed(setup, finding.destinations, travel=Travel(0, int(told[1])))


@mends(causes.CROWDED)
def _(setup: Setup, finding: Finding) -> Setup:
    told = re.match(r"route (\d+) of them to other knobs, or take them off", finding.mend)
    assert told
    return without_routes(setup, finding.destinations[: int(told[1])], finding.knobs)


@mends(causes.ROUTES)
def _(setup: Setup, finding: Finding) -> Setup:
    told = re.match(r"take (\d+) routes? away", finding.mend)
    assert told
    return attrs.evolve(setup, routes=setup.routes[: -int(told[1])])


@mends(causes.NEVER_FOLLOWS, causes.BY_HAND)
def _(setup: Setup, finding: Finding) -> Setup:
    assert f"take the routes from {finding.knobs[0]} away" in finding.mend
    return without_routes(setup, finding.destinations, finding.knobs)


@mends(causes.NO_ROUTE)
def _(setup: Setup, finding: Finding) -> Setup:
    assert "reserve it" in finding.mend
    reserved = (*setup.surface.reserved, *finding.knobs)
    return attrs.evolve(setup, surface=attrs.evolve(setup.surface, reserved=reserved))


@mends(causes.UNREACHED)
def _(setup: Setup, finding: Finding) -> Setup:
    surface = setup.surface
    used = {route.knob for route in setup.routes} | {each.knob for each in setup.travels}
    count = len(surface.knobs)
    wider: Surface = Surface.row(count + len(finding.destinations), bits=surface.bits)
    fresh = [f"New {number}" for number, _ in enumerate(finding.destinations)]
    assert not used & set(fresh)
    added = [
        attrs.evolve(knob, name=name) for knob, name in zip(wider.knobs[count:], fresh, strict=True)
    ]
    routes = zip(finding.destinations, fresh, strict=True)
    full = Travel.full(surface.bits)
    on_route, on_knob = (full, ()) if surface.per_route else (None, fresh)
    return attrs.evolve(
        setup,
        surface=attrs.evolve(surface, knobs=(*surface.knobs, *added), routes=None),
        routes=(*setup.routes, *(Route(name, knob, on_route) for name, knob in routes)),
        travels=(*setup.travels, *(KnobTravel(knob, full) for knob in on_knob)),
    )
