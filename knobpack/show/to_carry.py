"""All that is to be carried through a show, whichever knob is which."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence

import attrs

from knobpack.numbered.problem import bits
from knobpack.show.asked import Key
from knobpack.show.numbered import Numbered, Placed
from knobpack.show.trajectory_families import QUANTUM, CarriedAtom


@attrs.frozen(eq=False)
class Carrying:
    """All that is to be carried through a show, and by how many knobs.

    Args:
        weights: what each destination counts, in points.
        atoms: what is to be carried.
        classes: knobs that are alike, and which atoms they may carry.
        used: for each song, how many knobs carry something at least.
        keys: what each destination is called in the show.
        value: what destinations count if each is on one knob only.
    """

    weights: tuple[int, ...]
    atoms: tuple[CarriedAtom, ...]
    classes: tuple[tuple[tuple[int, ...], tuple[bool, ...]], ...]
    used: tuple[int, ...]
    keys: tuple[Key, ...] = ()

    @property
    def value(self) -> int:
        """What destinations count if each is on one knob only."""
        return sum(self.weights)

    @property
    def step(self) -> int:
        """What all that destinations can cost is a multiple of, in points."""
        return math.gcd(*self.weights) or 1

    def in_points(self, worth: int) -> int:
        """What destinations cost in *relearning* at least, in points.

        Args:
            worth: what they count on all knobs together at least, in 1024ths.
        """
        points = -(-worth // QUANTUM) - self.value
        return max(0, -(-points // self.step) * self.step)


def carrying(
    songs: Sequence[Numbered], as_they_are: Mapping[int, Placed], weights: Mapping[Key, int]
) -> Carrying:
    """What is to be carried through a show. What may be left out of a song is not looked at.

    Args:
        songs: the songs.
        as_they_are: the position of each that is not to be laid out, and how it stays.
        weights: what each destination of the show counts.
    """
    number = {key: at for at, key in enumerate(weights)}
    atoms: list[CarriedAtom] = []
    knobs: list[int] = []
    used = []
    for at, song in enumerate(songs):
        of_item = {item: number[key] for key, item in song.item_of.items()}
        sets: list[tuple[int, int, int]] = []  # items, knobs, mask of the others that are apart
        if at in as_they_are:
            on: dict[int, int] = {}
            for item, knob in as_they_are[at].knobs.items():
                on[knob] = on.get(knob, 0) | 1 << item
            sets = [(items, 1 << knob, (1 << len(on)) - 1) for knob, items in on.items()]
            used.append(0)
        else:
            problem, most_out = song.problem, song.held["unplaced"]
            for atom, clashes in zip(problem.atoms, problem.clashes, strict=True):
                open_to = atom.knobs if atom.pinned is None else 1 << atom.pinned
                sets.append((atom.items, open_to, clashes))
            must = [atom.needed or atom.omission > most_out for atom in problem.atoms]
            there = sum(atom.items for atom, here in zip(problem.atoms, must, strict=True) if here)
            used.append(sum(1 for load in song.loads if load & there) - song.most_joined[0])
            place = {old: new for new, old in enumerate(n for n, here in enumerate(must) if here)}
            sets = [
                (items, open_to, sum(1 << place[n] for n in bits(apart) if n in place))
                for n, (items, open_to, apart) in enumerate(sets)
                if n in place
            ]
        first = len(atoms)
        for items, open_to, apart in sets:
            destinations = tuple(sorted(of_item[item] for item in bits(items)))
            atoms.append(CarriedAtom(at, destinations, apart << first))
            knobs.append(open_to)
    counted = {each for atom in atoms for each in atom.destinations}
    alike: dict[tuple[bool, ...], list[int]] = {}
    for knob in range(songs[0].problem.knobs):
        may = tuple(bool(open_to >> knob & 1) for open_to in knobs)
        alike.setdefault(may, []).append(knob)
    return Carrying(
        tuple(weight if at in counted else 0 for at, weight in enumerate(weights.values())),
        tuple(atoms),
        tuple((tuple(own), may) for may, own in alike.items() if any(may)),
        tuple(max(0, least) for least in used),
        tuple(weights),
    )
