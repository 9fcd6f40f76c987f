"""The last two tiers of the sets of a placement: against every way to put them on knobs."""

from __future__ import annotations

import random
from itertools import permutations

from knobpack.numbered.problem import Problem, bits, sets_of
from knobpack.solver.evaluate import values_of
from knobpack.solver.last_tiers import rearrange
from knobpack.solver.primal.greedy import greedy
from knobpack.solver.store import Store
from tests.oracles.problems import watch
from tests.solver.arrangement.test_arrange import random_problem


def best_of(problem: Problem, sets: frozenset[int]) -> tuple[int, ...]:
    """The least that these sets come to on any knobs, tier by tier."""
    may = {item: atom.knobs for atom in problem.atoms for item in bits(atom.items)}
    return min(
        values_of(problem, {item: knob for own, knob in on for item in bits(own)})
        for knobs in permutations(range(problem.knobs), len(sets))
        for on in [list(zip(sets, knobs, strict=True))]
        if all(may[item] >> knob & 1 for own, knob in on for item in bits(own))
    )


def test_the_bound_of_what_is_shared_is_that_of_every_way_to_place_it() -> None:
    draw = random.Random(21)  # noqa: S311 (no secret)
    seen = costly = 0
    for _ in range(120):
        problem = random_problem(draw)
        store = Store(problem)
        store.offer(greedy(problem, watch()))
        if store.values is None:
            continue
        assert store.as_shared == 0
        rearrange(problem, store, watch())
        best = best_of(problem, sets_of(store.knobs))
        assert store.values == best
        assert store.as_shared == store.outcome().as_shared == best[-1]
        seen += 1
        costly += best[-1] > 0
        # Of other sets it says nothing.
        if len(store.knobs) > 1:
            alone = next(iter(store.knobs))
            store.offer({alone: store.knobs[alone]})
            store.knobs = {alone: store.knobs[alone]}
            assert store.as_shared == 0
    assert seen > 60
    assert costly > 30
