"""Alike: atoms that differ by nothing but their names.

To exchange two such atoms changes nothing, so of all the ways that come from one another by
exchanging them it is enough to go through one: that in which, whenever a set takes some of them,
it takes the first of those that are left.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from knobpack.numbered.problem import Atom, Problem, bits


def alike(problem: Problem) -> list[int]:
    """The classes of two or more atoms that can be exchanged, as masks.

    Only atoms of a single item are looked at; what must be together is seldom there twice.
    """
    classes: dict[tuple[object, ...], list[list[int]]] = {}
    for number, atom in enumerate(problem.atoms):
        if atom.size == 1:
            rivals = classes.setdefault(_looks(problem, atom), [])
            for members in rivals:
                if _exchangeable(problem, members[0], number):
                    members.append(number)
                    break
            else:
                rivals.append([number])
    found = [members for rivals in classes.values() for members in rivals]
    return [sum(1 << number for number in members) for members in found if len(members) > 1]


def takes_the_first(chosen: int, left: int, classes: Iterable[int]) -> bool:
    """Whether a set takes of each class the first of those that are left.

    Args:
        chosen: the set, a mask.
        left: what is left, the set among it.
        classes: masks of what is alike.
    """
    for members in classes:
        taken = chosen & members
        if taken and (left & members & (1 << taken.bit_length()) - 1) != taken:
            return False
    return True


def within(classes: Iterable[int], atoms: Sequence[int]) -> list[int]:
    """The classes among some atoms, as masks of their positions there."""
    place = {number: at for at, number in enumerate(atoms)}
    found = (sum(1 << place[n] for n in bits(members) if n in place) for members in classes)
    return [members for members in found if members.bit_count() > 1]


def _looks(problem: Problem, atom: Atom) -> tuple[object, ...]:
    """What two atoms must have in common to be alike."""
    (item,) = bits(atom.items)
    return (
        (atom.knobs, atom.pinned, atom.needed, atom.costs),
        (problem.each[item], problem.wanted[item], problem.pulls[item], problem.places[item]),
        tuple(row[item] for row in problem.travel_prices),
        *(tuple(mask >> item & 1 for mask in masks) for masks in _holding(problem)),
    )


def _holding(problem: Problem) -> Iterable[Iterable[int]]:
    return (
        (mask for mask, _ in problem.classes),
        problem.bundles,
        (before.items for before in problem.before),
        (1 << item for pair in problem.sequence for item in pair),
        (spread.items for spread in problem.spreads),
        (mask for mask, _ in problem.intrusions),
        (mask for mask, _ in problem.breakable),
        (mask for mask, _ in problem.runs),
    )


def _exchangeable(problem: Problem, one: int, other: int) -> bool:
    """Whether two atoms clash with the same atoms, and pay the same for sharing with each."""
    both = 1 << one | 1 << other
    if (problem.clashes[one] ^ problem.clashes[other]) & ~both:
        return False
    (a,), (b,) = bits(problem.atoms[one].items), bits(problem.atoms[other].items)
    pairs = problem.pairs
    return all(
        pairs.get((min(a, each), max(a, each))) == pairs.get((min(b, each), max(b, each)))
        for each in range(problem.items)
        if each not in (a, b)
    )
