"""Witness: destinations of which no two can share, as many as there are knobs to be on.

Only while all of them are placed do they fill the surface; what no demand places may be left out.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

import attrs

from knobpack.explanation.case import Case
from knobpack.heavy_imports import load
from knobpack.limits import Run
from knobpack.numbered.problem import bits
from knobpack.reasons.facts import BARRED, CANNOT_SHARE, KEPT, Obstacle
from knobpack.reasons.graph import family_names
from knobpack.text.shown import Fielded
from knobpack.words.names import listed

LARGEST = 30
"""Destinations of a family, at most, among which the most that cannot share are found for sure."""


@attrs.frozen
class Witness(Fielded):
    """Destinations that fill the surface: placed, each needs a knob, and there is no other.

    Args:
        destinations: as many as there are ``knobs``.
        knobs: the knobs that are open: those that are not reserved, or that keep something.
        obstacles: for each two of them, in the order of ``itertools.combinations``, why they can
            never share.
        loose: those of them that may be left out. If there are none, no layout leaves a knob free.
    """

    destinations: tuple[str, ...]
    knobs: tuple[str, ...]
    obstacles: tuple[Obstacle, ...]
    loose: tuple[str, ...] = ()

    def __str__(self) -> str:
        names = listed(self.destinations)
        if len(self.destinations) == 1:
            placed = f" while {names} is placed" if self.loose else ""
            return f"No knob can be free{placed}: there is only 1, and {names} needs it"
        placed = " while all of these are placed" if self.loose else ""
        count = f"there are {len(self.knobs)} knobs for these {len(self.destinations)}"
        kept = any(fact.kind == KEPT for each in self.obstacles for fact in each.facts)
        share = CANNOT_SHARE if kept else "can never share"
        return f"No knob can be free{placed}: {names} {share} with each other, and {count}"


def filling(case: Case, run: Run | None = None) -> Witness | None:
    """Destinations that are placed and fill the surface, if any do.

    Args:
        case: the allocation.
        run: once it is cut off, none are looked for any more; None: nothing cuts it off.
    """
    surface = case.request.surface
    kept = {route.knob for route in case.request.keep.routes}
    knobs = tuple(k for k in surface.knob_names if k in kept or k not in surface.reserved)
    found: list[str] = []
    for own in _able_to_share(case):
        found += (most := _most_parted(case, own, run))
        if len(most) < len({case.knob_of[name] for name in own}):
            return None  # each of the others has its knobs too, and no more
    if len(found) < len(knobs) or not knobs:
        return None
    names = case.request.named(found)
    obstacles = [case.ground.parts(one, other) for one, other in combinations(names, 2)]
    return Witness(
        names,
        knobs,
        tuple(each for each in obstacles if each is not None),
        tuple(name for name in names if not _must_be_placed(case, name)),
    )


def _must_be_placed(case: Case, name: str) -> bool:
    """Whether a demand places it, or something that it is bound to."""
    return any(
        case.request.by_full_name[each].must_place
        or any(fact.kind != BARRED for fact in case.ground.placing[each])
        for each in case.ground.unit(name)
    )


def _able_to_share(case: Case) -> list[list[str]]:
    """The first of each unit that is placed, in sets of which no two can share.

    They are the families, but that what is expendable could share though it is never worth it.
    """
    sets = []
    for family in family_names(case.request, case.problem):
        firsts = dict.fromkeys(case.ground.unit(name)[0] for name in family)
        sets.append([name for name in firsts if name in case.knob_of])
    for name in case.request.by_full_name:
        if name in case.request.expendable and name in case.knob_of:
            able = [own for own in sets if any(_may_share(case, name, other) for other in own)]
            sets = [own for own in sets if own not in able]
            sets.append([each for own in able for each in own])
    return sets


def _may_share(case: Case, one: str, other: str) -> bool:
    """Whether no facts keep two destinations apart; the numbers say so where they say no more.

    They keep what is expendable from all others, and what is on one knob because each of it is
    pinned there is one atom.
    """
    both, problem = (one, other), case.problem
    atoms = [case.atom_of[each] for each in both]
    units = [len(case.ground.unit(each)) for each in both]
    alike = [problem.atoms[atom].size for atom in atoms] == units
    if alike and case.request.expendable.isdisjoint(both):
        return problem.may_share(*atoms)
    return one == other or case.ground.parts(one, other) is None


def _most_parted(case: Case, names: list[str], run: Run | None) -> list[str]:
    """As many as are found of some destinations that can never share with each other.

    None, once it is cut off.
    """
    from knobpack.solver.cliques import grown_clique

    parted = [0] * len(names)
    for here, one in enumerate(names):
        if run is not None and run.cut_off:
            return []
        for there, other in enumerate(names[:here]):
            if not _may_share(case, one, other):
                parted[here] |= 1 << there
                parted[there] |= 1 << here
    if len(names) > LARGEST:
        return sorted(names[each] for each in grown_clique(parted, (1 << len(names)) - 1))
    return max(_cliques(names, parted), key=lambda each: (len(each), each), default=names)


def _cliques(names: list[str], parted: list[int]) -> Iterator[list[str]]:
    load("networkx")
    import networkx as nx

    graph: nx.Graph[str] = nx.Graph()
    graph.add_nodes_from(names)
    graph.add_edges_from((names[a], names[b]) for a, mask in enumerate(parted) for b in bits(mask))
    return (sorted(found) for found in nx.find_cliques(graph))
