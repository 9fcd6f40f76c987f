"""Families: atoms that may share a knob with each other, directly or through others.

Two families never share a knob, so they bear on each other only by the knobs they take.
"""

from __future__ import annotations

from weakref import WeakKeyDictionary

from knobpack.numbered.problem import Problem, bits

_FOUND: WeakKeyDictionary[Problem, tuple[tuple[int, ...], ...]] = WeakKeyDictionary()
"""What was found, as long as the problem is there: many ask for it."""


def families(problem: Problem) -> tuple[tuple[int, ...], ...]:
    """The connected components of the may-share graph, as ascending atom numbers.

    Atoms that may be on no knob belong to none. The graph is never built: it has nearly an edge
    for each pair of a family, and as masks all edges of an atom are looked at in one go.
    """
    if problem not in _FOUND:
        _FOUND[problem] = _components(problem)
    return _FOUND[problem]


def _components(problem: Problem) -> tuple[tuple[int, ...], ...]:
    placeable = sum(1 << number for number, atom in enumerate(problem.atoms) if atom.knobs)
    meets: dict[int, int] = {}
    fits: dict[int, int] = {}
    for atom in problem.atoms:
        if atom.knobs not in meets:
            meets[atom.knobs] = _those(problem, knobs=atom.knobs)
        if atom.size not in fits:
            fits[atom.size] = _those(problem, room=problem.per_knob - atom.size)
    found = []
    left = placeable
    while left:
        part, border = 0, left & -left
        while border:
            part |= border
            reached = 0
            for number in bits(border):
                atom = problem.atoms[number]
                reached |= meets[atom.knobs] & fits[atom.size] & ~problem.clashes[number]
            border = reached & placeable & ~part
        found.append(tuple(bits(part)))
        left &= ~part
    return tuple(found)


def _those(problem: Problem, *, knobs: int | None = None, room: int | None = None) -> int:
    """Mask of the atoms that some knobs admit, or that there is room for."""
    return sum(
        1 << number
        for number, atom in enumerate(problem.atoms)
        if (knobs is None or atom.knobs & knobs) and (room is None or atom.size <= room)
    )
