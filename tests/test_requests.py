"""The seeded requests are what their docstrings say, and the same on every machine."""

from __future__ import annotations

from collections import Counter

import pytest

from benchmarks.requests import eight_knobs, sized
from knobpack.words import Request
from tests.oracles.linear import minimise
from tests.oracles.textbook_model import NOTHING, ONE, Model, demand


def movements(request: Request) -> Counter[tuple[bool, ...]]:
    """How many destinations share each movement over all snapshots."""
    moved = [request.moved(snapshot) for snapshot in request.played]
    return Counter(tuple(name in each for each in moved) for name in request.destinations)


def test_eight_knobs_is_as_described() -> None:
    seen: Counter[str] = Counter()
    for seed in range(300):
        request = eight_knobs(seed)
        held = any(not each.movable for each in request.destinations.values())
        families, snapshots = len(movements(request)), len(request.played)
        assert len(request.surface.knobs) == 8
        assert 4 <= len(request.voices) <= 6
        assert 16 <= len(request.destinations) <= 24
        assert 3 <= families <= 6 + held
        assert 3 <= snapshots <= 5
        sources = {voice.source for voice in request.voices if voice.source is not None}
        assert 1 <= len(sources) <= 4
        assert len(request.keep.routes) <= 2
        assert 0 <= len(request.rules) <= 3
        inner = list(request.destinations.values())
        bound = Counter(
            (request.voice_of[name].source, each.source_knob)
            for name, each in request.destinations.items()
            if each.source_knob is not None
        )
        seen["bundle"] += max(bound.values(), default=0) > 1
        seen["base"] += bool(request.keep.routes)
        seen["kept travel"] += bool(request.keep.travels)
        seen["held"] += held
        seen["breakable"] += any(each.break_weight is not None for each in request.played)
        seen["limit"] += request.surface.destinations_per_knob is not None
        seen["required rule"] += any(rule.weight is None for rule in request.rules)
        seen["preferred rule"] += any(rule.weight is not None for rule in request.rules)
        seen["reversed"] += any(each.travel and each.travel.reversed for each in inner)
        seen.update(f"priority {each.priority}" for each in inner)
    assert min(seen.values()) > 15
    assert len(seen) == 14


@pytest.mark.parametrize(
    ("knobs", "destinations", "families"), [(16, 70, 6), (32, 140, 13), (64, 320, 26)]
)
def test_sized_is_as_large_as_asked(knobs: int, destinations: int, families: int) -> None:
    request = sized(1, knobs, destinations)
    found = movements(request)
    held = any(not each.movable for each in request.destinations.values())
    assert (len(request.surface.knobs), len(request.destinations)) == (knobs, destinations)
    assert families <= len(found) <= families + held
    assert max(found.values()) <= 1.5 * destinations / families + 1


@pytest.mark.parametrize("seed", range(12))
def test_everything_can_be_placed(seed: int) -> None:
    request = eight_knobs(seed)
    model = Model(request)
    demand(model)
    for placed in model.placed.values():
        model.programme.at_most(ONE, placed)
    assert minimise(model.programme, NOTHING, 60.0).status == "solved"
