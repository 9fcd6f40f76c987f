"""The general way: what covers every demand, where families can not be solved one by one.

The store is improved and each of its tiers bounded by one method after the other: counting, centres
of what moves together, loads on a knob or, where every set can be listed, the relaxation over all
of them and choices among them. What is still open after that is annealed, and few knobs at a time
are solved again, until nothing is open or the effort is used up. The best layout's sets, and all
others that could be part of one as good, are then arranged on single knobs.
"""

from __future__ import annotations

from collections.abc import Sequence

import attrs

from knobpack.numbered.problem import Problem
from knobpack.solver.arrangement.arrange import ALWAYS
from knobpack.solver.arrangement.assignment import placed
from knobpack.solver.bounds.capacity import counted
from knobpack.solver.bounds.crowded import crowded_bound
from knobpack.solver.bounds.left_out import left_out_bound
from knobpack.solver.bounds.modes import least_broken
from knobpack.solver.bounds.near_modes import near_pools
from knobpack.solver.cp_sat.packing import needed_placed
from knobpack.solver.families import families
from knobpack.solver.last_tiers import last_tiers, rearrange
from knobpack.solver.outcome import UPPER, NothingFoundError, Outcome
from knobpack.solver.primal.annealing import Annealing
from knobpack.solver.primal.by_families import ByFamilies
from knobpack.solver.primal.compact_start import improve_compactly
from knobpack.solver.primal.greedy import greedy
from knobpack.solver.primal.neighbourhoods import Neighbourhoods
from knobpack.solver.primal.tabu import needed_by_tabu
from knobpack.solver.set_partitioning.closing import (
    SHORT_EFFORT,
    Pool,
    Shelf,
    choose,
    made_best,
    unpriced,
)
from knobpack.solver.set_partitioning.column_pool import (
    column_pools_of,
    columns_of,
    knob_slots,
)
from knobpack.solver.store import Store
from knobpack.solver.watch import Watch

FEW_ATOMS = 30
"""So many atoms at most are not annealed at first, where all sets can be gone through."""

PACKING_SHARE = 0.25
"""The share for packing what must be placed, where it is not all that may be tried: with bundles
whole and nothing broken that may be impossible, and hard to see."""

COMPACT_SHARE = 0.2
"""The share for making what was packed better by the compact model: where packing is needed little
may move, and annealing does not find its way."""

FIRST_SHARE = 0.05
"""The share of effort and time for a first annealing."""

CHOICE_SHARE = 0.05
"""The share for choosing anew among the sets that came up in an annealing, in each tier."""

BOUND_SHARE = 0.25
"""The share for bounding a tier by the number of loads on a knob, or over every set."""

LAST_SHARE = 0.9, 0.75
"""The share for improving what is open in the end, of up to 64 knobs and of more; the rest is for
the last two tiers."""

LISTED = 0.25
"""The share for listing the sets that may break no more than the best placement."""

PASSES = 2
"""How often it is annealed, gaps are closed and neighbourhoods solved, if these leave anything."""

ANNEALED, ANNEALED_BESIDE, CLOSED = 0.8, 0.5, 0.7
"""The shares of what is left for annealing, alone and where gaps are closed as well, and of what is
left then for closing them; neighbourhoods take the rest, unless even the smallest is too large."""

BROKEN, SHARING = 2, 3
"""The positions of the tiers *independence* and *sharing*."""


