"""Less: the same problem with less asked of it, or a part of it."""

from __future__ import annotations

from collections.abc import Collection, Sequence

import attrs

from knobpack.numbered.problem import Problem, bits


def breaking_only(problem: Problem, but: Collection[int] = ()) -> Problem:
    """The same problem, but of the breakable snapshots only some may still be broken.

    What atoms break by themselves is not counted: :func:`broken_by_atoms` is. On one knob no more
    is broken than that if of no snapshot one atom has more moved than held and another less.
    What could as well be left out may break nothing.

    Args:
        problem: the problem.
        but: their positions in ``breakable``.
    """
    clashes, torn = list(problem.clashes), 0
    for mask in (mask for at, (mask, _) in enumerate(problem.breakable) if at not in but):
        moved = held = 0
        for number, atom in enumerate(problem.atoms):
            moving = (atom.items & mask).bit_count()
            moved |= (2 * moving > atom.size) << number
            held |= (2 * moving < atom.size) << number
            torn |= (0 < moving < atom.size) << number
        for number in range(len(problem.atoms)):
            barred = (held if moved >> number & 1 else 0) | (moved if held >> number & 1 else 0)
            clashes[number] |= barred
    atoms = tuple(
        attrs.evolve(atom, knobs=0) if torn >> number & 1 and atom.free_to_leave else atom
        for number, atom in enumerate(problem.atoms)
    )
    breakable = tuple(problem.breakable[at] for at in sorted(but))
    return attrs.evolve(problem, atoms=atoms, clashes=tuple(clashes), breakable=breakable)


def broken_by_atoms(problem: Problem, items: int) -> int:
    """What atoms break by themselves, in points, where some items, a mask, are all placed."""
    return sum(
        weight * min((atom.items & mask).bit_count(), (atom.items & ~mask).bit_count())
        for atom in problem.atoms
        if atom.items & items and not atom.free_to_leave
        for mask, weight in problem.breakable
    )


def forgiving(problem: Problem) -> Problem:
    """The same problem, but what is contradicted may be left out like what finds no room."""
    atoms = tuple(attrs.evolve(atom, contradicted=False) for atom in problem.atoms)
    return attrs.evolve(problem, atoms=atoms)


def part_of(problem: Problem, numbers: Sequence[int], knobs: int, routes: int) -> Problem:
    """The problem of some atoms, on some knobs, a mask, and so many routes.

    Each tier is less by what the rest costs, wherever that is.
    """
    place_of = {number: place for place, number in enumerate(numbers)}
    mask = sum(1 << number for number in numbers)
    items = problem.items_of(mask)
    return attrs.evolve(
        problem,
        atoms=tuple(
            attrs.evolve(problem.atoms[number], knobs=problem.atoms[number].knobs & knobs)
            for number in numbers
        ),
        clashes=tuple(
            sum(1 << place_of[other] for other in bits(problem.clashes[number] & mask))
            for number in numbers
        ),
        pairs={
            pair: price
            for pair, price in problem.pairs.items()
            if items >> pair[0] & 1 and items >> pair[1] & 1
        },
        routes=routes,
    )


def with_knob_shut(problem: Problem, knob: int) -> Problem:
    """The same problem, but nothing may be on one knob."""
    atoms = (attrs.evolve(atom, knobs=atom.knobs & ~(1 << knob)) for atom in problem.atoms)
    return attrs.evolve(problem, atoms=tuple(atoms))
