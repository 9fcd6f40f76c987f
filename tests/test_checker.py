"""The plain checker against the pricing of the brute force; what meets a demand and what not."""

from __future__ import annotations

import random
from collections import Counter
from typing import Any

import attrs
import pytest

from knobpack.checker import breaches, check, priced
from knobpack.errors import InputError
from knobpack.words import (
    Alone,
    Apart,
    Barred,
    Fixed,
    KnobTravel,
    Layout,
    Route,
    Snapshot,
    Surface,
    Together,
    Travel,
    VoiceLayer,
)
from tests.oracles.alterations import on_routes
from tests.oracles.amount import EXAMPLES
from tests.oracles.brute import price
from tests.oracles.example import ALL, SPLIT, a_request
from tests.oracles.layouts import random_layout
from tests.oracles.strategies import seeded_edit, seeded_request

# Against the pricing of the brute force ----------------------------------------------------------


def test_the_checker_and_the_brute_force_price_alike() -> None:
    seen: Counter[str] = Counter()
    for seed in range(2 * EXAMPLES):
        draw = random.Random(seed)  # noqa: S311 (no secret)
        request = seeded_request(seed) if seed % 3 else seeded_edit(seed)
        for turn in range(4):
            layout = random_layout(draw, request)
            if turn == 3 and not request.in_use:
                request, layout = on_routes(request), attrs.evolve(layout, travels=())
            checked, other = check(request, layout), price(request, layout)
            assert (checked.valid, checked.prices.totals) == (other.valid, other.totals)
            assert checked.breaches == breaches(request, layout)
            assert checked.prices == priced(request, layout)
            seen["valid" if checked.valid else "invalid"] += 1
            seen.update({breach.demand.kind for breach in checked.breaches})
    assert min(seen["valid"], seen["invalid"]) > EXAMPLES
    kinds = {
        *("place", "keep", "rule", "separate", "reserved", "destinations per knob", "routes"),
        *("layer", "layers", "snapshots"),
    }
    assert set(seen) == {"valid", "invalid", *kinds}


def test_the_travels_it_chooses_cost_no_more_than_any_wanted_there() -> None:
    for seed in range(EXAMPLES // 4):
        draw = random.Random(seed)  # noqa: S311 (no secret)
        request = seeded_request(seed)
        layout = attrs.evolve(random_layout(draw, request), travels=())
        checked = check(request, layout)
        kept = {setting.knob for setting in request.keep.travels}
        for setting in checked.travels:
            on = [route.destination for route in layout.routes if route.knob == setting.knob]
            wanted = {request.wanted(name) for name in on}
            assert setting.travel in wanted or setting.knob in kept
            for travel in wanted if setting.knob not in kept else ():
                forced = attrs.evolve(layout, travels=(KnobTravel(setting.knob, travel),))
                assert check(request, forced).prices.totals >= checked.prices.totals


# Demands -----------------------------------------------------------------------------------------

KEPT = Layout((Route("Pad/cutoff", "K1"),), (KnobTravel("K1", Travel(0, 64)),))
LAYERED = (VoiceLayer("Pad", 1), VoiceLayer("Bass", 2))
ROUTES = Surface.row(3, travel_on="route")


@pytest.mark.parametrize(
    ("fields", "layout"),
    [
        ({}, Layout()),
        ({}, SPLIT),
        ({"keep": KEPT}, Layout.of({"K1": ["Pad/cutoff"]})),
        # A reserved knob keeps what the base has there.
        (
            {"surface": Surface.row(3, reserved=("K1",)), "keep": KEPT},
            Layout.of({"K1": ["Pad/cutoff"]}),
        ),
        ({"surface": Surface.row(3, destinations_per_knob=2, routes=5)}, SPLIT),
        ({"rules": (Together(("Pad",)),)}, Layout.of({"K1": ALL[3:]})),
        ({"rules": (Apart(("Pad/cutoff",), ("Bass",)),)}, SPLIT),
        ({"rules": (Alone(("Pad/cutoff", "Pad/level")),)}, SPLIT),
        ({"rules": (Fixed(("Bass/drive",), "K3"),)}, SPLIT),
        ({"rules": (Barred(("Pad",), ("K3",)),)}, SPLIT),
        ({"surface": Surface.row(3, snapshots=1, layers=2)}, Layout((), (), LAYERED)),
        # What is kept without a travel goes over any.
        (
            {"surface": ROUTES, "keep": Layout.of({"K1": ["Pad/cutoff"]})},
            Layout((Route("Pad/cutoff", "K1", Travel(0, 9)),)),
        ),
        # What is kept over a travel goes over it where nothing else is said.
        (
            {"surface": ROUTES, "keep": Layout((Route("Pad/cutoff", "K1", Travel(0, 9)),))},
            Layout.of({"K1": ["Pad/cutoff"]}),
        ),
        ({"snapshots": (Snapshot("pad", ("Pad",)),)}, Layout.of({"K1": ALL[:3], "K2": ALL[3:]})),
    ],
)
def test_what_meets_every_demand(fields: dict[str, Any], layout: Layout) -> None:
    assert check(a_request(**fields), layout).breaches == ()


def test_the_call_that_refuses_is_named() -> None:
    for given, field in (((None, Layout()), "request"), ((a_request(), None), "layout")):
        with pytest.raises(InputError) as caught:
            check(*given)
        assert caught.value.field == f"check.{field}"
