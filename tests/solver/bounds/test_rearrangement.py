"""The bound of *layout* by counting: never above any placement that is good enough before it."""

from __future__ import annotations

import random
from itertools import product

import pytest

from knobpack.numbered.problem import Atom, Mix, Problem, bits
from knobpack.solver.bounds.rearrangement import rearranged
from knobpack.solver.evaluate import values_of
from knobpack.solver.outcome import Values
from tests.oracles.problems import a_problem, meets, possible

LOADS = Mix(2000, (), 800)


def drawn(seed: int) -> Problem:
    """Few atoms that are drawn up the order of reach and heap up, with all that *layout* has."""
    draw = random.Random(seed)  # noqa: S311 (no secret)
    count, knobs = draw.randint(3, 5), draw.randint(2, 3)
    items = count + draw.randint(0, 2)
    owner = [item if item < count else draw.randrange(count) for item in range(items)]
    atoms = []
    for number in range(count):
        own = sum(1 << item for item in range(items) if owner[item] == number)
        where = (1 << knobs) - 1 if draw.random() < 0.6 else draw.randrange(1, 1 << knobs)
        omission = draw.choice((0, 1, 4, 16))
        needed = not omission or draw.random() < 0.3
        atoms.append(Atom(own, own.bit_count(), where, None, needed, omission))
    clashes = [0] * count
    for one in range(count):
        for other in range(one):
            if draw.random() < draw.choice((0.1, 0.5)):
                clashes[one] |= 1 << other
                clashes[other] |= 1 << one
    steps = list(range(knobs))
    if draw.random() < 0.3:
        draw.shuffle(steps)
    several = tuple(
        mask
        for mask in (draw.randrange(1 << items) & ~0b11, 0b11)
        if mask.bit_count() > 1 and draw.random() < 0.5
    )
    kinds = (0b101,) if draw.random() < 0.5 else ()
    return a_problem(
        knobs,
        items,
        atoms=tuple(atoms),
        clashes=tuple(clashes),
        mixes=(
            *(Mix(300, kinds), Mix(2000, several, draw.choice((100, 800)))),
            *(Mix(1000, among=draw.randrange(1 << items)), Mix(100)),
        ),
        per_knob=draw.choice((items, items, 3)),
        routes=draw.choice((items, items, items - 1)),
        places=tuple(
            tuple(draw.choice((0, 0, 10, 60)) for _ in range(knobs)) for _ in range(items)
        ),
        steps=tuple(steps),
        pulls=tuple(draw.randint(0, 40) for _ in range(items)),
        runs=((draw.randrange(1, 1 << items), 60), (draw.randrange(1, 1 << items), 20)),
        beside=(False, *(draw.random() < 0.6 for _ in range(knobs - 1))),
        sequence=tuple((item, item + 1) for item in range(items - 1) if draw.random() < 0.5),
        out_of_sequence=draw.choice((0, 40)),
    )


def every_value(problem: Problem) -> list[Values]:
    """The values of every valid placement."""
    found = []
    for way in product(*([*bits(atom.knobs), None] for atom in problem.atoms)):
        knobs = {
            item: knob
            for atom, knob in zip(problem.atoms, way, strict=True)
            if knob is not None
            for item in bits(atom.items)
        }
        if meets(problem, knobs):
            found.append(values_of(problem, knobs))
    return found


def test_no_placement_as_good_in_the_tiers_before_is_below_the_bound() -> None:
    compared = met = low = high = 0
    for seed in range(60):
        problem, draw = drawn(seed), random.Random(seed)  # noqa: S311 (no secret)
        every = every_value(problem)
        for held in [*draw.sample(every, min(6, len(every))), *sorted(every)[:1]]:
            bound = rearranged(problem, held[:5])
            as_good = [own for own in every if all(map(int.__le__, own[:5], held[:5]))]
            least = min(own[5] for own in as_good)
            assert bound <= least, (seed, held)
            compared += 1
            met += bound == least > 0
            low, high = low + bound, high + least
    assert compared > 300
    assert met > 10
    assert low > 0.3 * high


def test_no_bound_is_above_the_value_of_a_request_of_any_sort() -> None:
    met = 0
    for each in possible(range(200)):
        *held, value = each.values
        bound = rearranged(each.problem, held)
        assert bound <= value, each.seed
        met += bound == value > 0
    assert met > 5


def test_loads_that_are_drawn_are_spread_as_sharing_has_it() -> None:
    # Two knobs, four loads. Two apiece: the two that are drawn most are on the nearer one.
    problem = a_problem(2, 4, mixes=(LOADS,), pulls=(1, 2, 3, 4))
    assert rearranged(problem, (0, 0, 0, 2 * 2000, 0)) == 1 + 2
    # Three and one would cost a heap more; with all that is held all may be on the nearer one.
    assert rearranged(problem, (0, 0, 0, 2 * 2000 + 800, 0)) == 1
    assert rearranged(problem, (0, 0, 0, 3 * 2000 + 3 * 800, 0)) == 0


def test_what_may_be_left_out_is_what_saves_most_for_its_cost() -> None:
    atoms = tuple(Atom(1 << n, 1, 0b11, None, False, cost) for n, cost in enumerate((1, 4, 4, 9)))
    problem = a_problem(2, 4, atoms=atoms, mixes=(LOADS,), pulls=(8, 9, 9, 9))
    assert rearranged(problem, (0, 0, 0, 2 * 2000, 0)) == 8 + 9
    assert 0 < rearranged(problem, (1, 0, 0, 2000, 0)) <= 9
    assert rearranged(problem, (18, 0, 0, 0, 0)) == 0


def test_a_pair_on_knobs_that_do_not_meet_is_out_of_sequence() -> None:
    def apart(first: int, second: int, **more: object) -> int:
        atoms = (Atom(1, 1, first, None, True, 1), Atom(2, 1, second, None, True, 1))
        pair = {"sequence": ((0, 1),), "out_of_sequence": 1000}
        return rearranged(a_problem(4, 2, atoms=atoms, **(pair | more)), (0, 0, 0, 0, 0))

    assert apart(0b0001, 0b1000) == 1000
    assert apart(0b0100, 0b0011) == 2000
    assert apart(0b0010, 0b0100) == apart(0b0110, 0b0110) == 0
    assert apart(0b0010, 0b0100, beside=(False, True, False, True)) == 1000
    assert apart(0b0010, 0b0010) == 0


@pytest.mark.parametrize("knobs", [40, 512])
def test_there_is_a_bound_at_any_size(knobs: int) -> None:
    pulls = tuple(1 + item % 7 for item in range(4 * knobs))
    problem = a_problem(knobs, 4 * knobs, mixes=(LOADS,), pulls=pulls)
    evenly = 3 * knobs * (2000 + 800)
    least = sum(p * (at // 4) for at, p in enumerate(sorted(pulls, reverse=True)))
    assert 0.9 * least < rearranged(problem, (0, 0, 0, evenly, 0)) <= least
