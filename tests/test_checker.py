"""The plain checker against the pricing of the brute force; what meets a demand and what not."""

from __future__ import annotations

import random
from collections import Counter
from typing import Any

import attrs
import pytest

from knobpack.checker import check
from knobpack.errors import InputError
from knobpack.words import (
    Alone,
    Apart,
    Barred,
    Destination,
    Fixed,
    KnobTravel,
    Layout,
    Route,
    Snapshot,
    Surface,
    Together,
    Travel,
    Voice,
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

MUST = Voice("Pad", (Destination("cutoff", must_place=True), Destination("level")))
KEPT = Layout((Route("Pad/cutoff", "K1"),), (KnobTravel("K1", Travel(0, 64)),))
PAD_ONLY = (Snapshot("pad", ("Pad",)),)


@pytest.mark.parametrize(
    ("fields", "layout", "kind"),
    [
        ({"voices": (MUST,), "snapshots": ()}, Layout(), "place"),
        ({"keep": KEPT}, Layout(), "keep"),
        ({"keep": KEPT}, Layout.of({"K2": ["Pad/cutoff"]}), "keep"),
        (
            {"keep": KEPT},
            Layout((Route("Pad/cutoff", "K1"),), (KnobTravel("K1", Travel(0, 127)),)),
            "keep",
        ),
        ({"snapshots": PAD_ONLY}, SPLIT, "separate"),
        ({"surface": Surface.row(3, reserved=("K3",))}, SPLIT, "reserved"),
        ({"surface": Surface.row(3, destinations_per_knob=1)}, SPLIT, "destinations per knob"),
        ({"surface": Surface.row(3, routes=4)}, SPLIT, "routes"),
        ({"surface": Surface.row(3, snapshots=0)}, SPLIT, "snapshots"),
        ({}, Layout((), (), (VoiceLayer("Pad", 1),)), "layer"),
        ({}, Layout((), (), (VoiceLayer("Pad", 1), VoiceLayer("Bass", 1))), "layer"),
        (
            {"surface": Surface.row(3, layers=1)},
            Layout((), (), (VoiceLayer("Pad", 1), VoiceLayer("Bass", 2))),
            "layers",
        ),
        (
            {"keep": Layout((), (), (VoiceLayer("Bass", 3),))},
            Layout((), (), (VoiceLayer("Pad", 1), VoiceLayer("Bass", 2))),
            "layer",
        ),
        ({"rules": (Together(("Pad",)),)}, SPLIT, "rule"),
        ({"rules": (Together(("Pad",)),)}, Layout.of({"K1": ALL[:2]}), "rule"),
        ({"rules": (Apart(("Pad",), ("Bass/cutoff",)),)}, SPLIT, "rule"),
        ({"rules": (Alone(("Bass",)),)}, SPLIT, "rule"),
        ({"rules": (Fixed(("Pad",), "K1"),)}, SPLIT, "rule"),
        ({"rules": (Fixed(("Pad/pan",), "K1"),)}, Layout(), "rule"),
        ({"rules": (Barred(("Pad",), ("K2",)),)}, SPLIT, "rule"),
    ],
)
def test_what_breaches_a_demand(fields: dict[str, Any], layout: Layout, kind: str) -> None:
    checked = check(a_request(**fields), layout)
    assert {breach.demand.kind for breach in checked.breaches} == {kind}
    assert not checked.valid


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
        ({"snapshots": PAD_ONLY}, Layout.of({"K1": ALL[:3], "K2": ALL[3:]})),
    ],
)
def test_what_meets_every_demand(fields: dict[str, Any], layout: Layout) -> None:
    assert check(a_request(**fields), layout).breaches == ()


@pytest.mark.parametrize(
    "layout",
    [
        Layout.of({"K1": ["Pad/volume"]}),
        Layout.of({"K9": ["Pad/cutoff"]}),
        Layout((), (KnobTravel("K9", Travel(0, 1)),)),
        Layout((), (KnobTravel("K1", Travel(0, 128)),)),
        Layout((), (), (VoiceLayer("Lead", 1),)),
    ],
)
def test_it_refuses_names_that_are_not_there(layout: Layout) -> None:
    with pytest.raises(InputError):
        check(a_request(), layout)


def test_the_call_that_refuses_is_named() -> None:
    for given, field in (((None, Layout()), "request"), ((a_request(), None), "layout")):
        with pytest.raises(InputError) as caught:
            check(*given)
        assert caught.value.field == f"check.{field}"
