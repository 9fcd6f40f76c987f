"""What a placement is worth, against the oracle's reading of the request and the definitions."""

from __future__ import annotations

import random
from collections import Counter

import attrs

from knobpack.checker import check
from knobpack.numbered.problem import Before
from knobpack.solver.evaluate import values_of
from knobpack.words import Layout, Route
from tests.oracles import masks
from tests.oracles.brute import price
from tests.oracles.problems import a_problem, cases
from tests.oracles.reading import read


def test_any_valid_placement_is_worth_what_the_oracle_says() -> None:
    compared, left_out, tiers = 0, 0, [0] * 6
    for case in cases(range(180)):
        names, knobs = tuple(case.request.by_full_name), case.request.surface.knob_names
        draw, reading = random.Random(case.seed), read(case.request)  # noqa: S311 (no secret)
        for _ in range(5):
            placed: dict[int, int] = {}
            few = draw.sample(range(len(knobs)), draw.randint(1, len(knobs))) if knobs else []
            for atom in case.problem.atoms:
                knob = draw.choice(few) if few and draw.random() < 0.8 else None
                knob = knob if atom.pinned is None else atom.pinned
                for item in range(case.problem.items):
                    if atom.items >> item & 1 and knob is not None:
                        placed[item] = knob
            layout = Layout(tuple(Route(names[item], knobs[knob]) for item, knob in placed.items()))
            known = price(case.request, layout)
            on = [sum(1 << i for i, at in placed.items() if at == knob) for knob in set(few)]
            # What is expendable joins nothing, in whatever the solver looks at.
            if not known.valid or any(masks.intruding(reading, mask) for mask in on):
                continue
            values = values_of(case.problem, placed)
            assert values == known.totals, case.seed
            compared += 1
            left_out += len(placed) < len(names)
            tiers = [count + (value > 0) for count, value in zip(tiers, values, strict=True)]
    assert compared > 150
    assert left_out > 50
    assert min(tiers) > 15


def test_changes_and_sequence_cost_what_the_definitions_say() -> None:
    """Bundles, routes and travels of a previous layout, and what came later in a source."""
    seen: Counter[str] = Counter()
    for case in cases(range(400)):
        names, knobs = tuple(case.request.by_full_name), case.request.surface.knob_names
        draw = random.Random(case.seed)  # noqa: S311 (no secret)
        for _ in range(4 if knobs else 0):
            placed = {item: draw.randrange(len(knobs)) for item in range(case.problem.items)}
            for route in case.request.previous.routes if case.request.previous else ():
                if route.destination in names and route.knob in knobs and draw.random() < 0.7:
                    placed[names.index(route.destination)] = knobs.index(route.knob)
            for item in draw.sample(range(case.problem.items), draw.randint(0, 1)):
                del placed[item]
            layout = Layout(tuple(Route(names[item], knobs[knob]) for item, knob in placed.items()))
            known = check(case.request, layout)
            if known.breaches:
                continue
            prices = known.prices
            assert values_of(case.problem, placed)[4:] == prices.totals[4:], case.seed
            seen["routes"] += bool(prices.changes)
            seen["left out"] += any(change.now is None for change in prices.changes)
            seen["bundles"] += any(len(bundle.names) > 1 for bundle in prices.moved)
            seen["travels"] += bool(prices.resets)
            seen["sequence"] += any(place.term == "sequence" for place in prices.places)
    assert min(seen[each] for each in ("routes", "bundles", "sequence")) > 20, seen
    assert min(seen[each] for each in ("left out", "travels")) > 15, seen


def test_changes_by_hand() -> None:
    # By importance the routes count 8, 4 and 2, so that one is 1 + 14 + 2 points for two knobs, and
    # that; a bundle 4 * 17, and a travel set anew one.
    before = Before(0b011, 0b011, 0, 0), Before(0b100, 0b100, None, None)
    prices = ((0, 9, 9), (9, 0, 0))
    problem = a_problem(2, 3, before=before, wanted=(0, 1, 1), travel_prices=prices)
    problem = attrs.evolve(problem, standing=(8, 4, 2))
    gone = 17 + 2 + 68
    assert values_of(problem, {0: 0, 1: 0, 2: 1})[4] == gone
    assert values_of(problem, {0: 0, 1: 1, 2: 1})[4] == gone + 17 + 4 + 68
    # The second stays, and its knob has another travel now.
    assert values_of(problem, {0: 1, 1: 0, 2: 1})[4] == gone + 17 + 8 + 68 + 1
    assert values_of(problem, {0: 1, 1: 1, 2: 0})[4] == gone + 34 + 12 + 68
    assert values_of(problem, {})[4] == gone + 34 + 12 + 68


def test_sequence_by_hand() -> None:
    problem = a_problem(
        4, 2, sequence=((0, 1),), out_of_sequence=30, beside=(False, True, False, True)
    )
    # Knobs 1 and 2 are not side by side.
    cost = {(0, 1): 0, (2, 2): 0, (1, 2): 30, (0, 3): 30, (1, 0): 60, (3, 0): 60}
    for (one, other), points in cost.items():
        assert values_of(problem, {0: one, 1: other})[5] == points
    assert values_of(problem, {1: 0})[5] == 0
