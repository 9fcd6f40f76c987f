"""Bounds that follow from counting: how much the knobs and routes hold, whatever is on which.

A small model of what is left out and how many knobs each family takes: a family takes a knob if
any of it is placed, one for each of what all clashes with each other, and enough for its size. What
is on a knob is not told, so what is left is a relaxation, and solved at once. It is what a player
reckons with in his head: more routes wanted than there are, more families than knobs.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from knobpack.numbered.problem import Problem
from knobpack.solver.cliques import grown_clique
from knobpack.solver.cp_sat import cp_model
from knobpack.solver.cp_sat.atoms_on_knobs import Linear, summed
from knobpack.solver.cp_sat.cpsat import solve
from knobpack.solver.families import families
from knobpack.solver.watch import Watch

EFFORT = 0.1
"""Deterministic effort for a tier, at most."""


def counted(problem: Problem, tier: int, held: Sequence[int], watch: Watch) -> int:
    """No placement whose earlier tiers are no worse than ``held`` has less in the first two."""
    return _Capacity(problem).bound(tier, held, watch)


class _Capacity:
    """The model of one problem, for one bound."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self._model = cp_model.CpModel()
        self._placed = [self._model.new_bool_var("") for _ in problem.atoms]
        for atom, placed in zip(problem.atoms, self._placed, strict=True):
            if atom.needed or not atom.knobs:
                self._model.add(placed == int(atom.needed))
        taken = [(self._taken(part), 1) for part in families(problem)]
        open_to_any = 0
        for atom in problem.atoms:
            open_to_any |= atom.knobs
        self._model.add(summed(taken) <= open_to_any.bit_count())
        if problem.routes < problem.items:
            sizes = zip(self._placed, (atom.size for atom in problem.atoms), strict=True)
            self._model.add(summed(sizes) <= problem.routes)

    def _taken(self, part: Sequence[int]) -> cp_model.IntVar:
        """How many knobs a family takes."""
        problem, model = self.problem, self._model
        taken = model.new_int_var(0, min(problem.knobs, len(part)), "")
        for number in part:
            model.add_implication(self._placed[number], _positive(model, taken))
        model.add(summed((self._placed[number], 1) for number in part) >= taken)
        model.add(summed((self._placed[number], 1) for number in clique(problem, part)) <= taken)
        if sum(problem.atoms[number].size for number in part) > problem.per_knob:
            sizes = ((self._placed[number], problem.atoms[number].size) for number in part)
            model.add(summed(sizes) <= problem.per_knob * taken)
        return taken

    def bound(self, tier: int, held: Sequence[int], watch: Watch) -> int:
        """The bound of one tier."""
        for earlier, value in enumerate(held):
            self._model.add(self._cost(earlier) <= value)
        self._model.minimize(self._cost(tier))
        return max(0, solve(self._model, watch, effort=EFFORT, linear=True).bound or 0)

    def _cost(self, tier: int) -> Linear:
        return self._bundles() if tier else self._left_out(a.omission for a in self.problem.atoms)

    def _left_out(self, costs: Iterable[int]) -> Linear:
        priced = list(zip(self._placed, costs, strict=True))
        return sum(cost for _, cost in priced) - summed(priced)

    def _bundles(self) -> Linear:
        problem, model = self.problem, self._model
        terms: list[tuple[cp_model.IntVar, int]] = []
        for bundle in problem.bundles:
            own = [n for n, atom in enumerate(problem.atoms) if atom.items & bundle]
            knobs = model.new_int_var(0, len(own), "")
            for number in own:
                model.add(knobs >= self._placed[number])
            model.add(knobs >= summed((self._placed[n], 1) for n in clique(problem, own)))
            terms.append((knobs, 1))
        strays = self._left_out(atom.strays for atom in problem.atoms)
        return strays + summed(terms) - len(problem.bundles)


def clique(problem: Problem, among: Sequence[int]) -> list[int]:
    """Atoms that all clash with each other, grown from the one that clashes the most."""
    return grown_clique(problem.clashes, sum(1 << number for number in among))


def _positive(model: cp_model.CpModel, count: cp_model.IntVar) -> cp_model.IntVar:
    positive = model.new_bool_var("")
    model.add(count >= 1).only_enforce_if(positive)
    return positive
