"""Atoms on knobs: the 0/1 variables of the compact model, and what must hold of them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cached_property

from knobpack.numbered.problem import Problem, bits
from knobpack.solver.cliques import clique_cover
from knobpack.solver.cp_sat import cp_model
from knobpack.solver.watch import Watch

EFFORT_PER_PART = 2e-6
"""Effort that a variable or constraint put into a model counts as: about what it takes in
seconds."""

Bool = cp_model.IntVar
Linear = cp_model.LinearExpr


class CutShortError(Exception):
    """The watch stopped the search while a model was put together. Never leaves the solver."""


class AtomsOnKnobs:
    """The variables of one problem: which atom is on which knob, or left out.

    Args:
        problem: the problem.
        model: what they become a part of; None: a model of their own.
        watch: looked at while they are put in, and told what that takes; None: nothing is.

    Raises:
        CutShortError: the watch stopped it.
    """

    def __init__(
        self,
        problem: Problem,
        model: cp_model.CpModel | None = None,
        watch: Watch | None = None,
    ) -> None:
        self.problem = problem
        self.model = cp_model.CpModel() if model is None else model
        self._watch, self._counted_for = watch, self._parts
        self._touched: dict[int, list[Bool | None]] = {}
        self.on: dict[tuple[int, int], Bool] = {}
        self.out: dict[int, Bool] = {}
        for number, atom in enumerate(problem.atoms):
            self.look()
            for knob in bits(atom.knobs):
                if atom.size <= problem.per_knob:
                    self.on[number, knob] = self.model.new_bool_var("")
            if not atom.needed:
                self.out[number] = self.model.new_bool_var("")
        self._place()

    # What must hold -----------------------------------------------------------------------------

    def _place(self) -> None:
        """Each atom is on one knob or left out, each knob carries what it may."""
        problem, model = self.problem, self.model
        for number in range(len(problem.atoms)):
            somewhere = [self.on[at] for at in self.places_of(number)]
            out = self.out.get(number)
            model.add_exactly_one(somewhere if out is None else [*somewhere, out])
        cliques = []
        for clique in clique_cover(dict(enumerate(problem.clashes))):
            self.look()
            cliques.append(clique)
        for knob in range(problem.knobs):
            self.look()
            here = self.atoms_at(knob)
            for clique in cliques:
                inside = [here[number] for number in clique if number in here]
                if len(inside) > 1:
                    model.add_at_most_one(inside)
            if sum(problem.atoms[number].size for number in here) > problem.per_knob:
                sizes = [(v, problem.atoms[number].size) for number, v in here.items()]
                model.add(summed(sizes) <= problem.per_knob)
        if problem.routes < problem.items:
            sizes = [(v, problem.atoms[number].size) for (number, _), v in self.on.items()]
            model.add(summed(sizes) <= problem.routes)
        self._empty_one()

    @property
    def _parts(self) -> int:
        """How many variables and constraints there are."""
        proto = self.model.model_proto
        return len(proto.constraints) + len(proto.variables)

    def look(self) -> None:
        """Count what was put in since the last look.

        Raises:
            CutShortError: the watch says stop.
        """
        if self._watch is None:
            return
        there = self._parts
        self._watch.spend(EFFORT_PER_PART * (there - self._counted_for))
        self._counted_for = there
        if self._watch.over():
            raise CutShortError

    def _empty_one(self) -> None:
        """One of some knobs carries nothing."""
        problem, model = self.problem, self.model
        if problem.one_empty:
            empty = [(knob, model.new_bool_var("")) for knob in bits(problem.one_empty)]
            for knob, nothing in empty:
                for variable in self.atoms_at(knob).values():
                    model.add_implication(nothing, ~variable)
            model.add_bool_or([nothing for _, nothing in empty])

    def places_of(self, number: int) -> list[tuple[int, int]]:
        """An atom with each of the knobs that it may be on."""
        return [(number, knob) for knob in range(self.problem.knobs) if (number, knob) in self.on]

    def atoms_at(self, knob: int) -> dict[int, Bool]:
        """The atoms that may be on a knob."""
        count = len(self.problem.atoms)
        return {n: self.on[n, knob] for n in range(count) if (n, knob) in self.on}

    def atoms_of(self, items: int) -> list[int]:
        """The atoms that hold some of these items."""
        return sorted({self.problem.atom_of[item] for item in bits(items)})

    # What several tiers need --------------------------------------------------------------------

    @cached_property
    def used(self) -> dict[int, Bool]:
        """For each knob that something may be on, whether something is."""
        found = {}
        for knob in range(self.problem.knobs):
            here = list(self.atoms_at(knob).values())
            if here:
                found[knob] = self.is_any(here)
        return found

    def touched(self, items: int) -> list[Bool | None]:
        """For each knob, whether it carries some of these items; None: it cannot."""
        if items not in self._touched:
            parts, left = self._made_of(items)
            classes, atoms = [self.touched(part) for part in parts], self.atoms_of(left)
            found: list[Bool | None] = []
            for knob in range(self.problem.knobs):
                here = [self.on[number, knob] for number in atoms if (number, knob) in self.on]
                here += [part for each in classes if (part := each[knob]) is not None]
                found.append(self.is_any(here) if here else None)
            self._touched[items] = found
        return self._touched[items]

    def _made_of(self, items: int) -> tuple[list[int], int]:
        """Classes that make up some items, and what of them is in none: as few as can be."""
        ways: list[tuple[list[int], int]] = [([], items)]
        for mix in self.problem.mixes:
            parts = [each for each in mix.masks if mix.of_all and each | items == items != each]
            ways.append((parts, items & ~sum(parts)))
        return min(ways, key=lambda way: len(way[0]) + len(self.atoms_of(way[1])))

    def is_any(self, variables: Sequence[Bool]) -> Bool:
        """Whether any of these holds."""
        if len(variables) == 1:
            return variables[0]
        found = self.model.new_bool_var("")
        self.model.add_max_equality(found, variables)
        return found

    def any_of(self, variables: Sequence[Bool]) -> Bool:
        """A variable that may be 1 only where one of these is."""
        found = self.model.new_bool_var("")
        self.model.add_bool_or([*variables, ~found])
        return found

    def both(self, one: Bool, other: Bool) -> Bool:
        """A variable that is 1 where both are."""
        found = self.model.new_bool_var("")
        self.model.add_bool_or([~one, ~other, found])
        return found

    def starts(self, before: Bool, here: Bool) -> Bool:
        """A variable that is 1 where the second is and the first is not."""
        found = self.model.new_bool_var("")
        self.model.add_bool_or([~here, before, found])
        return found


def summed(terms: Iterable[tuple[cp_model.IntVar, int]]) -> Linear:
    """Variables, each times its price, added up."""
    priced = [(variable, price) for variable, price in terms if price]
    variables = [variable for variable, _ in priced]
    return Linear.constant(0) + Linear.weighted_sum(variables, [price for _, price in priced])
