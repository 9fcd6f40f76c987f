"""Orders: what units that are to come in sequence cost at least among themselves, and on the way.

Pairs in sequence tie few units to each other: those of a source or two. In which order such a
*component* is best placed is found by going through its subsets (Held and Karp 1962, from memory),
however they lie between others. The relaxation of the path (``path_relaxation.py``) forgets what it
passed and counts too little of that. So it is left only a small share of what the pairs weigh,
which keeps together what belongs together; the rest is counted here, exactly. Where others are in
the way, or rows are too short, the path may still see more: it is then left all of it.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from functools import reduce
from operator import or_

import attrs
import numpy as np
from numpy.typing import NDArray

from knobpack.numbered.components import components
from knobpack.numbered.problem import bits
from knobpack.solver.arrangement.ng_memory import parts_of
from knobpack.solver.arrangement.path_relaxation import QUANTUM, Panel
from knobpack.solver.arrangement.subgradient import Raised
from knobpack.solver.costs import FAR, Whole

LEAST, STEP = QUANTUM // 16, 4
"""Of each point of a pair that is counted here, so many 256ths are left to the path at least, and
so many times fewer or more where it turns out that it sees less or more of them."""

MARGIN = 1.1
"""So much more it may see, and still be left less: early paths pass too much too often."""

MOST_SETS, MOST_NODES = 40_000, 62
"""Subsets of a component and nodes in it, at most: the pairs of a larger one are left to the path
altogether."""

OUTSIDE = -1
"""Stands for a node that is none of a component's."""


@attrs.frozen(eq=False)
class Component:
    """Units that pairs in sequence tie to each other, and every set of their nodes on the way.

    Set 0 is empty. The node passed last is given by its place in the component; the last place
    stands for one that is none of its nodes. All prices are in points.

    Args:
        nodes: its nodes.
        place: for each node of the panel its place here, or the last one.
        joined: (sets, nodes) the set that placing a node makes, or OUTSIDE.
        base: (sets, nodes) what it costs to place a node after something else.
        spared: (places, nodes) what of that it does not cost right after a node.
        left: (sets, places) what it costs at least from there on.
        seen: of each point of a pair so many 256ths are left to the path.
    """

    nodes: NDArray[np.int64]
    place: NDArray[np.int64]
    joined: NDArray[np.int64]
    base: Whole
    spared: Whole
    left: Whole
    seen: int = QUANTUM

    @property
    def whole(self) -> int:
        """What its pairs cost at least in all."""
        return int(self.left[0, -1])

    @property
    def least(self) -> int:
        """What is not left to the path costs at least in all, in 256ths."""
        return self.whole * (QUANTUM - self.seen)

    def dearer(
        self, sets: NDArray[np.int64], last: NDArray[np.int64], *, ends: bool
    ) -> tuple[Whole, Whole]:
        """What it adds, to what was to be paid at least from some sets on, to go on from there.

        Args:
            sets: where the component stands.
            last: the place of the node passed last.
            ends: whether nothing will stand beside what is placed now.

        Returns:
            What it adds to place something else, (sets,), and how much more or less it adds to
            place each of its nodes, (sets, nodes), in 256ths of what is not left to the path.
        """
        rest, outside = QUANTUM - self.seen, self.left[sets, -1]
        joined, nodes = self.joined[sets], len(self.nodes)
        then = self.left[joined, nodes if ends else np.arange(nodes)]
        more = self.base[sets] - self.spared[last] + then - outside[:, None]
        return (outside - self.left[sets, last]) * rest, np.where(joined < 0, 0, more * rest)


def components_of(panel: Panel) -> list[Component]:
    """The components that have no more than so many sets."""
    after = panel.precedence.after
    found = (_component(after, units, panel.nodes) for units in _tied(panel))
    return [each for each in found if each is not None]


def eased(panel: Panel, components: Sequence[Component]) -> Panel:
    """The panel on which only a share of the pairs of these components is seen."""
    pairs, seen = panel.precedence, panel.precedence.apart.copy()
    for each in components:
        own = pairs.leads[:, each.nodes].any(axis=1)
        seen[own] = seen[own] // QUANTUM * each.seen
    return Panel(panel.given, seen)


