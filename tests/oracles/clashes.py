"""What clashes, by looking at every layout; and what is wrong with a Clash that says otherwise.

Written apart from the solver: every way of putting every destination on a knob or leaving it out
goes through the plain checker, and what it breaches is noted. A part of the demands can be met if
some layout breaches none of it; what must be given up is what some layout breaches.
"""

from __future__ import annotations

import itertools
from collections.abc import Collection, Iterable, Iterator

import attrs

from knobpack.checker import check
from knobpack.clash import Clash
from knobpack.words import Alone, Apart, Barred, Fixed, Knob, Layout, Request, Route, Rule, Together
from knobpack.words.demand import Demand, demands_of

Breached = frozenset[Demand]

_OF_A_KNOB = ("separate", "reserved", "destinations per knob")
"""The kinds of demand, rules aside, that a knob meets or not whatever is on all others."""


@attrs.frozen
class Truth:
    """What every layout for a request breaches.

    Args:
        demands: all that is demanded.
        breached: for some layout each, what it breaches; only the sets that hold no other.
        sharing: for each layout the pairs that share a knob in it, and what it breaches.
        ways: what must be given up so that the rest can be met; only the sets that hold no other.
    """

    demands: tuple[Demand, ...]
    breached: frozenset[Breached]
    sharing: tuple[tuple[frozenset[tuple[str, str]], Breached], ...]
    ways: frozenset[Breached]

    def possible(self, wanted: Collection[Demand]) -> bool:
        """Whether some layout meets all of ``wanted``."""
        return any(breached.isdisjoint(wanted) for breached in self.breached)

    def prices(self) -> list[int]:
        """What each minimal way out costs, cheapest first."""
        return sorted(price_of(way) for way in self.ways)


def price_of(demands: Iterable[Demand]) -> int:
    return sum(demand.price for demand in demands)


def truth_of(request: Request) -> Truth:
    """Look at every layout."""
    demands = demands_of(request)
    own = {demand: demand for demand in demands}  # a breach's demand carries no price
    seen = []
    for routes in every_routing(request):
        breaches = check(request, Layout(routes)).breaches
        kinds = ("layer", "layers", "snapshots")
        breached = frozenset(own[b.demand] for b in breaches if b.demand.kind not in kinds)
        knobs = itertools.groupby(sorted(routes, key=lambda r: r.knob), key=lambda r: r.knob)
        shared = frozenset(
            pair
            for _, on in knobs
            for pair in itertools.permutations([route.destination for route in on], 2)
        )
        seen.append((shared, breached))
    parts = [
        {breached for _, breached in seen},
        set(_counted(demands, "layers", "layer")),
        set(_counted(demands, "snapshots", "store")),
    ]
    laid, lone = _united(parts), list(_contradicting(request))
    ways = _united([laid, *lone])
    if not set(request.surface.knob_names) <= set(request.surface.reserved):
        return Truth(demands, frozenset(ways), tuple(seen), frozenset(ways))
    # No knob is open to anything, and so nothing contradicted, unless one is opened.
    opening = {each for each in laid if any(demand.kind == "reserved" for demand in each)}
    ways = smallest({*laid} - opening | {*_united([opening, *lone])})
    return Truth(demands, frozenset(laid), tuple(seen), frozenset(ways))


def _united(parts: Iterable[Collection[Breached]]) -> list[Breached]:
    """The smallest unions of one set from each part."""
    whole: list[Breached] = [frozenset()]
    for part in parts:
        whole = smallest({one | other for one in whole for other in smallest(part)})
    return whole


def _contradicting(request: Request) -> Iterator[set[Breached]]:
    """For each destination, what each way to have it on a knob breaches, all else left out.

    It may have any company there.
    """
    loose = {demand: _loosened(request, demand) for demand in demands_of(request)}
    rules = tuple(dict.fromkeys(r for found in loose.values() for r in found))
    asked = attrs.evolve(request, rules=rules)
    ways: dict[str, set[Breached]] = {name: set() for name in request.by_full_name}
    for count in range(1, len(ways) + 1):
        for company in itertools.combinations(ways, count):
            for knob in request.surface.knob_names:
                routes = tuple(Route(name, knob) for name in company)
                broken = [breach.demand for breach in check(asked, Layout(routes)).breaches]
                rules_broken = {each.subject for each in broken if each.kind == "rule"}
                breached = frozenset(
                    demand
                    for demand, found in loose.items()
                    if rules_broken.intersection(found)
                    or (demand.kind in _OF_A_KNOB and demand in broken)
                )
                for name in company:
                    ways[name].add(breached)
    yield from ways.values()


