"""The compact model: CP-SAT puts each atom on a knob, and makes one tier after the other best.

One 0/1 variable says that an atom is on a knob. Knobs are told apart from the start, so it suits a
setup that is in use: there the tier *change*, which is made best early, says of nearly every atom
where it is, and little is left to be proven. What a tier needs is added to the model when its turn
comes, and each tier is held at its value before the next is looked at.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from functools import cached_property
from typing import cast

from knobpack.problem import Problem, bits
from knobpack.solver import cp_model
from knobpack.solver.cliques import clique_cover
from knobpack.solver.cpsat import Answer, Status, hint, solve
from knobpack.solver.evaluate import values_of
from knobpack.solver.greedy import greedy
from knobpack.solver.outcome import ImpossibleError, NothingFoundError, Outcome, Values
from knobpack.solver.watch import Watch

Bool = cp_model.IntVar
Linear = cp_model.LinearExpr


def compact(problem: Problem, watch: Watch) -> Outcome:
    """The best placement, tier by tier in the order of the problem.

    Args:
        problem: the problem.
        watch: how long the search may go on.

    Returns:
        The outcome, its values and bounds in that order.

    Raises:
        ImpossibleError: no placement meets every demand.
        NothingFoundError: the watch stopped the search before it knew any placement.
    """
    if problem.impossible:
        raise ImpossibleError
    search = _Search(problem, watch)
    starts = [problem.without_knob(knob) for knob in bits(problem.one_empty)] or [problem]
    for start in starts:
        for needed_first in (False, True):
            search.offer(_as_it_was(start, needed_first=needed_first))
    for tier in range(len(problem.order)):
        if search.found and watch.over():
            break  # what is known is known; to go on would take time to build the model
        search.improve(tier)
    return search.outcome()


class _Search:
    """The best placement so far, and what is known of each tier."""

    def __init__(self, problem: Problem, watch: Watch) -> None:
        self._problem = problem
        self._order = problem.order
        self._watch = watch
        self._knobs: dict[int, int] | None = None
        self._values: Values = (0, 0, 0, 0, 0, 0)
        self._bounds = [0] * len(problem.order)
        self._held: list[int] = []

    @cached_property
    def _model(self) -> CompactModel:
        return CompactModel(self._problem)

    @property
    def found(self) -> bool:
        """Whether any placement is known."""
        return self._knobs is not None

    def offer(self, knobs: Mapping[int, int] | None) -> None:
        """Take a placement, if it is better."""
        if knobs is None:
            return
        values = values_of(self._problem, knobs)
        if self._knobs is None or values < self._values:
            self._knobs, self._values = dict(knobs), values

    def improve(self, tier: int) -> None:
        """Make one tier best, those before it held at the values that were found for them."""
        model = self._model
        if self._knobs is None or self._values[tier]:
            if self._knobs is not None:
                model.start_from(self._knobs)
            answer = model.best(self._order[tier], self._watch, linear=True)
            if answer.status is Status.IMPOSSIBLE:
                raise ImpossibleError
            self.offer(model.placed(answer))
            if self._knobs is None and not self._problem.one_empty:
                self.offer(greedy(self._problem, self._watch))
            if self._knobs is None:
                raise NothingFoundError
            self._bounds[tier] = max(0, answer.bound or 0)
        self._held.append(self._values[tier])
        model.hold(self._order[tier], self._held[tier])
        self._watch.tell(tier, self._values[tier], self._bound(tier))

    def _bound(self, tier: int) -> int:
        """What no placement as good as the best in the tiers before goes below.

        It was found while those were held; where one of them has become worse since, as one before
        it became better, it says nothing.
        """
        held = zip(self._values, self._held[:tier], strict=False)
        stands = all(value <= most for value, most in held)
        return min(self._bounds[tier], self._values[tier]) if stands else 0

    def outcome(self) -> Outcome:
        """The best placement, with the value and bound of each tier."""
        bounds = tuple(self._bound(tier) for tier in range(len(self._order)))
        return Outcome(self._knobs or {}, self._values, cast("Values", bounds))


class _Filling:
    """A panel that is being filled, atom by atom."""

    def __init__(self, problem: Problem) -> None:
        self._problem = problem
        self._room = problem.routes
        self.on = [0] * problem.knobs

    def fits(self, number: int, knob: int | None) -> bool:
        """Whether an atom can still go to a knob."""
        problem, atom = self._problem, self._problem.atoms[number]
        if knob is None or not atom.knobs >> knob & 1 or atom.size > self._room:
            return False
        here = self.on[knob]
        full = problem.items_of(here).bit_count() + atom.size > problem.per_knob
        return not full and not problem.clashes[number] & here

    def put(self, number: int, knob: int) -> None:
        """Put an atom on a knob."""
        self.on[knob] |= 1 << number
        self._room -= self._problem.atoms[number].size


def _as_it_was(problem: Problem, *, needed_first: bool) -> dict[int, int] | None:
    """Each atom on the knob that it was on, where it can be; what cannot goes elsewhere.

    What one knob drove goes to one knob, if it can, and rather to one that nothing is on.

    Args:
        problem: the problem.
        needed_first: whether what must be placed comes before all that was there.

    Returns:
        The knob of each item that is placed; None where something that must be placed is not.
    """
    was = {item: before.knob for before in problem.before for item in bits(before.items)}
    old = [was.get(next(bits(atom.items))) for atom in problem.atoms]
    panel, elsewhere = _Filling(problem), []

    def turn(number: int) -> tuple[bool, bool]:
        atom = problem.atoms[number]
        return atom.pinned is None, needed_first and not atom.needed

    for number in sorted(range(len(problem.atoms)), key=turn):
        atom = problem.atoms[number]
        knob = old[number] if atom.pinned is None else atom.pinned
        if knob is not None and panel.fits(number, knob):
            panel.put(number, knob)
        elif atom.needed or atom.omission or any(item in was for item in bits(atom.items)):
            elsewhere.append(number)
    mates: dict[int | None, list[int]] = {}
    for number in sorted(elsewhere, key=lambda each: not problem.atoms[each].needed):
        spare = [knob for knob, here in enumerate(panel.on) if not here]
        ways = (*mates.get(old[number], ()), *spare, *range(problem.knobs))
        knob = next((each for each in ways if panel.fits(number, each)), None)
        if knob is not None:
            panel.put(number, knob)
            mates.setdefault(old[number], []).append(knob)
        elif problem.atoms[number].needed:
            return None
    return {i: knob for knob, atoms in enumerate(panel.on) for i in bits(problem.items_of(atoms))}


class CompactModel:
    """The model of one problem. Tiers are made best, and held, in any order."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.model = cp_model.CpModel()
        self._costs: dict[str, Linear] = {}
        self.on: dict[tuple[int, int], Bool] = {}
        self.out: dict[int, Bool] = {}
        for number, atom in enumerate(problem.atoms):
            for knob in bits(atom.knobs):
                if atom.size <= problem.per_knob:
                    self.on[number, knob] = self.model.new_bool_var("")
            if not atom.needed:
                self.out[number] = self.model.new_bool_var("")
        self._atom_of = {
            item: number for number, atom in enumerate(problem.atoms) for item in bits(atom.items)
        }
        self._place()

    # What must hold -----------------------------------------------------------------------------

    def _place(self) -> None:
        """Each atom is on one knob or left out, each knob carries what it may."""
        problem, model = self.problem, self.model
        for number in range(len(problem.atoms)):
            somewhere = [self.on[at] for at in self._places_of(number)]
            out = self.out.get(number)
            model.add_exactly_one(somewhere if out is None else [*somewhere, out])
        cliques = tuple(clique_cover(dict(enumerate(problem.clashes))))
        for knob in range(problem.knobs):
            here = self._atoms_at(knob)
            for clique in cliques:
                inside = [here[number] for number in clique if number in here]
                if len(inside) > 1:
                    model.add_at_most_one(inside)
            if sum(problem.atoms[number].size for number in here) > problem.per_knob:
                sizes = [(v, problem.atoms[number].size) for number, v in here.items()]
                model.add(_sum(sizes) <= problem.per_knob)
        if problem.routes < problem.items:
            sizes = [(v, problem.atoms[number].size) for (number, _), v in self.on.items()]
            model.add(_sum(sizes) <= problem.routes)
        self._empty_one()

    def _empty_one(self) -> None:
        """One of some knobs carries nothing."""
        problem, model = self.problem, self.model
        if problem.one_empty:
            empty = [(knob, model.new_bool_var("")) for knob in bits(problem.one_empty)]
            for knob, nothing in empty:
                for variable in self._atoms_at(knob).values():
                    model.add_implication(nothing, ~variable)
            model.add_bool_or([nothing for _, nothing in empty])

    def _places_of(self, number: int) -> list[tuple[int, int]]:
        return [(number, knob) for knob in range(self.problem.knobs) if (number, knob) in self.on]

    def _atoms_at(self, knob: int) -> dict[int, Bool]:
        """The atoms that may be on a knob."""
        count = len(self.problem.atoms)
        return {n: self.on[n, knob] for n in range(count) if (n, knob) in self.on}

    def _atoms_of(self, items: int) -> list[int]:
        """The atoms that hold some of these items."""
        return sorted({self._atom_of[item] for item in bits(items)})

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
        at = {self._atom_of[item]: knob for item, knob in knobs.items()}
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
        return _sum([(v, atoms[number].omission) for number, v in self.out.items()])

    def _bundles(self) -> Linear:
        problem = self.problem
        terms = [(v, problem.atoms[number].strays) for number, v in self.out.items()]
        for items in problem.bundles:
            terms += [(here, 1) for here in self._touched(items) if here is not None]
        return _sum(terms) - len(problem.bundles)

    def _breaks(self) -> Linear:
        terms = []
        for moved, weight in self.problem.breakable:
            for knob in range(self.problem.knobs):
                wronged = self._wronged(knob, moved)
                if weight and wronged is not None:
                    terms.append((wronged, weight))
        return _sum(terms)

    def _sharing(self) -> Linear:
        problem = self.problem
        terms: list[tuple[Bool, int]] = []
        for items, weight in problem.classes:
            terms += [(here, weight) for here in self._touched(items) if here is not None]
        for (number, _), variable in self.on.items():
            own = sum(problem.each[item] for item in bits(problem.atoms[number].items))
            terms.append((variable, own))
        terms += [(used, -problem.first) for used in self._used.values()]
        terms += [(v, problem.atoms[number].hidden) for number, v in self.out.items()]
        terms += self._missed()
        for items, weight in problem.intrusions:
            terms += [(both, weight) for both in self._intruded(items)]
        terms += self._paired()
        for spread in problem.spreads:
            here = [touched for touched in self._touched(spread.items) if touched is not None]
            terms += [(touched, spread.weight) for touched in here]
            terms.append((self._any(here), -spread.weight))
        return _sum(terms)

    def _change(self) -> Linear:
        problem, model = self.problem, self.model
        routes = sum(before.items.bit_count() for before in problem.before)
        a_route, a_bundle = routes + 1, (routes + 1) ** 2
        terms: list[tuple[Bool, int]] = []
        constant = 0
        for before in problem.before:
            atoms = self._atoms_of(before.items)
            at = -1 if before.knob is None else before.knob
            stays = {n: self.on[n, at] for n in atoms if (n, at) in self.on}
            constant += a_route * before.items.bit_count()
            for number, here in stays.items():
                own = (problem.atoms[number].items & before.items).bit_count()
                terms.append((here, -own * a_route))
            if len(stays) < len(atoms):
                constant += a_bundle
            else:
                parted = model.new_bool_var("")
                for here in stays.values():
                    model.add_implication(~here, parted)
                terms.append((parted, a_bundle))
            if before.travel is not None and before.knob is not None:
                resets = self._reset(before.knob, before.travel, list(stays.values()))
                terms += [(reset, 1) for reset in resets]
        return _sum(terms) + constant

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
            here = self._touched(items)
            for knob, touched in enumerate(here):
                before = here[knob - 1] if knob and problem.beside[knob] else None
                if touched is not None:
                    starts = touched if before is None else self._starts(before, touched)
                    terms.append((starts, weight))
            terms.append((self._any([each for each in here if each is not None]), -weight))
        for earlier, later in problem.sequence:
            terms += self._out_of_sequence(earlier, later)
        return _sum(terms)

    # What several tiers need --------------------------------------------------------------------

    @cached_property
    def _used(self) -> dict[int, Bool]:
        """For each knob that something may be on, whether something is."""
        found = {}
        for knob in range(self.problem.knobs):
            here = list(self._atoms_at(knob).values())
            if here:
                found[knob] = self._is_any(here)
        return found

    def _touched(self, items: int) -> list[Bool | None]:
        """For each knob, whether it carries some of these items; None: it cannot."""
        atoms = self._atoms_of(items)
        found: list[Bool | None] = []
        for knob in range(self.problem.knobs):
            here = [self.on[number, knob] for number in atoms if (number, knob) in self.on]
            found.append(self._is_any(here) if here else None)
        return found

    def _is_any(self, variables: Sequence[Bool]) -> Bool:
        """Whether any of these holds."""
        if len(variables) == 1:
            return variables[0]
        found = self.model.new_bool_var("")
        self.model.add_max_equality(found, variables)
        return found

    def _any(self, variables: Sequence[Bool]) -> Bool:
        """A variable that may be 1 only where one of these is."""
        found = self.model.new_bool_var("")
        self.model.add_bool_or([*variables, ~found])
        return found

    def _both(self, one: Bool, other: Bool) -> Bool:
        """A variable that is 1 where both are."""
        found = self.model.new_bool_var("")
        self.model.add_bool_or([~one, ~other, found])
        return found

    def _starts(self, before: Bool, here: Bool) -> Bool:
        """A variable that is 1 where the second is and the first is not."""
        found = self.model.new_bool_var("")
        self.model.add_bool_or([~here, before, found])
        return found

    # Snapshots that are broken ------------------------------------------------------------------

    def _wronged(self, knob: int, moved: int) -> cp_model.IntVar | None:
        """How many do the wrong thing on a knob in a snapshot; None: none can."""
        here = {
            item: variable
            for number, variable in self._atoms_at(knob).items()
            for item in bits(self.problem.atoms[number].items)
        }
        moving = {item: variable for item, variable in here.items() if moved >> item & 1}
        held = {item: variable for item, variable in here.items() if not moved >> item & 1}
        if not moving or not held:
            return None
        model = self.model
        wronged = model.new_int_var(0, max(len(moving), len(held)), "")
        follows = model.new_bool_var("")
        more = _sum([(v, 1) for v in moving.values()]) - _sum([(v, 1) for v in held.values()])
        model.add(more >= 1).only_enforce_if(follows)
        model.add(more <= 0).only_enforce_if(~follows)
        for side, others, when in ((moving, held, ~follows), (held, moving, follows)):
            counted = [(self._counted(item, side, others), 1) for item in side]
            model.add(wronged >= _sum(counted)).only_enforce_if(when)
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
    def _travels(self) -> dict[int, dict[int, Bool]]:
        """For each knob whose travel is free, whether it has each travel that it may have."""
        problem, model = self.problem, self.model
        found: dict[int, dict[int, Bool]] = {}
        for knob, used in self._used.items():
            if knob in problem.kept_travels:
                continue
            wanting: dict[int, list[Bool]] = {}
            for number, variable in self._atoms_at(knob).items():
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

    def _missed(self) -> list[tuple[Bool, int]]:
        """What the destinations on each knob pay for the travel that it has."""
        problem, model = self.problem, self.model
        terms: list[tuple[Bool, int]] = []
        for knob in self._used:
            kept = problem.kept_travels.get(knob)
            for number, variable in self._atoms_at(knob).items():
                if kept is not None:
                    terms.append((variable, self._price(number, kept)))
                    continue
                shares = []
                for travel, chosen in self._travels[knob].items():
                    share = model.new_bool_var("")
                    model.add_implication(share, chosen)
                    shares.append(share)
                    terms.append((share, self._price(number, travel)))
                model.add_exactly_one([*shares, ~variable])
        return terms

    def _price(self, number: int, travel: int) -> int:
        """What an atom pays under a travel."""
        prices = self.problem.travel_prices[travel]
        return sum(prices[item] for item in bits(self.problem.atoms[number].items))

    def _reset(self, knob: int, travel: int, kept: Sequence[Bool]) -> list[Bool]:
        """Whether a knob has another travel than it had, though one of these stays on it."""
        if not kept:
            return []
        stays = self._is_any(kept)
        if knob in self.problem.kept_travels:
            return [] if self.problem.kept_travels[knob] == travel else [stays]
        others = [chosen for each, chosen in self._travels[knob].items() if each != travel]
        reset = self.model.new_bool_var("")
        for other in others:
            self.model.add_bool_or([~stays, ~other, reset])
        return [reset]

    # Other terms --------------------------------------------------------------------------------

    def _intruded(self, items: int) -> list[Bool]:
        """For each knob, whether it carries both some of these items and something else."""
        outside = sum(1 << item for item in range(self.problem.items)) & ~items
        pairs = zip(self._touched(items), self._touched(outside), strict=True)
        return [self._both(a, b) for a, b in pairs if a is not None and b is not None]

    def _paired(self) -> list[tuple[Bool, int]]:
        """The pairs that had better not share, on each knob."""
        terms: list[tuple[Bool, int]] = []
        prices: dict[tuple[int, int], int] = {}
        for (one, other), price in self.problem.pairs.items():
            atoms = sorted((self._atom_of[one], self._atom_of[other]))
            prices[atoms[0], atoms[1]] = prices.get((atoms[0], atoms[1]), 0) + price
        for (first, second), price in prices.items():
            for knob in range(self.problem.knobs):
                here, there = self.on.get((first, knob)), self.on.get((second, knob))
                if here is not None and there is not None:
                    terms.append((here if first == second else self._both(here, there), price))
        return terms

    def _out_of_sequence(self, earlier: int, later: int) -> list[tuple[Bool, int]]:
        """What it costs that one item does not lie directly after another."""
        problem, model = self.problem, self.model
        weight = problem.out_of_sequence
        first, second = self._atom_of[earlier], self._atom_of[later]
        if first == second or not weight:
            return []
        astray, backward = model.new_bool_var(""), model.new_bool_var("")
        for _, one in self._places_of(first):
            for _, other in self._places_of(second):
                directly = other == one + 1 and problem.beside[other]
                if other == one or directly:
                    continue
                pair = [~self.on[first, one], ~self.on[second, other]]
                model.add_bool_or([*pair, astray])
                if other < one:
                    model.add_bool_or([*pair, backward])
        return [(astray, weight), (backward, weight)]


def _sum(terms: Iterable[tuple[cp_model.IntVar, int]]) -> Linear:
    priced = [(variable, price) for variable, price in terms if price]
    variables = [variable for variable, _ in priced]
    return Linear.constant(0) + Linear.weighted_sum(variables, [price for _, price in priced])
