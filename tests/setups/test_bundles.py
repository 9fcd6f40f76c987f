"""What of a setup is one bundle where it is laid out anew, by hand."""

from __future__ import annotations

import attrs

from knobpack import Destination, KnobTravel, Route, Setup, Surface, Travel, Voice, combine
from knobpack.edits import Join, OnKnob, Part, edit
from knobpack.setups.as_read import read
from knobpack.setups.bundles import source_knobs
from knobpack.show import Show, Song, allocate_show


def a_setup(name: str, knobs: int, drives: dict[str, str], travels: dict[str, Travel]) -> Setup:
    """A setup in which knobs drive what is named, all of it essential."""
    inner: dict[str, list[Destination]] = {}
    for full in drives:
        voice, _, what = full.partition("/")
        inner.setdefault(voice, []).append(Destination(what, "level", 1, travels.get(full)))
    return Setup(
        name,
        Surface.row(knobs),
        [Voice(voice, each) for voice, each in inner.items()],
        routes=[Route(*each) for each in drives.items()],
        travels=[KnobTravel(drives[full], travel) for full, travel in travels.items()],
    )


BASE = a_setup(
    "Mole set",
    2,
    {"Aero/level": "K1", "Aero/send": "K1", "Brine/level": "K2"},
    {"Brine/level": Travel(120, 0)},
)
SOURCE = a_setup(
    "Fern set",
    4,
    {"Elm/level": "K3", "Elm/tone": "K3"},
    {"Elm/level": Travel(127, 0)},
)
JOINED = combine(BASE, SOURCE).setup
"""What came shares K2 with an essential level of the base, as knobs ran out."""


def bundles(setup: Setup) -> dict[str, str]:
    """What the knobs of the bundles of a setup are called."""
    return source_knobs(read(setup), {route.destination: route.knob for route in setup.routes})


def test_what_came_is_one_with_what_came_with_it_and_with_nothing_that_it_was_joined_to() -> None:
    assert {route.knob for route in JOINED.routes if "level" in route.destination} == {"K1", "K2"}
    assert bundles(JOINED) == {
        "Aero/level": "K1",
        "Aero/send": "K1",
        "Brine/level": "K2",
        "Elm/level": "K3 (Fern set)",
        "Elm/tone": "K3 (Fern set)",
    }


def test_a_setup_brought_elsewhere_parts_what_was_joined_and_each_goes_as_it_wishes() -> None:
    found = combine(Setup("Empty", Surface.row(3)), JOINED)
    assert [{*found.allocation.on(knob)} for knob in ("K1", "K2", "K3")] == [
        {"Aero/level", "Aero/send"},
        {"Brine/level"},
        {"Elm/level", "Elm/tone"},
    ]
    assert found.allocation.layout.goes["Elm/level"] == Travel(127, 0)
    # Once it is laid out so, what was joined is known no more; what one knob drove still is.
    again = combine(Setup("Bare", Surface.row(4)), found.setup).allocation
    assert {*again.on("K3")} == {"Elm/level", "Elm/tone"}
    tight = combine(Setup("Tight", Surface.row(2)), JOINED).setup
    assert len(set(bundles(tight).values())) == 3


def test_what_an_edit_joined_stays_and_what_one_parted_is_no_bundle_again() -> None:
    apart = attrs.evolve(JOINED, surface=Surface.row(4))
    joined = edit(apart, Join(("K1", "K2"))).setup
    assert set(bundles(joined).values()) == {"K1"} or set(bundles(joined).values()) == {"K2"}
    for what in (Part(("Elm/level", "Elm/tone")), OnKnob(("Elm/tone",), "K4")):
        parted = bundles(edit(apart, what).setup)
        assert parted["Elm/level"] != parted["Elm/tone"]
        assert parted["Aero/level"] == parted["Aero/send"]


def test_what_gave_way_is_one_with_what_its_knob_drove() -> None:
    base = attrs.evolve(BASE, surface=Surface.row(2), travels=())
    freed = combine(base, SOURCE, free=["Aero/send"]).setup
    found = bundles(freed)
    assert found["Aero/send"] == found["Aero/level"] != found["Brine/level"]


def test_a_song_that_is_free_parts_what_was_joined() -> None:
    song = Song("One", attrs.evolve(JOINED, surface=Surface.row(3)), free=True)
    laid = allocate_show(Show("Evening", [song])).songs[0]
    alone = {laid.knob_of(name) for name in ("Aero/level", "Brine/level", "Elm/level")}
    assert alone == {"K1", "K2", "K3"}
    assert laid.knob_of("Elm/tone") == laid.knob_of("Elm/level")
    assert laid.layout.goes["Elm/level"] == Travel(127, 0)
