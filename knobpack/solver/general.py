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
from knobpack.solver.annealing import Annealing
from knobpack.solver.arrange import arrange, best_choice
from knobpack.solver.capacity import counted
from knobpack.solver.catalogue import (
    Catalogue,
    Column,
    catalogues_of,
    columns_of,
    columns_on,
    knob_slots,
)
from knobpack.solver.cluster import Places
from knobpack.solver.cpsat import Answer
from knobpack.solver.cuts import cut_bound
from knobpack.solver.families import families
from knobpack.solver.greedy import greedy
from knobpack.solver.matching import placed
from knobpack.solver.modes import least_broken
from knobpack.solver.outcome import (
    UPPER,
    NothingFoundError,
    Outcome,
    Upper,
)
from knobpack.solver.packing import needed_placed
from knobpack.solver.relaxation import QUANTUM, Relaxation, relax
from knobpack.solver.selection import Selection
from knobpack.solver.store import Store
from knobpack.solver.ties import Priced, tied
from knobpack.solver.variants import TooManyVariantsError
from knobpack.solver.watch import Watch

FEW_SETS = 1_000
"""So many sets at most are chosen from at first, where more might be part of something better."""

SHORT_EFFORT = 3.0
"""Deterministic effort for a choice that is only to find something good."""

MOST_CHOICES = 60_000
"""Variables of one model, at most."""

FEW_ATOMS = 30
"""So many atoms at most are not annealed at first, where all sets can be gone through."""

FIRST_SHARE = 0.15
"""The share of effort and time for a first annealing."""

CHOICE_SHARE = 0.1
"""The share for choosing anew among the sets that came up in an annealing, in each tier."""

LAST_SHARE = 0.75
"""The share for another where something is open in the end; the rest is for the last two tiers."""

CUT_SHARE = 0.4
"""The share for bounding a tier by minimum cuts."""

UNBROKEN, BROKEN = 1, 2
"""The positions of the tiers *bundles* and *independence*."""

FEW_PLACES = 4_000
"""Sets times knobs up to which the last two tiers are worth all the effort there is."""


def general(
    problem: Problem,
    watch: Watch,
    start: Mapping[int, int] | None = None,
    wanted: tuple[int, int] | None = None,
) -> Outcome:
    """The best placement, tier by tier.

    Args:
        problem: the problem.
        watch: how long the search may go on.
        start: the knob of each item in a placement to start from, if one is known.
        wanted: the first two values; the search gives up once they are not to be had.

    Raises:
        ImpossibleError: no placement meets every demand.
        NothingFoundError: the watch stopped the search before it knew any placement.
    """
    store = _begun(problem, start, watch)
    _tell(store, watch)
    slots = knob_slots(problem)
    parts = families(problem)
    if not _may_come_to(store, wanted or (), watch):
        return store.outcome()
    catalogues = catalogues_of(problem, parts, slots, watch)
    shelf = _Shelf(problem, slots, catalogues or ())
    pool = _unpriced((), complete=False)
    if catalogues is None or len(problem.atoms) > FEW_ATOMS:
        _anneal(shelf, store, watch, FIRST_SHARE)
    for tier in range(UPPER):
        _bound(store, tier, watch)
    _tell(store, watch)
    for tier in range(UPPER):
        if catalogues is not None and (tier == UPPER - 1 or not store.met(tier)):
            _bound(store, tier, watch)
            pool = _upper_tier(shelf, store, tier, watch)
        elif tier in (UNBROKEN, UPPER - 1) and not store.met(tier):
            _bound_by_cuts(shelf, store, tier, watch)
        value = _upper(store)[tier]
        watch.tell(tier, value, store.bound(tier))
        if wanted and tier < len(wanted) and value != wanted[tier]:
            return store.outcome()
    if not all(map(store.met, range(UPPER))):
        _anneal(shelf, store, watch, LAST_SHARE)
        _tell(store, watch)
        pool = attrs.evolve(pool, complete=False)
    held = _upper(store)
    lower = _settled(problem, parts, pool, store, watch)
    for tier, bound in enumerate(lower or _lower_tiers(problem, pool, store, watch), UPPER):
        store.raise_to(tier, bound, held)
    return store.outcome()


def _tell(store: Store, watch: Watch) -> None:
    """Report all that is known of the first four tiers."""
    for tier, value in enumerate(_upper(store)):
        watch.tell(tier, value, store.bound(tier))


def _begun(problem: Problem, start: Mapping[int, int] | None, watch: Watch) -> Store:
    """A store with a placement to begin with.

    Raises:
        ImpossibleError: no placement meets every demand.
        NothingFoundError: the watch stopped the search before it knew any placement.
    """
    store = Store(problem)
    store.offer(start)
    store.offer(greedy(problem, watch))
    if store.values is None:
        store.offer(greedy(problem, watch, needed_placed(problem, watch)))
    if store.values is None:
        raise NothingFoundError
    return store


