"""What the plain checker says of each breach, word for word, and which knobs follow the master."""

from __future__ import annotations

import random
from typing import Any

import pytest

from knobpack.checker import check, follows
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
from knobpack.words.surface import NOT_ON_KNOB, NOT_ON_ROUTE
from tests.oracles.amount import EXAMPLES
from tests.oracles.example import ALL, BASS, SPLIT, a_request
from tests.oracles.layouts import random_layout
from tests.oracles.strategies import seeded_request

MUST = Voice("Pad", (Destination("cutoff", must_place=True), Destination("level")))
KEPT = Layout((Route("Pad/cutoff", "K1"),), (KnobTravel("K1", Travel(0, 64)),))
LAYERED = (VoiceLayer("Pad", 1), VoiceLayer("Bass", 2))
ROUTES = Surface.row(3, travel_on="route")
OVER = Layout((Route("Pad/cutoff", "K1", Travel(0, 9)),))


@pytest.mark.parametrize(
    ("fields", "layout", "told"),
    [
        (
            {"voices": (MUST, BASS)},
            Layout.of({"K1": ["Pad/level"]}),
            "Pad/cutoff must be placed, but it is left out",
        ),
        ({"keep": KEPT}, Layout(), "Pad/cutoff is kept on K1, but it is left out"),
        (
            {"keep": KEPT},
            Layout.of({"K2": ["Pad/cutoff"]}),
            "Pad/cutoff is kept on K1, but it is on K2",
        ),
        (
            {"keep": KEPT},
            Layout(KEPT.routes, (KnobTravel("K1", Travel(0, 127)),)),
            "Pad/cutoff is kept on K1, but the travel of K1 is 0 to 127, not 0 to 64",
        ),
        (
            {"snapshots": (Snapshot("pad", ("Pad",)),)},
            Layout.of({"K1": ALL[:1], "K2": ALL[1:]}),
            (
                "snapshot 'pad' has what it moves and what it holds on different knobs, but K2 "
                "carries Pad/level, Pad/pan, to be moved, and Bass/cutoff, Bass/drive, to be held"
            ),
        ),
        # In an edit, of what is on one knob that is which did not share it before.
        (
            {
                "snapshots": (Snapshot("pad", ("Pad",)),),
                "previous": Layout.of({"K1": ("Pad/cutoff", *ALL[3:])}),
                "in_use": True,
            },
            Layout.of({"K1": (*ALL[:2], *ALL[3:])}),
            (
                "snapshot 'pad' has what it moves and what it holds on different knobs, but K1 "
                "carries Pad/level, to be moved, and Bass/cutoff, Bass/drive, to be held"
            ),
        ),
        (
            {"surface": Surface.row(3, reserved=("K2",))},
            SPLIT,
            "K2 takes no new route, but it carries Pad/pan, Bass/cutoff",
        ),
        (
            {"surface": Surface.row(3, destinations_per_knob=1)},
            Layout.of({"K1": ALL[:1], "K3": ALL[1:3]}),
            "a knob carries at most 1, but K3 carries 2",
        ),
        (
            {"surface": Surface.row(3, routes=4)},
            SPLIT,
            "there are at most 4 routes in all, but there are 5",
        ),
        (
            {"surface": Surface.row(3, snapshots=0)},
            SPLIT,
            "the surface stores 0 snapshots, but 1 are asked for",
        ),
        ({}, Layout((), (), LAYERED[:1]), "voice 'Bass' needs a layer, but it has none"),
        (
            {},
            Layout((), (), (VoiceLayer("Pad", 2), VoiceLayer("Bass", 2))),
            "voice 'Bass' needs a layer, but 'Pad' stands at layer 2 already",
        ),
        (
            {"surface": Surface.row(3, layers=2)},
            Layout((), (), (VoiceLayer("Pad", 1), VoiceLayer("Bass", 3))),
            "the surface has 2 layers, but 'Bass' is at 3",
        ),
        (
            {"keep": Layout((), (), (VoiceLayer("Bass", 3),))},
            Layout((), (), LAYERED),
            "voice 'Bass' needs a layer, but it is kept at layer 3 and stands at 2",
        ),
        (
            {"surface": ROUTES, "keep": OVER},
            Layout((Route("Pad/cutoff", "K1", Travel(0, 8)),)),
            "Pad/cutoff is kept on K1, but it goes over 0 to 8, not 0 to 9",
        ),
        (
            {"rules": (Together(("Pad",)),)},
            Layout.of({"K3": ALL[:1], "K2": ALL[1:2]}),
            "the rule together(Pad) holds, but they are on K3, on K2, left out",
        ),
        (
            {"rules": (Apart(("Pad",), ("Bass/cutoff",)),)},
            SPLIT,
            "the rule apart(Pad; Bass/cutoff) holds, but Pad/pan and Bass/cutoff are both on K2",
        ),
        (
            {"rules": (Alone(("Pad/pan",)),)},
            Layout.of({"K1": ALL[1:2], "K2": ALL[2:]}),
            "the rule alone(Pad/pan) holds, but K2 carries Bass/cutoff, Bass/drive as well",
        ),
        (
            {"rules": (Fixed(("Pad/pan",), "K1"),)},
            SPLIT,
            "the rule fixed(Pad/pan; K1) holds, but Pad/pan is on K2",
        ),
        (
            {"rules": (Fixed(("Pad/pan",), "K1"),)},
            Layout(),
            "the rule fixed(Pad/pan; K1) holds, but Pad/pan is left out",
        ),
        (
            {"rules": (Barred(("Pad",), ("K2",)),)},
            SPLIT,
            "the rule barred(Pad; K2) holds, but Pad/pan is on K2",
        ),
    ],
)
def test_a_breach_says_what_is_demanded_and_what_was_found(
    fields: dict[str, Any], layout: Layout, told: str
) -> None:
    checked = check(a_request(**fields), layout)
    assert [str(breach) for breach in checked.breaches] == [told]
    assert not checked.valid


