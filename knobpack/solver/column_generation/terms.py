"""What the sets of one family cost, as a sum of terms: many sets at once, given as masks.

For a fixed travel the cost of a set is a sum over its atoms and over the *groups* that it touches:
classes, spreads, and the two sides of each intrusion. Pairs and heaps do not fit into the sum, and
are kept apart.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cached_property
from typing import Any, TypeAlias

import attrs
import numpy as np
from numpy.typing import NDArray

from knobpack.numbered.problem import Atom, Problem, bits
from knobpack.solver.costs import Whole
from knobpack.solver.value_functions.subset_dp import knobs_apart

WORD = 60
"""Sets of so many atoms, at most, are machine words."""

Floats: TypeAlias = NDArray[np.float64]

SetMasks: TypeAlias = NDArray[Any]
"""Sets as masks: machine words or, of more atoms than fit, whole numbers of Python."""


@attrs.frozen(eq=False)
class Terms:
    """The costs of a family's sets, and which sets may be on one knob.

    Sets are masks of positions in ``atoms``. Costs are those of the tier *sharing*, each spread
    counted on every knob.

    Args:
        atoms: the numbers of the family's atoms.
        sizes: how many items each atom holds.
        per_knob: how many items one knob may carry.
        base: what every set costs, whatever it holds; usually below zero.
        own: for each travel (rows), what each atom adds by itself.
        wishes: for each travel (rows), which atoms want it.
        groups: the atoms of which the first on a knob costs the group's weight; below zero, where
            the first class of some is free.
        weights: of each group.
        pairs: two atoms and what it costs to have both.
        load_masks: the atoms of each load.
        heap: what each two loads more than one cost.
        clashes: for each atom, the atoms it may not be with.
        pins: the atoms that are pinned to a knob.
        kept: for those of ``pins`` whose knob keeps its travel, the row of it.
        admitted: for each sort of knob, the atoms that may be there and those of which one must.
    """

    atoms: tuple[int, ...]
    sizes: Whole
    per_knob: int
    base: int
    own: Whole
    wishes: NDArray[np.bool_]
    groups: SetMasks
    weights: Whole
    pairs: tuple[tuple[int, int, int], ...]
    load_masks: SetMasks
    heap: int
    clashes: tuple[int, ...]
    pins: tuple[int, ...]
    kept: dict[int, int]
    admitted: tuple[tuple[int, int], ...]

    @property
    def count(self) -> int:
        """How many atoms there are."""
        return len(self.atoms)

    @property
    def full(self) -> int:
        """The set of all atoms."""
        return (1 << self.count) - 1

    @cached_property
    def pinned(self) -> int:
        """The set of all atoms that are pinned to a knob."""
        return sum(1 << place for place in self.pins)

    def sets(self, masks: Iterable[int]) -> SetMasks:
        """(n,) sets, as they are kept here."""
        return masks_of(masks, self.count)

    @property
    def width(self) -> int:
        """How many bytes a set is written in."""
        return 8 if self.count <= WORD else -(-self.count // 8)

    def read(self, written: NDArray[np.uint8]) -> SetMasks:
        """(n,) sets that are written in (n, width) bytes, the lowest first."""
        if self.count <= WORD:
            return np.ascontiguousarray(written).view("<i8").reshape(-1).astype(np.int64)
        return self.sets(int.from_bytes(row.tobytes(), "little") for row in written)

    def holds(self, sets: SetMasks) -> Floats:
        """A matrix of 0 and 1: which atoms (columns) each set (rows) holds."""
        if self.count <= WORD:
            written = sets.astype("<i8").view(np.uint8)
        else:
            all_bytes = b"".join(each.to_bytes(self.width, "little") for each in sets)
            written = np.frombuffer(all_bytes, np.uint8)
        rows = written.reshape(-1, self.width)
        held = np.unpackbits(rows, axis=1, count=self.count, bitorder="little")
        return held.astype(np.float64)

    def costs(self, sets: SetMasks) -> Whole:
        """What each set costs on one knob, at the travel that suits it best."""
        held = self.holds(sets)
        prices = held @ self._own_floats
        prices[held @ self._wishes_floats == 0] = np.inf
        cheapest = prices.min(axis=1)
        for place, row in self.kept.items():
            inside = held[:, place] > 0
            cheapest[inside] = held[inside] @ self._own_floats[:, row]
        total: Whole = self.base + cheapest.astype(np.int64)
        touched = (sets[:, None] & self.groups) != 0
        total += touched @ self.weights
        for one, other, weight in self.pairs:
            total += weight * (held[:, one] * held[:, other]).astype(np.int64)
        if self.heap:
            over = ((sets[:, None] & self.load_masks) != 0).sum(axis=1) - 1
            total += self.heap * (over * (over - 1) // 2)
        return total

    def valid(self, sets: SetMasks) -> NDArray[np.bool_]:
        """Which sets, none of them empty, may be on one knob."""
        held = self.holds(sets)
        fits: NDArray[np.bool_] = held @ self.sizes <= self.per_knob
        for place, clashing in enumerate(self.clashes):
            if clashing:
                fits &= (held[:, place] == 0) | (sets & clashing == 0)
        somewhere = np.zeros_like(fits)
        for may, must in self.admitted:
            somewhere |= (sets & ~may == 0) & ((sets & must != 0) | (must == 0))
        return fits & somewhere

    def free(self, sets: SetMasks) -> NDArray[np.bool_]:
        """Which sets take a knob that no atom is pinned to."""
        found: NDArray[np.bool_] = sets & self.pinned == 0
        return found

    @cached_property
    def _own_floats(self) -> Floats:
        return self.own.T.astype(np.float64)

    @cached_property
    def _wishes_floats(self) -> Floats:
        return self.wishes.T.astype(np.float64)


def masks_of(masks: Iterable[int], count: int) -> SetMasks:
    """(n,) sets of ``count`` atoms, given as masks, as they are kept."""
    return np.array(list(masks), dtype=np.int64 if count <= WORD else object)


def terms_of(problem: Problem, atoms: tuple[int, ...], bundle: int) -> Terms:
    """The terms of a family.

    Args:
        problem: the costs.
        atoms: the numbers of the family's atoms.
        bundle: what each bundle counts that a set holds some of.
    """
    members = [problem.atoms[number] for number in atoms]
    place_of = {number: place for place, number in enumerate(atoms)}
    wanted = [{problem.wanted[item] for item in bits(atom.items)} for atom in members]
    travels = sorted(set().union(*wanted))
    wishes = [[travel in own for own in wanted] for travel in travels]
    pins = tuple(place for place, atom in enumerate(members) if atom.pinned is not None)
    kept = {}
    for place in pins:
        knob = members[place].pinned
        if knob in problem.kept_travels:
            kept[place] = len(travels)
            travels.append(problem.kept_travels[knob])
            wishes.append([False] * len(members))
    rows = [[problem.travel_costs[travel][number] for number in atoms] for travel in travels]
    table = np.array(rows, dtype=np.int64)
    table += np.array([problem.by_itself[number] for number in atoms], dtype=np.int64)
    base = -problem.first
    groups: dict[int, int] = {}
    full = (1 << len(atoms)) - 1
    everything = problem.items_of(sum(1 << number for number in atoms))
    for items, weight in (*problem.touched, *((items, bundle) for items in problem.bundles)):
        if not weight or not items & everything:
            continue
        group = _touching(members, items)
        if group == full:
            base += weight
        elif group.bit_count() == 1:
            table[:, group.bit_length() - 1] += weight
        elif group:
            groups[group] = groups.get(group, 0) + weight
    base -= sum(weight for _, weight in problem.intrusions)
    return Terms(
        atoms=atoms,
        sizes=np.array([atom.size for atom in members], dtype=np.int64),
        per_knob=problem.per_knob,
        base=base,
        own=table,
        wishes=np.array(wishes, dtype=bool),
        groups=masks_of(groups, len(atoms)),
        weights=np.array(list(groups.values()), dtype=np.int64),
        pairs=tuple(
            (place_of[one], place_of[other], weight)
            for (one, other), weight in sorted(problem.atom_pairs.items())
            if one != other and one in place_of and other in place_of
        ),
        load_masks=masks_of(
            (_touching(members, load) for load in problem.load_masks if load & everything),
            len(atoms),
        ),
        heap=problem.heap,
        clashes=tuple(
            sum(
                1 << place_of[other]
                for other in atoms
                if other != number
                and (
                    problem.clashes[number] >> other & 1
                    or not problem.atoms[number].knobs & problem.atoms[other].knobs
                )
            )
            for number in atoms
        ),
        pins=pins,
        kept=kept,
        admitted=tuple(_admitted(problem, atoms)),
    )


def _touching(members: Iterable[Atom], items: int) -> int:
    return sum(1 << place for place, atom in enumerate(members) if atom.items & items)


def _admitted(problem: Problem, atoms: tuple[int, ...]) -> Iterator[tuple[int, int]]:
    members = [problem.atoms[number] for number in atoms]
    for knob, pin in knobs_apart(problem, atoms):
        may = sum(1 << place for place, atom in enumerate(members) if atom.knobs >> knob & 1)
        held = sum(1 << place for place, atom in enumerate(members) if atom.pinned == knob)
        yield may, held if pin else 0
