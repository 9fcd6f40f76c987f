"""M2-117-UM v1.0: its example, corrected, and each rule of its table, key by key."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from knobpack.midi import ListedController, controller_numbers, import_controllers
from knobpack.words import Destination, Group, Travel, Voice
from tests.midi.lists import EXAMPLE, HALF, TOP, WAVES, brought, entry, of_channel, one, only
from tests.midi.numbered_setups import plain


def test_the_example_of_the_standard() -> None:
    found = import_controllers(EXAMPLE, "Channel", bits=10, maps={"lfo_wave": WAVES})
    assert found.voices == (
        Voice("Channel 1", (Destination("Volume", "volume", 1),), channel=1),
        Voice(
            "Channel 2",
            (
                Destination("Filter Cutoff", "cutoff", 2),
                Destination("LFO Wave", "wave type", 3, steps=3),
            ),
            channel=2,
        ),
    )
    assert [(e.voice, e.channel, e.numbers) for e in found.listening] == [
        ("Channel 1", 1, (7, 39)),
        ("Channel 2", 2, (6, 14, 38, 98, 99)),
    ]
    assert found.controllers == (
        ListedController(
            "Volume", "Channel 1/Volume", 1, "cc", (7, 39), TOP, 32, "absolute", "absolute"
        ),
        ListedController(
            "Filter Cutoff",
            "Channel 2/Filter Cutoff",
            2,
            "nrpn",
            (0, 55),
            HALF,
            32,
            "absolute",
            "both",
        ),
        ListedController(
            "LFO Wave", "Channel 2/LFO Wave", 2, "cc", (14,), 0, 32, "absolute", "absolute"
        ),
    )
    assert found.groups == ()
    assert found.remarks == (
        "[2]: no priority is given, and the standard has no default; taken as medium, 3.",
    )
    assert str(found) == (
        "2 voices with 3 destinations from 3 controllers, 10 bits.\n"
        "Channel 1 receives on channel 1: Volume.\n"
        "Channel 2 receives on channel 2: Filter Cutoff and LFO Wave.\n" + found.remarks[0]
    )
    assert [str(each) for each in found.controllers] == [
        "cc 7 39 on channel 1",
        "nrpn 0 55 on channel 2",
        "cc 14 on channel 2",
    ]
    assert found.bits == 10


def test_a_list_may_be_text_bytes_a_file_or_plain(tmp_path: Path) -> None:
    path = tmp_path / "list.json"
    path.write_text(EXAMPLE)
    waves = tmp_path / "waves.json"
    waves.write_bytes(b"\xef\xbb\xbf" + WAVES.encode())
    expected = import_controllers(EXAMPLE, "Channel", maps={"lfo_wave": WAVES})
    for given in (EXAMPLE.encode(), "\ufeff" + EXAMPLE, path, json.loads(EXAMPLE)):
        for values in (WAVES.encode(), waves, json.loads(WAVES)):
            assert import_controllers(given, "Channel", maps={"lfo_wave": values}) == expected


def test_a_channel_list_is_one_voice_of_the_channel_that_is_given() -> None:
    listed = [entry("channel"), entry("channel", title="Level", ctrlIndex=[7], defaultCCMap=True)]
    found = import_controllers(json.dumps(listed), "Lead", 200, source="Old rig")
    assert found.voices == (
        Voice(
            "Lead",
            (Destination("Cutoff", "brightness", 2), Destination("Level", "level", 2)),
            source="Old rig",
        ),
    )
    assert [(e.voice, e.channel, e.numbers) for e in found.listening] == [("Lead", 200, (7, 74))]
    assert [each.channel for each in found.controllers] == [200, 200]
    assert [each.default_cc_map for each in found.controllers] == [False, True]
    assert found.remarks == ()


def test_an_empty_list_is_a_voice_with_nothing() -> None:
    found = of_channel()
    assert found.voices == (Voice("Lead", channel=5),)
    assert [each.numbers for each in found.listening] == [()]
    assert "nothing that a knob can drive" in str(found)


def test_voices_stand_in_the_order_of_channels() -> None:
    listed = [entry(channel=number) for number in (256, 3, 17)]
    found = brought(*listed, source="Rig")
    assert [voice.name for voice in found.voices] == ["Lead 3", "Lead 17", "Lead 256"]
    assert [each.channel for each in found.listening] == [3, 17, 256]
    assert {voice.source for voice in found.voices} == {"Rig"}
    assert {voice.layer for voice in found.voices} == {None}
    assert [each.destination for each in found.controllers] == [
        "Lead 256/Cutoff",
        "Lead 3/Cutoff",
        "Lead 17/Cutoff",
    ]


def test_destinations_stay_in_the_order_of_the_list() -> None:
    # 2.1.1.1: earlier entries win within a class.
    ranks = [1, 5, 1, 2, 4]
    listed = [
        entry(title=f"T{number}", ctrlIndex=[14 + number], priority=rank)
        for number, rank in enumerate(ranks)
    ]
    (voice,) = brought(*listed).voices
    assert [each.name for each in voice.destinations] == ["T0", "T1", "T2", "T3", "T4"]
    assert [each.priority for each in voice.destinations] == ranks


TYPES = [
    ("cc", [74], (74,)),
    ("cc", [7, 39], (7, 39)),
    ("cc", [31, 63], (31, 63)),
    ("cc", [119], (119,)),
    # What carries a parameter: MIDI 1.0, page 17.
    ("nrpn", [0, 55], (6, 38, 98, 99)),
    ("nrpn", [127, 126], (6, 38, 98, 99)),
    ("rpn", [0, 5], (6, 38, 100, 101)),
    ("pnrc", [255], ()),  # up to 255: M2-104-UM, from memory
    ("pnac", [0], ()),
    ("chPress", None, ()),
    ("pPress", None, ()),
    ("pBend", None, ()),
    ("pnp", None, ()),
]


@pytest.mark.parametrize(("kind", "index", "heard"), TYPES)
def test_every_type_and_what_is_listened_to(
    kind: str, index: list[int] | None, heard: tuple[int, ...]
) -> None:
    found = (
        one("ctrlIndex", ctrlType=kind) if index is None else one(ctrlType=kind, ctrlIndex=index)
    )
    (controller,) = found.controllers
    assert (controller.ctrl_type, controller.ctrl_index) == (kind, tuple(index or ()))
    assert controller.destination == "Lead/Cutoff"
    assert found.listening[0].numbers == heard
    assert len(found.remarks) == (kind in {"pPress", "pnrc", "pnac", "pnp"})  # one note each


def test_what_recognizes_nothing_is_no_destination() -> None:
    found = one(recognize="none", ctrlIndex=[7, 39])
    assert found.voices == (Voice("Lead", channel=1),)
    assert found.controllers[0].destination is None
    assert found.listening[0].numbers == ()
    assert found.remarks == (
        "[0]: it is left out: it recognizes nothing, so no knob can drive it.",
    )


def test_no_knob_is_sent_on_a_parameter_where_a_voice_listens_to_one() -> None:
    for kind in ("nrpn", "rpn"):
        found = one(ctrlType=kind, ctrlIndex=[0, 55])
        numbers = controller_numbers(
            plain(2), listening=found.listening, allowed=[], parameters=[(0, 55), (1, 1)]
        )
        assert numbers.left == ("K1", "K2", "")
        assert numbers.room[0].shut_by == ("Lead",)


def test_what_takes_changes_alone_is_a_destination_with_a_remark() -> None:
    found = one(recognize="relative")
    assert only(found) == only(one())
    assert "changes alone" in found.remarks[0]
    assert one(recognize="both").remarks == ()


def test_one_controller_may_be_sent_and_received_in_two_entries() -> None:
    sent = entry(title="Wheel", recognize="none", ctrlIndex=[1])
    received = entry(title="Vibrato", transmit="none", ctrlIndex=[1, 33])
    for listed in ([sent, received], [received, sent]):
        found = brought(*listed)
        assert [each.name for each in found.voices[0].destinations] == ["Vibrato"]
        assert found.listening[0].numbers == (1, 33)
        assert len(found.controllers) == 2


def test_the_same_controller_on_two_channels_is_two() -> None:
    assert len(brought(entry(), entry(channel=2)).voices) == 2
    # So are a type without number on one channel, and parameters that share a half.
    mixed = [entry("ctrlIndex", title=kind, ctrlType=kind) for kind in ("pBend", "chPress")]
    mixed += [entry(title=f"N{n}", ctrlType="nrpn", ctrlIndex=[1, n]) for n in range(3)]
    mixed += [entry(title="R", ctrlType="rpn", ctrlIndex=[1, 0])]
    assert len(brought(*mixed).voices[0].destinations) == 6


STEPS: list[tuple[dict[str, Any], int | None]] = [
    ({"stepCount": 2}, 2),
    ({"stepCount": 12}, 12),
    ({"stepCount": 8, "typeHint": "toggle"}, 8),
    ({"typeHint": "toggle"}, 2),
    ({"typeHint": "momentary"}, 2),  # common practice, no source
    ({"typeHint": "continuous"}, None),
    ({"typeHint": "relative"}, None),
    ({}, None),
    ({"typeHint": "valueSelect", "ctrlMapId": "wave"}, 3),
    ({"ctrlMapId": "wave"}, 3),
    ({"typeHint": "continuous", "ctrlMapId": "wave"}, None),  # names for places on the way
]


@pytest.mark.parametrize(("keys", "steps"), STEPS)
def test_steps(keys: dict[str, Any], steps: int | None) -> None:
    maps = {"wave": WAVES} if "ctrlMapId" in keys else None
    found = one(maps=maps, **keys)
    assert only(found).steps == steps
    assert found.remarks == ()


# M2-115-U 3.4: down by a plain shift; the values are computed, not printed there.
SPANS = [
    ([0x02000000, 0xFFFFFFFF], 7, Travel(1, 127)),
    ([0x01FFFFFF, 0x80000000], 7, Travel(0, 64)),
    ([0x7FFFFFFF, 0x80000000], 7, Travel(63, 64)),
    ([0x3FFFF, 0x40000], 14, Travel(0, 1)),
    ([0x7FFFFFFF, 0x80000000], 14, Travel(8191, 8192)),
    ([0, 0x80000000], 10, Travel(0, 512)),
    ([5, 6], 32, Travel(5, 6)),
    ([0, 0xFFFFFFFF], 7, None),
    ([0x01FFFFFF, 0xFE000000], 7, None),
]


@pytest.mark.parametrize(("span", "bits", "travel"), SPANS)
def test_a_range_is_the_travel(span: list[int], bits: int, travel: Travel | None) -> None:
    found = one(bits=bits, minMax=span)
    assert only(found).travel == travel
    assert found.remarks == ()


def test_two_states_within_a_range_are_its_ends() -> None:
    # Steps are counted over all positions; here both would be the same step, or none.
    found = only(one(typeHint="toggle", minMax=[0x40000000, 0x60000000]))
    assert (found.steps, found.travel) == (None, Travel(32, 48))


# M2-115-U, Table 10 (16 to 7 bits, rounded), each value in the top 16 of 32 bits: what a
# registered parameter of LSB 0 to 31 asks for (4.1); all others are shifted (Table 8: 44730).
ROUNDED = [(5120, 10), (5631, 11), (44730, 87), (44800, 88), (65024, 127), (65535, 127)]


@pytest.mark.parametrize(("value", "position"), ROUNDED)
def test_the_range_of_a_number_with_a_unit_is_rounded(value: int, position: int) -> None:
    for index, expected in (([0, 31], position), ([0, 32], value >> 9)):
        found = one(ctrlType="rpn", ctrlIndex=index, minMax=[1 << 25, value << 16])
        assert only(found).travel == Travel(1, expected)
    shifted = one(ctrlType="nrpn", ctrlIndex=[0, 0], minMax=[1 << 25, value << 16])
    assert only(shifted).travel == Travel(1, value >> 9)


def test_related_controls_are_kept_together() -> None:
    # Table 5: paramPath is for keeping related controls together.
    paths = ["/filter/cutoff", "/volume", "/filter/env/attack", "/filter/env/decay", "/lfo/rate"]
    listed = [
        entry(title=f"T{number}", ctrlIndex=[14 + number], paramPath=path)
        for number, path in enumerate(paths)
    ]
    found = brought(*listed)
    (voice,) = found.voices
    assert [each.kind for each in voice.destinations] == [
        "cutoff",
        "volume",
        "attack",
        "decay",
        "rate",
    ]
    assert found.groups == (Group("Lead filter", ("Lead/T0", "Lead/T2", "Lead/T3")),)
    assert "Group Lead filter: Lead/T0, Lead/T2 and Lead/T3." in found.sentences
