"""allocate(): what it takes, what stays as it was, how it is stopped, and that it never varies."""

from __future__ import annotations

from functools import cache
from typing import Any

import attrs
import pytest

from knobpack import (
    Allocation,
    Alone,
    Destination,
    InputError,
    KnobTravel,
    Layout,
    Route,
    Setup,
    Snapshot,
    Surface,
    Travel,
    Voice,
    Weights,
    allocate,
    allocate_request,
)
from knobpack.checker import TIERS
from knobpack.limits import Progress
from knobpack.words import Span, VoiceLayer

BASE = Setup(
    "Stage",
    Surface.row(3),
    (Voice("Pad", (Destination("cutoff"), Destination("level")), layer=2),),
    routes=(Route("Pad/cutoff", "K2"), Route("Pad/level", "K3")),
    travels=(KnobTravel("K2", Travel(5, 90)), KnobTravel("K3", Travel(127, 0))),
)
BASS = Voice("Bass", (Destination("cutoff"), Destination("drive")), layer=2, source="Old trio")


def values_of(found: Allocation) -> tuple[int, ...]:
    return tuple(tier.value for tier in found.tiers)


# What it takes ----------------------------------------------------------------------------------


def test_a_setup_as_keep_brings_its_voices_routes_travels_and_layers() -> None:
    found = allocate([BASS], BASE.surface, keep=BASE)
    assert [voice.name for voice in found.request.voices] == ["Pad", "Bass"]
    assert set(BASE.routes) <= set(found.routes)
    assert set(BASE.travels) <= set(found.travels)
    assert [(each.voice, each.new) for each in found.layers] == [("Pad", 2), ("Bass", 1)]
    assert found.proven
    # A voice that is given takes the place of the setup's own of that name.
    given = attrs.evolve(BASE.voices[0], source="Here")
    again = allocate([BASS, given], BASE.surface, keep=BASE)
    assert [voice.source for voice in again.request.voices] == ["Old trio", "Here"]
    # So does an allocation: all of it stays.
    assert allocate([], BASE.surface, keep=found).routes == found.routes


def test_a_request_says_all_by_itself() -> None:
    found = allocate([BASS], BASE.surface, rules=[Alone(BASS)])
    assert allocate(found.request) == allocate_request(found.request) == found
    assert [found.tier(each.name) for each in found.tiers] == [*found.tiers]
    wrong: list[tuple[tuple[Any, ...], dict[str, Any], str]] = [
        ((found.request, BASE.surface), {}, "a Request holds all of it"),
        ((found.request,), {"rules": [Alone(BASS)]}, "a Request holds all of it"),
        ((BASE.surface, [BASS]), {}, "give the voices, then the surface"),
        (([BASS],), {}, "give the voices, then the surface; or a Request"),
    ]
    for given, named, right in wrong:
        with pytest.raises(InputError, match=right):
            allocate(*given, **named)
    with pytest.raises(InputError, match="name a tier; close to it: sharing"):
        found.tier("shareing")


def test_what_will_not_do_is_named_as_it_was_given() -> None:
    twice = [Route("Pad/cutoff", "K1"), Route("Pad/cutoff", "K2")]
    faulty = attrs.evolve(BASE, routes=twice)
    wrong: list[tuple[dict[str, Any], str]] = [
        ({"rules": [Alone("Gone")]}, "allocate.rules[0].names[0]"),
        ({"snapshots": [Snapshot("All", ["Gone"])]}, "allocate.snapshots[0].moves[0]"),
        ({"keep": faulty}, "allocate.keep.routes[1].destination"),
        ({"previous": twice}, "allocate.previous.routes[1].destination"),
    ]
    for given, field in wrong:
        with pytest.raises(InputError) as caught:
            allocate(BASE.voices, BASE.surface, **given)
        assert caught.value.field == field


def test_a_layout_or_routes_as_keep() -> None:
    voices = (*BASE.voices, BASS)
    by_layout = allocate(voices, BASE.surface, keep=BASE.layout)
    assert values_of(by_layout) == values_of(allocate([BASS], BASE.surface, keep=BASE))
    by_routes = allocate(voices, BASE.surface, keep=iter(BASE.routes))
    assert set(BASE.routes) <= set(by_routes.routes)
    # Only routes are kept then: the travels are those wanted, and the voices stand in order.
    assert {setting.travel for setting in by_routes.travels} == {Travel(0, 127)}
    # A kept route keeps the layer of its voice too.
    assert [each.new for each in by_routes.layers] == [2, 1]


