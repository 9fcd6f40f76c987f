"""Solving: what brute force finds, whichever way is taken, on larger requests too."""

from __future__ import annotations

import attrs
import networkx as nx
import pytest

from knobpack.numbered_request import problem_of
from knobpack.solver import solve as solving
from knobpack.solver.evaluate import values_of
from knobpack.solver.optima.dominance import TooManyVariantsError
from knobpack.solver.outcome import ImpossibleError, NothingFoundError
from knobpack.solver.solve import solve
from knobpack.solver.watch import Watch
from tests.oracles import masks
from tests.oracles.brute import least
from tests.oracles.problems import a_problem, cases, needed_atoms, of_graph, possible, watch
from tests.oracles.reading import read
from tests.oracles.strategies import busy_request


def test_it_is_what_brute_force_finds() -> None:
    breakable = impossible = 0
    for case in cases(range(500, 660)):
        if case.best is None:
            with pytest.raises(ImpossibleError):
                solve(case.problem, watch())
            impossible += 1
            continue
        outcome = solve(case.problem, watch())
        assert outcome.values == outcome.bounds == case.values, case.seed
        assert values_of(case.problem, outcome.knobs) == case.values, case.seed
        breakable += bool(case.problem.breakable)
    assert impossible > 10
    assert breakable > 30


def test_on_eight_destinations_and_four_knobs_too() -> None:
    tried = 0
    for seed in range(100, 150):
        request = busy_request(seed)
        layers, stored = request.surface.layers, request.surface.snapshots
        if (len(request.destinations), len(request.surface.knobs)) != (8, 4):
            continue
        if layers is not None or stored is not None:
            continue
        best = least(request)
        if best is None:
            with pytest.raises(ImpossibleError):
                solve(problem_of(request), watch())
        else:
            outcome = solve(problem_of(request), watch())
            assert outcome.values == outcome.bounds == best.totals, seed
        tried += 1
    assert tried >= 3


def test_where_ties_are_too_many_to_list_search_takes_over(monkeypatch: pytest.MonkeyPatch) -> None:
    taken = 0

    def refuse(*_: object) -> None:
        nonlocal taken
        taken += 1
        raise TooManyVariantsError

    monkeypatch.setattr(solving, "arranged", refuse)
    for case in cases(range(500, 540)):
        if case.best is not None:
            outcome = solve(case.problem, watch())
            assert outcome.values == outcome.bounds == case.values, case.seed
    assert taken > 15


def test_breaking_nothing_is_tried_first_and_given_up_where_it_leaves_something_out() -> None:
    # The two may share only if a snapshot is broken (cost 7), and there is one knob.
    problem = a_problem(1, 2, breakable=((0b01, 7),))
    outcome = solve(needed_atoms(problem), watch())
    assert outcome.values == outcome.bounds == (0, 0, 7, 0, 0, 0)
    # Leaving one out costs more than any number of breaks: the tier before counts first.
    assert solve(problem, watch()).values == (0, 0, 7, 0, 0, 0)
    apart = solve(attrs.evolve(problem, clashes=(0b10, 0b01)), watch())
    assert apart.values == apart.bounds == (1, 0, 0, 0, 0, 0)


def test_what_is_expendable_joins_nothing_and_is_left_out_first() -> None:
    alone = left_out = 0
    for case in possible(range(240)):
        reading = read(case.request)
        if not reading.expendable:
            continue
        outcome = solve(case.problem, watch())
        for knob in range(case.problem.knobs):
            mask = sum(1 << item for item, at in outcome.knobs.items() if at == knob)
            assert not masks.intruding(reading, mask), case.seed
        placed = sum(1 << item for item in outcome.knobs)
        alone += bool(placed & reading.expendable)
        left_out += bool(reading.expendable & ~placed)
    assert alone > 10
    assert left_out > 10


def test_stopped_before_anything_is_known_it_says_so() -> None:
    # No three of a circle of five clash with each other, and yet two knobs are not enough.
    circle = needed_atoms(of_graph(nx.cycle_graph(5), 2))
    with pytest.raises(NothingFoundError):
        solve(circle, Watch(0.0))
    with pytest.raises(ImpossibleError):
        solve(circle, watch())
