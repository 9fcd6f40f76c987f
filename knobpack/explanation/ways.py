"""Ways: every best way to share the knobs, whatever knob each set is on.

Where the solver can go through all of them it does. Elsewhere the layouts are parted by what they
have in common: after each way found, what is left falls into parts that differ from it in one
first respect, and each part is asked, as a request with more rules, whether it holds a layout as
good (E. L. Lawler, *A procedure for computing the K best solutions*, Management Science 18, 1972;
cited from memory).
"""

from __future__ import annotations

from collections import deque
from collections.abc import Iterator, Mapping
from itertools import combinations
from typing import TYPE_CHECKING, Final, Literal

import attrs

from knobpack.allocation import Allocation
from knobpack.checker import check
from knobpack.definition.importance_prices import omission_price
from knobpack.errors import Fault, Stopped
from knobpack.text.shown import Fielded
from knobpack.words import Alone, Apart, Barred, Layout, Request, Route, Rule, Together
from knobpack.words.edits import placed, with_rule

if TYPE_CHECKING:
    from knobpack.numbered.problem import Problem
    from knobpack.solver.watch import Watch

MOST: Final = "more than asked for"
"""Why a search ended: as many ways were found as were asked for, and one more."""

EFFORT_PER_SOLVE = 0.02
"""Effort for asking one part, beside what the solver counts itself."""

EFFORT_PER_CHOICE = 5e-8
"""Effort for each way to take a set from a larger one, of which ``n`` atoms have 3**n."""


@attrs.frozen
class Way(Fielded):
    """A way to share the knobs: what is with what, on whatever knobs, and what is left out.

    Args:
        sets: the full names of what each used knob drives, in the order of the request.
        unplaced: the full names of what is left out, in that order.
    """

    sets: tuple[tuple[str, ...], ...]
    unplaced: tuple[str, ...]


@attrs.frozen
class AsGoodLayout:
    """Whether some request has a layout as good.

    Args:
        knob_of: the knob of each destination placed, in such a layout; None: none was found.
        settled: whether it is proven that there is none, or one was found.
    """

    knob_of: dict[str, str] | None
    settled: bool


@attrs.frozen
class Common:
    """What the layouts of one part have in common.

    Args:
        placed: destinations that are placed.
        out: destinations that are left out.
        joined: pairs that share a knob.
        parted: pairs that do not.
    """

    placed: tuple[str, ...] = ()
    out: tuple[str, ...] = ()
    joined: tuple[tuple[str, str], ...] = ()
    parted: tuple[tuple[str, str], ...] = ()

    def within(self, request: Request) -> Request:
        """The request for those layouts alone. Required rules cost nothing, so prices stay.

        What is expendable joins nothing but its bundle in a best layout; that is a rule here, for
        what is demanded is expendable no more.
        """
        rules: list[Rule] = [Alone(names) for names in _expendable(request)]
        rules += [Together(pair) for pair in self.joined]
        rules += [Apart((one,), (other,)) for one, other in self.parted]
        knobs = request.surface.knob_names
        if self.out and knobs:
            rules.append(Barred(self.out, knobs))
        must = placed(request, self.placed) if self.placed else request
        return attrs.evolve(must, snapshots=request.played, rules=(*request.rules, *rules))


def _expendable(request: Request) -> list[tuple[str, ...]]:
    """What is expendable, each bundle at once."""
    bundles = [each.names for each in request.bundles if request.expendable.issuperset(each.names)]
    single = request.expendable.difference(*bundles)
    return [*bundles, *((name,) for name in request.by_full_name if name in single)]


def way_of(request: Request, knob_of: dict[str, str]) -> Way:
    """The way to share that a layout has."""
    on: dict[str, list[str]] = {}
    for name in request.by_full_name:
        if name in knob_of:
            on.setdefault(knob_of[name], []).append(name)
    unplaced = tuple(name for name in request.by_full_name if name not in knob_of)
    return Way(tuple(tuple(names) for names in on.values()), unplaced)


def all_ways(
    allocation: Allocation, most: int, watch: Watch, *, walk: bool = True
) -> tuple[tuple[Way, ...], Stopped | None]:
    """Every best way to share.

    Args:
        allocation: a layout that is proven best.
        most: how many ways to give, at most.
        watch: what may cut the search short.
        walk: whether to go through them all where that can be done.

    Returns:
        The ways, the allocation's own first and the others by what is with what, and what ended
        the search before all were known: :data:`MOST`, or what stopped the watch; None: they are
        all there are.
    """
    request = allocation.request
    values = tuple(tier.value for tier in allocation.tiers)
    own = {route.destination: route.knob for route in allocation.routes}
    found = _Found(request, values, most)
    found.add(own)
    stopped: Stopped | Literal["split"] | None = "split"
    if walk:
        stopped = (_one_by_one if request.in_use else _walked)(found, own, watch)
    if stopped == "split":
        stopped = _split(found, own, watch)
    place = {name: number for number, name in enumerate(request.by_full_name)}
    first, *others = found.ways
    others.sort(key=lambda way: [[place[name] for name in names] for names in way.sets])
    return (first, *others), stopped