def test_previous_is_an_allocation_a_setup_a_layout_or_routes() -> None:
    surface, voices = Surface.row(4), (*BASE.voices, BASS)
    before = Layout((Route("Pad/cutoff", "K4"), Route("Bass/drive", "K1")))
    first = allocate(voices, surface, previous=before)
    ways: list[Any] = [first, first.setup("Now"), first.layout, list(first.routes)]
    for previous in ways:
        found = allocate(iter(voices), surface, previous=previous)
        assert found.routes == first.routes
        assert found.tiers[4].value == 0
    assert values_of(first)[4] == 0
    assert set(before.routes) <= set(first.routes)


@pytest.mark.parametrize("word", ["keep", "previous"])
def test_positions_of_another_resolution_are_refused(word: str) -> None:
    fine = attrs.evolve(BASE, surface=attrs.evolve(BASE.surface, bits=14))
    laid_out = allocate(fine.voices, fine.surface)
    for given in (fine, laid_out.setup("Fine") if word == "keep" else laid_out):
        with pytest.raises(InputError, match="14 will not do; give one of 7 bits") as caught:
            allocate([BASS], BASE.surface, **{word: given})  # type: ignore[call-overload]
        assert caught.value.field == f"allocate.{word}.surface.bits"


def test_something_else_than_voices_is_refused() -> None:
    wrong: Any = "Pad"
    with pytest.raises(InputError, match="voices"):
        allocate(wrong, BASE.surface)
    with pytest.raises(InputError):
        allocate([BASS], BASE.surface, keep=[Route("Nobody/level", "K1")])
    with pytest.raises(InputError):
        allocate([BASS], BASE.surface, keep=wrong)


def test_nothing_to_place_is_placed() -> None:
    found = allocate([], Surface.row(0))
    assert found.proven
    assert (found.routes, found.unplaced, values_of(found)) == ((), (), (0,) * len(TIERS))


def test_layers_and_kept_places_are_part_of_the_layout_that_is_checked() -> None:
    found = allocate([BASS], BASE.surface, keep=BASE)
    assert found.layout.layers == (VoiceLayer("Pad", 2), VoiceLayer("Bass", 1))
    setup = found.setup("Tonight")
    assert [voice.layer for voice in setup.voices] == [2, 1]
    assert setup.layout == found.layout


def test_the_setup_says_of_a_voice_all_that_the_request_says_but_its_layer() -> None:
    lead = Voice(
        "Lead",
        (Destination("cutoff"),),
        layer=7,
        source="Hall set",
        channel=3,
        keys=Span(60, 96),
        velocities=Span(1, 90),
        transposition=-12,
        program=81,
    )
    (voice,) = allocate([lead], Surface.row(1)).setup("Tonight").voices
    assert voice == attrs.evolve(lead, layer=1)


# Adding to what there is ------------------------------------------------------------------------


def test_no_bound_is_told_that_does_not_hold() -> None:
    # To keep both apart would cost a destination; to break the snapshot costs one point.
    voice = Voice("V", (Destination("a", "level"), Destination("b", "level")))
    solo = Snapshot("a moves", ("V/a",), break_weight=1)
    told: list[Progress] = []
    found = allocate((voice,), Surface.row(1), snapshots=(solo,), progress=told.append)
    assert [tier.value for tier in found.tiers][:4] == [0, 0, 1, 2100]
    assert told
    values = {tier.name: tier.value for tier in found.tiers}
    assert all(each.bound <= values[each.tier] for each in told)


def test_of_thousands_of_equally_good_divisions_none_is_forgotten() -> None:
    """Eight voices of four alike destinations on 17 knobs: whoever has more, crowding is the same.

    There are 5,328 ways to deal the knobs, and only the layout tells them apart. With each voice on
    neighbouring knobs, the one that is not drawn to the near ones last, it is worked out by hand.
    """
    voices = tuple(
        Voice(
            f"V{at}",
            tuple(
                Destination(f"d{each}", "cutoff", priority=1 if at else 5, must_place=not at)
                for each in range(4)
            ),
        )
        for at in range(8)
    )

    @cache
    def cost(voices_left: int, step: int) -> int:
        """What voices cost from a step on: 4 points for each destination and step."""
        if not voices_left:
            return 0 if 1 <= 17 - step <= 4 else 10**6
        parts = ((4,), (3, 1), (2, 2), (2, 1, 1), (1, 1, 1, 1))
        return min(
            sum(4 * size * (step + at) for at, size in enumerate(part))
            + cost(voices_left - 1, step + len(part))
            for part in parts
        )

    found = allocate(voices, Surface.row(17), weights=Weights(heap=0, essential=0, company=0))
    assert found.proven
    assert found.tiers[5].value == cost(7, 0) == 432
