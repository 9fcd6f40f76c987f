"""Each peer gives valid layouts, and those that prove the best agree with brute force."""

from __future__ import annotations

from collections.abc import Mapping

import pytest

from benchmarks.generator import varied
from benchmarks.peers import PEERS, cpsat
from benchmarks.peers.annealing import Annealing
from benchmarks.peers.answer import Answer, Clock
from benchmarks.peers.booleans import Booleans
from benchmarks.peers.completion import completed
from benchmarks.peers.costs import Costs
from benchmarks.peers.insertion import insert_all
from benchmarks.peers.placing import placed_well
from benchmarks.peers.rows import Pricing
from benchmarks.peers.shape import shape_of
from benchmarks.peers.staged import Seen, Stage, solve_staged
from benchmarks.peers.state import State
from benchmarks.peers.textbook import Textbook
from benchmarks.peers.textbook_goals import price
from benchmarks.peers.values import Best
from benchmarks.requests import sized
from knobpack import Request, allocate_request
from knobpack.checker import TIERS, check
from knobpack.words import Destination, Layout, Surface, Voice
from tests.oracles.brute import least
from tests.oracles.strategies import seeded_request

ALL_TIERS = ("cpsat", "cpsat-ordered", "highs")
"""Peers whose model has all tiers."""

SEARCHES = ("annealing", "colouring")
"""Peers that prove nothing."""

SEEDS = (0, 3, 9, 14, 16, 17, 18, 21, 28, 41, 49, 54, 64, 89)
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


def test_every_tier_costs_something_in_the_requests_tried() -> None:
    totals = [best_of(seeded_request(seed)) for seed in SEEDS]
    assert all(any(values[tier] for values in totals) for tier in range(len(TIERS)))


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
    answer, told = run("rc2", request, 0.5)
    assert answer.layout is not None
    assert check(request, answer.layout).valid
    assert check(request, answer.layout).prices.totals[:4] == best[:4]
    assert (answer.bounds, answer.proven) == (best[:4], 4)
    assert all(check(request, layout).valid for layout in told)


@pytest.mark.parametrize("peer", SEARCHES)
@pytest.mark.parametrize("seed", SEEDS)
def test_searches_give_valid_layouts_and_claim_nothing(peer: str, seed: int) -> None:
    request = seeded_request(seed)
    answer, told = run(peer, request, 0.1)
    assert answer.layout is not None
    checked = check(request, answer.layout)
    assert checked.breaches == ()
    assert checked.prices.totals >= best_of(request)
    assert (answer.bounds, answer.proven) == ((), 0)
    assert told[-1] == answer.layout


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


@pytest.mark.parametrize("seed", range(40))
def test_tables_price_as_the_checker_does(seed: int) -> None:
    request = seeded_request(seed) if seed % 2 else varied(seed, 8)
    shape = shape_of(request)
    state = State(Costs(shape))
    insert_all(state)
    layout = shape.layout(state.knob)
    checked = check(request, layout)
    *upper, _, _ = checked.prices.totals
    scales = (state.leaving, state.parting, state.breaking, 1)
    value = sum(scale * total for scale, total in zip(scales, upper, strict=True))
    if checked.valid:
        assert state.value == value
        assert state.parted(value) == tuple(upper)
        assert Pricing(request).of(layout) == value
    elif not checked.contradicted:
        # What must be placed is not: that outweighs everything.
        assert state.value > value


@pytest.mark.parametrize("seed", range(12))
def test_places_are_no_worse_and_the_sets_stay(seed: int) -> None:
    request = varied(seed, 8)
    costs = Costs(shape_of(request))
    state = State(costs)
    insert_all(state)
    before = check(request, costs.shape.layout(state.knob))
    placed = placed_well(costs, list(state.knob), Clock.of(0.05))
    after = check(request, costs.shape.layout(placed))
    assert after.valid == before.valid
    assert after.prices.totals[:4] == before.prices.totals[:4]
    assert after.prices.totals[4:] <= before.prices.totals[4:]
    sets = [{u for u, at in enumerate(state.knob) if at == k} for k in set(state.knob) - {-1}]
    assert sorted(map(sorted, sets)) == sorted(
        sorted(u for u, at in enumerate(placed) if at == k) for k in set(placed) - {-1}
    )


@pytest.mark.parametrize("ordered", [False, True])
@pytest.mark.parametrize("seed", range(10))
def test_a_layout_is_completed_to_an_assignment_that_holds(seed: int, ordered: bool) -> None:
    request = varied(seed, 8)
    costs = Costs(shape_of(request))
    state = State(costs)
    insert_all(state)
    book = Textbook(costs, ordered=ordered)
    tiers = range(4 if ordered else len(TIERS))
    price(book, *tiers)
    found = book.assignment(state.knob)
    assert set(found) == set(range(1, book.model.count + 1))
    assert all(any(found[abs(each)] == (each > 0) for each in c) for c in book.model.clauses)
    assert all(sum(found[v] for v in each.variables) <= each.most for each in book.model.limits)
    true = [False, *(found[variable] for variable in range(1, book.model.count + 1))]
    checked = check(request, costs.shape.layout(state.knob))
    if checked.valid:
        values = tuple(book.model.goals[tier].at(true) for tier in tiers)
        assert values == checked.prices.totals[: len(tiers)]
    if not ordered:
        assert book.knob_of(true) == state.knob


