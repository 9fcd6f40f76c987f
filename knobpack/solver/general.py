"""The general way: every demand and every tier in one model, over a pool of columns."""

from __future__ import annotations

from collections.abc import Sequence

from knobpack.problem import Problem, bits
from knobpack.solver.cpsat import Status
from knobpack.solver.evaluate import Values, values_of
from knobpack.solver.outcome import ImpossibleError, Outcome
from knobpack.solver.pool import Column, Pool, every_column
from knobpack.solver.selection import Selection
from knobpack.solver.watch import Watch


def placed(problem: Problem, columns: Sequence[tuple[Column, int]]) -> dict[int, int]:
    """The knob of each item, once columns are on classes of knobs."""
    free = {slot: list(bits(slot)) for _, slot in columns}
    return {
        item: knob
        for column, slot in columns
        for knob in [free[slot].pop(0)]
        for item in bits(column.items)
    }


def knob_classes(problem: Problem) -> tuple[int, ...]:
    """Masks of the knobs that admit the same atoms."""
    classes: dict[tuple[int, ...], int] = {}
    for knob in range(problem.knobs):
        admitted = tuple(atom.knobs >> knob & 1 for atom in problem.atoms)
        classes[admitted] = classes.get(admitted, 0) | 1 << knob
    return tuple(classes.values())


def general(problem: Problem, watch: Watch) -> Outcome:
    pool = every_column(problem)
    if pool is None:
        raise NotImplementedError
    values = [0, 0, 0, 0, 0]
    bounds = [0, 0, 0, 0, 0]
    knobs = {}
    for tiers, slots in (((0, 1, 2), knob_classes(problem)), ((3, 4), [1 << k for k in range(problem.knobs)])):
        selection = Selection(problem, pool.columns, slots)
        for tier in range(tiers[0]):
            selection.hold(tier, values[tier])
        for tier in tiers:
            answer = selection.best(tier, watch)
            if answer.status is Status.IMPOSSIBLE:
                raise ImpossibleError
            if not answer.found:
                raise NotImplementedError
            chosen = selection.chosen(answer)
            knobs = placed(problem, chosen)
            values[tier] = values_of(problem, knobs)[tier]
            bounds[tier] = answer.bound
            selection.hold(tier, values[tier])
            selection.start_from(answer)
    vals = values_of(problem, knobs)
    assert list(vals) == values, (vals, values)
    return Outcome(knobs, vals, tuple(bounds))
