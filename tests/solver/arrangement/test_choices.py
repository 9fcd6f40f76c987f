"""Arranging more than can be permuted: against every subset, and choices against each way."""

from __future__ import annotations

import random
from collections.abc import Sequence

import pytest

from knobpack.numbered.problem import Atom, Problem, bits
from knobpack.solver.arrangement import deepening
from knobpack.solver.arrangement.arrange import arrange, best_arrangement, best_choice
from knobpack.solver.arrangement.cluster import Choice, Cluster, Places, Variant
from knobpack.solver.watch import Watch
from tests.oracles.problems import a_problem, watch
from tests.solver.arrangement.test_arrange import (
    cost_of,
    laid_out,
    random_before,
    random_clusters,
    random_sequence,
)


def larger_problem(draw: random.Random) -> Problem:
    """Nine or ten knobs in two rows, voices of a few items each, groups of some of them."""
    knobs, items = draw.randint(9, 10), draw.randint(10, 14)
    voices = [items_ for items_ in parted(draw, items, draw.randint(3, 5)) if items_]
    groups = [sum(draw.sample(voices, 2)) for _ in range(draw.randint(0, 2))]
    everywhere = (1 << knobs) - 1
    atoms = tuple(
        Atom(1 << i, 1, everywhere if draw.random() < 0.8 else everywhere >> 1, None, False, 1)
        for i in range(items)
    )
    return a_problem(
        knobs,
        items,
        atoms=atoms,
        pulls=tuple(draw.randint(0, 4) for _ in range(items)),
        places=tuple(tuple(10 * (draw.random() < 0.4) for _ in range(knobs)) for _ in range(items)),
        runs=(*((voice, 60) for voice in voices), *((group, 20) for group in groups)),
        beside=tuple(knob not in (0, 5) for knob in range(knobs)),
        before=random_before(draw, knobs, items) if draw.random() < 0.3 else (),
        standing=tuple((8, 4, 2, 1, 0)[item % 5] for item in range(items)),
        sequence=random_sequence(draw, items),
        out_of_sequence=draw.choice((0, 40, 1000)),
    )


def parted(draw: random.Random, items: int, parts: int) -> list[int]:
    """The items in so many sets, as masks."""
    sets = [0] * parts
    for item in range(items):
        sets[draw.randrange(parts)] |= 1 << item
    return sets


def clusters_of_voices(draw: random.Random, problem: Problem) -> list[Cluster]:
    """The items in about as many clusters as there are knobs, the most of one voice each."""
    voices = [mask for mask, weight in problem.runs if weight == 60]
    sets = [part for voice in voices for part in halved(draw, voice) if part]
    while len(sets) > problem.knobs:
        sets[draw.randrange(len(sets) - 1)] |= sets.pop()
    return [Places.of(problem).cluster(items) for items in sets]


def halved(draw: random.Random, mask: int) -> list[int]:
    """A set of items in three, at random; some may be empty."""
    sets = [0, 0, 0]
    for item in bits(mask):
        sets[draw.randrange(3)] |= 1 << item
    return sets


def test_a_watch_that_is_over_stops_it() -> None:
    stopped = 0
    for seed in range(100):
        draw = random.Random(seed)  # noqa: S311 (no secret)
        problem = larger_problem(draw)
        variants = [Variant(tuple(random_clusters(draw, problem)), 0) for _ in range(3)]
        best, found = (best_arrangement(problem, variants, w) for w in (watch(), Watch(0.0)))
        assert (best is None) == (found is None)
        if best is None or found is None:
            continue
        assert best.proven
        assert found.bound <= best.cost <= found.cost
        assert cost_of(problem, laid_out(problem, found.clusters)) == found.cost
        stopped += not found.proven
    assert stopped > 50