def general(store: Store, watch: Watch, wanted: tuple[int, int] | None = None) -> Outcome:
    """The best placement, tier by tier.

    Args:
        store: what is known of the problem.
        watch: how long the search may go on.
        wanted: the first two values; the search gives up once they are not to be had.

    Raises:
        ImpossibleError: no placement meets every demand.
        NothingFoundError: the watch stopped the search before it knew any placement.
    """
    problem = store.problem
    _begin(store, watch, PACKING_SHARE if wanted else 1.0)
    _tell(store, watch)
    if watch.over():
        # Nothing is begun that would be cut short at once, but that takes its time to set up.
        _count_loads(store, watch.slice(0))
        rearrange(problem, store, watch)
        return store.outcome()
    slots = knob_slots(problem)
    parts = families(problem)
    pool = unpriced((), complete=False)
    for tier in range(UPPER):
        _bound(store, tier, watch)
        if wanted and tier < len(wanted) and store.bound(tier) > wanted[tier]:
            return store.outcome()
    # Where something is broken, fewer sets are listed once it is known how little that can be.
    later = store.met(0) and store.met(1) and store.upper[BROKEN] > 0
    catalogues = None if later else column_pools_of(problem, parts, slots, watch)
    shelf = Shelf(problem, slots, catalogues)
    few = catalogues is not None and len(problem.atoms) <= FEW_ATOMS
    _tell(store, watch)
    improvement = _Improvement(shelf, store, parts)
    if not few:
        improvement.anneal(watch, FIRST_SHARE)
    for tier in range(UPPER):
        if tier == BROKEN:
            improvement.list_near(watch)
        shelf = improvement.shelf
        pool = _settle(shelf, store, tier, watch, 1.0 if few else BOUND_SHARE) or pool
        value = store.upper[tier]
        watch.tell(tier, value, store.bound(tier))
        if wanted and tier < len(wanted) and value != wanted[tier]:
            return store.outcome()
    if not store.all_met:
        with watch.share(LAST_SHARE[problem.knobs > ALWAYS]) as own:
            improvement.go_on(own)
        _tell(store, watch)
        # The sets that a better placement could need are found anew where they can be.
        last = _settle(improvement.shelf, store, UPPER - 1, watch, 1.0) if store.all_met else None
        pool = last or attrs.evolve(pool, complete=False)
    held = store.upper
    for tier, bound in enumerate(last_tiers(problem, parts, pool, store, watch), UPPER):
        store.raise_to(tier, bound, held)
    return store.outcome()


def _tell(store: Store, watch: Watch) -> None:
    """Report all that is known of the first four tiers."""
    watch.tell_all(store.upper, map(store.bound, range(UPPER)))


def _settle(shelf: Shelf, store: Store, tier: int, watch: Watch, share: float) -> Pool | None:
    """Bound a tier, and make it better with the sets that came of it.

    Returns:
        Where all sets are listed and this has been looked at, those that a best placement could
        need.
    """
    if watch.over():
        return None  # to set up what would be cut short at once takes its time
    _bound(store, tier, watch)
    open_, pool = not store.met(tier), None
    with watch.share(share) as own:
        if shelf.catalogues is not None and (tier == UPPER - 1 or open_):
            pool = made_best(shelf, store, tier, own)
    return pool


class _Improvement:
    """What goes on making the best placement better as long as a tier is open.

    Args:
        shelf: the catalogues, if there are any; else those of what may break as little as the best
            placement are put there once they can be listed.
        store: what is known; takes what is better.
        parts: the families of its problem.
    """

    def __init__(self, shelf: Shelf, store: Store, parts: Sequence[tuple[int, ...]]) -> None:
        self.shelf, self._store = shelf, store
        self._parts, self._listed = parts, 0
        self._annealing = Annealing(store.problem, store.knobs)
        self._by_families = ByFamilies(store.problem, parts, store.knobs)
        self._neighbourhoods = Neighbourhoods(store)

    def list_near(self, watch: Watch) -> None:
        """List the sets that may break no more than the best placement, where nothing lists all.

        They say nothing of the two tiers before, which must be at their bounds.
        """
        store, shelf = self._store, self.shelf
        *_, broken, _ = store.upper
        if shelf.catalogues is not None or broken == self._listed or watch.over():
            return
        if store.met(0) and store.met(1):
            with watch.share(LISTED) as own:
                near = near_pools(store.problem, store.upper[:SHARING], shelf.slots, own)
            if near is None and not self._listed:
                near = column_pools_of(store.problem, self._parts, shelf.slots, watch)
            self.shelf, self._listed = attrs.evolve(shelf, catalogues=near), broken

    def anneal(self, watch: Watch, share: float, *, apart: bool = False) -> None:
        """Anneal, and choose anew from the sets that came up on the way.

        Args:
            watch: how long the search may go on.
            share: the share of that for annealing.
            apart: whether families are annealed by themselves where they can be.
        """
        store, annealing, by_families = self._store, self._annealing, self._by_families
        if store.all_met or watch.over():
            return
        with watch.share(share) as own:
            if apart and by_families.apart:
                by_families.learn(store.knobs)
                store.offer(by_families.run(own))
            else:
                annealing.start_from(store.knobs)
                annealing.run(own, next(tier for tier in range(UPPER) if not store.met(tier)))
                store.offer(annealing.best)
        if watch.over():
            return
        columns = columns_of(store.problem, annealing.sets | by_families.sets, watch)
        for tier in range(UPPER):
            if not store.met(tier) and not watch.over():
                with watch.share(CHOICE_SHARE) as own:
                    choose(self.shelf, columns, store, tier, own, effort=SHORT_EFFORT)

    def go_on(self, watch: Watch) -> None:
        """Bound loads; anneal, close gaps and solve few knobs again, in turn, until it is over."""
        store, listed = self._store, self.shelf.catalogues is not None
        # A bound for so much in the earlier tiers is lost once there is less.
        early = all(map(store.met, range(SHARING)))
        if early:
            self._bound_loads(watch, BOUND_SHARE)
        with watch.share(1.0 if early or listed else 1 - BOUND_SHARE) as own:
            for _ in range(PASSES):
                self._pass(own)
        if not early:
            for tier in (*range(BROKEN), SHARING):
                _bound(store, tier, watch)
            self._bound_loads(watch, 1.0)

    def _bound_loads(self, watch: Watch, share: float) -> None:
        """Bound *sharing* by what is left out, and loads on a knob, where no sets are listed."""
        store = self._store
        if self.shelf.catalogues is None and not watch.over():
            with watch.share(share) as own:
                held, value, knobs = store.upper[:SHARING], store.upper[SHARING], store.knobs
                bound, sets = left_out_bound(store.problem, held, value, knobs, own)
                store.raise_to(SHARING, bound, held)
                if sets and not store.met(SHARING):
                    columns = columns_of(store.problem, sets, own)
                    choose(self.shelf, columns, store, SHARING, own, effort=SHORT_EFFORT)
                _count_loads(store, own)
            _tell(self._store, watch)

    def _pass(self, watch: Watch) -> None:
        if watch.over():
            return
        listed = self.shelf.catalogues is not None
        alone = ANNEALED if self._neighbourhoods.small else 1.0
        self.anneal(watch, ANNEALED_BESIDE if listed else alone, apart=True)
        self.list_near(watch)
        listed = self.shelf.catalogues is not None
        tier = next((tier for tier in range(UPPER) if not self._store.met(tier)), None)
        if listed and tier is not None:
            with watch.share(CLOSED) as own:
                made_best(self.shelf, self._store, tier, own)
        self._neighbourhoods.improve(watch)


