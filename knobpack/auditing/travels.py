"""Travels: what is amiss with the travels of knobs and routes, and with those that are wanted."""

from __future__ import annotations

from collections.abc import Iterator

import attrs

from knobpack.auditing import causes
from knobpack.auditing.findings import Finding
from knobpack.setup_as_read import Reading, within
from knobpack.words import Travel


def outside(reading: Reading) -> Iterator[Finding]:
    """Travels beyond the highest position, of a knob or a route, and wanted ones."""
    top = reading.setup.surface.top
    for each in _set(reading):
        if not within(each.travel, top):
            yield each.finding(
                causes.OUTSIDE,
                causes.WRONG,
                f"set start and end anew, apart and from 0 to {top}",
                top,
            )
    for name, inner in reading.destinations.items():
        if inner.travel is not None and not within(inner.travel, top):
            yield Finding(
                causes.WISH_OUTSIDE,
                causes.DOUBTFUL,
                f"let it want a travel from 0 to {top}",
                destinations=(name,),
                numbers=(inner.travel.start, inner.travel.end, top),
            )


def misplaced(reading: Reading) -> Iterator[Finding]:
    """Travels that are set where there is nothing to set them on."""
    per_route = reading.setup.surface.per_route
    for each in reading.setup.travels:
        numbers = (each.travel.start, each.travel.end)
        if each.knob not in reading.travels:
            yield Finding(
                causes.STRAY_TRAVEL,
                causes.WRONG,
                "set it for a knob of the surface, or take it away",
                missing=(each.knob,),
                numbers=numbers,
            )
        elif per_route:
            yield Finding(
                causes.MISPLACED,
                causes.WRONG,
                "take it away, and set it on each route where it is wanted",
                knobs=(each.knob,),
                destinations=reading.carries[each.knob],
                numbers=numbers,
            )
    for route in () if per_route else dict.fromkeys(reading.setup.routes):
        if route.travel is not None:
            yield Finding(
                causes.MISPLACED,
                causes.WRONG,
                "take it away, and set it on the knob if it is wanted",
                knobs=(route.knob,),
                destinations=(route.destination,),
                numbers=(route.travel.start, route.travel.end),
                on_route=True,
            )


def empty(reading: Reading) -> Iterator[Finding]:
    """Travels that start where they end, of what carries or leads to something."""
    for each in _set(reading):
        if each.travel.empty and each.names:
            yield each.finding(causes.EMPTY_TRAVEL, causes.DEAD, "set start and end apart")


def one_step(reading: Reading) -> Iterator[Finding]:
    """Stepped destinations that go somewhere, but not as far as to another step."""
    for each in _set(reading):
        still = tuple(name for name in each.names if name not in reading.drives[each.knob])
        if still and not each.goes.empty:
            told = attrs.evolve(each, names=still)
            yield told.finding(causes.ONE_STEP, causes.DEAD, "set start and end further apart")


@attrs.frozen
class _Set:
    """A travel, where the surface sets it.

    Args:
        knob: the knob that has it, or that the route leads from.
        names: what goes over it.
        travel: as it is set, or the full one.
        goes: what it really is, within the positions there are.
        on_route: whether a route has it.
    """

    knob: str
    names: tuple[str, ...]
    travel: Travel
    goes: Travel
    on_route: bool

    def finding(self, cause: str, severity: str, mend: str, *more: int) -> Finding:
        return Finding(
            cause,
            severity,
            mend,
            knobs=(self.knob,),
            destinations=self.names,
            numbers=(self.travel.start, self.travel.end, *more),
            on_route=self.on_route,
        )


def _set(reading: Reading) -> Iterator[_Set]:
    """The travel of each knob of the surface, or of each route."""
    if reading.setup.surface.per_route:
        for route in reading.routes:
            over, led = reading.over(route), reading.led(route)
            yield _Set(route.knob, (route.destination,), over, led, True)
        return
    for knob, travel in reading.travels.items():
        yield _Set(knob, reading.carries[knob], travel, reading.goes[knob], False)
