"""Each peer gives valid layouts, and those that prove the best agree with brute force."""

from __future__ import annotations

import pytest

from benchmarks.peers import PEERS
from benchmarks.peers.annealing import Annealing
from benchmarks.peers.answer import Answer, Clock
from benchmarks.peers.costs import Costs
from benchmarks.peers.insertion import insert_all
from benchmarks.peers.shape import shape_of
from benchmarks.peers.state import State
from benchmarks.requests import sized
from knobpack import Request, allocate_request
from knobpack.checker import TIERS, check
from knobpack.words import Layout
from tests.oracles.brute import least
from tests.oracles.strategies import seeded_request

ALL_TIERS = ("cpsat", "cpsat-ordered", "highs")
"""Peers whose model has all tiers."""

SEARCHES = ("annealing", "colouring")
"""Peers that prove nothing."""

SEEDS = (0, 9, 14, 28, 49, 54)
"""Possible requests in which every tier costs something now and then."""


def run(peer: str, request: Request, seconds: float) -> tuple[Answer, list[Layout]]:
    """A peer in this process, and every layout it told."""
    told: list[Layout] = []

    def tell(layout: Layout | None, _bounds: tuple[int, ...] = ()) -> None:
        told.extend([] if layout is None else [layout])

    return PEERS[peer].load()(request, seconds, tell), told


def best_of(request: Request) -> tuple[int, ...]:
    best = least(request)
    assert best is not None
    return best.totals


@pytest.mark.parametrize("peer", ALL_TIERS)
@pytest.mark.parametrize("seed", SEEDS)
def test_peers_with_all_tiers_prove_what_brute_force_finds(peer: str, seed: int) -> None:
    request = seeded_request(seed)
    best = best_of(request)
    answer, told = run(peer, request, 20.0)
    assert answer.layout is not None
    checked = check(request, answer.layout)
    assert checked.breaches == ()
    assert checked.prices.totals == best
    assert (answer.bounds, answer.proven) == (best, len(TIERS))
    assert all(check(request, layout).valid for layout in told)


@pytest.mark.parametrize("seed", SEEDS)
def test_maxsat_proves_the_first_four_tiers(seed: int) -> None:
    request = seeded_request(seed)
    best = best_of(request)
    # It takes as long as it takes to prove; a tenth of the seconds goes into places.
    answer, told = run("rc2", request, 2.0)
    assert answer.layout is not None
    assert check(request, answer.layout).valid
    assert check(request, answer.layout).prices.totals[:4] == best[:4]
    assert (answer.bounds, answer.proven) == (best[:4], 4)
    assert all(check(request, layout).valid for layout in told)


def test_the_annealer_reaches_the_best_of_four_tiers() -> None:
    # So many moves rather than seconds: the same on every machine.
    for seed in SEEDS:
        request = seeded_request(seed)
        shape = shape_of(request)
        state = State(Costs(shape))
        insert_all(state)
        search = Annealing(state, lambda *_: None, Clock.of(600))
        search.cool(4000)
        layout = shape.layout(search.best)
        assert check(request, layout).valid
        assert check(request, layout).prices.totals[:4] == best_of(request)[:4]


def test_knobpack_runs_as_its_peers_do() -> None:
    request = seeded_request(18)
    answer, told = run("knobpack", request, 20.0)
    best = best_of(request)
    assert (answer.bounds, answer.proven) == (best, len(TIERS))
    assert [check(request, layout).prices.totals for layout in told] == [best]


def test_peers_agree_with_knobpack_beyond_brute_force() -> None:
    request = sized(3, 3, 11)
    ours = allocate_request(request)
    assert ours.proven
    for peer, tiers in (("cpsat-ordered", len(TIERS)), ("rc2", 4)):
        answer, _ = run(peer, request, 20.0)
        assert answer.proven == tiers
        assert answer.bounds == ours.prices.totals[:tiers]


def test_of_an_impossible_request_nothing_is_valid() -> None:
    # Layers and stored snapshots concern no route, and what is contradicted could be left out, so
    # the peers do not look at them.
    requests = (seeded_request(seed) for seed in range(150))
    stored = [each for each in requests if _stores_do(each)]
    impossible = [each for each in stored if least(each, short=True) is None][:4]
    assert len(impossible) == 4
    for request in impossible:
        for peer in (*ALL_TIERS, "rc2", *SEARCHES):
            answer, told = run(peer, request, 0.1)
            assert answer.proven == 0
            offered = told if answer.layout is None else [*told, answer.layout]
            assert not any(check(request, layout).valid for layout in offered)


def _stores_do(request: Request) -> bool:
    surface = request.surface
    layers = surface.layers is None or len(request.voices) <= surface.layers
    return layers and (surface.snapshots is None or len(request.played) <= surface.snapshots)


# The tables that steer the peers, against the checker -------------------------------------------
