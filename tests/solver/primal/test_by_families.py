"""Annealing by families: what it finds meets every demand, is no worse than its start."""

from __future__ import annotations

import attrs

from knobpack.numbered.problem import Mix
from knobpack.solver.evaluate import values_of
from knobpack.solver.families import families
from knobpack.solver.primal.by_families import ByFamilies
from knobpack.solver.primal.greedy import greedy
from knobpack.solver.watch import Watch
from tests.oracles.problems import a_problem, meets, possible, watch

UPPER = 4


def test_on_seeded_requests_it_is_valid_and_often_as_good_as_brute_force() -> None:
    better = best = 0
    for case in possible(range(500)):
        start = greedy(case.problem, watch())
        if start is None:
            continue
        search = ByFamilies(case.problem, families(case.problem), start)
        found = search.run(Watch(0.01))
        assert found is not None, case.seed
        assert meets(case.problem, found), case.seed
        values = values_of(case.problem, found)[:UPPER]
        begun = values_of(case.problem, start)[:UPPER]
        assert case.values[:UPPER] <= values, case.seed
        assert values <= begun or case.problem.spreads, case.seed
        better += values < begun
        best += values == case.values[:UPPER] < begun
    assert better > 10
    assert best > 8


def test_knobs_are_divided_anew_where_two_families_have_to_change_at_once() -> None:
    # Six kinds and three: two knobs too few for the one are two too many for the other.
    kinds = tuple(0b11 << 2 * at for at in range(9))
    first, second = (1 << 12) - 1, (1 << 18) - 1 & ~((1 << 12) - 1)
    clashes = tuple(second if item < 12 else first for item in range(18))
    problem = a_problem(9, 18, clashes=clashes, mixes=(Mix(700, kinds),))
    start = {item: item // 2 // 2 if item < 12 else 3 + item - 12 for item in range(18)}
    search = ByFamilies(problem, families(problem), start)
    assert search.apart
    found = search.run(Watch(0.5))
    assert found is not None
    assert meets(problem, found)
    assert values_of(problem, start)[3] > values_of(problem, found)[3] == 0


def test_what_is_alone_gives_its_knob_up_where_a_family_needs_it_more() -> None:
    kinds = (0b0011, 0b1100)
    clashes = (0b110000, 0b110000, 0b110000, 0b110000, 0b101111, 0b011111)
    problem = a_problem(3, 6, clashes=clashes, mixes=(Mix(700, kinds),))
    *two, one, other = problem.atoms
    atoms = (*two, one, attrs.evolve(other, omission=0, hidden=99))
    problem = attrs.evolve(problem, atoms=atoms)
    start = {0: 0, 1: 0, 2: 0, 3: 0, 4: 1, 5: 2}
    found = ByFamilies(problem, families(problem), start).run(Watch(0.1))
    assert found is not None
    assert meets(problem, found)
    assert values_of(problem, start)[3] == 700
    assert values_of(problem, found)[:UPPER] == (0, 0, 0, 99)


def test_the_same_effort_gives_the_same_and_an_end_leaves_the_start() -> None:
    kinds = tuple(0b111 << 3 * at for at in range(4))
    clashes = tuple(0b111111 << (6 if item < 6 else 0) for item in range(12))
    problem = a_problem(4, 12, clashes=clashes, mixes=(Mix(700, kinds),))
    start = {item: item % 2 + (0 if item < 6 else 2) for item in range(12)}
    found = [ByFamilies(problem, families(problem), start).run(Watch(0.01)) for _ in range(2)]
    assert found[0]
    assert found[0] == found[1]
    idle = ByFamilies(problem, families(problem), start).run(Watch(0.0))
    assert idle is not None
    assert values_of(problem, idle)[:UPPER] == values_of(problem, start)[:UPPER]
