"""What is wrong with an answer that was solved anew: what if, what a demand is worth, what clashes.

The other request is made by the tests, every best value is brute force's, every clash is looked
for in every layout.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from functools import lru_cache

import attrs

from knobpack.allocation import Allocation, Tier
from knobpack.clash import Clash
from knobpack.explanation.demand_prices import DemandPrice, DemandPrices
from knobpack.explanation.what_if import Difference, Moved
from knobpack.words import Apart, Fixed, Layout, Request
from knobpack.words.demand import Demand, demands_of
from tests.oracles import masks
from tests.oracles.clashes import wider
from tests.oracles.every_clash import contradicted, may_be_met
from tests.oracles.reading import read
from tests.oracles.reasons import asked
from tests.oracles.reasons_layouts import least, least_apart, small
from tests.oracles.reasons_terms import (
    Places,
    order_of,
    terms_of,
    totals_of,
    valid,
    wrong_in_comparison,
)


def places_of(allocation: Allocation) -> dict[str, str]:
    """The knob of each destination that an allocation places."""
    return {route.destination: route.knob for route in allocation.routes}


def wrong_in_difference(
    allocation: Allocation, other: Request, answer: Difference, *, by_the_other: bool = False
) -> list[str]:
    """All that is wrong in what another request is said to change.

    Args:
        allocation: the layout that was there.
        other: the other request, made by the test.
        answer: what is said.
        by_the_other: whether the layout that was there is priced by the other request as well.
    """
    measure, clashing = other if by_the_other else allocation.request, answer.allocation is None
    if (clashing or not by_the_other) and answer.before != allocation.tiers:
        return ["the tiers before are not those of the allocation"]
    if answer.clash is not None or answer.allocation is None or answer.comparison is None:
        given = (answer.comparison, answer.allocation, *answer.after, *answer.moved)
        if answer.clash is None or any(
            (*given, *answer.added, *answer.gone, *answer.essential_out)
        ):
            return ["it is neither a layout nor a clash"]
        return [*wrong_in_clash(other, answer.clash), *_wrong_certain(answer, [])]
    if answer.allocation.request != other:
        return ["that is the answer to another request"]
    before, after = places_of(allocation), places_of(answer.allocation)
    tiers = order_of(allocation.request)
    best = least(other) if small(other) else None
    wrong = [] if valid(other, after) else ["the other layout is not valid"]
    wrong += wrong_in_comparison(
        answer.comparison, terms_of(measure, before), terms_of(other, after), tiers
    )
    wrong += _wrong_tiers(tiers, answer.after, answer.comparison.after, best)
    if answer.after != answer.allocation.tiers:
        wrong.append("the tiers after are not those of its layout")
    if by_the_other:
        values = zip(allocation.tiers, totals_of(other, before), strict=True)
        right = [Tier(was.name, now, now * was.proven, was.proven) for was, now in values]
        if list(answer.before) != right:
            wrong.append("the tiers before are not what its layout costs then")
    elif small(allocation.request):
        now = least(allocation.request)
        wrong += _wrong_tiers(tiers, answer.before, answer.comparison.before, now)
    if wrong:
        return wrong
    wrong += _wrong_moves(allocation.request, other, answer, (before, after))
    wrong += _wrong_ease(allocation, answer.allocation, answer)
    differ = [
        n for n in range(len(tiers)) if answer.comparison.before[n] != answer.comparison.after[n]
    ]
    last = differ[0] if differ else len(tiers) - 1
    deciding = [*answer.before[: last + 1], *answer.after[: last + 1]]
    return wrong + _wrong_certain(answer, deciding)


def _wrong_moves(
    request: Request, other: Request, answer: Difference, at: tuple[Places, Places]
) -> Iterator[str]:
    old, new_inner = list(request.by_full_name), other.by_full_name
    new = list(new_inner)
    moves = [(name, at[0].get(name), at[1].get(name)) for name in old if name in new]
    if list(answer.moved) != [Moved(*each) for each in moves if each[1] != each[2]]:
        yield f"these are not what moves: {answer.moved}"
    if list(answer.added) != [name for name in new if name not in old]:
        yield f"these are not what is new: {answer.added}"
    if list(answer.gone) != [name for name in old if name not in new]:
        yield f"these are not what is gone: {answer.gone}"
    essential = [name for name in new if new_inner[name].priority == 1]
    if list(answer.essential_out) != [name for name in essential if name not in at[1]]:
        yield f"these are not what is essential and left out: {answer.essential_out}"


def _wrong_ease(one: Allocation, other: Allocation, answer: Difference) -> Iterator[str]:
    loads = [*_loads(one.request), *_loads(other.request)]  # those of the first count first
    now, then = _as_wanted(one, loads), _as_wanted(other, loads)
    if list(answer.eased) != [n for n in other.request.by_full_name if n in then - now]:
        yield f"these are not what is as wanted then: {answer.eased}"
    no_more = (now - then).intersection(places_of(other))
    if list(answer.strained) != [n for n in one.request.by_full_name if n in no_more]:
        yield f"these are not what is so no more: {answer.strained}"


def _loads(request: Request) -> list[set[str]]:
    own = asked(request)
    return [set(own.named(load)) for load in own.reading.loads]


def _as_wanted(allocation: Allocation, loads: list[set[str]]) -> set[str]:
    """What goes over the travel that it wants, beside nothing but what it came with."""
    places, found = places_of(allocation), set()
    goes = {each.knob: each.travel for each in allocation.travels}
    for route in allocation.routes:
        name = route.destination
        beside = {each for each, knob in places.items() if knob == route.knob}
        load = next(each for each in loads if name in each)
        travel = route.travel or goes.get(route.knob)
        if travel == allocation.request.wanted(name) and beside <= load:
            found.add(name)
    return found


def _wrong_certain(answer: Difference, tiers: Collection[Tier]) -> list[str]:
    right = all(tier.proven for tier in tiers)
    return [] if answer.proven == right else [f"proven is {answer.proven}"]


def _wrong_tiers(
    names: tuple[str, ...],
    tiers: tuple[Tier, ...],
    values: tuple[int, ...],
    best: tuple[int, ...] | None,
) -> list[str]:
    told = tuple(tier.value for tier in tiers)
    if tuple(tier.name for tier in tiers) != names or told != values:
        return [f"the tiers are {told}, and the layout costs {values}"]
    if best is None:
        return []
    for tier, value, least_value in zip(tiers, values, best, strict=True):
        if tier.proven and (value, tier.bound) != (least_value, least_value):
            return [f"proven {tier}, and the least is {best}"]
        if not tier.proven:
            break  # what comes after it means nothing
    return [] if values >= best else [f"{values} is less than the least, {best}"]


def wrong_in_clash(request: Request, clash: Clash) -> Iterator[str]:
    """All that is wrong in what is said to clash; of a large request, only what it names.

    That no cheaper way out is missing, and who the rivals are, is for tests.oracles.clashes.
    """
    if small(request) and least(request) is not None:
        yield "there is a layout"
        return
    demands = demands_of(request)
    prices = {each: each.price for each in demands}  # two demands are equal at any price
    for each in (*clash.demands, *(each for way in clash.ways_out for each in way.demands)):
        if each.price != prices.get(each):
            yield f"no such demand at such a price: {each!r}"
            return
    if not small(request):
        return
    yield from _wrong_set(request, demands, clash)
    for way in clash.ways_out:
        if not _met(request, set(demands).difference(way.demands)):
            yield f"this leads nowhere: {way!r}"
        if way.price != sum(each.price for each in way.demands) or not way.proven:
            yield f"the price is wrong, or not proven: {way!r}"
    if [way.price for way in clash.ways_out] != sorted(way.price for way in clash.ways_out):
        yield "the ways out are not in order"
    enough = least(wider(request)) is not None
    if clash.wider != (len(request.surface.knobs) + 1 if enough else None):
        yield f"wider is {clash.wider}"


def _wrong_set(request: Request, demands: tuple[Demand, ...], clash: Clash) -> Iterator[str]:
    units = contradicted(request, clash.demands)
    if sorted(clash.contradicted) != sorted(units):
        yield f"contradicted are {units}"
    if list(clash.demands) != [each for each in demands if each in clash.demands]:
        yield "these are not demands of the request, or not in asking order"
    if _met(request, clash.demands):
        yield "these can be met"
    for each in clash.demands:
        if not clash.minimal or not _met(request, set(clash.demands) - {each}):
            yield f"they clash without this too: {each!r}"


# Requests with one thing more or less, made here ------------------------------------------------


def fixed_there(request: Request, name: str, knob: str) -> Request:
    """The request with a destination on a knob."""
    return attrs.evolve(request, rules=(*request.rules, Fixed((name,), knob)))


def placing(request: Request, names: Collection[str]) -> Request:
    """The request in which some destinations must be placed."""
    voices = []
    for voice in request.voices:
        inner = [
            attrs.evolve(each, must_place=each.must_place or f"{voice.name}/{each.name}" in names)
            for each in voice.destinations
        ]
        voices.append(attrs.evolve(voice, destinations=tuple(inner)))
    return attrs.evolve(request, voices=tuple(voices))


def without_each(request: Request) -> list[tuple[str, object, str, bool, Request]]:
    """Each thing that has a price: its kind, itself, its name, if it is required, all the rest."""
    found: list[tuple[str, object, str, bool, Request]] = []
    request = attrs.evolve(request, snapshots=request.played)  # those of now, whatever is dropped
    for rule in dict.fromkeys(request.rules):
        less = attrs.evolve(request, rules=tuple(r for r in request.rules if r != rule))
        weight = f", weight {rule.weight:,}" if rule.weight is not None else ""
        found.append(("rule", rule, f"the rule {rule}{weight}", rule.weight is None, less))
    for played in request.played:
        rest = tuple(each for each in request.played if each.name != played.name)
        less, firm = attrs.evolve(request, snapshots=rest), played.break_weight is None
        found.append(("snapshot", played.name, f"the snapshot '{played.name}'", firm, less))
    surface = request.surface
    for knob in surface.reserved:
        open_too = tuple(name for name in surface.reserved if name != knob)
        less = attrs.evolve(request, surface=attrs.evolve(surface, reserved=open_too))
        found.append(("reserved", knob, f"{knob} being closed to what is new", True, less))
    for route in request.keep.routes:
        keep = Layout(
            tuple(each for each in request.keep.routes if each is not route),
            request.keep.travels,
            request.keep.layers,
        )
        told = f"{route.destination} being kept on {route.knob}"
        found.append(("keep", route, told, True, attrs.evolve(request, keep=keep)))
    if surface.destinations_per_knob is not None:
        less = attrs.evolve(request, surface=attrs.evolve(surface, destinations_per_knob=None))
        told = f"the limit of {surface.destinations_per_knob} on a knob"
        found.append(("destinations per knob", surface.destinations_per_knob, told, True, less))
    if surface.routes is not None:
        less = attrs.evolve(request, surface=attrs.evolve(surface, routes=None))
        found.append(
            ("routes", surface.routes, f"the limit of {surface.routes} routes", True, less)
        )
    return found


def wrong_in_demand_prices(allocation: Allocation, answer: DemandPrices) -> list[str]:
    """All that is wrong in what each thing that was asked is said to be worth."""
    wanted = without_each(allocation.request)
    told = [(w.kind, w.demand.subject, w.what, w.required) for w in answer.prices]
    if sorted(told, key=repr) != sorted((each[:4] for each in wanted), key=repr):
        return [f"{told} are priced, and not {[each[:4] for each in wanted]}"]
    wrong = []
    for each, key in zip(answer.prices, told, strict=True):
        fitting = [w for w in wanted if w[:4] == key]
        found = [
            wrong_in_difference(allocation, w[4], each.difference, by_the_other=True)
            for w in fitting
        ]
        if all(found):
            wrong.append(f"without {each.what}: {found[0]}")
        wrong += _wrong_price(allocation.request, each)
    if wrong:
        return wrong
    ranks = []
    for each in answer.prices:
        after, before = each.difference.after, each.difference.before
        ranks.append([b.value - a.value for a, b in zip(before, after, strict=bool(after))])
    if ranks != sorted(ranks):
        wrong.append("not the dearest first")
    return wrong


def _wrong_price(request: Request, told: DemandPrice) -> Iterator[str]:
    """What is wrong in a price: nothing is better for being asked more of."""
    after = [tier.value for tier in told.difference.after]
    before = [tier.value for tier in told.difference.before]
    kept = told.demand.subject if told.kind == "keep" else None
    reserved = kept is not None and kept.knob in request.surface.reserved
    if after > before and not reserved:
        yield f"without {told.what} the best layout costs {after}, and there is one for {before}"
    saved = [b - a for a, b in zip(after, before, strict=bool(after)) if a != b]
    right = max(0, *saved[:1], 0) if after else None
    if told.price != right:
        yield f"the price of {told.what} is {right}, not {told.price}"


def wrong_in_next_best(
    allocation: Allocation, names: tuple[str, ...], best: Difference, certain: bool
) -> Iterator[str]:
    """All that is wrong in the layout said to be the best that parts some destinations."""
    request = allocation.request
    others = [
        attrs.evolve(request, rules=(*request.rules, Apart(names[:1], (name,))))
        for name in names[1:]
    ]
    found = [wrong_in_difference(allocation, other, best) for other in others]
    if all(found):
        yield f"{found[0]}"
    if not small(request):
        return
    # What is bound together can be parted by leaving it out, which is no answer.
    bound = all(masks.contradicted(read(other)) for other in others)
    right = None if bound else least_apart(request, names)
    told = None if best.comparison is None else best.comparison.after
    if told != right or not certain:
        yield f"the best that parts them costs {right}, not {told}"
    if best.allocation is not None:
        at = places_of(best.allocation)
        if names[0] in at and len({at.get(name) for name in names}) == 1:
            yield "they share a knob in it"


def must_place_all(allocation: Allocation, unit: Collection[str]) -> Request:
    """The request in which all that is placed must be, and so some more."""
    return placing(allocation.request, {*places_of(allocation), *unit})


@lru_cache(maxsize=4096)
def _all_met(request: Request, wanted: frozenset[Demand]) -> bool:
    return may_be_met(request, wanted)


def _met(request: Request, wanted: Collection[Demand]) -> bool:
    """Whether some layout meets all of ``wanted``."""
    return _all_met(request, frozenset(wanted))


def leads_out(request: Request, given_up: Collection[Demand]) -> bool:
    """Whether some layout meets all that is demanded but this."""
    return _met(request, set(demands_of(request)).difference(given_up))
