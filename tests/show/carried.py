"""Something small to be carried through a few songs, and every way to carry it."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator
from itertools import combinations, product

from knobpack.show.to_carry import Carrying
from knobpack.show.trajectory_families import CarriedAtom

Ways = tuple[tuple[int, ...], ...]
"""For each knob the atoms that it carries."""


def small(chance: random.Random) -> Carrying:
    """Something to be carried through a few songs: some apart, some of two, some knobs closed."""
    kinds, songs, knobs = chance.randint(2, 4), chance.randint(2, 3), chance.randint(2, 3)
    atoms: list[CarriedAtom] = []
    for song in range(songs):
        own = chance.sample(range(kinds), chance.randint(1, kinds))
        sets: list[tuple[int, ...]] = [(each,) for each in own]
        if len(own) > 2 and chance.random() < 0.5:
            sets = [(own[0], own[1]), *sets[2:]]
        first = len(atoms)
        apart = [0] * len(sets)
        for one, other in combinations(range(len(sets)), 2):
            if chance.random() < 0.6:
                apart[one] |= 1 << first + other
                apart[other] |= 1 << first + one
        atoms += [CarriedAtom(song, each, clash) for each, clash in zip(sets, apart, strict=True)]
    open_to = [
        tuple(chance.random() < 0.8 for _ in range(knobs))
        if chance.random() < 0.2
        else (True,) * knobs
        for _ in atoms
    ]
    alike: dict[tuple[bool, ...], list[int]] = {}
    for knob, may in enumerate(zip(*open_to, strict=True)):
        alike.setdefault(may, []).append(knob)
    used = [chance.randint(0, 2) for _ in range(songs)]
    met = {each for atom in atoms for each in atom.destinations}
    weights = tuple(chance.randint(1, 4) if each in met else 0 for each in range(kinds))
    return Carrying(
        weights, tuple(atoms), tuple((tuple(own), may) for may, own in alike.items()), tuple(used)
    )


def every_way(carried: Carrying) -> Iterator[tuple[int, Ways]]:
    """Every way to carry all, and what destinations cost in it."""
    knobs = [may for own, may in carried.classes for _ in own]
    for on in product(range(len(knobs)), repeat=len(carried.atoms)):
        here = list(zip(on, range(len(on)), strict=True))
        if not all(knobs[knob][atom] for knob, atom in here):
            continue
        if any(
            k == j and carried.atoms[a].apart >> b & 1 for (k, a), (j, b) in combinations(here, 2)
        ):
            continue
        taken = Counter(song for song, _ in {(carried.atoms[a].song, k) for k, a in here})
        if any(taken[song] < least for song, least in enumerate(carried.used)):
            continue
        found = {(each, k) for k, a in here for each in carried.atoms[a].destinations}
        cost = sum(carried.weights[each] for each, _ in found) - carried.value
        yield cost, tuple(tuple(a for k, a in here if k == knob) for knob in range(len(knobs)))


def fewest(carried: Carrying) -> int | None:
    """What destinations cost at least over every way to carry all; None: there is none."""
    return min((cost for cost, _ in every_way(carried)), default=None)
