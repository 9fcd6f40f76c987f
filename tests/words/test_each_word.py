"""The words, one by one: what each takes, and what it is where nothing is said."""

from __future__ import annotations

from itertools import pairwise
from typing import Any

import attrs
import pytest

from knobpack.errors import InputError
from knobpack.words import (
    Destination,
    Group,
    KnobPosition,
    KnobSending,
    Request,
    Snapshot,
    Span,
    Surface,
    Together,
    Travel,
    Voice,
    Weights,
)
from tests.oracles.strategies import seeded_request


@pytest.mark.parametrize(
    ("start", "end", "is_reversed", "is_empty"),
    [
        (0, 127, False, False),
        (127, 0, True, False),
        (0, 63, False, False),  # the lower half at 7 bits
        (64, 127, False, False),  # the upper half
        (63, 0, True, False),
        (64, 64, False, True),
        (0, 2**32 - 1, False, False),
    ],
)
def test_a_travel_may_be_part_reversed_or_empty(
    start: int, end: int, is_reversed: bool, is_empty: bool
) -> None:
    travel = Travel(start, end)
    assert travel.reversed is is_reversed
    assert travel.empty is is_empty
    assert str(travel) == f"{start} to {end}"


@pytest.mark.parametrize(("bits", "top"), [(7, 127), (10, 1023), (14, 16383), (32, 4294967295)])
def test_the_full_travel_at_a_resolution(bits: int, top: int) -> None:
    assert Travel.full(bits) == Travel(0, top)


@pytest.mark.parametrize("bits", [-1, 0, 1, 33, True, 7.0, "7", None])
def test_a_resolution_is_one_that_a_surface_has(bits: Any) -> None:
    with pytest.raises(InputError, match="whole number of bits from 2 to 32") as caught:
        Travel.full(bits)
    assert caught.value.field == "Travel.full.bits"


def test_the_kind_is_the_name_where_it_is_left_out() -> None:
    assert Destination("cutoff").kind == "cutoff"
    assert Destination("cutoff 2", kind="cutoff").kind == "cutoff"


def test_what_a_destination_is_where_nothing_is_said() -> None:
    plain = Destination("cutoff")
    assert (plain.travel, plain.source_knob, plain.steps) == (None, None, None)
    assert plain.movable
    assert not plain.must_place
    # Medium on the scale of M2-117-UM v1.0 (June 2023), which gives no default of its own:
    # 1 essential, 2 high, 3 medium, 4 low, 5 hidden.
    assert plain.priority == 3


@pytest.mark.parametrize(
    ("voice", "keys", "velocities"),
    [
        (Voice("Pad"), 128, 127),
        (Voice("Pad", keys=Span(36, 59)), 24, 127),
        (Voice("Pad", keys=Span(60, 59)), 0, 127),
        (Voice("Pad", velocities=Span(100, 127)), 128, 28),
        # MIDI 1.0: a Note On of velocity 0 is a Note Off, so that this one never sounds.
        (Voice("Pad", velocities=Span(0, 0)), 128, 0),
    ],
)
def test_what_a_voice_answers_to(voice: Voice, keys: int, velocities: int) -> None:
    assert len(voice.sounding_keys) == keys
    assert len(voice.sounding_velocities) == velocities
    assert voice.sounds == (keys > 0 and velocities > 0)


def test_how_a_voice_is_played_is_told() -> None:
    assert Voice("Pad", layer=1).played == ()
    voice = Voice(
        "Pad", channel=2, keys=Span(36, 60), velocities=Span(1, 99), transposition=-12, program=5
    )
    assert voice.played == (
        "channel 2",
        "keys 36 to 60",
        "velocities 1 to 99",
        "transposition -12 semitones",
        "program 5 (sent as 4)",
    )


def test_the_name_of_a_default_snapshot_fits() -> None:
    assert Snapshot("only " + "v" * 120).name.startswith("only v")
    with pytest.raises(InputError, match="1 to 125 printable characters"):
        Snapshot("x" * 126)


def test_a_snapshot_may_hold_where_knobs_stand() -> None:
    held = Snapshot("Solo", ("Organ",), positions=(KnobPosition("K2", 0), KnobPosition("K1", 96)))
    assert held.positions == (KnobPosition("K2", 0), KnobPosition("K1", 96))
    assert held.stored == {"K2": 0, "K1": 96}
    assert Snapshot("Solo").stored == {}