def _begin(store: Store, watch: Watch, share: float) -> None:
    """Find a placement to begin with.

    Args:
        store: takes it.
        watch: how long the search may go on.
        share: the share of that for packing what must be placed, where nothing else places it.

    Raises:
        ImpossibleError: no placement meets every demand.
        NothingFoundError: the watch stopped the search before it knew any placement.
    """
    if store.values is None or not watch.over():
        store.offer(greedy(store.problem, watch))
    if store.values is None:
        store.offer(packed(store.problem, watch, share))
        if store.values is not None:
            _tell(store, watch)
            with watch.share(COMPACT_SHARE) as own:
                improve_compactly(store, own)
    if store.values is None:
        raise NothingFoundError


def packed(problem: Problem, watch: Watch, share: float) -> dict[int, int] | None:
    """A placement of what must be placed, and of what finds room beside it.

    Args:
        problem: the problem.
        watch: how long the search may go on.
        share: the share of that for packing what must be placed.

    Returns:
        The knob of each item; None where none was found in time.

    Raises:
        ImpossibleError: no placement meets every demand.
    """
    with watch.share(share) as own:
        needed = needed_by_tabu(problem, own) or needed_placed(problem, own)
    return None if needed is None else greedy(problem, watch, needed)


def _bound(store: Store, tier: int, watch: Watch) -> None:
    """Bound a tier by what counting says."""
    if store.met(tier):
        return
    held, value = store.upper[:tier], store.upper[tier]
    store.raise_to(tier, counted(store.problem, tier, held, watch), held)
    if tier == SHARING:
        _count_loads(store, watch.slice(0))
    if tier == BROKEN and not store.met(tier):
        bound, sets = least_broken(store.problem, held, value, watch)
        store.raise_to(tier, bound, held)
        left = ~sum(sets)
        if not any(atom.needed and left >> at & 1 for at, atom in enumerate(store.problem.atoms)):
            store.offer(placed(store.problem, sets))


def _count_loads(store: Store, watch: Watch) -> None:
    """Bound *sharing* by loads and classes: counted, and by search as long as there is effort.

    Counting takes no search, but a second for thousands: what is to end by the clock ends without.
    """
    held, value = store.upper[:SHARING], store.upper[SHARING]
    if not store.met(SHARING) and not watch.hurried:
        bound = crowded_bound(store.problem, held, value, watch)
        store.raise_to(SHARING, bound, held)
