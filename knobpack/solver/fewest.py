"""The fewest knobs on which everything can be placed: a chromatic number.

Atoms are the vertices, atoms that may not share are joined, and a knob is a colour. Families can be
coloured one by one, since they never share. For each, the largest clique found and the fractional
relaxation bound the number from below, and CP-SAT colours with one knob more until it succeeds.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import combinations

import attrs
import networkx as nx
import numpy as np

from knobpack.numbered.problem import Problem
from knobpack.solver.cliques import clique_cover
from knobpack.solver.cp_sat import cp_model
from knobpack.solver.cp_sat.cpsat import Status, hint, solve
from knobpack.solver.families import families
from knobpack.solver.outcome import ImpossibleError
from knobpack.solver.set_partitioning.column_pool import column_pool_of
from knobpack.solver.set_partitioning.relaxation import relax
from knobpack.solver.watch import Watch

MOST_SETS = 1 << 18
"""Sets that the fractional relaxation goes through, at most; without it the clique must do."""

FEW = 16
"""Atoms of a family, at most, of which cliques and colourings are gone through at once."""

LARGEST = 200
"""Atoms of a family, at most, among which a largest clique is searched for, not just grown."""

CLIQUE_EFFORT = 1.0
"""Deterministic effort that the search for a clique of one family may take."""


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
    graph = _rivals(problem, part)
    sets = _greedy(problem, graph)
    clique = _clique(graph, len(sets), watch)
    size = sum(problem.atoms[number].size for number in part)
    counted = needed = max(len(clique), -(-size // problem.per_knob))
    if needed < len(sets) and len(part) > FEW:
        needed = max(needed, _fractional(problem, part, watch))
    cover = tuple(clique_cover(_joined(graph))) if needed < len(sets) else ()
    for knobs in range(needed, len(sets)):
        status, coloured = _colour(problem, graph, clique, cover, knobs, watch)
        if coloured:
            sets = coloured
            break
        if status is Status.UNKNOWN:
            break
        needed = knobs + 1
    crowds = (_mask(part),) if counted > len(clique) else ()
    return Fewest(sets, _mask(clique), crowds, counted, needed)


def _joined(graph: nx.Graph[int]) -> dict[int, int]:
    return {number: _mask(graph[number]) for number in graph}


def _mask(numbers: Iterable[int]) -> int:
    return sum(1 << number for number in numbers)


def _rivals(problem: Problem, part: tuple[int, ...]) -> nx.Graph[int]:
    """Which atoms may not share, are too many for a knob, or have no knob in common.

    But for the limit on a knob, pairs tell all: atoms that are not pinned have the spare knob in
    common, and a set with a pinned atom can be on its knob if each of the others may be there.
    """
    graph: nx.Graph[int] = nx.Graph()
    graph.add_nodes_from(part)
    for one, other in combinations(part, 2):
        atom, beside = problem.atoms[one], problem.atoms[other]
        fits = atom.size + beside.size <= problem.per_knob
        if not (fits and atom.knobs & beside.knobs) or problem.clashes[one] >> other & 1:
            graph.add_edge(one, other)
    return graph


def _greedy(problem: Problem, graph: nx.Graph[int]) -> tuple[int, ...]:
    """Sets that may each be on one knob, few but perhaps not the fewest.

    Coloured by saturation (Brélaz); a colour that is too much for one knob takes several.
    """
    colours: dict[int, list[int]] = {}
    for number, colour in nx.greedy_color(graph, "DSATUR").items():
        colours.setdefault(colour, []).append(number)
    sets = []
    for alike in colours.values():
        room: dict[int, int] = {}
        for number in sorted(alike, key=lambda n: (-problem.atoms[n].size, n)):
            size = problem.atoms[number].size
            into = next((each for each, left in room.items() if left >= size), 0)
            left = room.pop(into, problem.per_knob)
            room[into | 1 << number] = left - size
        sets += list(room)
    return tuple(sets)


def _clique(graph: nx.Graph[int], enough: int, watch: Watch) -> list[int]:
    """Atoms that are all joined, as many as are found; ``enough`` is known to be no fewer."""
    grown = max((_grown(graph, start) for start in sorted(graph)), key=len)
    if len(grown) >= enough or len(graph) > LARGEST:
        return grown
    if len(graph) <= FEW:
        return max(nx.find_cliques(graph), key=lambda each: (len(each), sorted(each)))
    model = cp_model.CpModel()
    inside = {number: model.new_bool_var("") for number in sorted(graph)}
    for sharing in clique_cover(_joined(nx.complement(graph))):
        model.add_at_most_one(inside[number] for number in sharing)
    model.minimize(-cp_model.LinearExpr.sum(list(inside.values())))
    hint(model, list(inside.values()), [int(number in grown) for number in inside])
    answer = solve(model, watch, effort=CLIQUE_EFFORT, enough=-enough)
    if answer.value is None:
        return grown
    found = [number for number, variable in inside.items() if answer.value(variable)]
    return max(grown, found, key=len)


def _grown(graph: nx.Graph[int], start: int) -> list[int]:
    """A clique grown from one atom, by that which leaves the most to choose from."""
    found, left = [start], set(graph[start])
    while left:
        best = min(left, key=lambda number: (-len(left & set(graph[number])), number))
        found.append(best)
        left &= set(graph[best])
    return found


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


def _colour(
    problem: Problem,
    graph: nx.Graph[int],
    clique: list[int],
    cover: tuple[tuple[int, ...], ...],
    knobs: int,
    watch: Watch,
) -> tuple[Status, tuple[int, ...]]:
    """Whether so many knobs are enough, and the set on each used one if they are.

    Knobs are interchangeable, so each takes its first atom in order: an atom may open a knob only
    if an atom before it is on the knob before.
    """
    model = cp_model.CpModel()
    inside = set(clique)
    rest = sorted(set(graph) - inside, key=lambda number: (-graph.degree(number), number))
    order = [*sorted(inside), *rest]
    on = {number: [model.new_bool_var("") for _ in range(knobs)] for number in order}
    for number in order:
        model.add_exactly_one(on[number])
    for knob in range(knobs):
        for together in cover:
            model.add_at_most_one(on[number][knob] for number in together)
        sizes = [problem.atoms[number].size for number in order]
        here = [on[number][knob] for number in order]
        model.add(cp_model.LinearExpr.weighted_sum(here, sizes) <= problem.per_knob)
    for place, number in enumerate(order):
        for knob in range(1, knobs):
            earlier = [on[before][knob - 1] for before in order[:place]]
            model.add_bool_or([*earlier, ~on[number][knob]])
    answer = solve(model, watch)
    if answer.value is None:
        return answer.status, ()
    sets = [_mask(n for n in order if answer.value(on[n][knob])) for knob in range(knobs)]
    return answer.status, tuple(atoms for atoms in sets if atoms)
