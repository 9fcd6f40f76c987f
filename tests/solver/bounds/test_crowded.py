"""Bounds by the number of loads: never above brute force, and what counting says at any size."""

from __future__ import annotations

import random
from itertools import product

import pytest

from knobpack.numbered.problem import Atom, Mix, Problem, Spread, bits
from knobpack.solver.bounds.crowded import crowded_bound
from knobpack.solver.evaluate import values_of
from knobpack.solver.outcome import Values
from knobpack.solver.watch import Watch
from tests.oracles.problems import a_problem, possible

NO_TIME = Watch(0.0)


def drawn(seed: int) -> Problem:
    """Few atoms of one item or several, with all that sharing costs, and loads in some atoms."""
    draw = random.Random(seed)  # noqa: S311 (no secret)
    count, knobs = draw.randint(3, 5), draw.randint(1, 3)
    items = count + draw.randint(0, 3)
    owner = [item if item < count else draw.randrange(count) for item in range(items)]

    def classes(several: int) -> tuple[int, ...]:
        of = [draw.randrange(several) if draw.random() < 0.9 else -1 for _ in range(items)]
        found = [sum(1 << i for i, own in enumerate(of) if own == at) for at in range(several)]
        return tuple(mask for mask in found if mask.bit_count() > 1)

    atoms = []
    for number in range(count):
        own = sum(1 << item for item in range(items) if owner[item] == number)
        free = draw.random() < 0.25
        where = (1 << knobs) - 1 if draw.random() < 0.8 else draw.randrange(1, 1 << knobs)
        hidden = draw.randint(0, 200) if free else 0
        atoms.append(Atom(own, own.bit_count(), where, None, False, int(not free), 0, hidden))
    clashes = [0] * count
    for one in range(count):
        for other in range(one):
            if draw.random() < 0.15:
                clashes[one] |= 1 << other
                clashes[other] |= 1 << one
    wanted = tuple(draw.randrange(3) for _ in range(items))
    prices = tuple(
        tuple(0 if own == travel else draw.choice((0, 50, 200, 1000)) for own in wanted)
        for travel in range(3)
    )
    loads = classes(draw.randint(1, 5)) if draw.random() < 0.6 else ()
    mixes = [
        Mix(draw.choice((0, 300)), classes(draw.randint(1, 4))),
        Mix(draw.choice((0, 200)), classes(draw.randint(1, 4))),
        Mix(draw.choice((0, 2000)), loads, draw.choice((0, 100, 800))),
        Mix(100),
    ]
    if draw.random() < 0.2:
        mixes.insert(0, Mix(70, classes(2)))
    if draw.random() < 0.6:
        among = draw.randrange(1, 1 << items)
        inside = tuple(own for mask in loads if (own := mask & among).bit_count() > 1)
        mixes.insert(3, Mix(draw.choice((10, 1000)), inside, among=among))
    return a_problem(
        knobs,
        items,
        atoms=tuple(atoms),
        clashes=tuple(clashes),
        mixes=tuple(mixes),
        travel_prices=prices,
        wanted=wanted,
        per_knob=draw.choice((items, items, 3, 4)),
        spreads=(Spread(draw.randrange(1, 1 << items), 150),) if draw.random() < 0.5 else (),
        pairs={(0, 2): draw.randint(1, 300)} if draw.random() < 0.3 else {},
        intrusions=((0b11, draw.randint(1, 300)),) if draw.random() < 0.3 else (),
    )


def best(problem: Problem) -> Values | None:
    """The values of the best placement, by going through all of them."""
    found = None
    for way in product(*([*bits(atom.knobs), None] for atom in problem.atoms)):
        sets: dict[int, int] = {}
        for number, knob in enumerate(way):
            if knob is not None:
                sets[knob] = sets.get(knob, 0) | 1 << number
        clashing = any(problem.clashes[n] & own for own in sets.values() for n in bits(own))
        items = {knob: problem.items_of(own) for knob, own in sets.items()}
        loads = [own.bit_count() for own in items.values()]
        if clashing or max(loads, default=0) > problem.per_knob or sum(loads) > problem.routes:
            continue
        values = values_of(problem, {item: k for k, own in items.items() for item in bits(own)})
        if found is None or values < found:
            found = values
    return found


def test_no_bound_is_above_what_brute_force_finds() -> None:
    met = raised = counted = whole = 0
    for seed in range(40):
        problem = drawn(seed)
        values = best(problem)
        assert values is not None
        found = [
            crowded_bound(problem, values[:3], values[3] + more, Watch(effort))
            for more, effort in ((1, 0.01), (700, 0.01), (700, 0.0))
        ]
        assert max(found) <= values[3], seed
        met += values[3] in found[:2]
        raised += max(found[:2])
        counted += found[2]
        whole += values[3]
    assert met > 1
    assert whole > raised > 1.05 * counted > 0.35 * whole


def test_no_bound_is_above_the_value_of_a_request_of_any_sort() -> None:
    met = 0
    for case in possible(range(80)):
        value = case.values[3]
        bound = crowded_bound(case.problem, case.values[:3], value + 1, Watch(0.01))
        assert bound <= value, case.seed
        met += bound == value > 0
    assert met > 5


def test_loads_are_spread_as_evenly_as_can_be() -> None:
    # Seven loads on three knobs: 3, 2 and 2. Four loads more than one, one heap of two of them.
    problem = a_problem(3, 7, mixes=(Mix(2000, (), 800), Mix(100)))
    assert crowded_bound(problem, (0, 0, 0), 10**6, NO_TIME) == 4 * 2100 + 800


def test_classes_of_two_mixes_are_counted_together() -> None:
    # Of a chequered panel of kinds and voices, four loads on a knob are two of each at least.
    kinds = tuple(0b1111 << 4 * at for at in range(4))
    voices = tuple(0b0001000100010001 << at for at in range(4))
    problem = a_problem(4, 16, mixes=(Mix(30, kinds), Mix(20, voices), Mix(0, (), 800)))
    assert crowded_bound(problem, (0, 0, 0), 10**6, NO_TIME) == 4 * (800 * 3 + 30 + 20)


def test_what_may_be_left_out_for_less_than_it_adds_is() -> None:
    problem = a_problem(1, 5, mixes=(Mix(2000, (), 800),))
    atoms = (*problem.atoms[:3], *(Atom(1 << n, 1, 1, None, False, 0, 0, 99) for n in (3, 4)))
    some = a_problem(1, 5, atoms=atoms, mixes=problem.mixes)
    assert crowded_bound(some, (0, 0, 0), 10**6, NO_TIME) == 2 * 2000 + 800 + 2 * 99


@pytest.mark.parametrize("items", [50, 2000])
def test_there_is_a_bound_at_any_size(items: int) -> None:
    problem = a_problem(items // 5, items, mixes=(Mix(2000, (), 800),))
    assert crowded_bound(problem, (0, 0, 0), 10**9, NO_TIME) == items // 5 * (4 * 2000 + 6 * 800)
