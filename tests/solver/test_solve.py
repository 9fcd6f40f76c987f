"""Solving: what brute force finds, whichever way is taken, on larger requests too."""

from __future__ import annotations

import attrs
import networkx as nx
import pytest

from knobpack.numbered.problem import Mix
from knobpack.solver import solve as solving
from knobpack.solver.bounds.rearrangement import rearranged
from knobpack.solver.optima.dominance import TooManyVariantsError
from knobpack.solver.outcome import ImpossibleError, NothingFoundError
from knobpack.solver.solve import solve
from knobpack.solver.watch import Watch
from tests.oracles.problems import a_problem, cases, needed_atoms, of_graph, watch


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


def test_stopped_before_anything_is_known_it_says_so() -> None:
    # No three of a circle of five clash with each other, and yet two knobs are not enough.
    circle = needed_atoms(of_graph(nx.cycle_graph(5), 2))
    with pytest.raises(NothingFoundError):
        solve(circle, Watch(0.0))
    with pytest.raises(ImpossibleError):
        solve(circle, watch())


def test_layout_has_the_bound_of_counting_where_nothing_else_bounds_it() -> None:
    pulls = tuple(1 + item % 5 for item in range(30))
    problem = a_problem(6, 30, mixes=(Mix(2000, (), 800),), pulls=pulls)
    outcome = solve(problem, Watch(0.0))
    counted = rearranged(problem, outcome.values[:5])
    assert outcome.values[5] >= outcome.bounds[5] == counted > 0