def next_shares(panel: Panel, components: Sequence[Component], raised: Raised) -> list[int]:
    """How much of its pairs the path should see next, for each component.

    Args:
        panel: on which each is seen as it says.
        components: all there are.
        raised: what came of raising its bound.
    """
    pairs, paths = panel.precedence, raised.paths
    alone = pairs.apart @ pairs.follows
    ends = pairs.follows.astype(np.int64) - pairs.leads
    found = []
    for own in components:
        inside = own.place < len(own.nodes)
        led = pairs.leads[:, inside].any(axis=1)
        cycles = pairs.touches[:, inside].any(axis=1)
        shown = int(pairs.counted[cycles].sum()) * len(paths)
        paid = raised.to_go.early[led].T @ ends[led]
        for path in map(np.array, paths):
            here = np.nonzero(inside[path])[0]
            met = here[(here > 0) & np.array(panel.beside)[here]]
            shown += int(alone[path[here]].sum() + paid[here, path[here]].sum())
            shown -= int(pairs.after[path[met - 1], path[met]].sum())
        more = MARGIN * own.whole * own.seen * len(paths) > shown
        found.append(max(LEAST, own.seen // STEP) if more else min(QUANTUM, own.seen * STEP))
    return found


def _tied(panel: Panel) -> Iterator[list[list[list[int]]]]:
    """For each component the ways of its units: lists of nodes."""
    unit_of = {n: at for at, unit in enumerate(panel.ways) for way in unit for n in way}
    ends = np.argwhere(panel.precedence.after).tolist()
    ties = {1 << unit_of[one] | 1 << unit_of[other] for one, other in ends}
    named = set(bits(reduce(or_, ties, 0)))
    for units in components(len(panel.ways), sorted(ties)):
        if named.issuperset(units):
            yield [panel.ways[unit] for unit in units]


def _component(
    after: Whole, units: Sequence[Sequence[Sequence[int]]], count: int
) -> Component | None:
    nodes = sorted({node for unit in units for way in unit for node in way})
    at = {node: place for place, node in enumerate(nodes)}
    sets, whole = np.zeros(1, dtype=np.int64), np.zeros(1, dtype=np.int64)
    for unit in units if len(nodes) <= MOST_NODES else ():
        ways = [sum(1 << at[node] for node in way) for way in unit]
        if len(sets) << max(map(len, unit)) > MOST_SETS:
            return None
        own = np.array(sorted({part for way in ways for part in parts_of(way)}))
        if len(sets) * len(own) > MOST_SETS:
            return None
        sets = (own[:, None] | sets).ravel()
        whole = (np.array(ways)[:, None] | whole).ravel()
    if len(sets) == 1:
        return None
    sets.sort()
    place = np.full(count, len(nodes), dtype=np.int64)
    place[nodes] = np.arange(len(nodes))
    has = sets[:, None] >> np.arange(len(nodes)) & 1
    with_one = sets[:, None] | 1 << np.arange(len(nodes))
    joined = np.minimum(np.searchsorted(sets, with_one), len(sets) - 1)
    joined = np.where((has > 0) | (sets[joined] != with_one), OUTSIDE, joined)
    # A pair costs nothing where its second is placed right after its first, once what it weighs
    # where it comes later, and twice that where it comes before.
    here = after[np.ix_(nodes, nodes)] // QUANTUM
    base = has @ here + 2 * has @ here.T
    spared = np.vstack([here, np.zeros(len(nodes), dtype=np.int64)])
    left = _left(has, joined, base, spared, ~np.isin(sets, whole))
    return Component(np.array(nodes), place, joined, base, spared, left)


def _left(
    has: Whole, joined: NDArray[np.int64], base: Whole, spared: Whole, going: NDArray[np.bool_]
) -> Whole:
    """(sets, places) what it costs at least to place the rest, by the node passed last.

    Args:
        has: (sets, nodes) whether a set has a node.
        joined: the set that placing a node makes, as in a component.
        base: what it costs to place it, as there.
        spared: what of that it does not cost right after another, as there.
        going: whether there is a rest.
    """
    nodes = has.shape[1]
    left = np.zeros((len(has), nodes + 1), dtype=np.int64)
    sizes = has.sum(axis=1)
    for size in range(int(sizes.max()) - 1, -1, -1):
        rows = np.nonzero(going & (sizes == size))[0]
        then = base[rows] + left[joined[rows], np.arange(nodes)]
        then[joined[rows] < 0] = FAR
        for place in range(nodes + 1):
            left[rows, place] = (then - spared[place]).min(axis=1)
    return left