def _loosened(request: Request, demand: Demand) -> tuple[Rule, ...]:
    """A rule for where all else is left out: what it fixes is only barred from everywhere else."""
    rule = demand.subject
    if demand.kind != "rule":
        return ()
    if not isinstance(rule, Fixed):
        return (rule,)
    others = tuple(knob for knob in request.surface.knob_names if knob != rule.knob)
    return (Barred(rule.names, others),) if others else ()


def every_routing(request: Request) -> Iterator[tuple[Route, ...]]:
    """Every way to put each destination on a knob or leave it out."""
    choices = (None, *request.surface.knob_names)
    for chosen in itertools.product(choices, repeat=len(request.by_full_name)):
        pairs = zip(request.by_full_name, chosen, strict=True)
        yield tuple(Route(name, knob) for name, knob in pairs if knob is not None)


def smallest(sets: Collection[Breached]) -> list[Breached]:
    """The sets that hold none of the others."""
    return [each for each in sets if not any(other < each for other in sets)]


def _counted(demands: Iterable[Demand], limit: str, member: str) -> Iterator[Breached]:
    """What is breached by serving each choice of the voices or snapshots that want a place."""
    limits = [demand for demand in demands if demand.kind == limit]
    members = [demand for demand in demands if demand.kind == member]
    for count in range(len(members) + 1):
        for served in itertools.combinations(members, count):
            over = [each for each in limits if count > each.subject]
            yield frozenset(members).difference(served).union(over)


def wider(request: Request) -> Request:
    """The request on a surface with one knob more, below all others."""
    surface = request.surface
    more = Knob("Another", 1 + max((knob.row for knob in surface.knobs), default=0))
    return attrs.evolve(request, surface=attrs.evolve(surface, knobs=(*surface.knobs, more)))


def faults(request: Request, truth: Truth, clash: Clash, ways: int = 5) -> list[str]:
    """All that is wrong with what ``clash`` says of ``request``; nothing if it is right."""
    found = [*_set_faults(truth, clash), *_way_faults(truth, clash, ways)]
    found += _rival_faults(truth, clash)
    enough = (
        len(request.surface.knobs) + 1 if truth_of(wider(request)).possible(truth.demands) else None
    )
    if clash.wider != enough:
        found.append(f"wider is {clash.wider}, not {enough}")
    return found


def _set_faults(truth: Truth, clash: Clash) -> Iterator[str]:
    if list(clash.demands) != [demand for demand in truth.demands if demand in clash.demands]:
        yield "the set is not of this request, or not in asking order"
    if truth.possible(clash.demands):
        yield "the set can be met"
    if not clash.minimal:
        yield "the set is not said to be minimal"
    for demand in clash.demands:
        if not truth.possible(set(clash.demands) - {demand}):
            yield f"the set clashes without this too: {demand}"


def _way_faults(truth: Truth, clash: Clash, ways: int) -> Iterator[str]:
    given_up = [frozenset(way.demands) for way in clash.ways_out]
    if len(set(given_up)) != len(given_up):
        yield "a way out is told twice"
    for way, demands in zip(clash.ways_out, given_up, strict=True):
        if any(other < demands for other in truth.ways):
            yield f"less than this would do: {way}"
        elif demands not in truth.ways:
            yield f"this is no way out: {way}"
        if way.price != price_of(way.demands):
            yield f"the price is {price_of(way.demands)}, not {way.price}: {way}"
        if not way.proven:
            yield f"this is not said to be proven: {way}"
    if [way.price for way in clash.ways_out] != truth.prices()[:ways]:
        yield f"the cheapest ways out cost {truth.prices()[:ways]}"


def _rival_faults(truth: Truth, clash: Clash) -> Iterator[str]:
    if clash.rivals and len(clash.rivals) <= clash.knobs:
        yield "there are knobs enough for the rivals"
    rules = {
        demand
        for demand in clash.demands
        if demand.kind == "separate" or isinstance(demand.subject, Apart | Alone | Together)
    }
    for pair in itertools.combinations(clash.rivals, 2):
        if any(pair in shared and breached.isdisjoint(rules) for shared, breached in truth.sharing):
            yield f"these may share a knob: {pair}"
