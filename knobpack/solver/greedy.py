"""A first placement, found in no time, so that there is always something to give back."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from knobpack.problem import Problem, bits
from knobpack.solver.catalogue import columns_of
from knobpack.solver.watch import Watch

FEW = 200
"""Atoms, at most, that are placed with care however little time there is."""

Price = tuple[int, int, int]
"""What a set of atoms costs on one knob: its bundles, its breaks, and what sharing costs."""


def greedy(
    problem: Problem, watch: Watch, given: Mapping[int, int] | None = None
) -> dict[int, int] | None:
    """Place atom after atom where it costs least, opening a knob only where it must.

    What costs nothing to leave out comes last. Else atoms with the fewest knobs left come first (as
    in colouring by saturation), then the dearest to leave out. Spare knobs then take atoms off
    crowded ones, the greatest relief first. Once the watch says so, what is left goes to the first
    knob that takes it.

    Args:
        problem: the problem.
        watch: says when to hurry.
        given: the knob of each item of what is on one already.

    Returns:
        The knob of each item that is placed, or None where an atom that may not be left out
        found no knob.
    """
    on: dict[int, int] = {}
    # A knob that an atom is pinned to opens to others once that atom is on it.
    closed = problem.pinned_knobs
    ways = {
        number: atom.knobs if atom.pinned is not None else atom.knobs & ~closed
        for number, atom in enumerate(problem.atoms)
    }
    prices = _Prices(problem)
    room = problem.routes
    first = {}
    for number, atom in enumerate(problem.atoms):
        knob = (given or {}).get(next(bits(atom.items)))
        if knob is not None:
            first[number] = ways[number] = 1 << knob
    while ways:
        number = min(ways, key=lambda n: (n not in first, _urgency(problem, n, ways[n])))
        open_to, atom = ways.pop(number), problem.atoms[number]
        if not open_to or atom.size > room:
            if atom.needed:
                return None
            continue
        opened = [knob for knob in bits(open_to) if knob in on]
        if opened:
            hurry = len(problem.atoms) > FEW and watch.over()
            knob = opened[0] if hurry else prices.cheapest(on, number, opened)
        else:
            knob = _freest(problem, open_to)
        on[knob] = on.get(knob, 0) | 1 << number
        room -= atom.size
        size = problem.items_of(on[knob]).bit_count()
        for other in ways.keys() - first.keys():
            if _fits(problem, on[knob], size, other, knob):
                ways[other] |= 1 << knob
            else:
                ways[other] &= ~(1 << knob)
    _relieve(problem, on, prices, watch)
    return {item: knob for knob, atoms in on.items() for item in bits(problem.items_of(atoms))}


def _urgency(problem: Problem, number: int, ways: int) -> tuple[bool, bool, bool, int, int, int]:
    atom = problem.atoms[number]
    free = atom.pinned is None
    return (
        free,
        not atom.needed,
        # What is hidden shares with nothing: it must not take the knobs of what is not.
        not atom.omission,
        ways.bit_count(),
        -problem.clashes[number].bit_count(),
        -atom.omission,
    )


def _fits(problem: Problem, here: int, size: int, number: int, knob: int) -> bool:
    """Whether an atom can join those on a knob, so many items in all."""
    atom = problem.atoms[number]
    may = bool(atom.knobs >> knob & 1) and not problem.clashes[number] & here
    return may and size + atom.size <= problem.per_knob


def _freest(problem: Problem, knobs: int) -> int:
    """Of unused knobs, the one that the fewest atoms may be on: the others are needed more."""
    return min(bits(knobs), key=lambda knob: sum(atom.knobs >> knob & 1 for atom in problem.atoms))


class _Prices:
    """Prices sets of atoms, each once."""

    def __init__(self, problem: Problem) -> None:
        self._problem = problem
        self._known: dict[int, Price] = {0: (0, 0, 0)}

    def of(self, sets: Iterable[int]) -> list[Price]:
        """The price of each set."""
        wanted = list(sets)
        for column in columns_of(
            self._problem, (each for each in wanted if each not in self._known)
        ):
            self._known[column.atoms] = column.costs[1:]
        return [self._known[each] for each in wanted]

    def cheapest(self, on: dict[int, int], number: int, knobs: list[int]) -> int:
        """The knob whose price rises least when an atom joins it."""
        before = self.of(on[knob] for knob in knobs)
        after = self.of(on[knob] | 1 << number for knob in knobs)
        rise = {knob: _less(new, old) for knob, old, new in zip(knobs, before, after, strict=True)}
        return min(knobs, key=rise.__getitem__)


def _relieve(problem: Problem, on: dict[int, int], prices: _Prices, watch: Watch) -> None:
    """Give each spare knob the atom whose leaving relieves its knob the most."""
    for spare in range(problem.knobs):
        if len(problem.atoms) > FEW and watch.over():
            return
        if spare in on or problem.pinned_knobs >> spare & 1:
            continue
        moves = [
            (crowded, 1 << number)
            for crowded, atoms in on.items()
            for number in bits(atoms)
            if atoms != 1 << number
            and problem.atoms[number].pinned is None
            and problem.atoms[number].knobs >> spare & 1
        ]
        whole = prices.of(on[crowded] for crowded, _ in moves)
        rest = prices.of(on[crowded] & ~alone for crowded, alone in moves)
        single = prices.of(alone for _, alone in moves)
        reliefs = [_less(_less(w, r), s) for w, r, s in zip(whole, rest, single, strict=True)]
        if reliefs and max(reliefs) > (0, 0, 0):
            crowded, alone = moves[reliefs.index(max(reliefs))]
            on[crowded] &= ~alone
            on[spare] = alone


def _less(one: Price, other: Price) -> Price:
    return one[0] - other[0], one[1] - other[1], one[2] - other[2]
