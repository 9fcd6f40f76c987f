"""What a placement is worth, against the oracle's reading of the request."""

from __future__ import annotations

import random

from knobpack.solver.evaluate import values_of
from knobpack.words import Layout, Route
from tests.oracles.brute import price
from tests.oracles.problems import cases


def test_any_valid_placement_is_worth_what_the_oracle_says() -> None:
    compared, left_out, tiers = 0, 0, [0] * 5
    for case in cases(range(180)):
        names, knobs = tuple(case.request.destinations), case.request.surface.knob_names
        draw = random.Random(case.seed)  # noqa: S311 (no secret)
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
            if not known.valid:
                continue
            values = values_of(case.problem, placed)
            assert values == known.totals, case.seed
            compared += 1
            left_out += len(placed) < len(names)
            tiers = [count + (value > 0) for count, value in zip(tiers, values, strict=True)]
    assert compared > 150
    assert left_out > 50
    assert min(tiers) > 15