@pytest.mark.parametrize(
    ("position", "field", "right"),
    [
        (KnobPosition("K3", 1), "knob", "name a knob of the surface"),
        (KnobPosition("k 1", 1), "knob", "close to it: K1"),
        (KnobPosition("K1", 128), "position", "positions run from 0 to 127 at 7 bits"),
    ],
)
def test_a_request_refuses_a_position_that_its_surface_does_not_have(
    position: KnobPosition, field: str, right: str
) -> None:
    still = Snapshot("still", positions=(KnobPosition("K2", 127), position))
    with pytest.raises(InputError, match=right) as caught:
        Request(Surface.row(2), snapshots=(Snapshot("all"), still))
    assert caught.value.field == f"Request.snapshots[1].positions[1].{field}"


def test_one_essential_input_outweighs_any_three_that_rank_high() -> None:
    # What the text of Weights promises, for every class and the next.
    by_priority = Weights().unplaced
    assert all(more > 3 * less for more, less in pairwise(by_priority))


def test_what_is_hidden_costs_less_than_a_crowd_and_nothing_among_what_is_left_out() -> None:
    assert [Weights().omission(priority) for priority in range(1, 6)] == [256, 64, 16, 4, 0]
    assert 0 < Weights().hidden < Weights().crowd
    assert [Weights(crowd=crowd).hidden for crowd in (0, 1, 2)] == [0, 0, 1]


def test_a_travel_missed_weighs_as_much_as_several_that_matter_less() -> None:
    assert all(one >= 2 * other > 0 for one, other in pairwise(Weights().travel))


@pytest.mark.parametrize(
    ("sent", "numbers", "told"),
    [
        (KnobSending("K1", 74), (74,), "controller 74"),
        (KnobSending("K1", 74, channel=3), (74,), "controller 74 on channel 3"),
        (KnobSending("K1", turning="endless"), (), "endless"),
        (KnobSending("K1", channel=2, turning="pick-up"), (), "on channel 2, pick-up"),
        # MIDI 1.0 Detailed Specification, page 12: volume is 7, its low half 39.
        (
            KnobSending("K1", 7, fine=True, turning="absolute"),
            (7, 39),
            "controllers 7 and 39 (14 bits), absolute",
        ),
    ],
)
def test_what_is_sent(sent: KnobSending, numbers: tuple[int, ...], told: str) -> None:
    assert sent.numbers == numbers
    assert str(sent) == told


@pytest.mark.parametrize(
    ("fields", "field", "right"),
    [
        ({}, "number", "how it takes over"),
        ({"channel": 3}, "number", "how it takes over"),
        # MIDI 1.0, page 12: 32 to 63 are the low halves of 0 to 31; from 64 on there is none.
        ({"number": 32, "fine": True}, "number", "from 0 to 31"),
        ({"turning": "endless", "fine": True}, "number", "from 0 to 31"),
        ({"turning": "relative"}, "turning", "'absolute', 'pick-up', 'endless'"),
    ],
)
def test_what_cannot_be_sent_is_refused(fields: dict[str, Any], field: str, right: str) -> None:
    with pytest.raises(InputError, match=right) as caught:
        KnobSending("K1", **fields)
    assert caught.value.field == f"KnobSending.{field}"


def test_what_is_not_movable_is_not_named_by_itself() -> None:
    inner = (Destination("a", source_knob="1"), Destination("b", source_knob="1", movable=False))
    request = Request(Surface.row(4), (Voice("Low", inner),), groups=(Group("G", ("Low/a",)),))
    assert attrs.evolve(request, snapshots=request.played).played == request.played


@pytest.mark.parametrize("first", range(0, 400, 100))
def test_no_default_snapshot_parts_a_bundle_or_what_is_bound(first: int) -> None:
    seen = 0
    for seed in range(first, first + 100):
        request = attrs.evolve(seeded_request(seed), snapshots=None)
        movable = {name for name, inner in request.by_full_name.items() if inner.movable}
        bound = [set(each.names) & movable for each in request.bundles]
        bound += [
            set(request.named(rule.names)) & movable
            for rule in request.rules
            if isinstance(rule, Together) and rule.weight is None
        ]
        played = [request.moved(each) for each in request.played]
        assert len(set(played)) == len(played)
        assert len({each.name for each in request.played}) == len(played)
        for moved in played:
            assert all(part <= moved or part.isdisjoint(moved) for part in bound)
            seen += any(part <= moved for part in bound if len(part) > 1)
        assert attrs.evolve(request, snapshots=request.played).played == request.played
    assert seen > 20
