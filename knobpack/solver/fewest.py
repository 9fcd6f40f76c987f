"""The fewest knobs on which everything can be placed: a chromatic number.

Atoms are the vertices, atoms that may not share are joined, and a knob is a colour. Families can be
coloured one by one, since they never share. For each, the largest clique found and the fractional
relaxation bound the number from below, and CP-SAT colours with one knob more until it succeeds.
"""

from __future__ import annotations

from itertools import combinations

import attrs
import networkx as nx
import numpy as np
from ortools.sat.python import cp_model

from knobpack.problem import Problem
from knobpack.solver.catalogue import catalogue_of
from knobpack.solver.cliques import clique_cover
from knobpack.solver.cpsat import Status, solve
from knobpack.solver.families import families
from knobpack.solver.outcome import ImpossibleError
from knobpack.solver.relaxation import relax
from knobpack.solver.watch import Watch

MOST_SETS = 1 << 18
"""Sets that the fractional relaxation goes through, at most; without it the clique must do."""


def fewest_knobs(problem: Problem, watch: Watch) -> tuple[int, int]:
    """The fewest knobs for all atoms of a problem that has a knob to spare for each.

    Returns:
        How many knobs are known to be enough, and how many are known to be needed.

    Raises:
        ImpossibleError: some atom can be on no knob.
    """
    if any(not atom.knobs for atom in problem.atoms):
        raise ImpossibleError
    bounds = [_fewest(problem, part, watch) for part in families(problem)]
    return sum(enough for enough, _ in bounds), sum(needed for _, needed in bounds)


def _fewest(problem: Problem, part: tuple[int, ...], watch: Watch) -> tuple[int, int]:
    graph = _rivals(problem, part)
    clique = max(nx.find_cliques(graph), key=len) if len(part) <= 200 else [part[0]]
    size = sum(problem.atoms[number].size for number in part)
    needed = max(len(clique), -(-size // problem.per_knob))
    enough = max(nx.greedy_color(graph, "DSATUR").values()) + 1
    if size > problem.per_knob:
        enough = len(part)
    if needed < enough:
        needed = max(needed, _fractional(problem, part, watch))
    for knobs in range(needed, enough):
        status = _colour(problem, graph, clique, knobs, watch)
        if status in (Status.OPTIMAL, Status.FEASIBLE):
            return knobs, needed
        if status is Status.UNKNOWN:
            break
        needed = knobs + 1
    return enough, needed


def _rivals(problem: Problem, part: tuple[int, ...]) -> nx.Graph[int]:
    """Which atoms may not share, or have no knob in common.

    Pairs tell all: atoms that are not pinned have the spare knobs in common, and a set with a
    pinned atom can be on its knob if each of the others may be there.
    """
    graph: nx.Graph[int] = nx.Graph()
    graph.add_nodes_from(part)
    for one, other in combinations(part, 2):
        common = problem.atoms[one].knobs & problem.atoms[other].knobs
        if not common or problem.clashes[one] >> other & 1:
            graph.add_edge(one, other)
    return graph


def _fractional(problem: Problem, part: tuple[int, ...], watch: Watch) -> int:
    """A bound from the linear relaxation, each set costing one; 0 if there are too many sets."""
    everywhere = (1 << problem.knobs) - 1
    loose = tuple(
        attrs.evolve(atom, needed=number in part, omission=0, knobs=everywhere, pinned=None)
        for number, atom in enumerate(problem.atoms)
    )
    plain = attrs.evolve(problem, atoms=loose, spreads=(), before={})
    found = catalogue_of(plain, part, (everywhere,), watch, MOST_SETS)
    if not found.complete:
        return 0
    ones = np.ones_like(found.sharing)
    priced = attrs.evolve(found, sharing=ones, breaks=np.zeros_like(ones))
    relaxed = relax(plain, [priced], (everywhere,), (0, 0), (), watch)
    return 0 if relaxed is None else relaxed.bound


def _colour(
    problem: Problem, graph: nx.Graph[int], clique: list[int], knobs: int, watch: Watch
) -> Status:
    """Whether so many knobs are enough.

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
    cover = list(clique_cover(graph))
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
    return solve(model, watch).status
