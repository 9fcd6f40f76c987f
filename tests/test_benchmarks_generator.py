"""The requests of the benchmarks are what they are said to be, the same for a seed, possible."""

from __future__ import annotations

from itertools import combinations

import attrs
import pytest

from benchmarks.foreign import summary
from benchmarks.foreign_requests import FOREIGN
from benchmarks.generator import KINDS, tight, varied
from benchmarks.peers import OURS
from benchmarks.peers.annealing import Annealing
from benchmarks.peers.answer import Clock
from benchmarks.peers.costs import Costs
from benchmarks.peers.insertion import insert_all
from benchmarks.peers.rows import Row
from benchmarks.peers.shape import shape_of
from benchmarks.peers.state import State
from knobpack import allocate_request
from knobpack.checker import check


def test_the_same_seed_gives_the_same_request() -> None:
    assert varied(5, 16) == varied(5, 16)
    assert len({str(varied(seed, 8)) for seed in range(10)}) == 10


def test_of_tight_requests_something_is_left_out_or_broken() -> None:
    for seed in range(12):
        request = tight(seed, 8)
        found = allocate_request(request)
        # With all snapshots firm, no number of knobs as small as this holds everything.
        breaks = any(each.break_weight for each in request.played)
        assert request.least_knobs().independent_bound > 8 or breaks
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


SMALL = [kind for kind in FOREIGN if kind != "huge"]

FOREIGN_SIZES = {
    "breakable": (range(20, 161), range(6, 17)),
    "routes": (range(20, 145), range(5, 33)),
    "family": (range(60, 201), range(16, 65)),
    "alike": (range(40, 81), range(8, 25)),
    "ruled": (range(24, 61), range(8, 17)),
    "planted": (range(15, 61), range(4, 13)),
    "snapshots": (range(40, 81), range(8, 17)),
    "voices": (range(64, 241), range(8, 33)),
}


@pytest.mark.parametrize("kind", SMALL)
def test_sizes_are_as_they_say_and_the_same_seed_gives_the_same(kind: str) -> None:
    counts, knobs = FOREIGN_SIZES[kind]
    requests = [FOREIGN[kind](seed) for seed in range(12)]
    assert all(len(request.by_full_name) in counts for request in requests)
    assert all(len(request.surface.knobs) in knobs for request in requests)
    assert requests[3] == FOREIGN[kind](3)
    assert all(one != other for one, other in combinations(requests, 2))


def test_what_cannot_be_packed_with_whole_bundles_is_packed_otherwise() -> None:
    # To see that whole bundles do not fit here takes more effort than there is.
    for seed in (310_047, 320_011):
        found = allocate_request(FOREIGN["planted"](seed), effort=0.5)
        assert not found.unplaced
        assert len(found.routes) == 56


def a_row(peer: str, values: tuple[int, ...], bounds: tuple[int, ...] = ()) -> Row:
    filled: dict[str, object] = {field.name: 0 for field in attrs.fields(Row)}
    filled |= {"request": "one", "kind": "family", "peer": peer, "limit": 1.0, "valid": True}
    filled |= {"values": values, "bounds": bounds, "proven": 0, "failed": ""}
    return Row(**filled)  # type: ignore[arg-type]


def test_a_summary_counts_who_is_better_and_what_is_near_its_bounds() -> None:
    ours = a_row(OURS, (0, 0, 200, 1_000, 9, 9), (0, 0, 198, 990))
    (line,) = summary([ours, a_row("greedy", (0, 0, 200, 1_000, 0, 0))])
    assert line == "family: 1 of 1 as good as any peer; 1 near their bounds; 0 proven"
    far = attrs.evolve(ours, bounds=(0, 0, 197))
    (line,) = summary([far, a_row("greedy", (0, 0, 199, 5_000, 0, 0))])
    assert line == "family: 0 of 1 as good as any peer; 0 near their bounds; 0 proven"
