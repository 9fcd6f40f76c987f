"""Alike: what can be exchanged is, and going through one of each sort loses nothing."""

from __future__ import annotations

import random
from itertools import permutations

import attrs

from knobpack import Destination, Knob, Surface, Travel, Voice, allocate
from knobpack.numbered.problem import Before, Mix, Problem
from knobpack.solver.arrangement.arrange import best_choice
from knobpack.solver.arrangement.cluster import Choice, Places
from knobpack.solver.optima.dominance import Variants
from knobpack.solver.optima.enumeration import Priced, tied
from knobpack.solver.optima.symmetry import alike, takes_the_first, within
from knobpack.solver.value_functions.scale import scale_of
from knobpack.solver.value_functions.subset_dp import subset_table_of
from knobpack.solver.value_functions.table import table_of
from tests.oracles.problems import a_problem, every_column, needed_atoms, watch


def twins(draw: random.Random) -> Problem:
    """Six items of two or three sorts, so that many are alike."""
    sorts = [draw.randrange(3) for _ in range(6)]
    pulls = [draw.randint(0, 4) for _ in range(3)]
    rows = [tuple(draw.choice((0, 0, 5)) for _ in range(4)) for _ in range(3)]
    wanted = [draw.randrange(2) for _ in range(3)]
    prices = tuple(
        tuple(0 if wanted[sort] == travel else 7 for sort in sorts) for travel in range(2)
    )
    voice = sum(1 << item for item, sort in enumerate(sorts) if sort == 0) or 1
    problem = a_problem(
        4,
        6,
        pulls=tuple(pulls[sort] for sort in sorts),
        places=tuple(rows[sort] for sort in sorts),
        wanted=tuple(wanted[sort] for sort in sorts),
        travel_prices=prices,
        runs=((voice, 10),),
        mixes=(Mix(draw.choice((0, 3))),),
    )
    return needed_atoms(problem)


def test_what_is_alike_by_hand() -> None:
    plain = a_problem(3, 4)
    assert alike(plain) == [0b1111]
    assert alike(attrs.evolve(plain, pulls=(1, 2, 1, 2))) == [0b0101, 0b1010]
    assert alike(attrs.evolve(plain, mixes=(Mix(1, (0b1110,)),))) == [0b1110]
    before = Before(0b0001, None, None), Before(0b1000, 1, None)
    assert alike(attrs.evolve(plain, before=before)) == [0b0110]
    # What one knob drove can be exchanged, and so can what is of one bundle.
    assert alike(attrs.evolve(plain, before=(Before(0b0011, 1, None),))) == [0b0011, 0b1100]
    assert alike(attrs.evolve(plain, bundles=(0b0011, 0b1100))) == [0b0011, 0b1100]
    # What costs something else where it is left out cannot, in whichever tier that is.
    first, *rest = plain.atoms
    for dearer in (
        attrs.evolve(first, omission=2),
        attrs.evolve(first, strays=1),
        attrs.evolve(first, hidden=9),
    ):
        assert alike(attrs.evolve(plain, atoms=(dearer, *rest))) == [0b1110]
    # The two of a sequence cannot be exchanged with anything.
    assert alike(attrs.evolve(plain, sequence=((0, 1),), out_of_sequence=9)) == [0b1100]
    # 0 may not share with 1: these two can still be exchanged, and so can 2 and 3.
    assert alike(attrs.evolve(plain, clashes=(0b0010, 0b0001, 0, 0))) == [0b0011, 0b1100]
    # A path 0 - 1 - 2: its ends can be exchanged.
    assert alike(attrs.evolve(plain, clashes=(0b010, 0b101, 0b010, 0))) == [0b0101]
    assert alike(attrs.evolve(plain, pairs={(0, 1): 5, (1, 2): 5})) == [0b0101]
    assert alike(attrs.evolve(plain, pairs={(0, 1): 5, (1, 2): 6})) == []


def test_to_exchange_what_is_alike_changes_nothing_in_the_problem() -> None:
    found = 0
    for seed in range(30):
        problem = twins(random.Random(seed))  # noqa: S311 (no secret)
        for members in alike(problem):
            a, b = [n for n in range(6) if members >> n & 1][:2]
            order = [b if n == a else a if n == b else n for n in range(6)]
            assert [problem.pulls[n] for n in order] == list(problem.pulls)
            assert [problem.places[n] for n in order] == list(problem.places)
            assert all([row[n] for n in order] == list(row) for row in problem.travel_prices)
            found += 1
    assert found > 20


def test_the_first_of_those_left() -> None:
    classes = [0b00111, 0b11000]
    assert takes_the_first(0b00001, 0b11111, classes)
    assert not takes_the_first(0b00010, 0b11111, classes)
    assert takes_the_first(0b00010, 0b11110, classes)
    assert takes_the_first(0b01011, 0b11111, classes)
    assert not takes_the_first(0b10011, 0b11111, classes)
    assert takes_the_first(0, 0b11111, classes)
    assert within([0b1110, 0b0011], (1, 3, 2)) == [0b111]


def test_of_every_set_of_orders_one_takes_the_first() -> None:
    # Three alike, one by one: of 3! orders one is left.
    orders = 0
    for order in permutations(range(3)):
        left, first = 0b111, True
        for item in order:
            first = first and takes_the_first(1 << item, left, [0b111])
            left &= ~(1 << item)
        orders += first
    assert orders == 1


def test_nothing_is_lost() -> None:
    fewer = 0
    for seed in range(25):
        problem = twins(random.Random(seed))  # noqa: S311 (no secret)
        places, atoms = Places.of(problem), tuple(range(6))
        value_function = subset_table_of(table_of(problem, scale_of(problem), atoms), 4)
        for knobs in range(1, 5):
            every, some = (
                Variants(value_function, places, classes) for classes in ((), alike(problem))
            )
            costs = [
                best_choice(problem, [Choice((tuple(each.on(knobs)),), 0)], watch())
                for each in (every, some)
            ]
            assert costs[0] is not None
            assert costs[1] is not None
            assert costs[0].cost == costs[1].cost, (seed, knobs)
            fewer += some._steps < every._steps
        pool = [Priced(column, 0) for column in every_column(problem)]
        (value,) = [each.costs[3] for each in every_column(problem) if each.items == 0b111111]
        with_all, without = (
            list(tied(problem, [atoms], pool, 0, (0, 0, 0, value), classes))
            for classes in ([], alike(problem))
        )
        both = [best_choice(problem, ways, watch()) for ways in (with_all, without)]
        assert (both[0] and both[0].cost) == (both[1] and both[1].cost), seed
    assert fewer > 50


def test_two_dozen_that_are_alike_are_proven() -> None:
    surface = Surface(tuple(Knob(f"K{number}", 1, number) for number in range(1, 9)))
    voices = [
        Voice(
            f"Voice {number}",
            tuple(Destination(f"Drawbar {at}", "level", 3, Travel(0, 127)) for at in range(12)),
            number,
        )
        for number in (1, 2)
    ]
    found = allocate(voices, surface)
    assert all(tier.proven for tier in found.tiers)
