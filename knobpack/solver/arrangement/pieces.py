"""Pieces: a choice of clusters as a panel takes it, and the fewest changes that they need."""

from __future__ import annotations

from collections.abc import Sequence

import attrs
import numpy as np

from knobpack.numbered.problem import Problem, bits
from knobpack.solver.arrangement.assignment import match, tight
from knobpack.solver.arrangement.cluster import Choice, Cluster, Places, Variant
from knobpack.solver.arrangement.ng_memory import Unit
from knobpack.solver.arrangement.path_relaxation import Pieces
from knobpack.solver.costs import FAR, Whole, indicator


@attrs.frozen
class Taken:
    """A choice taken apart.

    Args:
        clusters: all clusters that may be chosen.
        units: of which, in their order, what can be chosen.
        elements: items that are in one cluster whatever is chosen, as masks.
    """

    clusters: tuple[Cluster, ...]
    units: tuple[Unit, ...]
    elements: tuple[int, ...]

    @property
    def first(self) -> list[int]:
        """The clusters of the first way of each unit, by position."""
        found, begin = [], 0
        for unit in self.units:
            found += [begin + at for at in bits(unit.ways[0])]
            begin += unit.size
        return found


@attrs.frozen
class FewestChanges:
    """Pieces that are placed with the fewest changes.

    Args:
        pieces: on the knobs where few changes are needed.
        changes: what they cost; 0 where they are part of what the pieces cost.
    """

    pieces: Pieces
    changes: int


def taken_apart(choice: Choice) -> Taken:
    """Tell apart what is there in any case and what there is a choice of."""
    clusters: list[Cluster] = []
    units: list[Unit] = []
    for variants in choice.families:
        sets = [{cluster.items for cluster in each.clusters} for each in variants]
        certain = set.intersection(*sets)
        open_: dict[int, Cluster] = {}
        for cluster in (cluster for each in variants for cluster in each.clusters):
            if cluster.items not in certain:
                open_.setdefault(cluster.items, cluster)
        for cluster in variants[0].clusters:
            if cluster.items in certain:
                clusters.append(cluster)
                units.append(Unit())
        if open_:
            clusters += open_.values()
            units.append(Unit(len(open_), tuple(_way(each, open_) for each in variants)))
    return Taken(tuple(clusters), tuple(units), tuple(_elements(clusters)))


def _way(variant: Variant, open_: dict[int, Cluster]) -> int:
    place = {items: at for at, items in enumerate(open_)}
    return sum(1 << place[each.items] for each in variant.clusters if each.items in place)


def _elements(clusters: Sequence[Cluster]) -> list[int]:
    """The items that stand in the same clusters, as masks."""
    holders: dict[int, int] = {}
    for at, cluster in enumerate(clusters):
        for item in bits(cluster.items):
            holders[item] = holders.get(item, 0) | 1 << at
    found: dict[int, int] = {}
    for item, mask in sorted(holders.items()):
        found[mask] = found.get(mask, 0) | 1 << item
    return list(found.values())


def pieces_of(problem: Problem, taken: Taken) -> FewestChanges | None:
    """What a panel needs to know of some clusters; None if the knobs do not go round.

    Where nothing is to be chosen, the clusters are barred from where they need more changes than
    the fewest: those are a matching, and a matching is cheapest if all its pairs are tight.
    """
    change = Places.of(problem).change
    clusters = taken.clusters
    rows = np.array([each.signature.row for each in clusters], dtype=np.int64)
    open_ = indicator([each.signature.knobs for each in clusters], range(problem.knobs)).T > 0
    changes, empty = 0, np.zeros(problem.knobs, dtype=np.int64)
    moved = rows // change
    if moved.any() and all(unit.size == 1 for unit in taken.units):
        holes = np.zeros((problem.knobs - len(clusters), problem.knobs), dtype=np.int64)
        full = np.concatenate([np.where(open_, moved, FAR), holes])
        matched = match(full)
        if matched is None:
            return None
        changes = int(full[np.arange(problem.knobs), matched].sum()) * change
        allowed = tight(full, matched)
        open_ = open_ & allowed[: len(clusters)]
        empty = np.where(allowed[-1], 0, FAR)
        rows = rows % change
    pulls = np.array([each.pull for each in clusters], dtype=np.int64)
    costs = rows + pulls[:, None] * np.array(problem.steps, dtype=np.int64)
    return FewestChanges(_pieces(problem, taken, np.where(open_, costs, FAR), empty), changes)


def _pieces(problem: Problem, taken: Taken, costs: Whole, empty: Whole) -> Pieces:
    pairs = _in_sequence(problem, taken)
    runs = indicator([each.signature.runs for each in taken.clusters], range(len(problem.runs)))
    return Pieces(
        costs,
        runs.T > 0,
        np.array([weight for _, weight in problem.runs], dtype=np.int64),
        problem.beside,
        empty,
        taken.units,
        [
            sum(1 << at for at, items in enumerate(taken.elements) if items & each.items)
            for each in taken.clusters
        ],
        list(pairs),
        np.array(list(pairs.values()), dtype=np.int64) * problem.out_of_sequence,
    )


def _in_sequence(problem: Problem, taken: Taken) -> dict[tuple[int, int], int]:
    """Elements of which the second is to come directly after the first, and how often.

    Whatever is chosen, the same items are placed: a pair counts where both of it are.
    """
    of = {item: at for at, items in enumerate(taken.elements) for item in bits(items)}
    found: dict[tuple[int, int], int] = {}
    for first, second in problem.sequence if problem.out_of_sequence else ():
        if first in of and second in of and of[first] != of[second]:
            pair = of[first], of[second]
            found[pair] = found.get(pair, 0) + 1
    return found
