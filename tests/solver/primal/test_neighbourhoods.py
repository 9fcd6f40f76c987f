"""Neighbourhoods: what they find meets every demand and is never worse, often the best."""

from __future__ import annotations

from knobpack.numbered.less import part_of
from knobpack.numbered.problem import Mix, bits
from knobpack.solver.evaluate import values_of
from knobpack.solver.outcome import UPPER
from knobpack.solver.primal.greedy import greedy
from knobpack.solver.primal.neighbourhoods import Neighbourhoods
from knobpack.solver.store import Store
from knobpack.solver.watch import Watch
from tests.oracles.problems import a_problem, meets, possible, watch


def test_on_seeded_requests_it_is_valid_and_often_as_good_as_brute_force() -> None:
    better = best = 0
    for case in possible(range(160)):
        store = Store(case.problem)
        store.offer(greedy(case.problem, watch()))
        if store.values is None or store.upper == case.values[:UPPER]:
            continue
        begun = store.values
        Neighbourhoods(store).improve(Watch(0.3))
        assert meets(case.problem, store.knobs), case.seed
        assert case.values[:UPPER] <= store.upper <= begun[:UPPER], case.seed
        better += store.upper < begun[:UPPER]
        best += store.upper == case.values[:UPPER]
    assert better > 10
    assert best > 5


def test_it_ends_where_nothing_new_is_drawn() -> None:
    # Four kinds of three on four knobs, two and two exchanged: one neighbourhood mends it.
    problem = a_problem(4, 12, mixes=(Mix(7, tuple(0b111 << 3 * at for at in range(4))),))
    store = Store(problem)
    store.offer({item: (item // 3 + (item in (0, 3))) % 4 for item in range(12)})
    before = store.values
    own = watch()
    Neighbourhoods(store).improve(own)
    assert before is not None
    assert store.values is not None
    assert store.values < before
    assert own.effort > 0


def test_what_a_part_gains_the_whole_gains() -> None:
    # All that is on one knob goes to another: each tier changes by as much in both.
    compared = 0
    for case in possible(range(120)):
        problem = case.problem
        if problem.knobs < 2:
            continue
        start = greedy(problem, watch()) or {}
        other = dict(start)
        for item, knob in start.items():
            other[item] = 0 if knob == 1 else knob
        numbers = [
            number
            for number, atom in enumerate(problem.atoms)
            if start.get(next(bits(atom.items))) in (0, 1)
        ]
        part = part_of(problem, numbers, 0b11, problem.routes)
        inner = [{i: k for i, k in each.items() if k in (0, 1)} for each in (start, other)]
        whole = [values_of(problem, each)[:UPPER] for each in (start, other)]
        own = [values_of(part, each)[:UPPER] for each in inner]
        gains = [tuple(b - a for a, b in zip(*pair, strict=True)) for pair in (whole, own)]
        assert gains[0] == gains[1] or problem.spreads, case.seed
        compared += gains[0] != (0, 0, 0, 0)
        for place, number in enumerate(numbers):
            mates = {numbers[at] for at in bits(part.clashes[place])}
            assert mates == {at for at in bits(problem.clashes[number]) if at in numbers}
    assert compared > 2
