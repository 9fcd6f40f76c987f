"""Independence as it is observed in the simulation is independence as it was asked.

Asked: the request. Observed: what moves in the sweeps of the setup that the allocation makes.
"""

from __future__ import annotations

from collections import Counter

import numpy as np

from knobpack.allocation import Allocation
from knobpack.checker import follows
from knobpack.simulation import sweep
from knobpack.words import Setup
from tests.oracles.amount import EXAMPLES
from tests.oracles.simulation import Plain
from tests.simulation.setups import allocations

MANY = max(300, EXAMPLES)
"""Requests, at least so many that each kind of case occurs however few the other tests try."""


def wrong_in(found: Allocation, setup: Setup) -> list[str]:
    """Where what is observed in the setup is not what was asked of the allocation."""
    request = found.request
    travels = {setting.knob: setting.travel for setting in found.travels}
    knob_of = {route.destination: route.knob for route in found.routes}
    plain, wrong = Plain(setup), []
    for snapshot in request.played:
        if snapshot.break_weight is not None:
            continue
        seen = sweep(setup, snapshot.name)
        varies = {
            knob: bool(np.ptp(row)) for knob, row in zip(seen.knobs, seen.positions, strict=True)
        }
        for name, inner in request.by_full_name.items():
            if name not in knob_of:
                if name not in seen.unreached or name in seen.moved:
                    wrong.append(f"{snapshot.name}: {name} is not placed")
                continue
            travel = travels[knob_of[name]]
            asked = name in request.moved(snapshot)
            if varies[knob_of[name]] != (asked and not travel.empty):
                wrong.append(f"{snapshot.name}: the knob of {name}")
            # A stepped destination moves if the ends of the travel stand for different steps.
            ends = {plain.taken(name, travel.start), plain.taken(name, travel.end)}
            if (name in seen.moved) != (asked and len(ends) == 2):
                wrong.append(f"{snapshot.name}: {name}, of {inner.steps} steps")
    return wrong


def test_what_moves_is_what_was_asked_to_move() -> None:
    seen: Counter[str] = Counter()
    for seed, found in allocations(MANY // 2):
        assert wrong_in(found, found.setup("Made")) == [], seed
        seen["allocations"] += 1
        firm = [each for each in found.request.played if each.break_weight is None]
        seen["snapshots"] += len(firm)
        seen["some moved, some held"] += any(
            0 < len(found.request.moved(each)) < len(found.request.by_full_name) for each in firm
        )
        seen["shared"] += len(found.routes) > len(found.travels) and bool(firm)
        seen["empty travel"] += any(setting.travel.empty for setting in found.travels)
    assert min(seen.values()) >= MANY // 60, seen
    assert len(seen) == 5


def test_the_knobs_that_follow_are_those_of_the_checker_and_of_the_allocation() -> None:
    """In every snapshot, the breakable ones too."""
    broken = 0
    for _, found in allocations(MANY // 2):
        setup = found.setup("Made")
        for told in found.following:
            seen = sweep(setup, told.snapshot, master=2)
            assert seen.follows == told.knobs
            assert seen.follows == follows(found.request, found.layout, told.snapshot)
            moved = next(
                found.request.moved(each)
                for each in found.request.played
                if each.name == told.snapshot
            )
            assert set(seen.asked) == moved
        broken += bool(found.prices.breaks)
    assert broken > 0


def test_what_a_broken_snapshot_does_is_told() -> None:
    """What the checker calls wronged is what the sweep sees: moving though held, or still."""
    checked = 0
    for _, found in allocations(MANY // 2):
        travels = {setting.knob: setting.travel for setting in found.travels}
        for broken in found.prices.breaks:
            seen = sweep(found.setup("Made"), broken.snapshot, master=2)
            for name in broken.wronged:
                assert (name in seen.asked) == (not broken.follows)
                plain, travel = Plain(found.setup("Made")), travels[broken.knob]
                ends = {plain.taken(name, travel.start), plain.taken(name, travel.end)}
                assert (name in seen.moved) == (broken.follows and len(ends) == 2)
                if name in seen.moved:
                    told = next(t for t in seen.sentences if t.startswith("Asked to be held"))
                    assert name in told
                    checked += 1
    assert checked > 0
