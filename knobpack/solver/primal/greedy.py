"""A first placement, found in no time, so that there is always something to give back."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping

from knobpack.numbered.problem import Problem, bits
from knobpack.solver.set_partitioning.column_pool import columns_of
from knobpack.solver.watch import Watch

FEW = 64
"""Atoms, at most, that are placed with care however little time there is."""

EFFORT_PER_ATOM = 2e-6
"""Effort that looking whether an atom is the next counts as: about what it takes in seconds."""

Price = tuple[int, int, int]
"""What a set of atoms costs on one knob: its bundles, its breaks, and what sharing costs."""


def greedy(
    problem: Problem, watch: Watch, given: Mapping[int, int] | None = None
) -> dict[int, int] | None:
    """Place atom after atom where it costs least, opening a knob only where it must.

    What costs nothing to leave out comes last. Else atoms with the fewest knobs left come first (as
    in colouring by saturation), then the dearest to leave out. Spare knobs then take atoms off
    crowded ones, the greatest relief first. Once the watch says so, what is left goes to the first
    knob that takes it, in the order that it is in then.

    Args:
        problem: the problem.
        watch: says when to hurry.
        given: the knob of each item of what is on one already.

    Returns:
        The knob of each item that is placed, or None where an atom that may not be left out
        found no knob.
    """
    on: dict[int, int] = {}
    prices, room = _Prices(problem), problem.routes
    first = _given(problem, given or {})
    # A knob that an atom is pinned to opens to others once that atom is on it.
    closed = problem.pinned_knobs
    ways = {
        number: atom.knobs if atom.pinned is not None else atom.knobs & ~closed
        for number, atom in enumerate(problem.atoms)
    } | first

    def urgency(number: int) -> tuple[int, ...]:
        return number not in first, *_urgency(problem, number, ways[number])

    while ways:
        if len(problem.atoms) > FEW and not first.keys() & ways.keys() and watch.over():
            left = {number: ways[number] for number in sorted(ways, key=urgency)}
            if not _first_fit(problem, left, on, room):
                return None
            break
        watch.spend(EFFORT_PER_ATOM * len(ways))
        number = min(ways, key=urgency)
        open_to, atom = ways.pop(number), problem.atoms[number]
        if not open_to or atom.size > room:
            if atom.needed:
                return None
            continue
        knob = prices.cheapest(on, number, open_to)
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


def _given(problem: Problem, given: Mapping[int, int]) -> dict[int, int]:
    """For each atom that is on a knob already, that knob as a mask."""
    knobs = (given.get(next(bits(atom.items))) for atom in problem.atoms)
    return {number: 1 << knob for number, knob in enumerate(knobs) if knob is not None}


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


def _first_fit(problem: Problem, ways: Mapping[int, int], on: dict[int, int], room: int) -> bool:
    """Put each atom on the first knob in use that takes it, else on the first of its others.

    Args:
        problem: the problem.
        ways: the knobs that each atom may be on, as far as they are not in use.
        on: the atoms on each knob in use; what is placed is added.
        room: how many routes are left.

    Returns:
        Whether all that may not be left out is placed.
    """
    sizes = {knob: problem.items_of(atoms).bit_count() for knob, atoms in on.items()}
    passed: dict[tuple[int, int, int], int] = {}
    for number, open_to in ways.items():
        atom = problem.atoms[number]
        if atom.size > room:
            if atom.needed:
                return False
            continue
        # What one atom did not fit on, none takes that clashes with the same and is as large.
        kind, used = (problem.clashes[number], atom.knobs, atom.size), list(on)
        at = passed.get(kind, 0)
        while at < len(used) and not _fits(
            problem, on[used[at]], sizes[used[at]], number, used[at]
        ):
            at += 1
        passed[kind] = at
        knob = used[at] if at < len(used) else next((k for k in bits(open_to) if k not in on), None)
        if knob is not None:
            on[knob] = on.get(knob, 0) | 1 << number
            sizes[knob] = sizes.get(knob, 0) + atom.size
            room -= atom.size
        elif atom.needed:
            return False
    return True


class _Prices:
    """Prices sets of atoms, each once."""

    def __init__(self, problem: Problem) -> None:
        self._problem = problem
        self._known: dict[int, Price] = {0: (0, 0, 0)}
        self._admitted = Counter(atom.knobs for atom in problem.atoms)

    def of(self, sets: Iterable[int]) -> list[Price]:
        """The price of each set."""
        wanted = list(sets)
        for column in columns_of(
            self._problem, (each for each in wanted if each not in self._known)
        ):
            self._known[column.atoms] = column.costs[1:]
        return [self._known[each] for each in wanted]

    def cheapest(self, on: dict[int, int], number: int, open_to: int) -> int:
        """Of the knobs in use the one whose price rises least when an atom joins it.

        Where it is open to none of them, the one that the fewest atoms may be on: the others are
        needed more.
        """
        knobs = [knob for knob in bits(open_to) if knob in on]
        if not knobs:
            return min(bits(open_to), key=self._admits)
        before = self.of(on[knob] for knob in knobs)
        after = self.of(on[knob] | 1 << number for knob in knobs)
        rise = {knob: _less(new, old) for knob, old, new in zip(knobs, before, after, strict=True)}
        return min(knobs, key=rise.__getitem__)

    def _admits(self, knob: int) -> int:
        return sum(count for knobs, count in self._admitted.items() if knobs >> knob & 1)


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
