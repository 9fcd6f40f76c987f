"""A first placement, found in no time, so that there is always something to give back."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence

from knobpack.numbered.problem import Problem, bits
from knobpack.solver.primal.board import NOWHERE, Board
from knobpack.solver.primal.filling import Filling
from knobpack.solver.watch import Watch

FEW = 64
"""Atoms, at most, that are placed with care however little time there is."""

EFFORT_PER_ATOM = 2e-6
"""Effort that looking whether an atom is the next counts as: about what it takes in seconds."""

EFFORT_PER_KNOB = 1e-6
"""The same of looking what an atom would cost on a knob."""


def greedy(
    problem: Problem, watch: Watch, given: Mapping[int, int] | None = None
) -> dict[int, int] | None:
    """Place atom after atom where it costs least, opening a knob only where it must.

    Atoms with the fewest knobs left come first (as in colouring by saturation), then the dearest to
    leave out. Then each atom goes where it costs least, spare knobs among the places, until none
    would move; what is hidden, which shares with nothing, comes to what is spare after that. Once
    the watch says so, what is left goes to the first knob that takes it, in the order that it is in
    then.

    Args:
        problem: the problem.
        watch: says when to hurry.
        given: where each item is to begin that is known to find a knob there.

    Returns:
        The knob of each item that is placed, or None where an atom that may not be left out
        found no knob.
    """
    first = _given(problem, given or {})
    # A knob that an atom is pinned to opens to others once that atom is on it.
    closed = problem.pinned_knobs
    ways = {
        number: atom.knobs if atom.pinned is not None else atom.knobs & ~closed
        for number, atom in enumerate(problem.atoms)
    } | first

    def urgency(number: int) -> tuple[int, ...]:
        return number not in first, *_urgency(problem, number, ways[number])

    def hastily(on: Sequence[int]) -> dict[int, int] | None:
        left = {number: ways[number] for number in sorted(ways, key=urgency)}
        return _hastily(problem, left, on)

    if not first and _hurried(problem, watch):
        return hastily(())
    last = {
        number
        for number in ways.keys() - first.keys()
        if problem.atoms[number].free_to_leave and problem.atoms[number].pinned is None
    }
    admits = Counter(atom.knobs for atom in problem.atoms)
    board = Board(problem, {})
    while ways.keys() - last:
        if not first.keys() & ways.keys() and _hurried(problem, watch):
            return hastily(board.sets)
        watch.spend(EFFORT_PER_ATOM * len(ways))
        number = min(ways.keys() - last, key=urgency)
        open_to, atom = ways.pop(number), problem.atoms[number]
        if not open_to or atom.size > board.room:
            if atom.needed:
                return None
            continue
        used = [knob for knob in bits(open_to) if board.on[knob]]
        watch.spend(EFFORT_PER_KNOB * len(used))
        _, knob = board.cheapest(number, used) or (0, _least_admitted(admits, open_to))
        board.go(number, knob)
        for other in ways.keys() - first.keys():
            if _fits(problem, board.on[knob], board.load[knob], other, knob):
                ways[other] |= 1 << knob
            else:
                ways[other] &= ~(1 << knob)
    free = [n for n, atom in enumerate(problem.atoms) if atom.knobs and atom.pinned is None]
    _settle(board, [number for number in free if number not in last], watch)
    _settle(board, free, watch)
    return board.knobs


def _hurried(problem: Problem, watch: Watch) -> bool:
    return len(problem.atoms) > FEW and watch.over()


def _least_admitted(admits: Mapping[int, int], open_to: int) -> int:
    """The knob that the fewest atoms may be on: the others are needed more."""
    return min(
        bits(open_to),
        key=lambda knob: sum(count for knobs, count in admits.items() if knobs >> knob & 1),
    )


def _settle(board: Board, numbers: Sequence[int], watch: Watch) -> None:
    """Let each of some atoms go where it costs least, one after the other, until none would."""
    problem, moved = board.problem, True
    while moved:
        moved = False
        for number in numbers:
            if watch.hurried or _hurried(problem, watch):
                return
            every = list(bits(problem.atoms[number].knobs))
            knobs = [knob for knob in every if board.on[knob]]
            spare = (k for k in every if not board.on[k] and not problem.pinned_knobs >> k & 1)
            knobs += [knob for knob in [next(spare, None)] if knob is not None]
            watch.spend(EFFORT_PER_KNOB * len(knobs))
            dearer, knob = board.cheapest(number, knobs) or (0, NOWHERE)
            if dearer < 0:
                board.go(number, knob)
                moved = True


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
        atom.free_to_leave,
        ways.bit_count(),
        -problem.clashes[number].bit_count(),
        -atom.omission,
    )


def _fits(problem: Problem, here: int, size: int, number: int, knob: int) -> bool:
    """Whether an atom can join those on a knob, so many items in all."""
    atom = problem.atoms[number]
    may = bool(atom.knobs >> knob & 1) and not problem.clashes[number] & here
    return may and size + atom.size <= problem.per_knob


def _hastily(
    problem: Problem, ways: Mapping[int, int], begun: Sequence[int]
) -> dict[int, int] | None:
    """Put each atom on the first knob in use that takes it, else on the first of its others.

    Args:
        problem: the problem.
        ways: the knobs that each atom may be on, as far as they are not in use.
        begun: the atoms on each knob already; empty: none are.

    Returns:
        The knob of each item that is placed; None where what may not be left out found none.
    """
    panel = Filling(problem, begun)
    used = [knob for knob, here in enumerate(panel.on) if here]
    passed: dict[tuple[int, int, int], int] = {}
    for number, open_to in ways.items():
        atom = problem.atoms[number]
        # What one atom did not fit on, none takes that clashes with the same and is as large.
        kind = (problem.clashes[number], atom.knobs, atom.size)
        at = passed.get(kind, 0)
        while at < len(used) and not panel.fits(number, used[at]):
            at += 1
        passed[kind] = at
        spare = (k for k in bits(open_to) if not panel.on[k] and panel.fits(number, k))
        knob = used[at] if at < len(used) else next(spare, None)
        if knob is not None:
            if not panel.on[knob]:
                used.append(knob)
            panel.put(number, knob)
        elif atom.needed:
            return None
    return panel.knobs
