"""Demands given up: the request without one of them, and what cannot be given up."""

from __future__ import annotations

from collections import Counter
from functools import partial

import attrs
import pytest

from knobpack.errors import InputError
from knobpack.words import Alone, Destination, Route, edits
from knobpack.words.demand import Demand, demands_of
from tests.oracles import brute
from tests.oracles.amount import EXAMPLES
from tests.oracles.every_clash import may_be_met
from tests.oracles.strategies import seeded_request
from tests.words.test_edits import BASS, LEAD, PAD, REQUEST, refused


def test_each_demand_can_be_given_up() -> None:
    surface = attrs.evolve(REQUEST.surface, layers=4, snapshots=2)
    request = attrs.evolve(REQUEST, surface=surface)
    seen: Counter[str] = Counter()
    for demand in demands_of(request):
        if demand.kind in ("layers", "snapshots"):
            giving_up = partial(edits.given_up, request, demand)
            refused(giving_up, "given_up.demand", "can be given up")
            continue
        less = edits.given_up(request, demand)
        assert demand not in demands_of(less)
        assert less != request
        seen[demand.kind] += 1
        if demand.kind not in ("layer", "store", "separate"):
            others = [each for each in demands_of(request) if each != demand]
            assert [each for each in others if each not in demands_of(less)] == []
    assert set(seen) == {
        "place", "rule", "separate", "reserved", "keep", "destinations per knob", "routes",
        "layer", "store",
    }  # fmt: skip


def test_giving_up_changes_just_one_thing() -> None:
    surface = REQUEST.surface
    of: dict[str, Demand] = {each.kind: each for each in demands_of(REQUEST)}
    freer = {
        "reserved": attrs.evolve(surface, reserved=()),
        "destinations per knob": attrs.evolve(surface, destinations_per_knob=None),
        "routes": attrs.evolve(surface, routes=None),
    }
    for kind, other in freer.items():
        assert edits.given_up(REQUEST, of[kind]) == attrs.evolve(REQUEST, surface=other)
    kept = attrs.evolve(REQUEST.keep, routes=())
    assert edits.given_up(REQUEST, of["keep"]) == attrs.evolve(REQUEST, keep=kept)
    free = attrs.evolve(PAD, destinations=(PAD.destinations[0], Destination("level")))
    assert edits.given_up(REQUEST, of["place"]) == attrs.evolve(REQUEST, voices=(free, BASS, LEAD))


NO_DEMANDS = (
    Demand("place", "Pad/gone"),
    Demand("rule", Alone(("Lead",))),
    Demand("keep", Route("Bass/cutoff", "K1")),
    Demand("keep", "Bass/cutoff"),
    Demand("layers", 4),
    Demand("snapshots", 4),
    Demand("something", "else"),  # type: ignore[arg-type]
    Demand("separate", "gone"),
    Demand("store", "gone"),
)
NOT_DEMANDED = (
    Demand("place", "Pad/cutoff"),  # it may be left out
    Demand("reserved", "K1"),
    Demand("destinations per knob", 7),
    Demand("routes", 7),
)


def _called(demand: Demand) -> str:
    return f"{demand.kind} {demand.subject}"


@pytest.mark.parametrize("demand", NO_DEMANDS, ids=_called)
def test_what_there_is_not_cannot_be_given_up(demand: Demand) -> None:
    with pytest.raises(InputError):
        edits.given_up(REQUEST, demand)


@pytest.mark.parametrize("demand", NOT_DEMANDED, ids=_called)
def test_what_is_not_demanded_cannot_be_given_up(demand: Demand) -> None:
    assert demand not in demands_of(REQUEST)
    with pytest.raises(InputError):
        edits.given_up(REQUEST, demand)


def test_a_snapshot_that_may_be_broken_can_be_given_up() -> None:
    given_up = edits.given_up(REQUEST, Demand("separate", "low"))
    assert given_up == edits.without_snapshot(REQUEST, "low")


def test_what_is_given_up_is_demanded_no_more_in_any_request() -> None:
    for seed in range(EXAMPLES // 2):
        request = seeded_request(seed)
        for demand in demands_of(request):
            if demand.kind not in ("layers", "snapshots"):
                assert demand not in demands_of(edits.given_up(request, demand))


GIVEN_UP_WHOLE = ("place", "rule", "reserved", "keep", "destinations per knob", "routes")
"""Kinds of demand that go without anything else; with a layer goes a voice."""


def test_what_is_given_up_may_be_given_up_by_brute_force() -> None:
    """Where all the other demands can be met, so can the request without the one."""
    helped = 0
    for seed in range(EXAMPLES // 2):
        request = seeded_request(seed)
        if brute.least(request) is not None:
            continue
        closed = set(request.surface.knob_names) <= set(request.surface.reserved)
        for demand in demands_of(request):
            if closed and demand.kind == "reserved":
                continue  # a knob that is opened may bring a contradiction to light
            if demand.kind in GIVEN_UP_WHOLE:
                others = [each for each in demands_of(request) if each != demand]
                possible = brute.least(edits.given_up(request, demand)) is not None
                assert possible == may_be_met(request, others), (seed, demand)
                helped += possible
    assert helped > 10
