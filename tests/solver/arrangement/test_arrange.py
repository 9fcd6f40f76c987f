"""Arranging: against every permutation, and against minimum weight matching where nothing runs."""

from __future__ import annotations

import random
from collections.abc import Sequence
from itertools import pairwise, permutations
from typing import Any

import networkx as nx

from knobpack.numbered.problem import Atom, Before, Problem, bits
from knobpack.solver.arrangement.arrange import arrange, best_arrangement, lower_bound
from knobpack.solver.arrangement.cluster import Cluster, Places, Variant
from tests.oracles.problems import a_problem, watch


def random_problem(draw: random.Random) -> Problem:
    """Up to six items on up to five knobs: grids, gaps, favoured knobs, pins, a previous layout."""
    knobs, items = draw.randint(1, 5), draw.randint(1, 6)
    everywhere = (1 << knobs) - 1
    steps = list(range(knobs))
    if draw.random() < 0.5:
        draw.shuffle(steps)
    atoms = []
    for item in range(items):
        chance = draw.random()
        pinned = draw.randrange(knobs) if chance < 0.15 else None
        open_to = draw.randint(1, everywhere) if chance > 0.7 else everywhere
        open_to = open_to if pinned is None else 1 << pinned
        atoms.append(Atom(1 << item, 1, open_to, pinned, pinned is not None, 1))
    dear = draw.choice((0, 3, 20))
    return a_problem(
        knobs,
        items,
        atoms=tuple(atoms),
        steps=tuple(steps),
        pulls=tuple(draw.randint(0, 4) for _ in range(items)),
        places=tuple(tuple(draw.choice((0, 0, dear)) for _ in range(knobs)) for _ in range(items)),
        runs=tuple(
            (draw.randint(1, (1 << items) - 1), draw.randint(1, 30))
            for _ in range(draw.randint(0, 3))
        ),
        beside=tuple(knob > 0 and draw.random() < 0.7 for knob in range(knobs)),
        **random_wishes(draw, items),
        before=random_before(draw, knobs, items) if draw.random() < 0.6 else (),
        standing=tuple((8, 4, 2, 1, 0)[item % 5] for item in range(items)),
        sequence=random_sequence(draw, items),
        out_of_sequence=draw.choice((0, 3, 40)),
    )


def random_wishes(draw: random.Random, items: int) -> dict[str, Any]:
    """Two travels: each item wants one of them, and the other costs it something or nothing."""
    wanted = tuple(draw.randrange(2) for _ in range(items))
    missed = [draw.choice((0, 1, 2)) for _ in range(items)]
    prices = tuple(tuple(missed[i] * (wanted[i] != at) for i in range(items)) for at in range(2))
    return {"wanted": wanted, "travel_prices": prices}


def random_before(draw: random.Random, knobs: int, items: int) -> tuple[Before, ...]:
    """What knobs drove, some of them gone, with travels that are known, unwanted or not known."""
    drove: dict[int, int] = {}
    for item in range(items):
        if draw.random() < 0.6:
            knob = draw.randrange(knobs + 2)
            drove[knob] = drove.get(knob, 0) | 1 << item
    return tuple(
        Before(
            mask,
            mask & draw.getrandbits(items) if draw.random() < 0.3 else mask,
            knob if knob < knobs else None,
            draw.choice((None, -1, 0, 1)),
        )
        for knob, mask in drove.items()
    )


def random_sequence(draw: random.Random, items: int) -> tuple[tuple[int, int], ...]:
    """The items in two rows of which some are missing: each is to come after the one before it."""
    order = draw.sample(range(items), items)
    cut = draw.randint(0, items)
    return (*pairwise(order[:cut][:3]), *pairwise(order[cut:][:3]))


def random_clusters(draw: random.Random, problem: Problem, *, more: int = 0) -> list[Cluster]:
    """The items in clusters, in any order; as many as knobs at most, or so many more."""
    places, parts = Places.of(problem), draw.randint(1, problem.knobs + more)
    sets = [0] * parts
    for item in range(problem.items):
        sets[draw.randrange(parts)] |= 1 << item
    found = [places.cluster(items) for items in sets if items]
    draw.shuffle(found)
    return found


def cost_of(problem: Problem, on: Sequence[Cluster | None]) -> int | None:
    """What clusters on knobs cost by the definitions; None where one may not be there."""
    layout = 0
    for knob, cluster in enumerate(on):
        for item in () if cluster is None else bits(cluster.items):
            if not problem.atoms[item].knobs >> knob & 1:
                return None
            layout += problem.places[item][knob] + problem.pulls[item] * problem.steps[knob]
    for mask, weight in problem.runs:
        here = [bool(cluster and cluster.items & mask) for cluster in on]
        starts = 0
        for knob, used in enumerate(here):
            goes_on = knob > 0 and problem.beside[knob] and here[knob - 1]
            starts += used and not goes_on
        layout += weight * max(0, starts - 1)
    for first, second in problem.sequence:
        before, after = (knob_of(on, item) for item in (first, second))
        steps = 0 if before == after else 1 if before < after else 2
        if after == before + 1 and problem.beside[after]:
            steps = 0
        layout += problem.out_of_sequence * steps
    return changes(problem, on) * Places.of(problem).change + layout


