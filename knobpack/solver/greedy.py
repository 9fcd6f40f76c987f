"""A first placement, found in no time, so that there is always something to give back."""

from __future__ import annotations

from knobpack.problem import Problem, bits
from knobpack.solver.catalogue import columns_of


def greedy(problem: Problem) -> dict[int, int] | None:
    """Place atom after atom where it costs least, opening a knob only where it must.

    Atoms with the fewest ways left come first (as in colouring by saturation), then the dearest
    to leave out. Spare knobs then take atoms off crowded ones, the greatest relief first.

    Returns:
        The knob of each item that is placed, or None where an atom that may not be left out
        found no knob.
    """
    on: dict[int, int] = {}
    waiting = set(range(len(problem.atoms)))
    room = problem.routes
    while waiting:
        ways = {number: _ways(problem, on, number) for number in sorted(waiting)}
        number = min(ways, key=lambda each: _urgency(problem, each, len(ways[each])))
        waiting.remove(number)
        atom = problem.atoms[number]
        if not ways[number] or atom.size > room:
            if atom.needed:
                return None
            continue
        opened = [knob for knob in ways[number] if knob in on]
        knob = _cheapest(problem, on, number, opened) if opened else _freest(problem, on, ways[number])
        on[knob] = on.get(knob, 0) | 1 << number
        room -= atom.size
    _relieve(problem, on)
    return {item: knob for knob, atoms in on.items() for item in bits(problem.items_of(atoms))}


def _urgency(problem: Problem, number: int, ways: int) -> tuple[bool, int, int, int]:
    atom = problem.atoms[number]
    return not atom.needed, ways, -problem.clashes[number].bit_count(), -atom.omission


def _ways(problem: Problem, on: dict[int, int], number: int) -> list[int]:
    """The knobs that an atom can still be put on."""
    atom = problem.atoms[number]
    found = []
    for knob in bits(atom.knobs):
        here = on.get(knob, 0)
        size = problem.items_of(here).bit_count() + atom.size
        barred = problem.pinned_knobs >> knob & 1 and not here and atom.pinned != knob
        if not barred and size <= problem.per_knob and not problem.clashes[number] & here:
            found.append(knob)
    return found


def _cheapest(problem: Problem, on: dict[int, int], number: int, knobs: list[int]) -> int:
    def rise(knob: int) -> tuple[int, int]:
        before, after = _price(problem, on[knob]), _price(problem, on[knob] | 1 << number)
        return after[0] - before[0], after[1] - before[1]

    return min(knobs, key=rise)


def _freest(problem: Problem, on: dict[int, int], knobs: list[int]) -> int:
    """Of unused knobs, the one that the fewest atoms may be on: the others are needed more."""
    return min(knobs, key=lambda knob: sum(atom.knobs >> knob & 1 for atom in problem.atoms))


def _price(problem: Problem, atoms: int) -> tuple[int, int]:
    if not atoms:
        return 0, 0
    (column,) = columns_of(problem, [atoms])
    return column.breaks, column.sharing


def _relieve(problem: Problem, on: dict[int, int]) -> None:
    """Give each spare knob the atom whose leaving relieves its knob the most."""
    spare = [knob for knob in range(problem.knobs) if knob not in on]
    for knob in spare:
        best = None
        for crowded, atoms in on.items():
            for number in bits(atoms):
                atom = problem.atoms[number]
                rest = atoms & ~(1 << number)
                if not rest or atom.pinned is not None or not atom.knobs >> knob & 1:
                    continue
                parts = [_price(problem, each) for each in (rest, 1 << number)]
                whole = _price(problem, atoms)
                relief = tuple(w - a - b for w, a, b in zip(whole, *parts, strict=True))
                if relief > (0, 0) and (best is None or relief > best[0]):
                    best = relief, crowded, number
        if best is not None:
            _, crowded, number = best
            on[crowded] &= ~(1 << number)
            on[knob] = 1 << number
