"""What no catalogue holds: a bound on the reduced cost of sets that are larger than its sets."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import attrs
from ortools.sat.python import cp_model

from knobpack.problem import Problem, bits
from knobpack.solver.catalogue import Catalogue
from knobpack.solver.costs import FAR
from knobpack.solver.cpsat import Status, solve
from knobpack.solver.watch import Watch


@attrs.frozen
class Rates:
    """What a set's reduced cost is made of.

    Args:
        scale: the weight of one point of what sharing costs; 0 if that does not count.
        bundle: the weight of each bundle that it holds some of.
        atoms: what each atom of the problem takes off.
        each: what a set costs on its knob at least, whatever it holds.
    """

    scale: int
    bundle: int
    atoms: Sequence[int]
    each: int


@attrs.frozen
class Beyond:
    """What is known of the sets that are larger than those of a catalogue.

    Args:
        least: no such set has a lower reduced cost.
        sets: masks of the atoms of the cheapest ones found.
    """

    least: int
    sets: tuple[int, ...]


def beyond(problem: Problem, catalogue: Catalogue, rates: Rates, watch: Watch) -> Beyond | None:
    """Bound the reduced cost of the sets with more atoms than the catalogue goes up to.

    For a fixed travel, what a set costs is a sum over its atoms, kinds, voices, spreads and pairs,
    so the cheapest set is the answer of a small model; what is left out there (breaks, intrusions
    and which knobs are open) could only make sets dearer.

    Returns:
        What was found; None if the watch stopped it before a bound was known.
    """
    least: list[int] = []
    sets: list[int] = []
    for travel, holders, barred in _travels(problem, catalogue):
        model, inside = _model(problem, catalogue, rates, problem.travel_prices[travel])
        model.add_bool_or([inside[number] for number in holders])
        for number in barred:
            model.add(inside[number] == 0)
        answer = solve(model, watch)
        if answer.status is Status.IMPOSSIBLE:
            continue
        if answer.bound is None:
            return None
        least.append(answer.bound)
        if answer.value is not None:
            sets.append(sum(1 << number for number, v in inside.items() if answer.value(v)))
    return Beyond(min(least, default=FAR), tuple(sets))


def _travels(problem: Problem, catalogue: Catalogue) -> Iterator[tuple[int, list[int], list[int]]]:
    """Each travel that a set can have, the atoms one of which it then holds, and those it cannot.

    A kept travel is that of the sets with the atom pinned there; any other is wanted by an atom.
    """
    atoms = {number: problem.atoms[number] for number in catalogue.atoms}
    kept = [number for number, atom in atoms.items() if atom.pinned in problem.kept_travels]
    for number in kept:
        others = [other for other in kept if other != number]
        yield problem.kept_travels[atoms[number].pinned or 0], [number], others
    wishes: dict[int, list[int]] = {}
    for number, atom in atoms.items():
        for travel in {problem.wanted[item] for item in bits(atom.items)}:
            if number not in kept:
                wishes.setdefault(travel, []).append(number)
    for travel in sorted(wishes):
        yield travel, wishes[travel], kept


def _model(
    problem: Problem, catalogue: Catalogue, rates: Rates, travel: Sequence[int]
) -> tuple[cp_model.CpModel, dict[int, cp_model.IntVar]]:
    """The model of the cheapest set for one travel, and the variable of each atom."""
    model = cp_model.CpModel()
    inside = {number: model.new_bool_var("") for number in catalogue.atoms}
    model.add(cp_model.LinearExpr.sum(list(inside.values())) > catalogue.levels)
    sizes = [problem.atoms[number].size for number in inside]
    size = cp_model.LinearExpr.weighted_sum(list(inside.values()), sizes)
    model.add(size <= problem.per_knob)
    terms = [
        (variable, rates.scale * _own(problem, number, travel) - rates.atoms[number])
        for number, variable in inside.items()
    ]
    for mask, weight in _shared_once(problem, rates):
        holders = [v for number, v in inside.items() if problem.atoms[number].items & mask]
        if holders and weight:
            present = model.new_bool_var("")
            model.add_max_equality(present, holders)
            terms.append((present, weight))
    _part(model, problem, inside)
    cost = cp_model.LinearExpr.weighted_sum([v for v, _ in terms], [price for _, price in terms])
    model.minimize(cost + rates.each - rates.scale * problem.first)
    return model, inside


def _own(problem: Problem, number: int, travel: Sequence[int]) -> int:
    """What one atom adds by itself, and the travel that it does not get."""
    items = list(bits(problem.atoms[number].items))
    pairs = sum(weight for (a, b), weight in problem.pairs.items() if a in items and b in items)
    return pairs + sum(problem.each[item] + travel[item] for item in items)


def _shared_once(problem: Problem, rates: Rates) -> list[tuple[int, int]]:
    """What is paid once for any number of items: each class, spread and bundle."""
    sharing = [
        *problem.classes,
        *((spread.items, spread.weight) for spread in problem.spreads),
    ]
    once = [(mask, rates.scale * weight) for mask, weight in sharing]
    return [*once, *((mask, rates.bundle) for mask in problem.bundles)]


def _part(model: cp_model.CpModel, problem: Problem, inside: dict[int, cp_model.IntVar]) -> None:
    """Atoms that may not share are not in one set."""
    for number, variable in inside.items():
        for other in bits(problem.clashes[number]):
            if other in inside and other > number:
                model.add_bool_or([~variable, ~inside[other]])
