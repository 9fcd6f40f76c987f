"""Closing the gap of a tier over the catalogues of all families: sets chosen, and proven the best.

The linear relaxation gives a bound and good columns, CP-SAT makes a placement of those, and if a
gap is left, CP-SAT chooses again among all sets that could be part of something better: no other
set could be, as its reduced cost alone is more than the gap.

In the model one 0/1 variable says that a column of the pool is on a slot: a class of knobs that all
the columns see alike, as the first four tiers do not look at knobs one by one. Each atom is in one
chosen column or left out; each slot takes as many columns as it has knobs. This set partitioning
form has the strongest bound of those that were tried.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence

import attrs
import numpy as np

from knobpack.numbered.problem import Problem, bits
from knobpack.solver.costs import QUANTUM
from knobpack.solver.cp_sat import cp_model
from knobpack.solver.cp_sat.atoms_on_knobs import Linear, summed
from knobpack.solver.cp_sat.cpsat import Answer, hint, solve
from knobpack.solver.optima.enumeration import Priced
from knobpack.solver.outcome import UPPER
from knobpack.solver.set_partitioning.column_pool import Column, ColumnPool, columns_on
from knobpack.solver.set_partitioning.relaxation import Relaxation, relax
from knobpack.solver.store import Store
from knobpack.solver.watch import Watch

SHORT_EFFORT = 3.0
"""Deterministic effort for a choice that is only to find something good."""

MOST_CHOICES = 60_000
"""Variables of one model, at most."""

_AT_ONCE = 4_000
"""Sets that are made between two looks at the watch."""


class SetPartitioning:
    """The model over some columns and slots. Tiers are made best, and held, in order."""

    def __init__(self, problem: Problem, columns: Sequence[Column], slots: Sequence[int]) -> None:
        self.problem = problem
        self.model = cp_model.CpModel()
        self.slots = tuple(slots)
        self._chosen: list[tuple[Column, int, cp_model.IntVar]] = []
        for column in columns:
            for slot in self.slots:
                if slot & column.knobs:
                    self._chosen.append((column, slot, self.model.new_bool_var("")))
        self._left_out = {
            number: self.model.new_bool_var("")
            for number, atom in enumerate(problem.atoms)
            if not atom.needed
        }
        self._cover()
        self._touched = [self._any_of(spread.items) for spread in problem.spreads]

    def _cover(self) -> None:
        """Each atom is on one slot or left out; each slot holds what it has knobs for."""
        holders: dict[int, list[cp_model.IntVar]] = {
            number: [] for number in range(len(self.problem.atoms))
        }
        for column, _, variable in self._chosen:
            for number in bits(column.atoms):
                holders[number].append(variable)
        for number, variables in holders.items():
            left_out = self._left_out.get(number)
            self.model.add_exactly_one(variables if left_out is None else [*variables, left_out])
        for slot in self.slots:
            here = [variable for _, at, variable in self._chosen if at == slot]
            if slot.bit_count() == 1:
                self.model.add_at_most_one(here)
            else:
                self.model.add(cp_model.LinearExpr.sum(here) <= slot.bit_count())
        if self.problem.routes < self.problem.items:
            sizes = [column.items.bit_count() for column, _, _ in self._chosen]
            variables = [variable for _, _, variable in self._chosen]
            routes = cp_model.LinearExpr.weighted_sum(variables, sizes)
            self.model.add(routes <= self.problem.routes)

    def _any_of(self, items: int) -> cp_model.IntVar:
        """A variable that may be 1 only where some of ``items`` are placed."""
        touched = self.model.new_bool_var("")
        holders = [variable for column, _, variable in self._chosen if column.items & items]
        self.model.add_bool_or([*holders, ~touched])
        return touched

    def best(
        self, tier: int, watch: Watch, *, effort: float = math.inf, enough: int | None = None
    ) -> Answer:
        """Make one tier best, those before being held."""
        self.model.minimize(self.cost(tier))
        return solve(self.model, watch, effort=effort, enough=enough, linear=True)

    def hold(self, tier: int, value: int) -> None:
        """From now on the value of ``tier`` is no worse than ``value``."""
        self.model.add(self.cost(tier) <= value)

    def start_from(self, knobs: Mapping[int, int]) -> None:
        """Hint at a placement: the knob of each item that is placed."""
        on: dict[int, int] = {}
        for item, knob in knobs.items():
            on[knob] = on.get(knob, 0) | 1 << item
        variables = [variable for _, _, variable in self._chosen]
        values = [
            int(any(items == column.items and slot >> knob & 1 for knob, items in on.items()))
            for column, slot, _ in self._chosen
        ]
        placed = sum(1 << item for item in knobs)
        for number, variable in self._left_out.items():
            variables.append(variable)
            values.append(int(not self.problem.atoms[number].items & placed))
        for spread, variable in zip(self.problem.spreads, self._touched, strict=True):
            variables.append(variable)
            values.append(int(bool(spread.items & placed)))
        hint(self.model, variables, values)

    def placed(self, answer: Answer) -> dict[int, int] | None:
        """The knob of each item in a solution, any of its slot; None where none was found."""
        if answer.value is None:
            return None
        left = {slot: list(bits(slot)) for slot in self.slots}
        chosen = [(c, slot) for c, slot, variable in self._chosen if answer.value(variable)]
        placed = [(column, left[slot].pop(0)) for column, slot in chosen]
        return {item: knob for column, knob in placed for item in bits(column.items)}

    def cost(self, tier: int) -> Linear:
        """The value of a tier: a sum over columns and what is left out."""
        atoms = self.problem.atoms
        terms = [(variable, column.costs[tier]) for column, _, variable in self._chosen]
        terms += [(v, atoms[number].costs[tier]) for number, v in self._left_out.items()]
        if tier == UPPER - 1:
            spreads = zip(self._touched, self.problem.spreads, strict=True)
            return summed([*terms, *((touched, -spread.weight) for touched, spread in spreads)])
        return summed(terms) - self.problem.apiece[tier]


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

    def near(self, relaxed: Relaxation, tier: int, value: int, watch: Watch) -> Pool | None:
        """Every set that could be part of a placement whose tier is ``value`` or less.

        None where there are too many, or the watch stopped it.
        """
        slack = QUANTUM * (value + self.problem.apiece[tier]) - relaxed.exact_bound
        rows = [np.nonzero(costs <= slack)[0] for costs in relaxed.reduced]
        if sum(len(each) for each in rows) > MOST_CHOICES:
            return None
        priced: list[Priced] = []
        for catalogue, costs, own in zip(self.catalogues or (), relaxed.reduced, rows, strict=True):
            for start in range(0, len(own), _AT_ONCE):
                if watch.over():
                    return None
                priced += (
                    Priced(catalogue.column(self.problem, int(row)), max(0, int(costs[row])))
                    for row in own[start : start + _AT_ONCE]
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
    ties = shelf.near(relaxed, tier, store.upper[tier], watch)
    if ties is None:
        columns = columns_on(problem, store.knobs)
        return unpriced((*relaxed.columns, *columns), complete=False)
    return ties


def _close_gap(shelf: Shelf, relaxed: Relaxation, store: Store, tier: int, watch: Watch) -> None:
    """Choose among all sets that could be part of something better, which raises the bound too."""
    if store.met(tier) or watch.over():
        return
    held, value = store.upper[:tier], store.upper[tier]
    better = shelf.near(relaxed, tier, value - 1, watch)
    if better is not None:
        answer = choose(shelf, better.columns, store, tier, watch)
        if answer.bound is not None:
            store.raise_to(tier, min(answer.bound, value), held)


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