def test_variables_follow_from_what_they_mean() -> None:
    model = Booleans()
    one, other, choice = model.new(), model.new(), model.new()
    either, both = model.any_of((one, other)), model.all_of(one, other)
    after = model.reached_by((both, choice))
    values = {one: True, other: False, choice: False, either: True, both: False, after: False}
    assert completed(model, {one: True}) == values
    values |= {other: True, both: True, after: True}
    assert completed(model, {one: True, other: True}) == values


# What peers start from and when they stop -------------------------------------------------------


@pytest.mark.parametrize("seed", range(40))
def test_the_first_layout_is_valued_as_the_checker_does(seed: int) -> None:
    request = seeded_request(seed) if seed % 2 else varied(seed, 8)
    told: list[Layout] = []
    best = Best(Costs(shape_of(request)), lambda layout, *_: told.append(layout))
    best.start()
    if best.values is None:
        assert told == []
    else:
        assert [check(request, layout).prices.totals for layout in told] == [best.values]


def test_only_better_layouts_are_kept_and_told() -> None:
    request = varied(1, 8)
    told: list[Layout | None] = []
    best = Best(Costs(shape_of(request)), lambda layout, *_: told.append(layout))
    best.start()
    first, values = list(best.knob_of), best.values
    loose = next(unit for unit, must in enumerate(best.costs.shape.required) if not must)
    best.take([-1 if unit == loose else knob for unit, knob in enumerate(first)])
    assert (best.knob_of, best.values, len(told)) == (first, values, 1)


@pytest.mark.parametrize("peer", ALL_TIERS)
@pytest.mark.parametrize("seconds", [0.0, 0.3])
def test_no_answer_is_worse_than_the_layout_of_insertion(peer: str, seconds: float) -> None:
    for seed in range(4):
        request = varied(seed, 16)
        state = State(Costs(shape_of(request)))
        insert_all(state)
        first = state.shape.layout(state.knob)
        if not check(request, first).valid:
            continue
        answer, told = run(peer, request, seconds)
        assert told[0] == first
        values = [check(request, layout).prices.totals for layout in told]
        assert values == sorted(values, reverse=True)
        assert answer.layout == told[-1]


def test_a_tier_that_costs_nothing_needs_no_stage() -> None:
    tried: list[int] = []

    def minimise(
        model: Booleans,
        tier: int,
        caps: Mapping[int, int],
        hint: Mapping[int, bool],
        seconds: float,
        seen: Seen,
    ) -> Stage:
        # Makes nothing better and proves nothing.
        tried.append(tier)
        assert seconds > 0
        assert callable(seen)
        assert set(hint) == set(range(1, model.count + 1))
        true = [False, *(hint[variable] for variable in range(1, model.count + 1))]
        assert caps == {each: model.goals[each].at(true) for each in caps}
        return Stage(None, model.goals[tier].most, 0)

    request = sized(0, 16, 70)
    told: list[Layout] = []
    answer = solve_staged(
        request, 60.0, lambda layout, *_: told.append(layout), minimise, ordered=True
    )
    values = check(request, told[0]).prices.totals
    assert values[0] == 0 < values[3]
    assert tried == [tier for tier, value in enumerate(values) if value]
    first = next(tier for tier, value in enumerate(values) if value)
    assert answer == Answer(told[0], (0,) * (first + 1), first)


@pytest.mark.parametrize("least", [0, 1])
def test_cpsat_ends_a_stage_at_a_layout_that_costs_nothing(
    least: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    stops: list[bool] = []
    monkeypatch.setattr(cpsat._Watching, "stop_search", lambda _: stops.append(True))
    model = Booleans()
    one, other = model.new(), model.new()
    model.clause(one, other)
    model.goal(0).constant = least
    model.goal(0).pay(2, one)
    stage = cpsat.minimise(model, 0, {}, {one: False, other: True}, 10.0, lambda _: None)
    assert (stage.value, stage.bound) == (least, least)
    assert bool(stops) == (least == 0)


def test_the_annealer_stops_where_four_tiers_cost_nothing() -> None:
    request = Request(Surface.row(2), (Voice("One", (Destination("a"), Destination("b"))),))
    state = State(Costs(shape_of(request)))
    insert_all(state)
    assert state.value == 0
    search = Annealing(state, lambda *_: None, Clock.of(600))
    # It would cool down for ten minutes otherwise.
    assert search.run() == state.knob