def _bound(store: Store, tier: int, watch: Watch) -> None:
    """Bound a tier by what counting says."""
    if store.met(tier):
        return
    held, value = _upper(store)[:tier], _upper(store)[tier]
    store.raise_to(tier, counted(store.problem, tier, held, watch), held)
    if tier == BROKEN and not store.met(tier):
        bound, sets = least_broken(store.problem, held[0], value, watch)
        store.raise_to(tier, bound, held)
        if _may_be_placed(store.problem, columns_of(store.problem, sets)):
            store.offer(placed(store.problem, sets))


def _bound_by_cuts(shelf: _Shelf, store: Store, tier: int, watch: Watch) -> None:
    """Bound a tier by minimum cuts, and choose from the sets that came of it."""
    problem, held = store.problem, _upper(store)[:tier]
    own = watch.share(CUT_SHARE)
    columns = columns_on(problem, store.knobs)
    bound, sets = cut_bound(problem, held, columns, _upper(store)[tier], own)
    store.raise_to(tier, bound, held)
    valid = [column for column in columns_of(problem, sets, watch) if _valid(problem, column)]
    if not store.met(tier):
        _choose(shelf, valid, store, tier, own, effort=SHORT_EFFORT)
    watch.take(own, CUT_SHARE)


def _valid(problem: Problem, column: Column) -> bool:
    """Whether a set may be on some knob."""
    clashing = any(problem.clashes[number] & column.atoms for number in bits(column.atoms))
    return not clashing and column.items.bit_count() <= problem.per_knob and bool(column.knobs)


def _may_come_to(store: Store, wanted: Sequence[int], watch: Watch) -> bool:
    """Whether no bound by counting says that the first values wanted are not to be had."""
    for tier, value in enumerate(wanted):
        _bound(store, tier, watch)
        if store.bound(tier) > value:
            return False
    return True


def _may_be_placed(problem: Problem, columns: Sequence[Column]) -> bool:
    """Whether each set may be on some knob, and all of them together meet every other demand."""
    atoms = sum(column.atoms for column in columns)
    return (
        all(atoms >> number & 1 for number, atom in enumerate(problem.atoms) if atom.needed)
        and problem.items_of(atoms).bit_count() <= problem.routes
        and all(_valid(problem, column) for column in columns)
    )


def _anneal(shelf: _Shelf, store: Store, watch: Watch, share: float) -> None:
    """Anneal from the best placement, and choose anew from the sets that came up on the way."""
    own = watch.share(share)
    met = next((tier for tier in range(UPPER) if not store.met(tier)), None)
    if met is None:
        return
    annealing = Annealing(store.problem, store.knobs)
    annealing.run(own, met)
    watch.take(own, share)
    store.offer(annealing.best)
    columns = columns_of(store.problem, annealing.sets, watch)
    for tier in range(UPPER):
        if not store.met(tier):
            own = watch.share(CHOICE_SHARE)
            _choose(shelf, columns, store, tier, own, effort=SHORT_EFFORT)
            watch.take(own, CHOICE_SHARE)


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
    store = Store(problem)
    pool = _unpriced(columns_of(problem, sets), complete=True)
    store.offer(start)
    if store.values is None:
        selection = Selection(problem, pool.columns, knob_slots(problem))
        for tier, value in enumerate(values):
            selection.hold(tier, value)
        store.offer(selection.placed(selection.any(watch)))
    if store.values is None:
        return None
    change, layout = _lower_tiers(problem, pool, store, watch)
    return Outcome(store.knobs, store.values, (*values, change, layout))


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
    """The catalogues of all families; none where there is one too large to go through."""

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
        return _Pool(tuple(priced), slack, complete=True)


def _unpriced(columns: Iterable[Column], *, complete: bool) -> _Pool:
    return _Pool(tuple(Priced(column, 0) for column in columns), 0, complete)


def _upper_tier(shelf: _Shelf, store: Store, tier: int, watch: Watch) -> _Pool:
    """Make one of the first four tiers best.

    Returns:
        The pool of all sets that a placement with the value reached could need.
    """
    problem, held = shelf.problem, _upper(store)[:tier]
    columns = columns_on(problem, store.knobs)
    relaxed = relax(problem, shelf.catalogues, shelf.slots, held, columns, watch)
    if relaxed is None:
        return _unpriced(columns, complete=False)
    store.raise_to(tier, relaxed.bound, held)
    _choose(shelf, relaxed.columns, store, tier, watch, effort=SHORT_EFFORT)
    _close_gap(shelf, relaxed, store, tier, watch)
    ties = shelf.near(relaxed, tier, _upper(store)[tier])
    if ties is None:
        columns = columns_on(problem, store.knobs)
        return _unpriced((*relaxed.columns, *columns), complete=False)
    return ties


