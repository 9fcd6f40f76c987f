"""The generated requests: of the sizes promised, as varied as promised, and possible."""

from __future__ import annotations

import pytest

from benchmarks.generator import KINDS, SIZES, destinations_for, tight, varied
from benchmarks.peers.annealing import Annealing
from benchmarks.peers.answer import Clock
from benchmarks.peers.costs import Costs
from benchmarks.peers.insertion import insert_all
from benchmarks.peers.shape import shape_of
from benchmarks.peers.state import State
from knobpack import allocate_request
from knobpack.checker import check
from knobpack.explanation.fewest import fewest_knobs


@pytest.mark.parametrize("knobs", SIZES)
@pytest.mark.parametrize("kind", KINDS)
def test_sizes_are_as_they_say(kind: str, knobs: int) -> None:
    request = KINDS[kind](1, knobs)
    assert len(request.surface.knobs) == knobs
    assert len(request.destinations) == SIZES[knobs] == destinations_for(knobs)


def test_the_same_seed_gives_the_same_request() -> None:
    assert varied(5, 16) == varied(5, 16)
    assert len({str(varied(seed, 8)) for seed in range(10)}) == 10


def test_of_tight_requests_something_is_left_out_or_broken() -> None:
    for seed in range(12):
        request = tight(seed, 8)
        found = allocate_request(request)
        # With all snapshots firm, no number of knobs as small as this holds everything.
        assert fewest_knobs(request).bound > 8 or any(each.break_weight for each in request.played)
        assert found.unplaced or found.tiers[2].value
        assert found.proven


@pytest.mark.parametrize("knobs", [8, 16, 32, 64])
@pytest.mark.parametrize("kind", KINDS)
def test_requests_are_possible(kind: str, knobs: int) -> None:
    for seed in range(12 if knobs < 32 else 3):
        request = KINDS[kind](seed, knobs)
        state = State(Costs(shape_of(request)))
        insert_all(state)
        # A layout in which every demand is met, made without the solver.
        if not check(request, state.shape.layout(state.knob)).valid:
            search = Annealing(state, lambda *_: None, Clock.of(600))
            search.cool(20_000)
            state.set_to(search.best)
        assert check(request, state.shape.layout(state.knob)).breaches == ()
