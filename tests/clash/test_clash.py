"""Clashes: minimal, with the cheapest ways out, told in the caller's words; never a false one."""

from __future__ import annotations

import pickle

import attrs
import pytest

from knobpack.clash.find import ImpossibleDemands, find_clash, is_possible
from knobpack.errors import NoLayoutFound
from knobpack.solver.watch import Watch
from knobpack.words import (
    Alone,
    Apart,
    Fixed,
    Request,
    Surface,
    Weights,
)
from tests.clash.clash_requests import clash_of, pads, seeded, strict, voices, watch
from tests.oracles.amount import EXAMPLES
from tests.oracles.clashes import faults, truth_of

# Against every layout ---------------------------------------------------------------------------


def test_every_kind_of_demand_clashes_and_is_given_up_in_seeded_requests() -> None:
    in_sets, in_ways, pigeonholes, wider, needed = set(), set(), 0, 0, 0
    for seed in range(max(150, EXAMPLES // 4)):
        request = seeded(seed)
        truth = truth_of(request)
        possible = truth.possible(truth.demands)
        assert is_possible(request, watch()) == possible
        if possible:
            assert find_clash(request, watch()) is None
            continue
        clash = clash_of(request)
        assert faults(request, truth, clash) == []
        needed = max(needed, len(clash.demands))
        in_sets |= {demand.kind for demand in clash.demands}
        in_ways |= {demand.kind for way in clash.ways_out for demand in way.demands}
        pigeonholes += bool(clash.rivals)
        wider += clash.wider is not None
    kinds = {"place", "keep", "rule", "separate", "reserved", "destinations per knob", "routes"}
    assert in_sets >= {*kinds, "layer", "layers", "store", "snapshots"}
    assert in_ways >= {*kinds, "layers", "store", "snapshots"}
    assert min(pigeonholes, wider) > 5
    assert needed >= 5


def test_as_many_ways_out_are_told_as_are_asked_for() -> None:
    for seed in range(max(20, EXAMPLES // 10)):
        request, ways = seeded(seed), 1 + seed % 12
        truth = truth_of(request)
        if not truth.possible(truth.demands):
            assert faults(request, truth, clash_of(request, ways), ways) == []


def test_ways_out_are_minimal_even_where_a_destination_may_be_left_out_for_nothing() -> None:
    """A price of nothing must not make the solver give up what nobody needs."""
    free = Weights(unplaced=(0, 0, 0, 0))
    for seed in range(max(20, EXAMPLES // 10)):
        request = attrs.evolve(strict(seeded(seed)), weights=free)
        truth = truth_of(request)
        clash = find_clash(request, watch())
        assert (clash is None) == truth.possible(truth.demands)
        if clash is not None:
            assert faults(request, truth, clash) == []


# Stopped, repeated, carried away ----------------------------------------------------------------


@pytest.mark.parametrize("seed", [3, 7, 12])
def test_wherever_it_is_stopped_nothing_false_is_said(seed: int) -> None:
    impossible = [each for each in map(seeded, range(seed, 90)) if find_clash(each, watch())]
    request = impossible[0]
    truth = truth_of(request)
    complete, unfinished = clash_of(request), 0
    for most in range(0, 400, 2):
        looks = iter(range(most))
        stopping = Watch(100.0, cancelled=lambda looks=looks: next(looks, None) is None)  # type: ignore[misc]
        try:
            clash = find_clash(request, stopping)
        except NoLayoutFound:
            assert stopping.stopped == "cancelled"
            continue
        assert clash is not None
        if stopping.stopped is None:
            assert clash == complete
            break
        unfinished += 1
        assert not truth.possible(clash.demands)
        if clash.minimal:
            assert clash.demands == complete.demands
        for way in clash.ways_out:
            assert truth.possible(set(truth.demands) - set(way.demands))
            if way.proven:
                assert way in complete.ways_out
        assert clash.wider in (None, complete.wider)
    else:
        pytest.fail("it never came to its end")
    assert unfinished > 3


def test_a_set_that_is_not_proven_minimal_says_so() -> None:
    request = pads(Fixed(("Pad",), "K1"), Fixed(("Pad",), "K2"), surface=Surface.row(2))
    clash = attrs.evolve(clash_of(request), minimal=False)
    assert "the search was stopped" in str(clash)


def test_no_effort_is_no_answer() -> None:
    request = Request(Surface.row(1), voices(2, 1))
    assert is_possible(request, Watch(effort=0.0)) is None
    with pytest.raises(NoLayoutFound, match="effort"):
        find_clash(request, Watch(effort=0.0))


def test_a_clash_can_be_sent() -> None:
    clash = clash_of(Request(Surface.row(1), voices(2, 1)))
    error = pickle.loads(pickle.dumps(ImpossibleDemands(clash)))  # noqa: S301 (our own)
    assert error.clash == clash
    assert str(error) == str(clash)
    assert hash(clash) == hash(error.clash)


# How much work ----------------------------------------------------------------------------------

LIVE: dict[str, Request] = {
    "12 voices of 2": Request(Surface.row(8), voices(12, 2)),
    "12 voices of 2, essential": Request(Surface.row(8), voices(12, 2, priority=1)),
    "2 on each knob": Request(Surface.row(8, destinations_per_knob=2), voices(3, 8, priority=1)),
    "12 routes": Request(Surface.row(8, routes=12), voices(3, 8, priority=1)),
    "2 on each knob, 10 voices": Request(Surface.row(8, destinations_per_knob=2), voices(10, 3)),
    "pins": Request(
        Surface.row(8, reserved=("K7", "K8")),
        voices(3, 8),
        rules=(
            *(Alone((f"V{n}/d1",)) for n in (1, 2, 3)),
            *(Fixed((f"V{n}/d2",), f"K{n}") for n in (1, 2)),
            *(Apart((f"V1/d{a}",), (f"V1/d{b}",)) for a, b in ((3, 4), (4, 5), (3, 5))),
        ),
    ),
}


@pytest.mark.parametrize("name", LIVE)
def test_a_live_setup_is_explained_with_little_work(name: str) -> None:
    """Measured: at most 0.005 of effort, which is exact."""
    watching = watch()
    clash = find_clash(LIVE[name], watching)
    assert clash is not None
    assert clash.minimal
    assert len(clash.ways_out) == 5
    assert all(way.proven for way in clash.ways_out)
    assert 100.0 - watching.effort < 0.02
