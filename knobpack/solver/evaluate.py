"""What a placement is worth, tier by tier, for placements that no model has priced."""

from __future__ import annotations

from collections.abc import Mapping

from knobpack.problem import Problem, bits
from knobpack.solver.catalogue import columns_of
from knobpack.solver.cluster import Places
from knobpack.solver.outcome import UPPER, Values


def values_of(problem: Problem, knobs: Mapping[int, int]) -> Values:
    """The values of all tiers when each item of ``knobs`` is on its knob, the rest nowhere."""
    on: dict[int, int] = {}
    for item, knob in knobs.items():
        on[knob] = on.get(knob, 0) | 1 << item
    placed = sum(1 << item for item in knobs)
    costs = [atom.costs for atom in problem.atoms if not atom.items & placed]
    sets = (_atoms(problem, items) for items in on.values())
    costs += [column.costs for column in columns_of(problem, sets)]
    unplaced, bundles, breaks, sharing = (
        sum(each) for each in zip((0,) * UPPER, *costs, strict=True)
    )
    bundles -= len(problem.bundles)
    sharing -= sum(spread.weight for spread in problem.spreads if spread.items & placed)
    return (unplaced, bundles, breaks, sharing, *_lower_values(problem, on, placed))


def _lower_values(problem: Problem, on: Mapping[int, int], placed: int) -> tuple[int, int]:
    places = Places.of(problem)
    change = layout = 0
    for knob, items in on.items():
        cluster = places.cluster(items)
        changed, place = places.values(cluster.likeness.row[knob])
        change += changed
        layout += place + cluster.pull * problem.steps[knob]
    left_out = (1 << problem.items) - 1 & ~placed
    change += places.values(places.omission(left_out))[0]
    knob_of = {item: knob for knob, items in on.items() for item in bits(items)}
    for one, other in problem.sequence:
        if one in knob_of and other in knob_of:
            before, after = knob_of[one], knob_of[other]
            directly = after == before or (after == before + 1 and problem.beside[after])
            layout += problem.out_of_sequence * (0 if directly else 2 if after < before else 1)
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
