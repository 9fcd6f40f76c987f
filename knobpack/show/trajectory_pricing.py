"""Pricing of trajectories: what is the most that one knob can be worth through a whole show?

Destinations fall into families: what is of different families never shares a knob. A knob carries
atoms of one family in each song, so what it is worth is, for each song, the most of any family of
what the destinations chosen of that are worth there; less what all of them count. Choosing for each
family which of its destinations the knob ever carries is a facility location problem in which a
family has many facilities, of which one is opened: what one more adds is the less the more there
are (it is submodular), so the best of each family added up is a bound (G. L. Nemhauser, L. A.
Wolsey, M. L. Fisher, "An analysis of approximations for maximizing submodular set functions",
Mathematical Programming 14, 1978, from memory). Branch and bound by it, family by family, is exact.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TypeAlias

import attrs
import networkx as nx
import numpy as np
from numpy.typing import NDArray

from knobpack.solver.watch import Watch

QUANTUM = 1024
"""Prices are whole numbers of one 1024th of a point."""

MOST_CHOICES = 4_000
"""Sets of destinations that are looked at in all families, at most."""

FEW_NODES, MOST_NODES = 2_000, 30_000
"""Nodes in which trajectories are looked for; and up to which, where none is found, the search for
a bound goes on."""

EFFORT_PER_NODE, LOOK = 1e-4, 256
"""Effort that a node counts as: about what it takes in seconds; and nodes between two looks at the
watch."""

_NEVER = -(2.0**52)
"""Less than any set is worth: doubles hold whole numbers exactly up to there."""

Whole: TypeAlias = NDArray[np.int64]
Worth: TypeAlias = NDArray[np.float64]


@attrs.frozen
class Carried:
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
class Priced:
    """What pricing found.

    Args:
        most: no trajectory is worth more, less what it costs, in 1024ths; 0 at least.
        trajectories: some of those that are worth most, as atoms, the best first.
    """

    most: int
    trajectories: tuple[tuple[int, ...], ...]


@attrs.frozen(eq=False)
class _Family:
    """Destinations that may share, directly or through others, and every set of them.

    Args:
        atoms: (A,) the atoms that they make up, in the order of songs.
        has: (C, A) whether all of an atom is among a set.
        costs: (C,) what each set counts, in 1024ths.
        shared: (A, G) the largest sets of atoms that may share, for each song.
        song_of: (G,) the song of each of these.
    """

    atoms: NDArray[np.intp]
    has: NDArray[np.bool_]
    costs: Worth
    shared: Worth
    song_of: NDArray[np.intp]


class TrajectoryPricing:
    """The pricing of the trajectories of one show.

    Args:
        weights: what each destination counts, in points.
        atoms: what is to be carried, in the order of songs.
        songs: how many songs there are.
    """

    def __init__(self, weights: Sequence[int], atoms: Sequence[Carried], songs: int) -> None:
        self._atoms, self._songs = atoms, songs
        sets = list(_families(atoms))
        self.small_enough = sum(1 << len(each) for each in sets) <= MOST_CHOICES
        """Whether there are few enough sets of destinations to look at all of them."""
        self._families: list[_Family] = []
        if self.small_enough:
            self._families = [_family(each, weights, atoms) for each in sets]
        sizes = [len(each.costs) for each in self._families]
        self._family_of = np.repeat(np.arange(len(sizes)), sizes)
        self._first = np.cumsum([0, *sizes])

    def priced(self, prices: Whole, may: Sequence[bool], limit: float, watch: Watch) -> Priced:
        """Look for trajectories that are worth more than they cost.

        Args:
            prices: what each atom is worth, then what use is in each song, in 1024ths.
            may: the atoms that the knob may carry.
            limit: trajectories that are worth no more than this, in 1024ths, are not told.
            watch: how long the search may go on.
        """
        if not self._families:
            return Priced(0, ())
        worth = np.where(may, prices[: len(self._atoms)], _NEVER).astype(np.float64)
        use = prices[len(self._atoms) :].astype(np.float64)
        values = self._values(worth, use)
        costs = np.concatenate([each.costs for each in self._families])
        search = _Search(values, costs, self._family_of, watch)
        search.run(FEW_NODES)
        if search.most > search.best and not any(v > limit for v, _ in search.found):
            search = _Search(values, costs, self._family_of, watch)
            search.run(MOST_NODES)
        good = sorted((each for each in search.found if each[0] > limit), key=lambda e: -e[0])
        told = [self._trajectory(chosen, values, worth) for _, chosen in good[: 4 * len(costs)]]
        return Priced(int(search.most), tuple(dict.fromkeys(told)))

    def _values(self, worth: Worth, use: Worth) -> Worth:
        """(C, S) what each set is worth in each song, 0 at least."""
        found = []
        for family in self._families:
            own = worth[family.atoms]
            songs, starts = np.unique(family.song_of, return_index=True)
            gains = (family.has * np.maximum(own, 0)) @ family.shared
            several = np.maximum.reduceat(gains, starts, axis=1)
            song_of = np.array([self._atoms[atom].song for atom in family.atoms])
            starts = np.unique(song_of, return_index=True)[1]
            single = np.maximum.reduceat(np.where(family.has, own, _NEVER), starts, axis=1)
            values = np.zeros((len(family.costs), self._songs))
            best = np.where(several > 0, several, single)
            values[:, songs] = np.maximum(0, best + use[songs])
            found.append(values)
        return np.concatenate(found)

    def _trajectory(self, chosen: Iterable[int], values: Worth, worth: Worth) -> tuple[int, ...]:
        """The atoms that such sets are worth most by."""
        rows = np.array(list(chosen))
        best = values[rows].argmax(axis=0)
        atoms: list[int] = []
        for song in np.flatnonzero(values[rows].max(axis=0) > 0):
            choice = int(rows[best[song]])
            number = int(self._family_of[choice])
            family = self._families[number]
            has = family.has[choice - int(self._first[number])]
            own = np.where(has, worth[family.atoms], _NEVER)
            groups = np.flatnonzero(family.song_of == song)
            gains = np.maximum(own, 0) @ family.shared[:, groups]
            group = family.shared[:, groups[int(gains.argmax())]] > 0
            taken = group & (own > 0)
            if not taken.any():
                here = [self._atoms[atom].song == song for atom in family.atoms]
                taken = np.arange(len(own)) == int(np.where(here, own, 2 * _NEVER).argmax())
            atoms += (int(atom) for atom in family.atoms[taken])
        return tuple(sorted(atoms))


class _Search:
    """Branch and bound over the families: which set of each a knob carries.

    Args:
        values: (C, S) what each set is worth in each song.
        costs: (C,) what it counts.
        family_of: (C,) the family that it is of.
        watch: how long the search may go on.
    """

    def __init__(self, values: Worth, costs: Worth, family_of: Whole, watch: Watch) -> None:
        self._values, self._costs, self._family_of = values, costs, family_of
        self._watch = watch
        self.best, self._left = 0.0, 0.0
        self.found: list[tuple[float, tuple[int, ...]]] = []
        self._nodes, self._most_nodes = 0, 0

    @property
    def most(self) -> float:
        """No sets are worth more than this."""
        return max(self.best, self._left)

    def run(self, most_nodes: int) -> None:
        """Search within so many nodes."""
        self._most_nodes = most_nodes
        songs = np.zeros(self._values.shape[1])
        self._node(songs, 0.0, np.arange(len(self._costs)), ())

    def _out_of_nodes(self) -> bool:
        self._nodes += 1
        if not self._nodes % LOOK:
            self._watch.spend(EFFORT_PER_NODE * LOOK)
            if self._watch.over():
                self._most_nodes = 0
        return self._nodes > self._most_nodes

    def _node(
        self, have: Worth, value: float, ids: NDArray[np.intp], chosen: tuple[int, ...]
    ) -> None:
        """Go on from some sets that are worth ``have`` in the songs, by sets of other families."""
        gains = np.maximum(self._values[ids] - have, 0).sum(axis=1) - self._costs[ids]
        some = gains > 0
        ids, gains = ids[some], gains[some]
        if not len(ids):
            return
        families, starts = np.unique(self._family_of[ids], return_index=True)
        tops = np.maximum.reduceat(gains, starts)
        most = value + float(tops.sum())
        if most <= self.best:
            return
        if self._out_of_nodes():
            self._left = max(self._left, most)
            return
        branch = int(tops.argmax())
        others = most - value - float(tops[branch])
        own = np.flatnonzero(self._family_of[ids] == families[branch])
        rest = np.delete(ids, own)
        for at in own[np.argsort(-gains[own], kind="stable")]:
            reached = value + float(gains[at])
            if reached + others <= self.best:
                break
            sets = (*chosen, int(ids[at]))
            self.found.append((reached, sets))
            self.best = max(self.best, reached)
            self._node(np.maximum(have, self._values[ids[at]]), reached, rest, sets)
        if value + others > self.best:
            self._node(have, value, rest, chosen)


def _families(atoms: Sequence[Carried]) -> Iterable[list[int]]:
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
    atoms: Sequence[Carried], numbers: Sequence[int]
) -> Iterable[tuple[int, int]]:
    for one in numbers:
        for other in numbers:
            if one < other and not atoms[one].apart >> other & 1:
                yield one, other


def _family(members: Sequence[int], weights: Sequence[int], atoms: Sequence[Carried]) -> _Family:
    """One family, with every set of its destinations."""
    bit = {each: 1 << at for at, each in enumerate(members)}
    own = [n for n, atom in enumerate(atoms) if atom.destinations[0] in bit]
    sets = np.arange(1, 1 << len(members))
    needs = np.array([sum(bit[each] for each in atoms[n].destinations) for n in own])
    counted = np.array([weights[each] for each in members]) * QUANTUM
    costs = (sets[:, None] >> np.arange(len(members)) & 1) @ counted
    by_song: dict[int, list[int]] = {}
    for place, n in enumerate(own):
        by_song.setdefault(atoms[n].song, []).append(place)
    groups: list[list[int]] = []
    song_of = []
    for song, places in by_song.items():
        graph: nx.Graph[int] = nx.Graph()
        graph.add_nodes_from(places)
        at = {own[place]: place for place in places}
        for one, other in _pairs_that_share(atoms, [own[place] for place in places]):
            graph.add_edge(at[one], at[other])
        for clique in nx.find_cliques(graph):
            groups.append(clique)
            song_of.append(song)
    shared = np.zeros((len(own), len(groups)))
    for group, places in enumerate(groups):
        shared[places, group] = 1
    return _Family(
        np.array(own, dtype=np.intp),
        (sets[:, None] & needs) == needs,
        costs.astype(np.float64),
        shared,
        np.array(song_of, dtype=np.intp),
    )
