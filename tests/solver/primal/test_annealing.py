"""Annealing: what it finds meets every demand, is no worse than its start, often the best."""

from __future__ import annotations

from knobpack.numbered.problem import Mix
from knobpack.solver.evaluate import values_of
from knobpack.solver.primal.annealing import EFFORT_PER_MOVE, Annealing
from knobpack.solver.primal.board import Board
from knobpack.solver.primal.greedy import greedy
from knobpack.solver.value_functions.scale import scale_of
from knobpack.solver.watch import Watch
from tests.oracles.problems import a_problem, meets, possible, watch

UPPER = 4


def test_on_seeded_requests_it_is_valid_and_mostly_as_good_as_brute_force() -> None:
    tried = best = better = 0
    for case in possible(range(240)):
        start = greedy(case.problem, watch())
        if start is None:
            continue
        annealing = Annealing(case.problem, start)
        annealing.run(Watch(0.01))
        assert meets(case.problem, annealing.best), case.seed
        values = values_of(case.problem, annealing.best)[:UPPER]
        begun = values_of(case.problem, start)[:UPPER]
        assert case.values[:UPPER] <= values, case.seed
        assert values <= begun or case.problem.spreads, case.seed
        tried += 1
        best += values == case.values[:UPPER]
        better += values < begun
    assert tried > 150
    assert best > 0.8 * tried
    assert better > 15


def test_the_same_effort_gives_the_same_and_is_counted() -> None:
    kinds = Mix(7, tuple(0b111 << 3 * at for at in range(4)))
    problem = a_problem(3, 12, mixes=(kinds,))
    start = dict.fromkeys(range(12), 0)
    found = []
    for _ in range(2):
        own = Watch(100 * EFFORT_PER_MOVE)
        annealing = Annealing(problem, start)
        annealing.run(own)
        assert own.effort <= 0
        found.append((annealing.best, annealing.sets))
    assert found[0] == found[1]
    idle = Annealing(problem, start)
    idle.run(Watch(0.0))
    assert idle.best == start


def test_tiers_that_are_met_are_not_given_up() -> None:
    # Four sorts on three knobs: what is broken is least, and is kept while sharing gets better.
    moves = tuple((0b111 << 3 * at, 1) for at in range(4))
    problem = a_problem(3, 12, breakable=moves, mixes=(Mix(1),))
    start = {item: min(item // 3, 2) for item in range(12)}
    annealing = Annealing(problem, start)
    annealing.run(Watch(0.05), met=3)
    assert values_of(problem, annealing.best)[:UPPER] <= values_of(problem, start)[:UPPER]
    assert values_of(problem, annealing.best)[2] == values_of(problem, start)[2] == 6


def test_between_two_placements_the_board_is_dearer_by_what_the_tiers_say() -> None:
    # Spreads that are left out whole are priced otherwise, by as much everywhere.
    differ = 0
    for case in possible(range(240)):
        start = greedy(case.problem, watch())
        if start is None or case.problem.spreads:
            continue
        annealing = Annealing(case.problem, start)
        annealing.run(Watch(0.001))
        scale = scale_of(case.problem)
        one, other = (
            (Board(case.problem, knobs).value, scale.cost(*values_of(case.problem, knobs)[:UPPER]))
            for knobs in (start, annealing.best)
        )
        assert one[0] - other[0] == one[1] - other[1], case.seed
        differ += one[0] != other[0]
    assert differ > 10
