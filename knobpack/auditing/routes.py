"""What is amiss with routes and with what they reach, and with travels, had and wanted."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

import attrs

from knobpack.auditing import causes
from knobpack.auditing.findings import Finding
from knobpack.grouped import grouped
from knobpack.setups.as_read import Reading, lies_within
from knobpack.words import Route, Travel
from knobpack.words.names import close, hint, knob_told, listed


def missing_ends(reading: Reading) -> Iterator[Finding]:
    """Routes that start or end at what is not there, each told once."""
    ends = {(route.knob, route.destination): route for route in reading.setup.routes}
    for route in ends.values():
        if route.knob not in reading.carries:
            to = (route.destination,)
            yield Finding(causes.MISSING_KNOB, destinations=to, missing=(route.knob,))
        if route.destination not in reading.destinations:
            yield _missing_destination(reading, route)


def _missing_destination(reading: Reading, route: Route) -> Finding:
    """A route to what is not there, and what comes close to that."""
    name = route.destination
    voice, slash, inner = name.partition("/")
    has = {each.name: [other.name for other in each.destinations] for each in reading.setup.voices}
    if not slash:
        near = close(name, reading.destinations)
    elif voice in has:
        near = [f"{voice}/{other}" for other in close(inner, has[voice])]
    else:
        near = [f"{other}/{inner}" for other in close(voice, has) if inner in has[other]]
    cause, mend = causes.MISSING_DESTINATION, f"route it to a destination that '{voice}' has"
    if voice not in has and slash:
        cause, mend = causes.MISSING_VOICE, f"bring a voice '{voice}' that has it"
    elif voice not in has:
        group = voice in {each.name for each in reading.setup.groups}
        cause = causes.MISSING_DESTINATION if group else causes.MISSING_VOICE
        mend = "route it to a voice/destination"
    return Finding(
        cause,
        f"{mend}, or take the route away{hint(near)}",
        knobs=(route.knob,),
        voices=(voice,) if voice in has else (),
        missing=(name,),
    )


def repeated(reading: Reading) -> Iterator[Finding]:
    """Routes that are given more than once."""
    given = Counter((route.knob, route.destination) for route in reading.setup.routes)
    for (knob, name), times in given.items():
        if times > 1:
            yield Finding(causes.REPEATED, knobs=(knob,), destinations=(name,), numbers=(times,))


def doubled(reading: Reading) -> Iterator[Finding]:
    """Destinations that more knobs than one drive: the last one turned wins, and it jumps."""
    works = {knob for play in reading.plays for knob in play.works}
    for name, knobs in reading.knobs_of.items():
        if len(knobs) > 1:
            # The one to keep is one that moves it, if any does.
            doing = (knob for knob in knobs if knob in works and name in reading.drives[knob])
            keep = next(doing, knobs[0])
            others = listed([knob for knob in knobs if knob != keep])
            mend = f"keep {keep}, and take the route from {others} away"
            yield Finding(causes.DOUBLED, mend, knobs=knobs, destinations=(name,))


def unreached(reading: Reading) -> Iterator[Finding]:
    """Destinations that no knob of the surface is routed to, voice by voice."""
    for voice in reading.setup.voices:
        left = tuple(name for name in voice.by_full_name if not reading.knobs_of[name])
        if left:
            yield Finding(causes.UNREACHED, destinations=left, voices=(voice.name,))


def dead_knobs(reading: Reading) -> Iterator[Finding]:
    """Knobs that do nothing, or nothing with the master, though nothing they lead to is missing."""
    routed = {route.knob for route in reading.setup.routes}
    following = {knob for play in reading.plays for knob in play.follows}
    # A knob that is reserved or broken carries nothing on purpose.
    closed = {*reading.setup.surface.reserved, *reading.broken}
    for knob, names in reading.carries.items():
        if not names:
            if knob not in routed and knob not in closed:
                yield Finding(causes.NO_ROUTE, knobs=(knob,))
            continue
        if knob not in following and reading.drives[knob]:
            yield _for_the_hand(reading, knob, names)


def _for_the_hand(reading: Reading, knob: str, names: tuple[str, ...]) -> Finding:
    """What is told of a knob that does something and follows in no snapshot."""
    movable, fixed = reading.movable(names), reading.fixed(names)
    if not movable:
        them = "it" if len(names) == 1 else "them"
        mend = f"leave it so, take the routes from {knob_told(knob)} away, or let {them} be movable"
        mend += f" and name {them} in a snapshot"
        return Finding(causes.BY_HAND, mend, knobs=(knob,), destinations=names)
    rest = f"let a snapshot move {listed(movable)}"
    if fixed:
        be = "is" if len(fixed) == 1 else "are"
        rest = f"route {listed(fixed)}, which {be} not movable, to another knob, and {rest}"
    mend = f"leave it so, or {rest}; or take the routes from {knob_told(knob)} away"
    return Finding(causes.NEVER_FOLLOWS, mend, knobs=(knob,), destinations=names)


def outside(reading: Reading) -> Iterator[Finding]:
    """Travels beyond the highest position, of a knob or a route, and wanted ones."""
    top = reading.setup.surface.top
    for each in _set(reading):
        if not lies_within(each.travel, top):
            mend = f"set start and end anew, apart and from 0 to {top}"
            yield each.finding(causes.OUTSIDE, top, mend=mend)
    for name, inner in reading.destinations.items():
        if inner.travel is not None and not lies_within(inner.travel, top):
            wish, mend = inner.travel, f"let it want a travel from 0 to {top}"
            numbers = (wish.start, wish.end, top)
            yield Finding(causes.WISH_OUTSIDE, mend, destinations=(name,), numbers=numbers)


def unset(reading: Reading) -> Iterator[Finding]:
    """Travels that are wanted and not set, so that what wants them goes all the way."""
    on_route = reading.setup.surface.per_route
    wanted = grouped(
        ((route.knob, travel, route.destination if on_route else ""), route.destination)
        for route in dict.fromkeys(reading.routes)
        if (travel := reading.passed_over(route)) is not None
    )
    for (knob, travel, _), names in wanted.items():
        yield _Set(knob, tuple(names), travel, on_route).finding(causes.UNSET)


def turned(reading: Reading) -> Iterator[Finding]:
    """What goes the other way than it wants, over a travel that is set."""
    top, on_route = reading.setup.surface.top, reading.setup.surface.per_route
    for route in dict.fromkeys(reading.routes):
        wish, goes = reading.destinations[route.destination].travel, reading.led(route)
        if wish is None or reading.passed_over(route) is not None or not lies_within(wish, top):
            continue
        if not wish.empty and not goes.empty and wish.reversed != goes.reversed:
            led = _Set(route.knob, (route.destination,), goes, on_route)
            yield led.finding(causes.TURNED, wish.start, wish.end)


def misplaced(reading: Reading) -> Iterator[Finding]:
    """Travels that are set where there is nothing to set them on."""
    per_route = reading.setup.surface.per_route
    for each in reading.setup.travels:
        numbers = (each.travel.start, each.travel.end)
        if each.knob not in reading.travels:
            yield Finding(causes.STRAY_TRAVEL, missing=(each.knob,), numbers=numbers)
        elif per_route:
            mend = "take it away, and set it on each route where it is wanted"
            on = _Set(each.knob, reading.carries[each.knob], each.travel, False)
            yield on.finding(causes.MISPLACED, mend=mend)
    for route in () if per_route else dict.fromkeys(reading.setup.routes):
        if route.travel is not None:
            mend = "take it away, and set it on the knob if it is wanted"
            on = _Set(route.knob, (route.destination,), route.travel, True)
            yield on.finding(causes.MISPLACED, mend=mend)


def empty(reading: Reading) -> Iterator[Finding]:
    """Travels that start where they end, of what carries or leads to something."""
    for each in _set(reading):
        if each.travel.empty and each.names:
            yield each.finding(causes.EMPTY_TRAVEL)


def one_step(reading: Reading) -> Iterator[Finding]:
    """Stepped destinations that go somewhere, but not as far as to another step."""
    for each in _set(reading):
        still = tuple(name for name in each.names if name not in reading.drives[each.knob])
        if still and not reading.within(each.travel).empty:
            yield attrs.evolve(each, names=still).finding(causes.ONE_STEP)


@attrs.frozen
class _Set:
    """A travel of a knob, or of a route.

    Args:
        knob: the knob that has it, or that the route leads from.
        names: what goes over it.
        travel: as it is set, or the full one; or as it is wanted.
        on_route: whether a route has it.
    """

    knob: str
    names: tuple[str, ...]
    travel: Travel
    on_route: bool

    def finding(self, cause: str, *more: int, mend: str = "") -> Finding:
        return Finding(
            cause,
            mend or causes.MENDS[cause],
            knobs=(self.knob,),
            destinations=self.names,
            numbers=(self.travel.start, self.travel.end, *more),
            on_route=self.on_route,
        )


def _set(reading: Reading) -> Iterator[_Set]:
    """The travel of each knob of the surface, or of each route, where the surface sets it."""
    if reading.setup.surface.per_route:
        for route in reading.routes:
            yield _Set(route.knob, (route.destination,), reading.over(route), True)
        return
    for knob, travel in reading.travels.items():
        yield _Set(knob, reading.carries[knob], travel, False)