def test_each_breach_is_told() -> None:
    # Two of everything; a demand that is met, or breached twice, ends nothing.
    snapshots = (Snapshot("loose", ("Bass",), 3), Snapshot("pad", ("Pad",)))
    rules = (Apart(("Pad",), ("Pad",), 9), Fixed(ALL[:2], "K3"), Barred(ALL[2:4], ("K2",)))
    request = a_request(
        surface=Surface.row(3, reserved=("K3", "K1", "K2")), snapshots=snapshots, rules=rules
    )
    checked = check(request, Layout.of({"K1": ALL[:2], "K2": ALL[2:]}))
    told = [(breach.demand.kind, breach.found.split()[0]) for breach in checked.breaches]
    reserved, separate = [("reserved", "it")] * 2, [("separate", "K2")]
    fixed = [("rule", "Pad/cutoff"), ("rule", "Pad/level")]
    barred = [("rule", "Pad/pan"), ("rule", "Bass/cutoff")]
    assert told == [*reserved, *separate, *fixed, *barred]


@pytest.mark.parametrize("voice", ["Pad", "Bass"])
def test_a_layer_that_is_taken_is_taken_from_any_voice_after(voice: str) -> None:
    third = Voice("Lead")
    request = a_request(voices=(*a_request().voices, third))
    other = {"Pad": "Bass", "Bass": "Pad"}[voice]
    places = (VoiceLayer(voice, 1), VoiceLayer(other, 2), VoiceLayer("Lead", 1))
    (breach,) = check(request, Layout((), (), places)).breaches
    assert str(breach) == f"voice 'Lead' needs a layer, but '{voice}' stands at layer 1 already"


def test_layers_up_to_the_last_are_there() -> None:
    request = a_request(surface=Surface.row(3, layers=2))
    assert check(request, Layout((), (), LAYERED)).valid


KNOB, FAR = "name a knob of the surface", "positions run from 0 to 127 at 7 bits"


@pytest.mark.parametrize(
    ("layout", "field", "value", "right"),
    [
        (
            Layout.of({"K1": ["Pad/volume"]}),
            *("Layout.routes", "Pad/volume", "name a voice/destination asked for"),
        ),
        (Layout.of({"K9": ["Pad/cutoff"]}), "Layout", "K9", KNOB),
        (Layout((), (KnobTravel("K9", Travel(0, 1)),)), "Layout", "K9", KNOB),
        *(
            (Layout((), (KnobTravel("K1", far),)), "Layout.travels of 'K1'", far, FAR)
            for far in (Travel(0, 128), Travel(128, 0))
        ),
        (
            Layout((), (), (VoiceLayer("Lead", 1),)),
            *("Layout.layers", "Lead", "name a voice of the request"),
        ),
        (OVER, "Layout.routes of 'Pad/cutoff'", Travel(0, 9), NOT_ON_ROUTE),
    ],
)
def test_what_is_not_there_is_refused_by_name(
    layout: Layout, field: str, value: object, right: str
) -> None:
    with pytest.raises(InputError) as refused:
        check(a_request(), layout)
    assert (refused.value.field, refused.value.value, refused.value.right) == (field, value, right)


@pytest.mark.parametrize(
    ("layout", "field", "value", "right"),
    [
        (
            Layout((), (KnobTravel("K1", Travel(0, 9)),)),
            *("Layout.travels of 'K1'", Travel(0, 9), NOT_ON_KNOB),
        ),
        (
            Layout((Route("Pad/cutoff", "K1", Travel(0, 128)),)),
            *("Layout.routes of 'Pad/cutoff'", Travel(0, 128), FAR),
        ),
    ],
)
def test_so_is_a_travel_on_the_knob_where_routes_have_theirs(
    layout: Layout, field: str, value: object, right: str
) -> None:
    with pytest.raises(InputError) as refused:
        check(a_request(surface=ROUTES), layout)
    assert (refused.value.field, refused.value.value, refused.value.right) == (field, value, right)


@pytest.mark.parametrize(
    ("on", "follow"),
    [
        (["Pad/cutoff"], True),
        (["Bass/cutoff"], False),
        (["Pad/cutoff", "Bass/cutoff"], False),  # as many are held: it is held
        (["Pad/cutoff", "Pad/level", "Bass/cutoff"], True),
        (["Pad/cutoff", "Bass/cutoff", "Bass/drive"], False),
        (["Pad/cutoff", "Pad/level", "Pad/pan", "Bass/cutoff", "Bass/drive"], True),
        (["Pad/cutoff", "Pad/level", "Bass/cutoff", "Bass/drive"], False),
    ],
)
def test_a_knob_follows_where_more_is_moved_than_held(on: list[str], follow: bool) -> None:
    snapshots = (Snapshot("none", ()), Snapshot("pad", ("Pad",), break_weight=1))
    request = a_request(snapshots=snapshots)
    assert follows(request, Layout.of({"K2": on}), "pad") == (("K2",) if follow else ())
    assert follows(request, Layout.of({"K2": on}), "none") == ()


def test_what_follows_is_what_the_prices_say_follows() -> None:
    broken = 0
    for seed in range(EXAMPLES // 4):
        draw = random.Random(seed)  # noqa: S311 (no secret)
        request = seeded_request(seed)
        layout = random_layout(draw, request)
        for each in check(request, layout).prices.breaks:
            assert (each.knob in follows(request, layout, each.snapshot)) == each.follows, seed
            broken += 1
    assert broken > 3