def knob_of(on: Sequence[Cluster | None], item: int) -> int:
    return next(knob for knob, cluster in enumerate(on) if cluster and cluster.items >> item & 1)


def changes(problem: Problem, on: Sequence[Cluster | None]) -> int:
    """Travels set anew, and routes by importance; routes above those; bundles not whole, most."""
    had = [item for before in problem.before for item in bits(before.items)]
    route = 1 + sum(problem.standing[item] for item in had) + len(problem.before)
    total = 0
    for before in problem.before:
        stayed = 0
        for item in bits(before.items):
            stays = knob_of(on, item) == before.knob
            stayed += stays
            total += (route + problem.standing[item]) * (not stays)
        together = {knob_of(on, item) for item in bits(before.bundle)}
        total += route * (len(had) + 1) * (not together <= {before.knob})
        cluster = None if before.knob is None else on[before.knob]
        if stayed and cluster and before.travel is not None:
            inside = list(bits(cluster.items))
            costs = {
                travel: sum(problem.travel_prices[travel][item] for item in inside)
                for travel in {problem.wanted[item] for item in inside}
            }
            least = min(costs.values())
            total += costs.get(before.travel, least + 1) != least
    return total


def best_by_permuting(problem: Problem, clusters: Sequence[Cluster]) -> int | None:
    if len(clusters) > problem.knobs:
        return None
    filled = [*clusters, *[None] * (problem.knobs - len(clusters))]
    costs = [cost_of(problem, on) for on in permutations(filled)]
    return min((cost for cost in costs if cost is not None), default=None)


def laid_out(problem: Problem, clusters: dict[int, Cluster]) -> list[Cluster | None]:
    return [clusters.get(knob) for knob in range(problem.knobs)]


def test_it_is_the_best_of_all_permutations() -> None:
    found_some = none = out_of_order = 0
    for seed in range(300):
        draw = random.Random(seed)  # noqa: S311 (no secret)
        problem = random_problem(draw)
        clusters = random_clusters(draw, problem, more=1)
        best = best_by_permuting(problem, clusters)
        found = arrange(problem, clusters)
        if best is None:
            none += 1
            assert found is None, seed
            continue
        assert found is not None, seed
        found_some += 1
        out_of_order += list(problem.steps) != sorted(problem.steps)
        assert (found.cost, found.bound) == (best, best), seed
        assert cost_of(problem, laid_out(problem, found.clusters)) == best, seed
        assert sorted(c.items for c in found.clusters.values()) == sorted(c.items for c in clusters)
        assert lower_bound(problem, clusters) <= best, seed
    assert found_some > 150
    assert none > 20
    assert out_of_order > 50


def test_without_runs_it_is_an_assignment() -> None:
    # Minimum weight matching of clusters to knobs is the assignment problem (Kuhn 1955, "The
    # Hungarian method for the assignment problem"; from memory).
    for seed in range(12):
        draw = random.Random(seed)  # noqa: S311 (no secret)
        knobs, items = 11, 8
        places = tuple(tuple(draw.randint(0, 50) for _ in range(knobs)) for _ in range(items))
        pulls = tuple(draw.randint(0, 9) for _ in range(items))
        problem = a_problem(knobs, items, places=places, pulls=pulls)
        clusters = [Places.of(problem).cluster(1 << item) for item in range(items)]
        graph: nx.Graph[str] = nx.Graph()
        for item in range(items):
            for knob in range(knobs):
                weight = places[item][knob] + pulls[item] * knob
                graph.add_edge(f"item {item}", f"knob {knob}", weight=weight)
        left = [f"item {item}" for item in range(items)]
        matched = nx.bipartite.minimum_weight_full_matching(graph, left)
        found = arrange(problem, clusters)
        assert found is not None
        assert found.cost == sum(graph[item][matched[item]]["weight"] for item in left)


def test_equal_clusters_stand_the_stronger_the_nearer() -> None:
    problem = a_problem(3, 3, pulls=(1, 5, 3))
    found = arrange(problem, [Places.of(problem).cluster(1 << item) for item in range(3)])
    assert found is not None
    assert [found.clusters[knob].items for knob in range(3)] == [0b010, 0b100, 0b001]
    assert found.cost == 5 * 0 + 3 * 1 + 1 * 2


def test_the_best_of_some_variants() -> None:
    better_than_first = 0
    for seed in range(80):
        draw = random.Random(1000 + seed)  # noqa: S311 (no secret)
        problem = random_problem(draw)
        variants = [
            Variant(tuple(random_clusters(draw, problem)), draw.choice((0, 0, 7)))
            for _ in range(draw.randint(1, 4))
        ]
        costs = []
        for variant in variants:
            best = best_by_permuting(problem, variant.clusters)
            costs += [] if best is None else [best + variant.omission]
        found = best_arrangement(problem, variants, watch())
        assert (found and found.cost) == min(costs, default=None), seed
        better_than_first += bool(costs) and min(costs) < costs[0]
    assert better_than_first > 5
