"""The compact model: CP-SAT puts each atom on a knob, and makes one tier after the other best.

One 0/1 variable says that an atom is on a knob. Knobs are told apart from the start, so it suits a
setup that is in use: there nearly every atom stays where it is. What a tier needs is added to the
model when its turn comes, and each tier is held at its value before the next is looked at.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from functools import cached_property

from knobpack.numbered.problem import Before, bits
from knobpack.solver.cp_sat import cp_model
from knobpack.solver.cp_sat.atoms_on_knobs import AtomsOnKnobs, Bool, Linear, summed
from knobpack.solver.cp_sat.cpsat import Answer, hint, solve
from knobpack.solver.watch import Watch


class CompactModel(AtomsOnKnobs):
    """The model of one problem. Tiers are made best, and held, in any order.

    Args:
        problem: the problem.
        model: what it becomes a part of; None: a model of its own.
        watch: looked at while things are put in, and told what that takes; None: nothing is.

    Raises:
        CutShortError: the watch stopped that; so do :meth:`best` and :meth:`hold`.
    """

    @cached_property
    def _costs(self) -> dict[str, Linear]:
        """The tiers that were asked for."""
        return {}

    # The tiers ----------------------------------------------------------------------------------

    def cost(self, tier: str) -> Linear:
        """The value of a tier, as an expression that is the value once it is made least."""
        if tier not in self._costs:
            self._costs[tier] = {
                "unplaced": self._unplaced,
                "bundles": self._bundles,
                "independence": self._breaks,
                "sharing": self._sharing,
                "change": self._change,
                "layout": self._layout,
            }[tier]()
        return self._costs[tier]

    def best(
        self, tier: str, watch: Watch, *, effort: float = math.inf, linear: bool = False
    ) -> Answer:
        """Make one tier best, those before being held; ``linear`` proves more and finds later."""
        self.model.minimize(self.cost(tier))
        return solve(self.model, watch, effort=effort, linear=linear, confirm=True)

    def hold(self, tier: str, value: int) -> None:
        """From now on the value of a tier is no worse than ``value``."""
        self.model.add(self.cost(tier) <= value)

    def start_from(self, knobs: Mapping[int, int]) -> None:
        """Hint at a placement: the knob of each item that is placed."""
        at = {self.problem.atom_of[item]: knob for item, knob in knobs.items()}
        variables = [*self.on.values(), *self.out.values()]
        values = [int(at.get(number) == knob) for number, knob in self.on]
        values += [int(number not in at) for number in self.out]
        hint(self.model, variables, values)

    def placed(self, answer: Answer) -> dict[int, int] | None:
        """The knob of each item in what was found; None where nothing was."""
        if answer.value is None:
            return None
        return {
            item: knob
            for (number, knob), variable in self.on.items()
            if answer.value(variable)
            for item in bits(self.problem.atoms[number].items)
        }

    def _unplaced(self) -> Linear:
        atoms = self.problem.atoms
        return summed([(v, atoms[number].omission) for number, v in self.out.items()])

    def _bundles(self) -> Linear:
        problem = self.problem
        terms = [(v, problem.atoms[number].strays) for number, v in self.out.items()]
        for items in problem.bundles:
            terms += [(here, 1) for here in self.touched(items) if here is not None]
        return summed(terms) - len(problem.bundles)

    def _breaks(self) -> Linear:
        terms = []
        for moved, weight in self.problem.breakable:
            for knob in range(self.problem.knobs):
                wronged = self._wronged(knob, moved)
                if weight and wronged is not None:
                    terms.append((wronged, weight))
        return summed(terms)

    def _sharing(self) -> Linear:
        problem = self.problem
        terms: list[tuple[Bool, int]] = []
        for items, weight in problem.classes:
            self.look()
            terms += [(here, weight) for here in self.touched(items) if here is not None]
        for (number, _), variable in self.on.items():
            terms.append((variable, problem.by_itself[number]))
        terms += [(used, -problem.first) for used in self.used.values()]
        terms += [(v, problem.atoms[number].hidden) for number, v in self.out.items()]
        terms += self._missed()
        for items, weight in problem.intrusions:
            terms += [(both, weight) for both in self._intruded(items)]
        terms += self._paired()
        terms += self._heaped()
        for spread in problem.spreads:
            here = [touched for touched in self.touched(spread.items) if touched is not None]
            terms += [(touched, spread.weight) for touched in here]
            terms.append((self.any_of(here), -spread.weight))
        return summed(terms)

    def _change(self) -> Linear:
        problem, model = self.problem, self.model
        terms: list[tuple[Bool, int]] = []
        constant = 0
        for before in problem.before:
            atoms = self.atoms_of(before.items)
            at = -1 if before.knob is None else before.knob
            stays = {n: self.on[n, at] for n in atoms if (n, at) in self.on}
            constant += problem.elsewhere(before.items)
            for number, here in stays.items():
                own = problem.atoms[number].items & before.items
                terms.append((here, -problem.elsewhere(own)))
            bundle = self.atoms_of(before.bundle)
            if not stays.keys() >= set(bundle):
                constant += problem.a_bundle
            elif bundle:
                parted = model.new_bool_var("")
                for number in bundle:
                    model.add_implication(~stays[number], parted)
                terms.append((parted, problem.a_bundle))
            if before.travel is not None and before.knob is not None:
                terms += [(reset, 1) for reset in self._reset(before.knob, before)]
        return summed(terms) + constant

    def _layout(self) -> Linear:
        problem = self.problem
        terms: list[tuple[Bool, int]] = []
        for (number, knob), variable in self.on.items():
            price = sum(
                problem.places[item][knob] + problem.pulls[item] * problem.steps[knob]
                for item in bits(problem.atoms[number].items)
            )
            terms.append((variable, price))
        for items, weight in problem.runs:
            self.look()
            here = self.touched(items)
            for knob, touched in enumerate(here):
                before = here[knob - 1] if knob and problem.beside[knob] else None
                if touched is not None:
                    starts = touched if before is None else self.starts(before, touched)
                    terms.append((starts, weight))
            terms.append((self.any_of([each for each in here if each is not None]), -weight))
        for earlier, later in problem.sequence:
            self.look()
            terms += self._out_of_sequence(earlier, later)
        return summed(terms)

    # Snapshots that are broken ------------------------------------------------------------------

    def _wronged(self, knob: int, moved: int) -> cp_model.IntVar | None:
        """How many do the wrong thing on a knob in a snapshot; None: none can."""
        here = {
            item: variable
            for number, variable in self.atoms_at(knob).items()
            for item in bits(self.problem.atoms[number].items)
        }
        moving = {item: variable for item, variable in here.items() if moved >> item & 1}
        held = {item: variable for item, variable in here.items() if not moved >> item & 1}
        if not moving or not held:
            return None
        model = self.model
        wronged = model.new_int_var(0, max(len(moving), len(held)), "")
        follows = model.new_bool_var("")
        more = summed([(v, 1) for v in moving.values()]) - summed([(v, 1) for v in held.values()])
        model.add(more >= 1).only_enforce_if(follows)
        model.add(more <= 0).only_enforce_if(~follows)
        for side, others, when in ((moving, held, ~follows), (held, moving, follows)):
            counted = [(self._counted(item, side, others), 1) for item in side]
            model.add(wronged >= summed(counted)).only_enforce_if(when)
        return wronged

    def _counted(self, item: int, side: Mapping[int, Bool], others: Mapping[int, Bool]) -> Bool:
        """Whether an item on a knob is against some of the others there, so far as it counts.

        Those that it was joined to before do not count. Where there are no such, nothing is asked:
        if none of the others is on the knob, what is on it is not wronged.
        """
        joined = self.problem.joined[item] if self.problem.joined else 0
        if not any(joined >> other & 1 for other in others):
            return side[item]
        counted = self.model.new_bool_var("")
        for other, variable in others.items():
            if not joined >> other & 1:
                self.model.add_bool_or([~side[item], ~variable, counted])
        return counted

    # Travels ------------------------------------------------------------------------------------

    @cached_property
    def travels(self) -> dict[int, dict[int, Bool]]:
        """For each knob whose travel is free, whether it has each travel that it may have."""
        problem, model = self.problem, self.model
        found: dict[int, dict[int, Bool]] = {}
        for knob, used in self.used.items():
            if knob in problem.kept_travels:
                continue
            wanting: dict[int, list[Bool]] = {}
            for number, variable in self.atoms_at(knob).items():
                for item in bits(problem.atoms[number].items):
                    wanting.setdefault(problem.wanted[item], []).append(variable)
            there = problem.travels_there.get(knob)
            chosen = {}
            for travel in sorted({*wanting, *(() if there is None else (there,))}):
                chosen[travel] = model.new_bool_var("")
                if travel != there:
                    model.add_bool_or([*wanting[travel], ~chosen[travel]])
            model.add_exactly_one([*chosen.values(), ~used])
            found[knob] = chosen
        return found

    @cached_property
    def goes(self) -> dict[tuple[int, int], dict[int, Bool]]:
        """For each atom and knob, whether it is there and goes over each travel it may have."""
        found = {}
        for knob in self.used:
            self.look()
            kept = self.problem.kept_travels.get(knob)
            for number, variable in self.atoms_at(knob).items():
                if kept is not None:
                    found[number, knob] = {kept: variable}
                    continue
                shares = {travel: self.model.new_bool_var("") for travel in self.travels[knob]}
                for travel, share in shares.items():
                    self.model.add_implication(share, self.travels[knob][travel])
                self.model.add_exactly_one([*shares.values(), ~variable])
                found[number, knob] = shares
        return found

    def _missed(self) -> list[tuple[Bool, int]]:
        """What the destinations on each knob pay for the travel that it has."""
        return [
            (share, self.problem.travel_costs[travel][number])
            for (number, _), shares in self.goes.items()
            for travel, share in shares.items()
        ]

    def _reset(self, knob: int, before: Before) -> list[Bool]:
        """Whether a knob has another travel than it had, though some of what it had stays on it.

        In an edit only where nothing new comes there.
        """
        kept = self.problem.kept_travels.get(knob)
        here = [(self.problem.atoms[n].items, v) for n, v in self.atoms_at(knob).items()]
        had = [variable for items, variable in here if items & before.items]
        if not had or kept == before.travel:
            return []
        stays, reset = self.is_any(had), self.model.new_bool_var("")
        others = [chosen for t, chosen in self.travels.get(knob, {}).items() if t != before.travel]
        new = [v for items, v in here if self.problem.in_use and items & ~before.items]
        for other in others if kept is None else [stays]:
            self.model.add_bool_or([~stays, ~other, *new, reset])
        return [reset]

    # Other terms --------------------------------------------------------------------------------

    def _intruded(self, items: int) -> list[Bool]:
        """For each knob, whether it carries both some of these items and something else."""
        outside = sum(1 << item for item in range(self.problem.items)) & ~items
        pairs = zip(self.touched(items), self.touched(outside), strict=True)
        return [self.both(a, b) for a, b in pairs if a is not None and b is not None]

    def _paired(self) -> list[tuple[Bool, int]]:
        """The pairs that had better not share, on each knob."""
        terms: list[tuple[Bool, int]] = []
        for (first, second), price in self.problem.atom_pairs.items():
            if first == second:
                continue
            for knob in range(self.problem.knobs):
                here, there = self.on.get((first, knob)), self.on.get((second, knob))
                if here is not None and there is not None:
                    terms.append((self.both(here, there), price))
        return terms

    def _heaped(self) -> list[tuple[cp_model.IntVar, int]]:
        """How many times two loads more than one are on each knob, by the tangents of that."""
        if not self.problem.heap:
            return []
        loads = [self.touched(load) for load in self.problem.load_masks]
        terms: list[tuple[cp_model.IntVar, int]] = []
        for knob, used in self.used.items():
            here = [touched for load in loads if (touched := load[knob]) is not None]
            most = len(here) - 1
            if most < 2:
                continue
            more = summed([*((load, 1) for load in here), (used, -1)])
            twos = self.model.new_int_var(0, most * (most - 1) // 2, "")
            for at in range(1, most):
                self.model.add(twos >= at * more - at * (at + 1) // 2)
            terms.append((twos, self.problem.heap))
        return terms

    def _out_of_sequence(self, earlier: int, later: int) -> list[tuple[Bool, int]]:
        """What it costs that one item does not lie directly after another."""
        problem, model = self.problem, self.model
        weight = problem.out_of_sequence
        first, second = problem.atom_of[earlier], problem.atom_of[later]
        if first == second or not weight:
            return []
        astray, backward = model.new_bool_var(""), model.new_bool_var("")
        for _, one in self.places_of(first):
            for _, other in self.places_of(second):
                directly = other == one + 1 and problem.beside[other]
                if other == one or directly:
                    continue
                pair = [~self.on[first, one], ~self.on[second, other]]
                model.add_bool_or([*pair, astray])
                if other < one:
                    model.add_bool_or([*pair, backward])
        return [(astray, weight), (backward, weight)]
