"""Closing the gap of a tier over the catalogues of all families: sets chosen, and proven the best.

The linear relaxation gives a bound and good columns, CP-SAT makes a placement of those, and if a
gap is left, CP-SAT chooses again among all sets that could be part of something better: no other
set could be, as its reduced cost alone is more than the gap.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import attrs
import numpy as np

from knobpack.numbered.problem import Problem
from knobpack.solver.cp_sat.cpsat import Answer
from knobpack.solver.optima.enumeration import Priced
from knobpack.solver.set_partitioning.column_pool import Column, ColumnPool, columns_on
from knobpack.solver.set_partitioning.model import SetPartitioning
from knobpack.solver.set_partitioning.relaxation import QUANTUM, Relaxation, relax
from knobpack.solver.store import Store
from knobpack.solver.watch import Watch

FEW_SETS = 1_000
"""So many sets at most are chosen from at first, where more might be part of something better."""

SHORT_EFFORT = 3.0
"""Deterministic effort for a choice that is only to find something good."""

MOST_CHOICES = 60_000
"""Variables of one model, at most."""


@attrs.frozen
class Pool:
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
        """The sets alone."""
        return tuple(each.column for each in self.priced)


@attrs.frozen(eq=False)
class Shelf:
    """The catalogues of all families; None where there is one too large to go through."""

    problem: Problem
    slots: tuple[int, ...]
    catalogues: Sequence[ColumnPool] | None

    def near(self, relaxed: Relaxation, tier: int, value: int) -> Pool | None:
        """Every set that could be part of a placement whose tier is ``value`` or less.

        None where there are too many.
        """
        slack = QUANTUM * (value + self.problem.apiece[tier]) - relaxed.exact_bound
        rows = [np.nonzero(costs <= slack)[0] for costs in relaxed.reduced]
        if sum(len(each) for each in rows) > MOST_CHOICES:
            return None
        priced = (
            Priced(catalogue.column(self.problem, int(row)), max(0, int(costs[row])))
            for catalogue, costs, own in zip(
                self.catalogues or (), relaxed.reduced, rows, strict=True
            )
            for row in own
        )
        return Pool(tuple(priced), slack, complete=True)


def unpriced(columns: Iterable[Column], *, complete: bool) -> Pool:
    """A pool of sets whose reduced costs are not known."""
    return Pool(tuple(Priced(column, 0) for column in columns), 0, complete)


def made_best(shelf: Shelf, store: Store, tier: int, watch: Watch) -> Pool:
    """Make one of the first four tiers best.

    Returns:
        The pool of all sets that a placement with the value reached could need.
    """
    problem, held = shelf.problem, store.upper[:tier]
    columns = columns_on(problem, store.knobs)
    relaxed = relax(problem, shelf.catalogues or (), shelf.slots, held, columns, watch)
    if relaxed is None:
        return unpriced(columns, complete=False)
    store.raise_to(tier, relaxed.bound, held)
    if not store.met(tier):
        choose(shelf, relaxed.columns, store, tier, watch, effort=SHORT_EFFORT)
    _close_gap(shelf, relaxed, store, tier, watch)
    ties = shelf.near(relaxed, tier, store.upper[tier])
    if ties is None:
        columns = columns_on(problem, store.knobs)
        return unpriced((*relaxed.columns, *columns), complete=False)
    return ties


def _close_gap(shelf: Shelf, relaxed: Relaxation, store: Store, tier: int, watch: Watch) -> None:
    """Choose among all sets that could be part of something better, which raises the bound too."""
    most = FEW_SETS
    while not store.met(tier) and not watch.over():
        held, value = store.upper[:tier], store.upper[tier]
        better = shelf.near(relaxed, tier, value - 1)
        if better is None:
            return
        if len(better.priced) > most:
            # Many sets fit into the gap: the likeliest of them first, to narrow it.
            likely = sorted(better.priced, key=lambda each: (each.reduced, each.column.atoms))
            nearest = [each.column for each in likely[:most]]
            choose(shelf, nearest, store, tier, watch, effort=SHORT_EFFORT)
            most *= 4
            continue
        answer = choose(shelf, better.columns, store, tier, watch)
        if answer.bound is not None:
            store.raise_to(tier, min(answer.bound, value), held)
        return


def choose(
    shelf: Shelf,
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
    selection = SetPartitioning(problem, tuple(known.values()), shelf.slots)
    for earlier, value in enumerate(store.upper[:tier]):
        selection.hold(earlier, value)
    selection.start_from(store.knobs)
    answer = selection.best(tier, watch, effort=effort, enough=store.bound(tier))
    store.offer(selection.placed(answer))
    return answer