def best_by_subsets(problem: Problem, clusters: Sequence[Cluster]) -> int | None:
    """What the best arrangement costs, by every set of clusters that the first knobs may have.

    Held and Karp 1962, "A dynamic programming approach to sequencing problems", from memory.
    """
    count, free = len(clusters), sum(weight for _, weight in problem.runs)
    at = {item: n for n, own in enumerate(clusters) for item in bits(own.items)}
    firsts: list[list[int]] = [[] for _ in clusters]
    for one, other in problem.sequence:
        if at[one] != at[other]:
            firsts[at[other]].append(at[one])

    def begins(number: int, last: int | None) -> int:
        before = 0 if last is None else clusters[last].items
        items = clusters[number].items
        return sum(w for mask, w in problem.runs if mask & items and not mask & before)

    states: dict[tuple[int, int | None], int] = {(0, None): 0}
    for knob in range(problem.knobs):
        after: dict[tuple[int, int | None], int] = {}
        for (placed, last), so_far in states.items():
            if knob - placed.bit_count() < problem.knobs - count:
                after[placed, None] = min(so_far, after.get((placed, None), so_far))
            beside = last if problem.beside[knob] else None
            for number in bits((1 << count) - 1 & ~placed):
                own = clusters[number]
                if not own.signature.knobs >> knob & 1:
                    continue
                cost = so_far + begins(number, beside) + own.pull * problem.steps[knob]
                cost += own.signature.row[knob]
                steps = (0 if one == beside else 2 - (placed >> one & 1) for one in firsts[number])
                cost += problem.out_of_sequence * sum(steps)
                key = placed | 1 << number, number
                after[key] = min(cost, after.get(key, cost))
        states = after
    return min((cost - free for cost in states.values()), default=None)


def test_it_is_the_best_where_no_one_can_permute() -> None:
    spread = stuck = 0
    for seed in range(60):
        draw = random.Random(2000 + seed)  # noqa: S311 (no secret)
        problem = larger_problem(draw)
        clusters = clusters_of_voices(draw, problem)
        if len(clusters) > 8:
            continue
        best, found = best_by_subsets(problem, clusters), arrange(problem, clusters)
        stuck += best is None
        assert (found and (found.cost, found.bound)) == (best and (best, best)), seed
        if found is not None:
            assert cost_of(problem, laid_out(problem, found.clusters)) == found.cost
            spread += len(clusters) > 6
    assert spread > 10


def test_a_search_that_does_not_go_deep_gives_a_bound(monkeypatch: pytest.MonkeyPatch) -> None:
    shallow = 0
    for seed in range(60):
        draw = random.Random(3000 + seed)  # noqa: S311 (no secret)
        problem = larger_problem(draw)
        variants = [Variant(tuple(clusters_of_voices(draw, problem)), 0) for _ in range(2)]
        best = best_arrangement(problem, variants, watch())
        with monkeypatch.context() as patched:
            patched.setattr(deepening, "DEPTHS", ((1, 1), (2, 1)))
            found = best_arrangement(problem, variants, watch())
        assert (best is None) == (found is None)
        if best is not None and found is not None:
            assert best.proven
            assert found.bound <= best.cost <= found.cost
            assert cost_of(problem, laid_out(problem, found.clusters)) == found.cost
            shallow += not found.proven
    assert shallow > 10


def choices_of_voices(draw: random.Random, problem: Problem) -> Choice | None:
    """For each voice some ways to part it, most into as many clusters; None if too many."""
    families = []
    for voice in [mask for mask, weight in problem.runs if weight == 60]:
        ways = []
        for _ in range(draw.choice((1, 3, 6))):
            parts = [part for part in halved(draw, voice) if part]
            clusters = tuple(Places.of(problem).cluster(part) for part in parts)
            ways.append(Variant(clusters, draw.choice((0, 0, 0, 9))))
        families.append(tuple(ways))
    fewest = sum(min(len(way.clusters) for way in ways) for ways in families)
    return Choice(tuple(families), 7) if fewest <= problem.knobs else None


def test_what_can_be_combined_is_as_good_as_the_best_combination() -> None:
    together = proven = 0
    for seed in range(30):
        draw = random.Random(4000 + seed)  # noqa: S311 (no secret)
        problem = larger_problem(draw)
        choice = choices_of_voices(draw, problem)
        if choice is None or choice.count > 60:
            continue
        apart = [Choice(((way,),), 0) for way in choice.each()]
        best = best_choice(problem, apart, watch())
        assert best is not None
        assert best.proven
        found = best_choice(problem, [choice], watch())
        assert found is not None, seed
        assert found.bound <= best.cost <= found.cost, seed
        proven += found.proven
        together += any(each.count > 1 for each in choice.even())
        ways = {tuple(sorted(c.items for c in way.clusters)): way for way in choice.each()}
        chosen = ways[tuple(sorted(each.items for each in found.clusters.values()))]
        cost = cost_of(problem, laid_out(problem, found.clusters))
        assert cost is not None
        least = min(way.omission for way in choice.each() if same(way, chosen))
        assert cost + least == found.cost, seed
    assert together > 8
    assert proven >= together - 2


def same(one: Variant, other: Variant) -> bool:
    return {each.items for each in one.clusters} == {each.items for each in other.clusters}
