"""What is wrong in what is said to share a knob in place of what does."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from knobpack.allocation import Allocation
from knobpack.explanation.instead import Instead
from tests.oracles import masks
from tests.oracles.reasons import asked
from tests.oracles.reasons_solved import places_of
from tests.oracles.reasons_terms import (
    order_of,
    terms_of,
    valid,
    wrong_in_comparison,
)


def wrong_in_instead(allocation: Allocation, told: Sequence[Instead], knob: str) -> Iterator[str]:
    """Each is a layout that will do, in which not all that shares the knob shares one."""
    request, places = allocation.request, places_of(allocation)
    sharing = [name for name, at in places.items() if at == knob]
    before, order, ranks = terms_of(request, places), order_of(request), []
    for one in told:
        there = {each.destination: each.after for each in one.moved if each.after}
        if [name for name in request.by_full_name if name in there] != [
            each.destination for each in one.moved if each.before == places.get(each.destination)
        ] or any(each.before == each.after for each in one.moved):
            yield f"these do not move: {one.moved}"
            continue
        after = {**places, **there}
        names = [name for name in request.by_full_name if after.get(name) == one.knob]
        if list(one.names) != names or len(names) < 2 or not set(names) & set(there):
            yield f"{names} would share {one.knob}, not {one.names}"
        if len({after[name] for name in sharing}) < 2 or not valid(request, after):
            yield f"that parts nothing, or will not do: {one.moved}"
            continue
        yield from wrong_in_comparison(one.comparison, before, terms_of(request, after), order)
        yield from _wrong_travel(allocation, one)
        price = one.comparison
        ranks.append(tuple(b - a for a, b in zip(price.before, price.after, strict=True)))
        if any(more > 0 for more in ranks[-1][: order.index("sharing")]):
            yield f"more than sharing gets worse: {price}"
    if ranks != sorted(ranks) or len({each.names for each in told}) < len(told):
        yield "the cheapest does not come first, or one is told twice"


def _wrong_travel(allocation: Allocation, one: Instead) -> Iterator[str]:
    request = allocation.request
    own = asked(request)
    reading = own.reading
    if one.top != request.surface.top:
        yield f"the highest position is {request.surface.top}"
    if request.surface.per_route:
        if one.travel is not None or one.missing:
            yield "travels are set on routes"
        return
    at = request.surface.knob_names.index(one.knob)
    costs = masks.misses(reading, at, sum(1 << own.bit[name] for name in one.names))
    cheapest = [travel for travel, cost in costs.items() if cost == min(costs.values())]
    kept = reading.kept_travel[at]
    if one.travel not in ([kept] if kept else cheapest):
        yield f"they would go over {kept or cheapest}, not {one.travel}"
    missing = tuple(name for name in one.names if request.wanted(name) != one.travel)
    if one.missing != missing:
        yield f"{missing} would miss what they want, not {one.missing}"
