"""What sets cost: against the oracle's reading of the words, set by set, and by hand."""

from __future__ import annotations

import random

import numpy as np

from knobpack.numbered.problem import Mix
from knobpack.solver.costs import FAR, indicator, set_costs
from knobpack.solver.families import families
from knobpack.solver.value_functions.scale import scale_of
from knobpack.solver.value_functions.subset_dp import table_of
from tests.oracles import masks
from tests.oracles.problems import a_problem, cases
from tests.oracles.reading import read


def test_any_set_costs_what_the_words_say() -> None:
    compared, kept, bundled, several = 0, 0, 0, 0
    for case in cases(range(180)):
        problem, reading = case.problem, read(case.request)
        draw = random.Random(case.seed)  # noqa: S311 (no secret)
        items = list(range(problem.items))
        draw.shuffle(items)
        pins = {atom.pinned for atom in problem.atoms} - {None}
        for _ in range(6):
            mask = draw.randint(1, (1 << problem.items) - 1)
            held = {a.pinned for a in problem.atoms if a.items & mask} - {None}
            whole = all(a.items & ~mask == 0 or not a.items & mask for a in problem.atoms)
            if len(held) > 1 or not problem.knobs or not whole:
                continue
            free = [knob for knob in range(problem.knobs) if knob not in pins]
            knob = next(iter(held), free[0] if free else None)
            if knob is None or (reading.kept_travel[knob] and not held):
                continue
            spreads = sum(
                weight
                for spread, weight in masks.spreads(reading)
                if spread & mask and spread.bit_count() > 1
            )
            bundles, breaks, sharing = set_costs(problem, items, indicator([mask], items).T)
            some = sum(1 for bundle in reading.bundles if bundle & mask)
            assert bundles.tolist() == [some], case.seed
            assert breaks.tolist() == [masks.breaks(reading, mask)], case.seed
            assert sharing.tolist() == [masks.sharing(reading, knob, mask) + spreads], case.seed
            compared += 1
            bundled += some > 0
            several += some > 1
            kept += reading.kept_travel[knob] is not None
    assert compared > 300
    assert kept > 10
    assert bundled > 80
    assert several > 0


def test_a_set_costs_the_same_beside_others() -> None:
    seen = 0
    for case in cases(range(40)):
        for part in families(case.problem):
            table = table_of(case.problem, scale_of(case.problem), part)
            own = np.minimum(table.free, table.pinned)
            for chosen in (at for at in (1, table.full) if own[at] < FAR):
                mask = sum(
                    case.problem.atoms[number].items
                    for at, number in enumerate(part)
                    if chosen >> at & 1
                )
                items = list(range(case.problem.items))
                costs = set_costs(case.problem, items, indicator([mask], items).T)
                assert own[chosen] == scale_of(case.problem).cost(0, *costs)[0]
                seen += 1
    assert seen > 100


def test_by_hand() -> None:
    problem = a_problem(
        2,
        3,
        mixes=(Mix(300, (0b011,)), Mix(200, (0b110,)), Mix(1000, among=0b101), Mix(100)),
        pairs={(0, 2): 11},
        intrusions=((0b001, 5),),
        breakable=((0b001, 7),),
        bundles=(0b011, 0b110),
        travel_prices=((0, 30, 40), (1, 0, 2)),
        wanted=(0, 1, 1),
    )
    sets = indicator([0b001, 0b011, 0b111], [0, 1, 2]).T
    bundles, breaks, sharing = set_costs(problem, [0, 1, 2], sets)
    # The second: two voices (200), one more (100), intruded on (5); its travel costs 30 or 1.
    # The third: kinds (300), voices (200), two that are essential (1000), two more (200), the pair
    # (11), intruded on (5); 70 or 3.
    assert sharing.tolist() == [0, 200 + 100 + 5 + 1, 300 + 200 + 1000 + 200 + 11 + 5 + 3]
    assert breaks.tolist() == [0, 7, 7]
    # The second item is of both bundles.
    assert bundles.tolist() == [1, 2, 2]


def test_a_travel_that_nobody_in_the_set_wants_is_not_taken() -> None:
    problem = a_problem(1, 2, travel_prices=((0, 9), (9, 0)), wanted=(0, 1))
    _, _, sharing = set_costs(problem, [0, 1], indicator([0b01, 0b10, 0b11], [0, 1]).T)
    assert sharing.tolist() == [0, 0, 9]


def test_two_that_are_ruled_out_still_add_up_in_64_bits() -> None:
    assert int(np.array([FAR], dtype=np.int64)[0] + np.int64(FAR)) == 2 * FAR


def test_indicator_says_what_stands_in_what() -> None:
    assert indicator([0b01, 0b11], [1, 0]).tolist() == [[0, 1], [1, 1]]
    assert indicator([], [0, 1]).shape == (2, 0)