def as_good(request: Request, values: tuple[int, ...], watch: Watch) -> AsGoodLayout:
    """Look for a layout that costs so much, where none costs less.

    Args:
        request: what is asked.
        values: the values of all tiers.
        watch: what may cut the search short.
    """
    from knobpack.numbered.less import forgiving
    from knobpack.numbered.request import problem_of
    from knobpack.solver.outcome import ImpossibleError, NothingFoundError
    from knobpack.solver.solve import solve
    from knobpack.solver.watch import CANCELLED

    if watch.over():
        return AsGoodLayout(None, settled=False)
    # What is to be left out is barred from every knob here, which contradicts nothing.
    problem = forgiving(problem_of(request))
    watch.spend(_effort(problem))
    if watch.over():
        return AsGoodLayout(None, settled=False)
    reached, dearer = True, False

    def tell(tier: int, value: int | None, bound: int) -> None:
        # A bound holds for what is as good in the tiers before, so those must be as they should.
        nonlocal reached, dearer
        dearer = dearer or (reached and bound > values[tier])
        reached = reached and value == values[tier]

    def cancelled() -> bool:
        return dearer or (watch.cancelled is not None and watch.cancelled())

    own = watch.slice()
    own.cancelled, own.told = cancelled, tell
    outcome = None
    try:
        outcome = solve(problem, own)
    except ImpossibleError:
        return AsGoodLayout(None, settled=True)
    except NothingFoundError:
        pass
    finally:
        if own.stopped != CANCELLED or not dearer:
            watch.stopped = watch.stopped or own.stopped
    if outcome is not None and outcome.values == values:
        names, knobs = tuple(request.by_full_name), request.surface.knob_names
        return AsGoodLayout(
            {names[i]: knobs[knob] for i, knob in outcome.knobs.items()}, settled=True
        )
    if dearer or outcome is None:
        return AsGoodLayout(None, settled=dearer)
    tiers = zip(outcome.values, outcome.bounds, values, strict=True)
    proven = next((bound > wanted for value, bound, wanted in tiers if value != wanted), False)
    return AsGoodLayout(None, settled=proven)


@attrs.define
class _Found:
    """The ways found so far; the only thing here that changes."""

    request: Request
    values: tuple[int, ...]
    most: int
    ways: dict[Way, None] = attrs.field(factory=dict)

    def add(self, knob_of: dict[str, str]) -> bool:
        """Take the way of a best layout, once the plain checker has passed it.

        Returns:
            Whether there is room for it.
        """
        found = check(self.request, Layout(tuple(Route(*each) for each in knob_of.items())))
        if found.breaches or found.prices.totals != self.values:
            raise Fault(
                f"the plain checker does not confirm that a layout costs {self.values}: "
                f"it costs {found.prices.totals}"
            )
        way = way_of(self.request, knob_of)
        if way not in self.ways and len(self.ways) == self.most:
            return False
        self.ways[way] = None
        return True


def _one_by_one(found: _Found, own: dict[str, str], watch: Watch) -> Stopped | None:
    """Look for one way after the other, each ruled out once it is found; what ended that."""
    from knobpack.numbered.request import problem_of
    from knobpack.solver.cp_sat.atoms_on_knobs import CutShortError
    from knobpack.solver.cp_sat.cpsat import Status
    from knobpack.solver.cp_sat.in_use import AsGood

    request = found.request
    names, panel = tuple(request.by_full_name), request.surface.knob_names
    try:
        search = AsGood(problem_of(request), found.values, watch)
    except CutShortError:
        return watch.stopped
    search.rule_out({names.index(name): panel.index(knob) for name, knob in own.items()})
    while True:
        watch.spend(EFFORT_PER_SOLVE)
        if watch.over():
            return watch.stopped
        answer = search.another(watch)
        if answer.status is Status.IMPOSSIBLE:
            return None
        knobs = search.placed(answer)
        if knobs is None:
            return watch.stopped or "effort"
        if not found.add({names[item]: panel[knob] for item, knob in knobs.items()}):
            return MOST
        search.rule_out(knobs)


