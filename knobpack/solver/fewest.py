"""The fewest knobs on which everything can be placed: a chromatic number.

Atoms are the vertices, atoms that may not share are joined, and a knob is a colour. Families can be
coloured one by one, since they never share. For each, the largest clique found and the fractional
relaxation bound the number from below, and CP-SAT colours with one knob more until it succeeds.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

import attrs
import numpy as np

from knobpack.numbered.problem import Problem, bits
from knobpack.solver.cliques import grown_clique, largest_clique
from knobpack.solver.cp_sat.packing import pack
from knobpack.solver.families import families
from knobpack.solver.outcome import ImpossibleError
from knobpack.solver.rivals import Piece, Pieces
from knobpack.solver.set_partitioning.column_pool import column_pool_of
from knobpack.solver.set_partitioning.relaxation import relax
from knobpack.solver.watch import Watch

MOST_SETS = 1 << 18
"""Sets that the fractional relaxation goes through, at most; without it the clique must do."""

FEW = 16
"""Atoms of a family, at most, that are coloured without the fractional relaxation, and whose
largest clique is found by going through them."""


@attrs.frozen
class Fewest:
    """The fewest knobs for all atoms, with what shows it from both sides. Sets are masks of atoms.

    Args:
        sets: every atom in one of them; each may be on one knob, all at the same time.
        separated: atoms of which no two may share a knob: the most that were found.
        crowds: families that the limit on a knob makes take more knobs than they have atoms in
            ``separated``.
        counted: how many knobs these two show to be needed.
        needed: how many knobs are proven to be needed.
    """

    sets: tuple[int, ...]
    separated: int
    crowds: tuple[int, ...]
    counted: int
    needed: int

    @property
    def enough(self) -> int:
        """How many knobs are known to be enough."""
        return len(self.sets)


def fewest_knobs(problem: Problem, watch: Watch) -> Fewest:
    """The fewest knobs for all atoms, as many as it takes like one that nothing is pinned to.

    Raises:
        ImpossibleError: some atom can be on no knob.
    """
    if any(not atom.knobs for atom in problem.atoms):
        raise ImpossibleError
    found = [_fewest(problem, part, watch) for part in families(problem)]
    sets = (atoms for each in found for atoms in each.sets)
    return Fewest(
        # Each set by its lowest atom, as atoms are by their lowest item.
        sets=tuple(sorted(sets, key=lambda atoms: atoms & -atoms)),
        separated=sum(each.separated for each in found),
        crowds=tuple(crowd for each in found for crowd in each.crowds),
        counted=sum(each.counted for each in found),
        needed=sum(each.needed for each in found),
    )


def _fewest(problem: Problem, part: tuple[int, ...], watch: Watch) -> Fewest:
    pieces = _pieces(problem, part)
    sets = _sets(part, pieces.greedy(problem.per_knob) or range(len(part)))
    clique = _clique(pieces.rivals, len(sets))
    size = sum(problem.atoms[number].size for number in part)
    counted = needed = max(len(clique), -(-size // problem.per_knob))
    if needed < len(sets) and len(part) > FEW:
        needed = max(needed, _fractional(problem, part, watch))
    for knobs in range(needed, len(sets)):
        possible, found = pack(pieces.on(knobs), problem.per_knob, watch)
        if found is not None:
            sets = _sets(part, found)
        if possible is not False:
            break
        needed = knobs + 1
    crowds = (sum(1 << number for number in part),) if counted > len(clique) else ()
    return Fewest(sets, sum(1 << part[place] for place in clique), crowds, counted, needed)


def _pieces(problem: Problem, part: tuple[int, ...]) -> Pieces:
    """The atoms of a family, on as many knobs: rivals may not share, or are too many for a knob.

    But for the limit on a knob, pairs tell all: atoms that are not pinned have the spare knob in
    common, and a set with a pinned atom can be on its knob if each of the others may be there.
    """
    rivals = {one: [other for other in part if not problem.may_share(one, other)] for one in part}
    pieces = (
        Piece(problem.atoms[one].items, 0, sum(problem.atoms[other].items for other in own))
        for one, own in rivals.items()
    )
    return Pieces(tuple(pieces)).on(len(part))


def _sets(part: Sequence[int], knobs: Iterable[int]) -> tuple[int, ...]:
    """What is together on a knob, from the knob of each atom."""
    on: dict[int, int] = {}
    for number, knob in zip(part, knobs, strict=True):
        on[knob] = on.get(knob, 0) | 1 << number
    return tuple(on.values())


def _clique(rivals: Sequence[int], enough: int) -> list[int]:
    """Vertices that are all joined, as many as are found; ``enough`` is known to be no fewer."""
    every = range(len(rivals))
    grown = max(([start, *grown_clique(rivals, rivals[start])] for start in every), key=len)
    if len(grown) >= enough or len(rivals) > FEW:
        return grown
    return [*bits(largest_clique(rivals, (1 << len(rivals)) - 1, len(grown)))] or grown


def _fractional(problem: Problem, part: tuple[int, ...], watch: Watch) -> int:
    """A bound from the linear relaxation, each set costing one; 0 if there are too many sets."""
    everywhere = (1 << len(part)) - 1
    loose = tuple(
        attrs.evolve(
            atom,
            needed=number in part,
            omission=0,
            strays=0,
            hidden=0,
            knobs=everywhere,
            pinned=None,
        )
        for number, atom in enumerate(problem.atoms)
    )
    plain = attrs.evolve(
        problem,
        knobs=len(part),
        atoms=loose,
        bundles=(),
        spreads=(),
        before=(),
        kept_travels={},
    )
    found = column_pool_of(plain, part, (everywhere,), watch, MOST_SETS)
    if found is None:
        return 0
    costs = np.zeros_like(found.costs)
    costs[-1] = 1
    priced = attrs.evolve(found, costs=costs)
    relaxed = relax(plain, [priced], (everywhere,), (0, 0, 0), (), watch)
    return 0 if relaxed is None else relaxed.bound
