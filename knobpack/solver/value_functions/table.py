"""The table of a family: what every set of its atoms costs, on a knob or left out."""

from __future__ import annotations

from collections.abc import Iterator

import attrs
import numpy as np

from knobpack.numbered.problem import Problem, bits
from knobpack.solver.costs import FAR, Whole, set_costs
from knobpack.solver.value_functions.scale import Scale


@attrs.frozen(eq=False)
class Table:
    """Every set of a family's atoms, priced on one scale.

    Sets are masks of positions in ``atoms``; set 0 is empty.

    Args:
        atoms: the numbers of the family's atoms.
        free: for each set, its cost on a knob that no atom is pinned to, FAR if it may not be.
        pinned: for each set, its cost on the knob that one of its atoms is pinned to.
        omitted: for each set, the cost of leaving out just that of all atoms, FAR if it is not
            allowed; of the empty set nothing.
    """

    atoms: tuple[int, ...]
    free: Whole
    pinned: Whole
    omitted: Whole

    @property
    def full(self) -> int:
        """The set of all atoms."""
        return (1 << len(self.atoms)) - 1


def table_of(problem: Problem, scale: Scale, atoms: tuple[int, ...]) -> Table:
    """Price every set of a family's atoms on one scale, and see where it may be."""
    count = len(atoms)
    members = [problem.atoms[number] for number in atoms]
    items = [item for atom in members for item in bits(atom.items)]
    sets = np.arange(1 << count, dtype=np.int64)
    holds = (sets[:, None] >> np.arange(count) & 1).astype(np.float64)
    owner = [position for position, atom in enumerate(members) for _ in range(atom.size)]
    cost = np.zeros_like(sets)
    cost[1:] = scale.cost(0, *set_costs(problem, items, holds[1:][:, owner]))
    clashes = [[problem.clashes[one] >> other & 1 for other in atoms] for one in atoms]
    agrees = ((holds @ np.array(clashes, dtype=np.float64)) * holds).sum(axis=1) == 0
    agrees &= holds @ np.array([atom.size for atom in members]) <= problem.per_knob
    agrees[0] = False
    free, pinned = np.full_like(sets, FAR), np.full_like(sets, FAR)
    for knob, pin in knobs_apart(problem, atoms):
        outside = sum(1 << at for at, atom in enumerate(members) if not atom.knobs >> knob & 1)
        held = sum(1 << at for at, atom in enumerate(members) if pin and atom.pinned == knob)
        fits = agrees & (sets & outside == 0) & ((sets & held != 0) | (not pin))
        into = pinned if pin else free
        into[fits] = cost[fits]
    return Table(atoms, free, pinned, _omitted(problem, scale, atoms))


def _omitted(problem: Problem, scale: Scale, atoms: tuple[int, ...]) -> Whole:
    """What it costs to leave out each set; that all of a spread is left out is priced as well.

    A spread counts on its first knob too, which comes off in the end wherever it is on some knob
    (:class:`knobpack.solver.value_functions.offsets.Offsets`).
    """
    sets = np.arange(1 << len(atoms), dtype=np.int64)
    cost = np.zeros_like(sets)
    for place, number in enumerate(atoms):
        atom = problem.atoms[number]
        own = FAR if atom.needed else scale.cost(*atom.costs)
        cost = np.minimum(cost + np.where(sets >> place & 1, own, 0), FAR)
    for inside, weight in _spreads_within(problem, atoms):
        lost = np.where(sets & inside == inside, scale.cost(0, 0, 0, weight), 0)
        cost = np.minimum(cost + lost, FAR)
    return cost


def omissions(problem: Problem, scale: Scale, atoms: tuple[int, ...]) -> tuple[int, list[int]]:
    """What it costs to leave out all of some atoms, and each of them; FAR: it must be placed."""
    members = [problem.atoms[number] for number in atoms]
    lost = [weight for _, weight in _spreads_within(problem, atoms)]
    whole = sum(scale.cost(*atom.costs) for atom in members) + sum(lost)
    each = [FAR if atom.needed else scale.cost(*atom.costs) for atom in members]
    return FAR if FAR in each else whole, each


def _spreads_within(problem: Problem, atoms: tuple[int, ...]) -> Iterator[tuple[int, int]]:
    """Each spread that these atoms have all of: its atoms, as positions, and its weight."""
    own = sum(1 << number for number in atoms)
    place = {number: at for at, number in enumerate(atoms)}
    for spread, inside in zip(problem.spreads, problem.spread_atoms, strict=True):
        if inside and not inside & ~own:
            yield sum(1 << place[number] for number in bits(inside)), spread.weight


def knobs_apart(problem: Problem, atoms: tuple[int, ...]) -> Iterator[tuple[int, bool]]:
    """One knob of each sort that admits the same atoms, and each that one of them is pinned to."""
    pins = {atom.pinned for atom in problem.atoms if atom.pinned is not None}
    own = {problem.atoms[number].pinned for number in atoms}
    seen = set()
    for knob in range(problem.knobs):
        if knob in pins:
            if knob in own:
                yield knob, True
            continue
        admitted = tuple(problem.atoms[number].knobs >> knob & 1 for number in atoms)
        if admitted not in seen:
            seen.add(admitted)
            yield knob, False
