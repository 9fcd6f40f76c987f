"""Bounds that follow from counting: how much the knobs and routes hold, whatever is on which.

A small model of what is left out and how many knobs each family takes: a family takes a knob if
any of it is placed, one for each of what all clashes with each other, and enough for its size. What
is on a knob is not told, so what is left is a relaxation, and solved at once. It is what a player
reckons with in his head: more routes wanted than there are, more families than knobs, so many
destinations crowded on so few knobs.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

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
    """No placement whose earlier tiers are no worse than ``held`` has less in one of the first 4.

    That of the tier *independence* is 0: :mod:`knobpack.solver.bounds.modes` bounds it.
    """
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
        self._knobs = [(part, self._taken(part)) for part in families(problem)]
        taken = [(knobs, 1) for _, knobs in self._knobs]
        self._model.add(summed(taken) <= problem.open_knobs.bit_count())
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
        return (self._unplaced, self._bundles, self._breaks, self._sharing)[tier]()

    def _left_out(self, costs: Iterable[int]) -> Linear:
        priced = list(zip(self._placed, costs, strict=True))
        return sum(cost for _, cost in priced) - summed(priced)

    def _unplaced(self) -> Linear:
        return self._left_out(atom.omission for atom in self.problem.atoms)

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

    def _breaks(self) -> Linear:
        return Linear.constant(0)

    def _sharing(self) -> Linear:
        """What is mixed: so many classes on so few knobs, each mix by itself."""
        problem, model = self.problem, self._model
        terms: list[tuple[cp_model.IntVar, int]] = []
        for part, taken in self._knobs:
            everything = problem.items_of(sum(1 << number for number in part))
            for mix in problem.mixes:
                own = [mask for mask in mix.masks if mask & everything]
                present = [(self._touched(part, mask), 1) for mask in own]
                alone = mix.alone(everything)
                for number in part:
                    count = (problem.atoms[number].items & alone).bit_count()
                    present.append((self._placed[number], count))
                mixed = model.new_int_var(0, everything.bit_count(), "")
                model.add(mixed >= summed(present) - taken)
                terms.append((mixed, mix.weight))
            terms += self._heaped(part, taken)
        return self._left_out(atom.hidden for atom in problem.atoms) + summed(terms)

    def _heaped(
        self, part: Sequence[int], taken: cp_model.IntVar
    ) -> Iterator[tuple[cp_model.IntVar, int]]:
        """How often two loads more than one share, if they are spread as evenly as can be."""
        problem, model = self.problem, self._model
        everything = problem.items_of(sum(1 << number for number in part))
        own = [load for load in problem.load_masks if load & everything]
        if not problem.heap or len(own) < 3:
            return
        present = summed((self._touched(part, load), 1) for load in own)
        twos = model.new_int_var(0, len(own) ** 2, "")
        for more in range(1, len(own) - 1):
            model.add(twos >= more * (present - taken) - more * (more + 1) // 2 * taken)
        yield twos, problem.heap

    def _touched(self, part: Sequence[int], items: int) -> cp_model.IntVar:
        """Whether any of some items of a family is placed."""
        here = self._model.new_bool_var("")
        for number in part:
            if self.problem.atoms[number].items & items:
                self._model.add_implication(self._placed[number], here)
        return here


def clique(problem: Problem, among: Sequence[int]) -> list[int]:
    """Atoms that all clash with each other, grown from the one that clashes the most."""
    return grown_clique(problem.clashes, sum(1 << number for number in among))


def _positive(model: cp_model.CpModel, count: cp_model.IntVar) -> cp_model.IntVar:
    positive = model.new_bool_var("")
    model.add(count >= 1).only_enforce_if(positive)
    return positive
