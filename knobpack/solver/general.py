"""The general way: every demand and every tier in one model, over the catalogues of all families.

For each of the first four tiers the linear relaxation gives a bound and good columns, CP-SAT
makes a placement of those, and if a gap is left, CP-SAT chooses again among all sets that could be
part of something better: no other set could be, as its reduced cost alone is more than the gap.
What is left after the fourth tier, the sets that can be part of a best placement, is arranged on
single knobs.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence

import attrs
import numpy as np

from knobpack.problem import Problem, bits
from knobpack.solver.alike import alike
from knobpack.solver.arrange import arrange, best_choice
from knobpack.solver.best import Best
from knobpack.solver.breaking import few_broken
from knobpack.solver.catalogue import Catalogue, Column, catalogue_of, columns_of, knob_slots
from knobpack.solver.cluster import Places
from knobpack.solver.compact_model import CompactModel
from knobpack.solver.cpsat import Answer, Status
from knobpack.solver.families import families
from knobpack.solver.greedy import greedy
from knobpack.solver.outcome import (
    UPPER,
    ImpossibleError,
    NothingFoundError,
    Outcome,
    Upper,
    Values,
)
from knobpack.solver.relaxation import QUANTUM, Relaxation, needed, relax
from knobpack.solver.selection import Selection
from knobpack.solver.ties import Priced, tied
from knobpack.solver.variants import TooManyVariantsError
from knobpack.solver.watch import Watch

FEW_SETS = 1_000
"""So many sets at most are chosen from at first, where more might be part of something better."""

SHORT_EFFORT = 3.0
"""Deterministic effort for a choice that is only to find something good."""

MOST_CHOICES = 60_000
"""Variables of one model, at most."""

MOST_LITERALS = 100_000
"""Atoms times knobs up to which the compact model is asked for a placement to start from."""

START_EFFORT = 0.3
"""Deterministic effort for each tier of it."""

FEW_PLACES = 4_000
"""Sets times knobs up to which the last two tiers are worth all the effort there is."""


def general(problem: Problem, watch: Watch, *, place_all: bool = False) -> Outcome:
    """The best placement, tier by tier.

    Raises:
        ImpossibleError: no placement meets every demand, or, with ``place_all``, places all.
        NothingFoundError: the watch stopped the search before it knew any placement.
    """
    best = Best(problem)
    best.offer(greedy(problem, watch))
    best.offer(few_broken(problem, watch))
    slots = knob_slots(problem)
    parts = families(problem)
    catalogues = [catalogue_of(problem, part, slots, watch) for part in parts]
    shelf = _Shelf(problem, slots, catalogues)
    if best.values is None or not all(each.complete for each in catalogues):
        _start(problem, best, watch)
    bounds = [0, 0, 0, 0, 0, 0]
    pool: _Pool | None = None
    for tier in range(UPPER):
        if tier < UPPER - 1 and best.values is not None and best.values[tier] == 0:
            continue
        bounds[tier], pool = _upper_tier(shelf, best, tier, watch)
        if best.values is None:
            raise NothingFoundError
        watch.tell(tier, best.values[tier], bounds[tier])
        if place_all and bounds[0]:
            raise ImpossibleError
    if best.values is None:
        raise NothingFoundError
    proven = list(best.values[:UPPER]) == bounds[:UPPER]
    if pool is not None:
        pool = attrs.evolve(pool, complete=pool.complete and proven)
        settled = _settled(problem, parts, pool, best, watch)
        bounds[UPPER:] = settled or _lower_tiers(problem, pool, best, watch)
    return Outcome(best.knobs, best.values, _in_order(bounds))


def _in_order(bounds: Sequence[int]) -> Values:
    first, second, third, fourth, fifth, sixth = bounds
    return first, second, third, fourth, fifth, sixth


def _start(problem: Problem, best: Best, watch: Watch) -> None:
    """Find a placement by the compact model, or make the one that is known better."""
    if len(problem.atoms) * problem.knobs > MOST_LITERALS:
        return
    model = CompactModel(problem)
    for tier, name in enumerate(problem.order[:UPPER]):
        if best.values is not None:
            model.start_from(best.knobs)
        answer = model.best(name, watch, effort=START_EFFORT)
        best.offer(model.placed(answer))
        if best.values is None:
            return
        model.hold(name, best.values[tier])


def arrange_sets(
    problem: Problem,
    sets: Iterable[int],
    values: Upper,
    watch: Watch,
    start: Mapping[int, int] | None = None,
) -> Outcome | None:
    """Solve the last two tiers over every set of a best solution, the first four values proven.

    Args:
        problem: the problem.
        sets: masks of the atoms of every such set.
        values: those of the first four tiers.
        watch: how long the search may go on.
        start: the knob of each item in a placement of these values, if one is known.

    Returns:
        The outcome, or None if none of these sets' placements reaches those values, or the watch
        stopped the search before one was known.
    """
    best = Best(problem)
    pool = _unpriced(columns_of(problem, sets), complete=True)
    best.offer(start)
    if best.values is None:
        selection = Selection(problem, pool.columns, knob_slots(problem))
        for tier, value in enumerate(values):
            selection.hold(tier, value)
        best.offer_choice(selection, selection.any(watch))
    if best.values is None:
        return None
    change, layout = _lower_tiers(problem, pool, best, watch)
    return Outcome(best.knobs, best.values, (*values, change, layout))


@attrs.frozen
class _Pool:
    """Sets, and whether a best placement needs no other.

    Args:
        priced: the sets, with their reduced costs.
        slack: what the reduced costs of a best placement add up to, at most.
        complete: whether a best placement needs no other set.
    """

    priced: tuple[Priced, ...]
    slack: int
    complete: bool

    @property
    def columns(self) -> tuple[Column, ...]:
        return tuple(each.column for each in self.priced)


@attrs.frozen(eq=False)
class _Shelf:
    """The catalogues of all families."""

    problem: Problem
    slots: tuple[int, ...]
    catalogues: Sequence[Catalogue]

    def near(self, relaxed: Relaxation, tier: int, value: int) -> _Pool | None:
        """Every set that could be part of a placement whose tier is ``value`` or less.

        None where there are too many.
        """
        slack = QUANTUM * (value + self.problem.apiece[tier]) - relaxed.exact_bound
        rows = [np.nonzero(costs <= slack)[0] for costs in relaxed.reduced]
        if sum(len(each) for each in rows) > MOST_CHOICES:
            return None
        priced = (
            Priced(catalogue.column(self.problem, int(row)), max(0, int(costs[row])))
            for catalogue, costs, own in zip(self.catalogues, relaxed.reduced, rows, strict=True)
            for row in own
        )
        return _Pool(tuple(priced), slack, complete=relaxed.beyond > slack)


def _unpriced(columns: Iterable[Column], *, complete: bool) -> _Pool:
    return _Pool(tuple(Priced(column, 0) for column in columns), 0, complete)


def _upper_tier(shelf: _Shelf, best: Best, tier: int, watch: Watch) -> tuple[int, _Pool | None]:
    """Make one of the first four tiers best.

    Returns:
        A bound, and the pool of all sets that a placement with the value reached could need.
    """
    held = best.values[:tier] if best.values else ()
    relaxed = relax(shelf.problem, shelf.catalogues, shelf.slots, held, best.columns, watch)
    if relaxed is None:
        return 0, _unpriced(best.columns, complete=False) if best.values else None
    bound = max(0, relaxed.bound, _plain_bound(shelf.problem, held))
    if tier == 0 and bound >= needed(shelf.problem):
        raise ImpossibleError
    _choose(shelf, relaxed.columns, best, tier, watch, bound=bound, effort=SHORT_EFFORT)
    if best.values is None:
        _find_any(shelf, relaxed, best, watch)
    if best.values is None:
        return 0, None
    bound = _close_gap(shelf, relaxed, bound, best, tier, watch)
    ties = shelf.near(relaxed, tier, best.values[tier])
    if ties is None or not ties.complete:
        return bound, _unpriced((*relaxed.columns, *best.columns), complete=False)
    return bound, ties


def _plain_bound(problem: Problem, held: Sequence[int]) -> int:
    """A bound on sharing that needs no relaxation: so many classes on so few knobs must mix."""
    tiers = len(held) == UPPER - 1
    everything_placed = tiers and held[0] == 0 and all(a.omission for a in problem.atoms)
    if not everything_placed:
        return 0
    classes = ((mix.weight, *mix.masks) for mix in problem.mixes)
    return sum(
        weight * max(0, problem.items - sum(mask.bit_count() - 1 for mask in masks) - problem.knobs)
        for weight, *masks in classes
    )


def _find_any(shelf: _Shelf, relaxed: Relaxation, best: Best, watch: Watch) -> None:
    """Look for any placement among all sets, or prove that there is none."""
    everything = shelf.near(relaxed, 0, 1 << 40)
    if everything is not None:
        answer = _choose(shelf, everything.columns, best, 0, watch, bound=0)
        if answer.status is Status.IMPOSSIBLE and everything.complete:
            raise ImpossibleError


def _close_gap(
    shelf: _Shelf, relaxed: Relaxation, bound: int, best: Best, tier: int, watch: Watch
) -> int:
    """Choose among all sets that could be part of something better, and give the bound then."""
    most = FEW_SETS
    while best.values is not None and bound < best.values[tier] and not watch.over():
        value = best.values[tier]
        better = shelf.near(relaxed, tier, value - 1)
        if better is None:
            break
        if len(better.priced) > most:
            # Many sets fit into the gap: the likeliest of them first, to narrow it.
            likely = sorted(better.priced, key=lambda each: (each.reduced, each.column.atoms))
            nearest = [each.column for each in likely[:most]]
            _choose(shelf, nearest, best, tier, watch, bound=bound, effort=SHORT_EFFORT)
            most *= 4
            continue
        answer = _choose(shelf, better.columns, best, tier, watch, bound=bound)
        if better.complete and answer.bound is not None:
            bound = max(bound, min(answer.bound, value))
        break
    return bound


def _choose(
    shelf: _Shelf,
    columns: Iterable[Column],
    best: Best,
    tier: int,
    watch: Watch,
    *,
    bound: int,
    effort: float = math.inf,
) -> Answer:
    """Let CP-SAT choose from these columns and those of the best placement."""
    known = {column.atoms: column for column in (*columns, *best.columns)}
    selection = Selection(shelf.problem, tuple(known.values()), shelf.slots)
    if best.values is not None:
        for earlier in range(tier):
            selection.hold(earlier, best.values[earlier])
        selection.start_from(best.knobs)
    answer = selection.best(tier, watch, effort=effort, enough=bound)
    best.offer_choice(selection, answer)
    return answer


def _settled(
    problem: Problem, parts: Sequence[tuple[int, ...]], pool: _Pool, best: Best, watch: Watch
) -> tuple[int, int] | None:
    """Make the last two tiers best by going through all ties, if that does not take too long.

    Returns:
        The bounds, which hold nothing where a best placement might need another set; None if it
        would take too long.
    """
    if best.values is None:
        return None
    try:
        classes = alike(problem) if pool.complete else []
        every = tied(problem, parts, pool.priced, pool.slack, _upper(best.values), classes, watch)
        ways = list(every)
    except TooManyVariantsError:
        return None
    found = best_choice(problem, ways, watch)
    if found is None:
        return None
    best.offer({i: knob for knob, cluster in found.clusters.items() for i in bits(cluster.items)})
    return found.bounds(Places.of(problem)) if pool.complete else (0, 0)


def _lower_tiers(problem: Problem, pool: _Pool, best: Best, watch: Watch) -> tuple[int, int]:
    """Make the last two tiers best, and give their bounds."""
    _rearrange(problem, best, watch)
    bounds = [0, 0]
    if watch.over():
        return 0, 0
    known = {column.atoms: column for column in (*pool.columns, *best.columns)}
    single = [1 << knob for knob in range(problem.knobs)]
    if best.values is None or len(known) * len(single) > MOST_CHOICES:
        return 0, 0
    selection = Selection(problem, tuple(known.values()), single)
    for tier in range(UPPER):
        selection.hold(tier, best.values[tier])
    # With many sets and knobs the bound hardly rises, and little is found.
    effort = math.inf if len(known) * len(single) <= FEW_PLACES else SHORT_EFFORT
    for tier in (UPPER, UPPER + 1):
        if best.values[tier] > 0:
            selection.start_from(best.knobs)
            answer = selection.best(tier, watch, effort=effort)
            best.offer_choice(selection, answer)
            if (
                pool.complete
                and answer.bound is not None
                and bounds[: tier - UPPER] == list(best.values[UPPER:tier])
            ):
                bounds[tier - UPPER] = max(0, answer.bound)
        selection.hold(tier, best.values[tier])
        watch.tell(tier, best.values[tier], bounds[tier - UPPER])
    return bounds[0], bounds[1]


def _upper(values: Values) -> Upper:
    return values[0], values[1], values[2], values[3]


def _rearrange(problem: Problem, best: Best, watch: Watch) -> None:
    """Put the sets of the best placement on the best knobs for them."""
    places = Places.of(problem)
    clusters = [places.cluster(column.items) for column in best.columns]
    found = arrange(problem, clusters, watch)
    if found is not None:
        best.offer(
            {i: knob for knob, cluster in found.clusters.items() for i in bits(cluster.items)}
        )
