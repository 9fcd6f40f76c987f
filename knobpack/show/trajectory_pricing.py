"""Pricing of trajectories: what is the most that one knob can be worth through a whole show?

Destinations fall into families: what is of different families never shares a knob. A knob carries
atoms of one family in each song, so what it is worth is, for each song, the most of any family of
what the destinations chosen of that are worth there; less what all of them count. Choosing for each
family which of its destinations the knob ever carries is a facility location problem in which a
family has many facilities, of which one is opened: what one more adds is the less the more there
are (it is submodular), so the best of each family added up is a bound (G. L. Nemhauser, L. A.
Wolsey, M. L. Fisher, "An analysis of approximations for maximizing submodular set functions",
Mathematical Programming 14, 1978, from memory), and the Lagrangian relaxation, in which each song
pays what it likes itself, is another. Branch and bound by both, family by family, is exact.

It is worth something besides that a destination is on a knob in all its songs. So a choice says
which destinations a knob ever carries and which of them in all their songs; there these songs can
be no other family's.
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

MOST_TOLD_APART = 6
"""Destinations of a family, at most, in which it counts whether they are in all their songs."""

MOST_TOLD = 64
"""Trajectories that are told after each pricing, at most."""

STARTS = 5
"""Choices of each family from which good trajectories are looked for."""

ROUNDS, SHORTER = 100, 0.95
"""Rounds of the subgradient, at most, and by what its step shrinks where the bound does not."""

EFFORT_PER_VALUE, EFFORT_PER_NODE, LOOK = 5e-7, 1e-4, 256
"""Effort that a choice counts as for each song before the search, and a node of that: about what it
takes in seconds; and nodes between two looks at the watch."""

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
class Prices:
    """What everything is worth, in 1024ths.

    Args:
        atoms: for each atom, that it is carried.
        used: for each song, that something is carried in it.
        whole: for each destination, that it is ever carried, and once more if in all its songs.
    """

    atoms: Whole
    used: Whole
    whole: Whole


@attrs.frozen(eq=False)
class _Family:
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
        """(C, S) twice: what choices are worth in each song, and what they take there at least.

        At least: nothing, or without end where the song has to be theirs.
        """
        own, has, needs = atoms[self.atoms], self.has[rows], self.needs[rows]
        gains = (has * np.maximum(own, 0) + needs * np.minimum(own, 0)) @ self.shared
        outside = (self.songs[:, self.song_of] - self.shared).clip(0)
        gains = np.where(needs @ outside > 0, _NEVER, gains)
        songs, starts = np.unique(self.song_of, return_index=True)
        several = np.full((len(rows), len(use)), _NEVER)
        several[:, songs] = np.maximum.reduceat(gains, starts, axis=1)
        theirs = needs @ self.songs > 0
        here = np.where(self.songs > 0, own[:, None], _NEVER)
        single = np.where(has[:, :, None] > 0, here, _NEVER).max(axis=1)
        best = np.where((several > 0) | theirs, several, single) + use
        return np.where(theirs, best, np.maximum(best, 0)), np.where(theirs, _NEVER, 0.0)

    def carried(self, row: int, song: int, atoms: Worth) -> NDArray[np.intp]:
        """The atoms by which a choice is worth most in a song."""
        here = self.songs[:, song] > 0
        own = np.where(here & (self.has[row] > 0), atoms[self.atoms], _NEVER)
        needs = here & (self.needs[row] > 0)
        groups = self.shared[:, self.song_of == song] > 0
        groups = groups[:, groups[needs].all(axis=0)]
        best = groups[:, int((np.maximum(own, 0) @ groups).argmax())]
        taken = needs | (best & (own > 0))
        return self.atoms[taken] if taken.any() else self.atoms[[int(own.argmax())]]


@attrs.frozen(eq=False)
class _Choices:
    """What can be chosen of each family at some prices.

    Args:
        rows: (C,) the number of each choice in its family.
        family_of: (C,) the family that it is of, in ascending order.
        values: (C, S) what it is worth in each song.
        least: (C, S) what it takes there at least.
        costs: (C,) what it counts.
    """

    rows: NDArray[np.intp]
    family_of: NDArray[np.intp]
    values: Worth
    least: Worth
    costs: Worth

    def gains(self, own: slice | NDArray[np.intp], have: Worth) -> Worth:
        """(C, S) what some choices add, each alone, to what songs are worth without them."""
        return np.maximum(self.values[own] - have, self.least[own])

    def with_one(self, have: Worth, choice: int) -> Worth:
        """What songs are worth with one more, without end where they have to be its."""
        more = np.maximum(have, self.values[choice])
        return np.where(self.least[choice] < 0, -_NEVER, more)


class TrajectoryPricing:
    """The pricing of the trajectories of one show.

    Args:
        weights: what each destination counts, in points.
        atoms: what is to be carried, in the order of songs.
        songs: how many songs there are.
    """

    def __init__(self, weights: Sequence[int], atoms: Sequence[Carried], songs: int) -> None:
        self._weights = np.array(weights, dtype=np.float64) * QUANTUM
        self._atoms, self._songs = atoms, songs
        sets = list(_families(atoms))
        self.small_enough = sum(1 << len(each) for each in sets) <= MOST_CHOICES
        """Whether there are few enough sets of destinations to look at all of them."""
        self.told_apart = sorted(n for each in sets if len(each) <= MOST_TOLD_APART for n in each)
        """The destinations of which it counts whether a knob has them in all their songs."""
        self._families: list[_Family] = []
        if self.small_enough:
            self._families = [_family(each, len(weights), atoms, songs) for each in sets]

    def priced(self, prices: Prices, may: Sequence[bool], limit: float, watch: Watch) -> Priced:
        """Look for trajectories that are worth more than they cost.

        Args:
            prices: what everything is worth.
            may: the atoms that the knob may carry.
            limit: trajectories that are worth no more than this, in 1024ths, are not told.
            watch: how long the search may go on.
        """
        if not self._families:
            return Priced(0, ())
        worth = np.where(may, prices.atoms, _NEVER).astype(np.float64)
        choices = self._choices(worth, prices)
        watch.spend(EFFORT_PER_VALUE * choices.values.size)
        search = _Search(choices, watch)
        search.run(FEW_NODES if any(v > limit for v, _ in search.found) else MOST_NODES)
        good = sorted((each for each in search.found if each[0] > limit), key=lambda e: -e[0])
        told = [self._trajectory(chosen, choices, worth) for _, chosen in good[:MOST_TOLD]]
        return Priced(int(search.most), tuple(dict.fromkeys(told)))

    def _choices(self, worth: Worth, prices: Prices) -> _Choices:
        """What can be chosen: in all its songs only what is worth something there."""
        use, whole = prices.used.astype(np.float64), prices.whole.astype(np.float64)
        found = []
        for number, family in enumerate(self._families):
            rows = np.flatnonzero(family.always @ (whole == 0) == 0)
            costs = family.ever[rows] @ (self._weights - whole) - family.always[rows] @ whole
            values, least = family.worth(rows, worth, use)
            found.append((rows, np.full(len(rows), number), values, least, costs))
        return _Choices(*map(np.concatenate, zip(*found, strict=True)))

    def _trajectory(
        self, chosen: Sequence[int], choices: _Choices, worth: Worth
    ) -> tuple[int, ...]:
        """The atoms that such choices are worth most by."""
        own = np.array(chosen)
        values = np.where(choices.least[own] < 0, -_NEVER, choices.values[own])
        best = own[values.argmax(axis=0)]
        atoms: list[int] = []
        for song in np.flatnonzero(values.max(axis=0) > 0):
            choice = best[song]
            family = self._families[int(choices.family_of[choice])]
            atoms += map(int, family.carried(int(choices.rows[choice]), int(song), worth))
        return tuple(sorted(atoms))


class _Search:
    """Branch and bound over the families: what of each a knob carries.

    Args:
        choices: what can be chosen.
        watch: how long the search may go on.
    """

    def __init__(self, choices: _Choices, watch: Watch) -> None:
        self._choices, self._watch = choices, watch
        family_of = choices.family_of
        self._first = np.flatnonzero(np.diff(family_of, prepend=-1, append=family_of[-1] + 1))
        self.best, self._left = 0.0, 0.0
        self.found: list[tuple[float, tuple[int, ...]]] = []
        self._nodes, self._most_nodes = 0, 0
        self._climb()
        self._levels, self._root = self._lowered()

    @property
    def most(self) -> float:
        """No choices are worth more than this."""
        return min(self._root, max(self.best, self._left)) if self._nodes else self._root

    def run(self, most_nodes: int) -> None:
        """Search within so many nodes."""
        if self._root > self.best:
            self._most_nodes = most_nodes
            every = np.arange(len(self._choices.costs))
            self._node(np.zeros(self._choices.values.shape[1]), 0.0, every, ())

    def _climb(self) -> None:
        """Good choices: from some of each family on, each is given its best beside the others."""
        choices, songs = self._choices, self._choices.values.shape[1]
        alone = choices.gains(slice(None), np.zeros(songs)).sum(axis=1) - choices.costs
        families = len(self._first) - 1
        for start in range(families):
            own = np.arange(self._first[start], self._first[start + 1])
            for first in own[np.argsort(-alone[own], kind="stable")[:STARTS]]:
                chosen, value = {start: int(first)}, float(alone[first])
                since, at = 1, (start + 1) % families
                while since < families:
                    have, base = np.zeros(songs), 0.0
                    for each in (n for family, n in chosen.items() if family != at):
                        base += self._added(each, have)
                        have = choices.with_one(have, each)
                    mine = slice(self._first[at], self._first[at + 1])
                    gains = choices.gains(mine, have).sum(axis=1) - choices.costs[mine]
                    now = base + max(0.0, float(gains.max()))
                    since += 1
                    if now > value:
                        value, since = now, 1
                        chosen.pop(at, None)
                        if gains.max() > 0:
                            chosen[at] = int(self._first[at]) + int(gains.argmax())
                    at = (at + 1) % families
                if value > 0:
                    self._tell(value, tuple(chosen.values()))

    def _added(self, choice: int, have: Worth) -> float:
        one = slice(choice, choice + 1)
        return float(self._choices.gains(one, have).sum() - self._choices.costs[choice])

    def _tell(self, value: float, chosen: tuple[int, ...]) -> None:
        self.found.append((value, chosen))
        self.best = max(self.best, value)

    def _lowered(self) -> tuple[Worth, float]:
        """What each song pays itself, so that the bound with that is low; and the bound.

        By a subgradient, in whole numbers: so the bound is exact.
        """
        levels = np.zeros(self._choices.values.shape[1])
        kept, bound, step = levels, np.inf, 1.0
        for _ in range(ROUNDS):
            over = self._choices.gains(slice(None), levels)
            gains = over.sum(axis=1) - self._choices.costs
            tops = np.maximum(np.maximum.reduceat(gains, self._first[:-1]), 0)
            now = float(levels.sum() + tops.sum())
            if now < bound:
                kept, bound = levels, now
            else:
                step *= SHORTER
            slope = np.ones(len(levels))
            for family in np.flatnonzero(tops):
                own = slice(self._first[family], self._first[family + 1])
                slope -= over[own][int(gains[own].argmax())] != 0
            length = float(slope @ slope)
            if bound <= self.best or not length:
                break
            levels = np.maximum(0, np.rint(levels - step * (now - self.best) / length * slope))
        return kept, bound

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
        """Go on from choices that are worth ``have`` in the songs, by those of other families."""
        choices, family_of = self._choices, self._choices.family_of
        gains = choices.gains(ids, have).sum(axis=1) - choices.costs[ids]
        ids, gains = ids[gains > 0], gains[gains > 0]
        if not len(ids):
            return
        levels = np.maximum(have, self._levels)
        paid = value + float((levels - have).sum())
        beyond = choices.gains(ids, levels).sum(axis=1) - choices.costs[ids]
        _, starts, place = np.unique(family_of[ids], return_index=True, return_inverse=True)
        over = np.maximum(np.maximum.reduceat(beyond, starts), 0)
        # What would be below the best with all that the other families can bring is left out.
        some = paid + float(over.sum()) - over[place] + beyond > self.best
        ids, gains, beyond = ids[some], gains[some], beyond[some]
        if not len(ids):
            return
        families, starts = np.unique(family_of[ids], return_index=True)
        tops = np.maximum.reduceat(gains, starts)
        over = np.maximum(np.maximum.reduceat(beyond, starts), 0)
        most = min(value + float(tops.sum()), paid + float(over.sum()))
        if most <= self.best:
            return
        if self._out_of_nodes():
            self._left = max(self._left, most)
            return
        branch = int(tops.argmax())
        others, paid = float(tops.sum() - tops[branch]), paid + float(over.sum() - over[branch])
        own = np.flatnonzero(family_of[ids] == families[branch])
        rest = np.delete(ids, own)
        for at in own[np.argsort(-gains[own], kind="stable")]:
            reached = value + float(gains[at])
            if reached + others <= self.best:
                break
            if paid + float(beyond[at]) > self.best:
                sets = (*chosen, int(ids[at]))
                self._tell(reached, sets)
                self._node(choices.with_one(have, int(ids[at])), reached, rest, sets)
        if min(value + others, paid) > self.best:
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


def _family(
    members: Sequence[int], destinations: int, atoms: Sequence[Carried], songs: int
) -> _Family:
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
    return _Family(
        np.array(own, dtype=np.intp),
        (song_of_atom[:, None] == np.arange(songs)).astype(np.float64),
        ((sets[:, None] & parts) == parts).astype(np.float64),
        ((always[:, None] & parts) > 0).astype(np.float64),
        ever_in,
        always_in,
        shared,
        np.array([song for song, _ in groups], dtype=np.intp),
    )
