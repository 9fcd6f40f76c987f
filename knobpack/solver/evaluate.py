"""What a placement is worth, tier by tier, for placements that no model has priced."""

from __future__ import annotations

from collections.abc import Mapping

from knobpack.problem import Problem, bits
from knobpack.solver.catalogue import columns_of
from knobpack.solver.cluster import Places
from knobpack.solver.outcome import Values


def values_of(problem: Problem, knobs: Mapping[int, int]) -> Values:
    """The values of the five tiers when each item of ``knobs`` is on its knob, the rest nowhere."""
    on: dict[int, int] = {}
    for item, knob in knobs.items():
        on[knob] = on.get(knob, 0) | 1 << item
    placed = sum(1 << item for item in knobs)
    unplaced = sum(atom.omission for atom in problem.atoms if not atom.items & placed)
    columns = columns_of(problem, (_atoms(problem, items) for items in on.values()))
    breaks = sum(column.breaks for column in columns)
    sharing = sum(column.sharing for column in columns)
    sharing -= sum(spread.weight for spread in problem.spreads if spread.items & placed)
    return (unplaced, breaks, sharing, *_lower_values(problem, on, placed))


def _lower_values(problem: Problem, on: Mapping[int, int], placed: int) -> tuple[int, int]:
    places = Places.of(problem)
    change = layout = 0
    for knob, items in on.items():
        cluster = places.cluster(items)
        changed, place = places.values(cluster.likeness.row[knob])
        change += changed
        layout += place + cluster.pull * problem.steps[knob]
    left_out = sum(1 << item for item in range(problem.items)) & ~placed
    change += sum(1 for item in bits(left_out) if item in problem.before)
    for mask, weight in problem.runs:
        used = [bool(on.get(knob, 0) & mask) for knob in range(problem.knobs)]
        starts = sum(
            here and not (knob and problem.beside[knob] and used[knob - 1])
            for knob, here in enumerate(used)
        )
        layout += weight * max(0, starts - 1)
    return change, layout


def _atoms(problem: Problem, items: int) -> int:
    return sum(1 << number for number, atom in enumerate(problem.atoms) if atom.items & items)