def _close_gap(shelf: _Shelf, relaxed: Relaxation, store: Store, tier: int, watch: Watch) -> None:
    """Choose among all sets that could be part of something better, which raises the bound too."""
    most = FEW_SETS
    while not store.met(tier) and not watch.over():
        held, value = _upper(store)[:tier], _upper(store)[tier]
        better = shelf.near(relaxed, tier, value - 1)
        if better is None:
            return
        if len(better.priced) > most:
            # Many sets fit into the gap: the likeliest of them first, to narrow it.
            likely = sorted(better.priced, key=lambda each: (each.reduced, each.column.atoms))
            nearest = [each.column for each in likely[:most]]
            _choose(shelf, nearest, store, tier, watch, effort=SHORT_EFFORT)
            most *= 4
            continue
        answer = _choose(shelf, better.columns, store, tier, watch)
        if answer.bound is not None:
            store.raise_to(tier, min(answer.bound, value), held)
        return


def _choose(
    shelf: _Shelf,
    columns: Iterable[Column],
    store: Store,
    tier: int,
    watch: Watch,
    *,
    effort: float = math.inf,
) -> Answer:
    """Let CP-SAT choose from these columns and those of the best placement."""
    problem = shelf.problem
    own = columns_on(problem, store.knobs)
    known = {column.atoms: column for column in (*columns, *own)}
    selection = Selection(problem, tuple(known.values()), shelf.slots)
    for earlier, value in enumerate(_upper(store)[:tier]):
        selection.hold(earlier, value)
    selection.start_from(store.knobs)
    answer = selection.best(tier, watch, effort=effort, enough=store.bound(tier))
    store.offer(selection.placed(answer))
    return answer


def _settled(
    problem: Problem, parts: Sequence[tuple[int, ...]], pool: _Pool, store: Store, watch: Watch
) -> tuple[int, int] | None:
    """Make the last two tiers best by going through all ties, if that does not take too long.

    Returns:
        The bounds, which hold nothing where a best placement might need another set; None if it
        would take too long.
    """
    try:
        classes = alike(problem) if pool.complete else []
        every = tied(problem, parts, pool.priced, pool.slack, _upper(store), classes, watch)
        ways = list(every)
    except TooManyVariantsError:
        return None
    found = best_choice(problem, ways, watch)
    if found is None:
        return None
    store.offer({i: knob for knob, cluster in found.clusters.items() for i in bits(cluster.items)})
    return found.bounds(Places.of(problem)) if pool.complete else (0, 0)


def _lower_tiers(problem: Problem, pool: _Pool, store: Store, watch: Watch) -> tuple[int, int]:
    """Make the last two tiers best, and give their bounds."""
    _rearrange(problem, store, watch)
    bounds = [0, 0]
    if watch.over():
        return 0, 0
    known = {column.atoms: column for column in (*pool.columns, *columns_on(problem, store.knobs))}
    single = [1 << knob for knob in range(problem.knobs)]
    if store.values is None or len(known) * len(single) > MOST_CHOICES:
        return 0, 0
    selection = Selection(problem, tuple(known.values()), single)
    for tier in range(UPPER):
        selection.hold(tier, store.values[tier])
    # With many sets and knobs the bound hardly rises, and little is found.
    effort = math.inf if len(known) * len(single) <= FEW_PLACES else SHORT_EFFORT
    for tier in (UPPER, UPPER + 1):
        if store.values[tier] > 0:
            selection.start_from(store.knobs)
            answer = selection.best(tier, watch, effort=effort)
            store.offer(selection.placed(answer))
            if (
                pool.complete
                and answer.bound is not None
                and bounds[: tier - UPPER] == list(store.values[UPPER:tier])
            ):
                bounds[tier - UPPER] = max(0, answer.bound)
        selection.hold(tier, store.values[tier])
        watch.tell(tier, store.values[tier], bounds[tier - UPPER])
    return bounds[0], bounds[1]


def _upper(store: Store) -> Upper:
    """The first four values of the best placement; there must be one."""
    first, second, third, fourth, *_ = store.values or (0, 0, 0, 0)
    return first, second, third, fourth


def _rearrange(problem: Problem, store: Store, watch: Watch) -> None:
    """Put the sets of the best placement on the best knobs for them."""
    places = Places.of(problem)
    clusters = [places.cluster(column.items) for column in columns_on(problem, store.knobs)]
    found = arrange(problem, clusters, watch)
    if found is not None:
        store.offer(
            {i: knob for knob, cluster in found.clusters.items() for i in bits(cluster.items)}
        )
