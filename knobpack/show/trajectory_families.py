"""What one knob may carry of destinations that may share, through all songs: every choice of it.

Destinations fall into families: what is of different families never shares a knob. A choice says
which destinations of a family a knob ever carries, and which of them in all their songs.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TypeAlias

import attrs
import networkx as nx
import numpy as np
from numpy.typing import NDArray

QUANTUM = 1024
"""Prices are whole numbers of one 1024th of a point."""

MOST_TOLD_APART = 6
"""Destinations of a family, at most, in which it counts whether they are in all their songs."""

NEVER = -(2.0**52)
"""Less than any set is worth: doubles hold whole numbers exactly up to there."""

THEIRS = 2.0**32
"""More than anything is worth."""

Worth: TypeAlias = NDArray[np.float64]


@attrs.frozen
class CarriedAtom:
    """An atom of a song that some knob has to carry.

    Args:
        song: the position of the song.
        destinations: the destinations of the show that are its.
        apart: the mask of the atoms that may not share a knob with it, all of the same song.
    """

    song: int
    destinations: tuple[int, ...]
    apart: int


@attrs.frozen(eq=False)
class SharingFamily:
    """Destinations that may share, directly or through others, and every choice of them.

    Args:
        atoms: (A,) the atoms that they make up.
        songs: (A, S) whether an atom is of a song.
        has: (C, A) whether a choice has all of an atom.
        needs: (C, A) whether an atom has to be carried: it is part of what is in all its songs.
        ever: (C, D) whether a choice has a destination of the show.
        always: (C, D) whether it has it in all its songs.
        shared: (A, G) the largest sets of atoms that may share, for each song.
        song_of: (G,) the song of each of these, in ascending order.
    """

    atoms: NDArray[np.intp]
    songs: Worth
    has: Worth
    needs: Worth
    ever: Worth
    always: Worth
    shared: Worth
    song_of: NDArray[np.intp]

    def worth(self, rows: NDArray[np.intp], atoms: Worth, use: Worth) -> tuple[Worth, Worth]:
        """(C, S) what choices are worth in each song, and (C,) what is added to that.

        Nothing at least; to what it is in a song that has to be theirs :data:`THEIRS` is added.
        """
        own, has, needs = atoms[self.atoms], self.has[rows], self.needs[rows]
        gains = (has * np.maximum(own, 0) + needs * np.minimum(own, 0)) @ self.shared
        outside = (self.songs[:, self.song_of] - self.shared).clip(0)
        gains = np.where(needs @ outside > 0, NEVER, gains)
        songs, starts = np.unique(self.song_of, return_index=True)
        several = np.full((len(rows), len(use)), NEVER)
        several[:, songs] = np.maximum.reduceat(gains, starts, axis=1)
        theirs = needs @ self.songs > 0
        here = np.where(self.songs > 0, own[:, None], NEVER)
        single = np.where(has[:, :, None] > 0, here, NEVER).max(axis=1)
        best = np.where((several > 0) | theirs, several, single) + use
        return np.maximum(best + THEIRS * theirs, 0), THEIRS * theirs.sum(axis=1)

    def ever_mask(self, row: int) -> int:
        """The mask of the destinations that a choice has."""
        return sum(1 << int(each) for each in np.flatnonzero(self.ever[row]))

    def always_mask(self, row: int) -> int:
        """The mask of those that it has in all their songs."""
        return sum(1 << int(each) for each in np.flatnonzero(self.always[row]))

    def sets(self, atoms: Sequence[CarriedAtom], song: int) -> list[tuple[tuple[int, ...], int]]:
        """Atoms of a song that may share a knob, in all ways, and the mask of what they are of."""
        found: list[tuple[tuple[int, ...], int]] = []
        for number in map(int, self.atoms[self.songs[:, song] > 0]):
            holds = sum(1 << each for each in atoms[number].destinations)
            more = [
                ((*own, number), mask | holds)
                for own, mask in found
                if not any(atoms[number].apart >> other & 1 for other in own)
            ]
            found += [((number,), holds), *more]
        return found

    def carried(self, row: int, song: int, atoms: Worth) -> NDArray[np.intp]:
        """The atoms by which a choice is worth most in a song."""
        here = self.songs[:, song] > 0
        own = np.where(here & (self.has[row] > 0), atoms[self.atoms], NEVER)
        needs = here & (self.needs[row] > 0)
        groups = self.shared[:, self.song_of == song] > 0
        groups = groups[:, groups[needs].all(axis=0)]
        best = groups[:, int((np.maximum(own, 0) @ groups).argmax())]
        taken = needs | (best & (own > 0))
        return self.atoms[taken] if taken.any() else self.atoms[[int(own.argmax())]]


def sharing_families(atoms: Sequence[CarriedAtom]) -> Iterable[list[int]]:
    """Destinations that may share a knob in some song, directly or through others."""
    graph: nx.Graph[int] = nx.Graph()
    by_song: dict[int, list[int]] = {}
    for number, atom in enumerate(atoms):
        by_song.setdefault(atom.song, []).append(number)
        graph.add_nodes_from(atom.destinations)
        graph.add_edges_from((atom.destinations[0], each) for each in atom.destinations[1:])
    for numbers in by_song.values():
        for one, other in _pairs_that_share(atoms, numbers):
            graph.add_edge(atoms[one].destinations[0], atoms[other].destinations[0])
    return (sorted(each) for each in nx.connected_components(graph))


def _pairs_that_share(
    atoms: Sequence[CarriedAtom], numbers: Sequence[int]
) -> Iterable[tuple[int, int]]:
    for one in numbers:
        for other in numbers:
            if one < other and not atoms[one].apart >> other & 1:
                yield one, other


def family_of(
    members: Sequence[int], destinations: int, atoms: Sequence[CarriedAtom], songs: int
) -> SharingFamily:
    """One family, with every choice of its destinations."""
    bit = {each: 1 << at for at, each in enumerate(members)}
    own = [n for n, atom in enumerate(atoms) if atom.destinations[0] in bit]
    sets = np.arange(1, 1 << len(members))
    always = sets * 0
    if len(members) <= MOST_TOLD_APART:
        pairs = [(ever, part) for ever in sets for part in range(ever + 1) if not part & ~ever]
        sets, always = np.array(pairs).T
    parts = np.array([sum(bit[each] for each in atoms[n].destinations) for n in own])
    # What is in all its songs is so with all that its atoms have besides.
    whole = ((always[:, None] & parts > 0) <= (sets[:, None] & parts == parts)).all(axis=1)
    sets, always = sets[whole], always[whole]
    at = np.array(members)
    ever_in, always_in = (np.zeros((len(sets), destinations)) for _ in range(2))
    ever_in[:, at] = sets[:, None] >> np.arange(len(members)) & 1
    always_in[:, at] = always[:, None] >> np.arange(len(members)) & 1
    song_of_atom = np.array([atoms[n].song for n in own])
    groups: list[tuple[int, list[int]]] = []
    for song in np.unique(song_of_atom):
        graph: nx.Graph[int] = nx.Graph()
        places = [place for place, n in enumerate(own) if atoms[n].song == song]
        place_of = {own[place]: place for place in places}
        graph.add_nodes_from(places)
        for one, other in _pairs_that_share(atoms, list(place_of)):
            graph.add_edge(place_of[one], place_of[other])
        groups += ((int(song), clique) for clique in nx.find_cliques(graph))
    shared = np.zeros((len(own), len(groups)))
    for group, (_, clique) in enumerate(groups):
        shared[clique, group] = 1
    return SharingFamily(
        np.array(own, dtype=np.intp),
        (song_of_atom[:, None] == np.arange(songs)).astype(np.float64),
        ((sets[:, None] & parts) == parts).astype(np.float64),
        ((always[:, None] & parts) > 0).astype(np.float64),
        ever_in,
        always_in,
        shared,
        np.array([song for song, _ in groups], dtype=np.intp),
    )
