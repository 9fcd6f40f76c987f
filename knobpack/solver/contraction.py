"""Contraction: bundles as single atoms, where all is placed and none is parted needlessly.

Where that is so of the best placement, nothing else can be as good in the first two tiers, and all
that follows is decided on a smaller problem. Likewise where nothing is broken besides.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from functools import partial
from typing import TypeAlias

import attrs

from knobpack.numbered.components import components
from knobpack.numbered.less import breaking_only, broken_by_atoms
from knobpack.numbered.problem import Atom, Problem, bits
from knobpack.solver.cliques import grown_clique
from knobpack.solver.outcome import Upper

Least: TypeAlias = Callable[[int], int]
"""The least that some items, a mask, come to in a tier."""


@attrs.frozen(eq=False)
class Contraction:
    """A problem with its bundles joined.

    Args:
        problem: the same problem, all of a bundle that may share a knob being one atom.
        joined: for each bundle, whether on the fewest knobs its atoms are just those.
    """

    problem: Problem
    joined: tuple[bool, ...]

    def floor(self, items: int) -> int:
        """No placement of some items, given as a mask, has less in the tier *bundles*."""
        return sum(
            self._fewest(bundle & items, joined=joined) - 1
            for bundle, joined in zip(self.problem.bundles, self.joined, strict=True)
            if bundle & items
        )

    def _fewest(self, items: int, *, joined: bool) -> int:
        """How many knobs some items of a bundle take at least, what is left out counted as one.

        Where the bundle is joined, as many as it has atoms; else as many as atoms were found that
        clash with each other, or as the room on a knob asks for.
        """
        problem = self.problem
        members = {problem.atom_of[item] for item in bits(items)}
        if joined:
            return len(members)
        clashing = grown_clique(problem.clashes, sum(1 << number for number in members))
        return max(len(clashing), -(-items.bit_count() // problem.per_knob))


@attrs.frozen(eq=False)
class Pose:
    """A problem that stands for another, where the best placement is of a certain sort.

    Args:
        problem: of which all placements are of that sort.
        floor: the least of some items in the tier *bundles*, to which they come there.
        broken: what some items break by themselves, to which they come there; it is not counted in
            ``problem``. None: it is, with all else that is broken.
        joined: whether bundles are joined.
    """

    problem: Problem
    floor: Least
    broken: Least | None
    joined: bool

    @property
    def first(self) -> tuple[int, ...]:
        """The first values of the best placement where it is of that sort."""
        everything = (1 << self.problem.items) - 1
        broken = () if self.broken is None else (self.broken(everything),)
        return 0, self.floor(everything), *broken

    def holds(self, values: Upper) -> bool:
        """Whether a best placement of these values is of that sort."""
        return values[: len(self.first)] == self.first


def poses(problem: Problem) -> Iterator[Pose]:
    """What may stand for a problem: with bundles joined, with nothing broken, or with both."""
    if not may_all_be_placed(problem):
        return
    contraction = contracted(problem)
    every: list[tuple[Problem, Least, bool]] = [(problem, _none, False)]
    if contraction is not None:
        every.insert(0, (contraction.problem, contraction.floor, True))
    for own, floor, joined in every:
        if own.breakable:
            yield Pose(breaking_only(own), floor, partial(broken_by_atoms, own), joined)
        if joined:
            yield Pose(own, floor, None, joined)


def _none(_: int) -> int:
    """That no bundle need be parted."""
    return 0


def may_all_be_placed(problem: Problem) -> bool:
    """Whether there are routes for all that costs something to leave out."""
    return sum(a.size for a in problem.atoms if a.needed or a.omission) <= problem.routes


def contracted(problem: Problem) -> Contraction | None:
    """The problem with its bundles joined; None if there is nothing to join, or it cannot be."""
    together, whole = [], []
    for bundle in problem.bundles:
        members = sorted({problem.atom_of[item] for item in bits(bundle)})
        classes = _classes(problem, members)
        whole.append(classes is not None)
        together += [sum(1 << number for number in own) for own in classes or ()]
    sets = components(len(problem.atoms), together)
    if len(sets) == len(problem.atoms):
        return None
    atoms = [_joined(problem.atoms[number] for number in part) for part in sets]
    clashes, masks = [], [sum(1 << number for number in part) for part in sets]
    known: dict[int, int] = {}  # most atoms of a family clash with the same others
    for at, part in enumerate(sets):
        rivals = 0
        for number in part:
            rivals |= problem.clashes[number]
        if rivals not in known:
            known[rivals] = sum(1 << other for other, own in enumerate(masks) if own & rivals)
        if known[rivals] >> at & 1 or (atoms[at].size > problem.per_knob and len(part) > 1):
            return None
        clashes.append(known[rivals])
    if any(not atom.knobs and len(part) > 1 for atom, part in zip(atoms, sets, strict=True)):
        return None
    smaller = attrs.evolve(problem, atoms=tuple(atoms), clashes=tuple(clashes))
    return Contraction(smaller, tuple(whole))


def _classes(problem: Problem, members: list[int]) -> list[list[int]] | None:
    """A bundle's atoms parted as they must be and no further; None where that is not clear.

    It is clear where those that may share with each other may share all together.
    """
    own = sum(1 << number for number in members)
    classes: dict[int, list[int]] = {}
    for number in members:
        classes.setdefault(problem.clashes[number] & own, []).append(number)
    for clashing, alike in classes.items():
        mask = sum(1 << number for number in alike)
        joined = _joined(problem.atoms[number] for number in alike)
        if clashing != own & ~mask or not joined.knobs or joined.size > problem.per_knob:
            return None
    return list(classes.values())


def _joined(atoms: Iterable[Atom]) -> Atom:
    first, *rest = atoms
    for atom in rest:
        first = Atom(
            items=first.items | atom.items,
            size=first.size + atom.size,
            knobs=first.knobs & atom.knobs,
            pinned=atom.pinned if first.pinned is None else first.pinned,
            needed=first.needed or atom.needed,
            omission=first.omission + atom.omission,
            strays=first.strays + atom.strays,
            hidden=first.hidden + atom.hidden,
        )
    return first