def elsewhere(
    request: Request, values: tuple[int, ...], places: Mapping[str, str], watch: Watch
) -> dict[str, AsGoodLayout]:
    """For each destination that is on a knob, whether a layout as good has it on none or another.

    Args:
        request: what is asked.
        values: the values of all tiers.
        places: the destinations, and the knob of each.
        watch: what may cut the search short.
    """
    if not request.in_use:
        return {
            name: as_good(with_rule(request, Barred((name,), (knob,))), values, watch)
            for name, knob in places.items()
        }
    from knobpack.numbered.request import problem_of
    from knobpack.solver.cp_sat.atoms_on_knobs import CutShortError
    from knobpack.solver.cp_sat.cpsat import Status
    from knobpack.solver.cp_sat.in_use import AsGood

    names, panel = tuple(request.by_full_name), request.surface.knob_names
    try:
        search, found = AsGood(problem_of(request), values, watch), {}
    except CutShortError:
        return {name: AsGoodLayout(None, settled=False) for name in places}
    for name, knob in places.items():
        watch.spend(EFFORT_PER_SOLVE)
        if watch.over():
            found[name] = AsGoodLayout(None, settled=False)
            continue
        answer = search.off(names.index(name), panel.index(knob), watch)
        knobs = search.placed(answer)
        at = None if knobs is None else {names[item]: panel[at] for item, at in knobs.items()}
        found[name] = AsGoodLayout(at, at is not None or answer.status is Status.IMPOSSIBLE)
    return found


def _walked(found: _Found, _: dict[str, str], watch: Watch) -> Stopped | Literal["split"] | None:
    """Go through all ways; what ended that, ``split`` if it cannot be done this way."""
    from knobpack.numbered.request import problem_of
    from knobpack.solver.arrangement.arrange import TooManyStatesError
    from knobpack.solver.optima.best_ways import best_ways
    from knobpack.solver.optima.dominance import TooManyVariantsError

    request = found.request
    unplaced, bundles, breaks, sharing, change, layout = found.values
    values = unplaced, bundles, breaks, sharing, change, layout
    walk = best_ways(problem_of(request), values, watch)
    if walk is None:
        return "split"
    names, knobs = tuple(request.by_full_name), request.surface.knob_names
    try:
        for placement in walk:
            if not found.add({names[item]: knobs[knob] for item, knob in placement.items()}):
                return MOST
    except (TooManyVariantsError, TooManyStatesError):
        return "split"
    return watch.stopped


def _split(found: _Found, own: dict[str, str], watch: Watch) -> Stopped | None:
    """Part what is left after each way found, and ask every part; what ended that."""
    waiting = deque([(Common(), own)])
    unsure = False
    while waiting:
        common, knob_of = waiting.popleft()
        for part in _parts(found.request, common, knob_of):
            if _left_out_too_much(found, part):
                continue
            asked = as_good(part.within(found.request), found.values, watch)
            if not asked.settled and watch.over():
                return watch.stopped
            unsure = unsure or not asked.settled
            if asked.knob_of is not None:
                if not found.add(asked.knob_of):
                    return MOST
                waiting.append((part, asked.knob_of))
    return "effort" if unsure else None


def _parts(request: Request, common: Common, knob_of: dict[str, str]) -> Iterator[Common]:
    """All that ``common`` allows but the way of one layout, in parts that do not overlap."""
    for name in request.by_full_name:
        if name in common.placed or name in common.out:
            continue
        left_out = attrs.evolve(common, out=(*common.out, name))
        kept_in = attrs.evolve(common, placed=(*common.placed, name))
        here, elsewhere = (kept_in, left_out) if name in knob_of else (left_out, kept_in)
        yield elsewhere
        common = here
    sets = way_of(request, knob_of).sets
    within = [(names[0], other) for names in sets for other in names[1:]]
    between = list(combinations((names[0] for names in sets), 2))
    for pair in (*within, *between):
        if pair in common.joined or pair in common.parted:
            continue
        joined = attrs.evolve(common, joined=(*common.joined, pair))
        parted = attrs.evolve(common, parted=(*common.parted, pair))
        here, elsewhere = (joined, parted) if pair in within else (parted, joined)
        yield elsewhere
        common = here


def _left_out_too_much(found: _Found, common: Common) -> bool:
    """Whether what is left out costs too much by itself, so that nothing need be solved."""
    return sum(omission_price(found.request, name) for name in common.out) > found.values[0]


def _effort(problem: Problem) -> float:
    from knobpack.solver.families import families
    from knobpack.solver.value_functions.subset_dp import LARGEST

    if problem.in_use:
        return EFFORT_PER_SOLVE
    sizes = [len(part) for part in families(problem)]
    choices = sum(3**size for size in sizes) if max(sizes, default=0) <= LARGEST else 0
    return EFFORT_PER_SOLVE + EFFORT_PER_CHOICE * choices
