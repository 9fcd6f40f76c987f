"""A bound on *layout* by counting, whatever shares a knob: it needs no search, at any size.

Some things cost something wherever all is. What is drawn up the order of reach can not all be on
the nearest knobs: loads that share a knob are dear, so there are no more of them on the near ones
than what is held of *sharing* pays for. Of two rows the products are least if the one rises as the
other falls (the rearrangement inequality: Hardy, Littlewood and Pólya 1934, from memory); how many
loads each knob has is a small linear programme besides, and the prices it ends with prove a bound
in whole numbers. A pair that is to come in sequence costs what it does on the best two of the
knobs that it may be on.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction
from itertools import pairwise

import attrs
from ortools.linear_solver import pywraplp

from knobpack.numbered.problem import Atom, Problem, bits
from knobpack.solver.costs import FAR, QUANTUM
from knobpack.solver.families import families
from knobpack.solver.linear import dual_prices

MOST_VARIABLES = 20_000
"""Sorts of loads times knobs in the linear programme, at most: where there are more, prices come of
sorts that are told apart by less. Any prices prove a bound."""

MOST_HEAPED = 3
"""So many times as many loads as there are for each knob are told apart on one, there."""


def rearranged(problem: Problem, held: Sequence[int]) -> int:
    """No placement whose earlier tiers are no worse than ``held`` has less in *layout*.

    Args:
        problem: the costs.
        held: the values of the first five tiers, in the order of the problem.
    """
    counting = _Counting(problem, dict(zip(problem.order, held, strict=False)))
    return counting.places() + counting.reach() + counting.sequence()


class _Counting:
    """What is known of every placement that is good enough in the earlier tiers.

    Args:
        problem: the costs.
        held: the value of each earlier tier by name.
    """

    def __init__(self, problem: Problem, held: dict[str, int]) -> None:
        self._problem = problem
        self._lost = held["unplaced"] - sum(a.omission for a in problem.atoms if not a.knobs)
        self._atoms = [atom for atom in problem.atoms if atom.knobs]
        self._sure = [atom for atom in self._atoms if self._is_sure(atom)]
        self._sharing = held["sharing"]
        self._open = problem.open_knobs
        self._parts = [[problem.atoms[number] for number in part] for part in families(problem)]

    def _is_sure(self, atom: Atom) -> bool:
        """Whether an atom is on a knob in any case."""
        return atom.needed or atom.omission > self._lost

    def places(self) -> int:
        """What it costs that items are on no knob that suits them: each atom on its best one."""
        problem, total = self._problem, 0
        for atom in self._sure:
            rows = [problem.places[i] for i in bits(atom.items) if any(problem.places[i])]
            if rows:
                total += min(sum(row[knob] for row in rows) for knob in bits(atom.knobs))
        return total

    def sequence(self) -> int:
        """What it costs that pairs are not in sequence, each on its best two knobs."""
        problem = self._problem
        if not problem.out_of_sequence:
            return 0
        of = {item: atom for atom in self._sure for item in bits(atom.items)}
        number = {atom.items: at for at, atom in enumerate(problem.atoms)}
        beside = sum(1 << knob for knob, joins in enumerate(problem.beside) if joins)
        total = 0
        for first, second in problem.sequence:
            if first not in of or second not in of or of[first] is of[second]:
                continue
            one, other = of[first], of[second]
            apart = problem.clashes[number[one.items]] >> number[other.items] & 1
            if one.knobs << 1 & beside & other.knobs or (not apart and one.knobs & other.knobs):
                continue
            later = other.knobs.bit_length() > (one.knobs & -one.knobs).bit_length()
            total += problem.out_of_sequence * (1 if later else 2)
        return total

    def reach(self) -> int:
        """What it costs that not all is on the nearest knobs."""
        problem = self._problem
        steps = [problem.steps[knob] for knob in bits(self._open)]
        if not problem.heap or not any(problem.pulls) or not any(steps):
            return 0
        loads = list(self._loads())
        rest = self._sharing - self._mixed(len(steps))
        join = sum(mix.weight for mix in problem.mixes if mix.heap)
        shared = [0, 0]
        while len(shared) <= min(len(loads), problem.per_knob):
            more = shared[-1] + join + problem.heap * (len(shared) - 2)
            if more > rest:
                break
            shared.append(more)
        return _Reach(loads, steps, shared, rest, self._lost).bound()

    def _mixed(self, knobs: int) -> int:
        """What of *sharing* comes of other mixes than that of loads, at least.

        A knob carries of one family only, so each class of a family is on a knob of it.
        """
        problem, total = self._problem, 0
        sure = {atom.items for atom in self._sure}
        parts = [sum(a.items for a in part if a.items in sure) for part in self._parts]
        for mix in (mix for mix in problem.mixes if not mix.heap):
            total += mix.weight * max(0, sum(map(mix.count, parts)) - knobs)
        return total

    def _loads(self) -> Iterator[_Load]:
        """What of each load there is to place in each family, but for what costs nothing."""
        problem = self._problem
        of = {item: at for at, load in enumerate(problem.load_masks) for item in bits(load)}
        for part in self._parts:
            own: dict[int, list[tuple[int, int]]] = {}
            for atom in part:
                if atom.needed or atom.omission:
                    pull = sum(problem.pulls[item] for item in bits(atom.items))
                    omission = 0 if self._is_sure(atom) else atom.omission
                    own.setdefault(of[next(bits(atom.items))], []).append((pull, omission))
            yield from (_Load(tuple(atoms)) for atoms in own.values())


@attrs.frozen
class _Load:
    """What there is to place of a load in one family.

    In parts, it is drawn as if all of it were on the nearest of its knobs, which carries one of
    the loads that make a heap there.

    Args:
        atoms: how strongly each of its atoms is drawn, and what it costs to leave it out; 0: it is
            on a knob in any case.
    """

    atoms: tuple[tuple[int, int], ...]

    @property
    def sort(self) -> tuple[int, int]:
        """How strongly it is drawn, and what it costs to leave all of it out; 0: that cannot be."""
        pull, omission = map(sum, zip(*self.atoms, strict=True))
        return pull, omission if all(each for _, each in self.atoms) else 0


@attrs.frozen
class _Reach:
    """Loads put on knobs so that what they are drawn comes to the least.

    Args:
        loads: all there are.
        steps: how many steps down the order of reach each knob stands.
        shared: what a knob with 0, 1, 2, … loads costs at least in *sharing*: convex.
        rest: what all knobs may cost there together.
        lost: what may be left out, in points of *unplaced*.
    """

    loads: Sequence[_Load]
    steps: Sequence[int]
    shared: Sequence[int]
    rest: int
    lost: int

    def bound(self) -> int:
        """No way to put them on the knobs costs less.

        At prices of a place on each knob and of a point of *sharing* every load, left to itself,
        takes the knob that is cheapest for it, and every knob as many loads as are cheapest for it.
        """
        places, point = self._prices()
        here = list(zip(self.steps, places, strict=True))
        cheapest = {
            pull: min(QUANTUM * pull * step + price for step, price in here)
            for pull in {0, *(load.sort[0] for load in self.loads)}
        }
        total = sum(cheapest[load.sort[0]] for load in self.loads) - point * self.rest
        for price, knobs in Counter(places).items():
            least = min(point * cost - price * at for at, cost in enumerate(self.shared))
            total += knobs * least
        return max(0, -(-(total - self._saved(cheapest)) // QUANTUM))

    def _saved(self, cheapest: Mapping[int, int]) -> int:
        """What it saves at most to leave out what may be: that is worth the most for its cost.

        The more strongly a load is drawn, the less each point of that costs more: what a part of
        it saves is no more than its share of what all saves, but for the place.
        """
        worth: list[tuple[int, int]] = []
        for load in self.loads if self.lost > 0 else ():
            pull, omission = load.sort
            for own, cost in load.atoms:
                if cost:
                    saved = -(-own * (cheapest[pull] - cheapest[0]) // max(1, pull))
                    saved += -(-cheapest[0] * cost // omission) if omission else 0
                    worth.append((saved, cost))
        most, left = Fraction(0), self.lost
        for own, cost in sorted(worth, key=lambda each: Fraction(*each), reverse=True):
            part = min(cost, left)
            most += Fraction(own * part, cost)
            left -= part
        return math.ceil(most)

    def _prices(self) -> tuple[list[int], int]:
        """The prices of a place on each knob and of a point of *sharing*, 0 or more, in 1024ths."""
        sorts, grain = Counter(load.sort for load in self.loads), 1
        while len(sorts) * len(self.steps) > MOST_VARIABLES and grain < QUANTUM:
            grain *= 2
            sorts = Counter(
                (pull // grain * grain, -(-omission // grain) * grain)
                for pull, omission in (load.sort for load in self.loads)
            )
        solver = pywraplp.Solver.CreateSolver("GLOP")
        objective = solver.Objective()
        objective.SetMinimization()
        infinity = solver.infinity()
        places = [solver.Constraint(0, 0) for _ in self.steps]
        sharing = solver.Constraint(-infinity, self.rest)
        lost = solver.Constraint(-infinity, max(0, self.lost))
        most = MOST_HEAPED * -(-len(self.loads) // len(places)) + 1
        rises = [after - before for before, after in pairwise(self.shared[: most + 1])]
        for place in places:
            for at, rise in enumerate(rises):
                more = solver.NumVar(0, infinity if at == most - 1 else 1, "")
                place.SetCoefficient(more, -1)
                sharing.SetCoefficient(more, rise)
        for (pull, omission), count in sorts.items():
            all_ = solver.Constraint(count, count)
            for place, step in zip(places, self.steps, strict=True):
                here = solver.NumVar(0, infinity, "")
                all_.SetCoefficient(here, 1)
                place.SetCoefficient(here, 1)
                objective.SetCoefficient(here, pull * step)
            if omission:
                out = solver.NumVar(0, infinity, "")
                all_.SetCoefficient(out, 1)
                lost.SetCoefficient(out, omission)
        duals = dual_prices(solver, [(row, FAR) for row in (*places, sharing)])
        *found, point = (max(0, -dual) for dual in duals)
        return found, point
