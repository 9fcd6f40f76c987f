"""What a list may not hold: each refused by the field, the value and what would be right."""

from __future__ import annotations

import math
from typing import Any

import pytest

from knobpack.errors import InputError
from tests.midi.lists import brought, entry, of_channel, one

BAD = "\u202e"  # turns the direction of writing

# The keys of one entry (M2-117-UM, 2.1), the field that is named, and what is said to be right.
ENTRIES: list[tuple[dict[str, Any], str, str]] = [
    ({"title": 5}, "title", "give text"),
    ({"title": ""}, "title", "1 to 120 printable"),
    ({"title": "a\nb"}, "title", "printable"),
    ({"title": BAD + "level"}, "title", "printable"),
    ({"title": "a\ud800"}, "title", "printable"),
    ({"description": 5}, "description", "give text"),
    ({"channel": 0}, "channel", "1 to 256"),
    ({"channel": 257}, "channel", "1 to 256"),
    ({"channel": "1"}, "channel", "1 to 256"),
    ({"channel": True}, "channel", "1 to 256"),
    ({"ctrlType": "sysex"}, "ctrlType", "give one of cc, chPress"),
    ({"ctrlType": ["cc"]}, "ctrlType", "give one of cc, chPress"),
    ({"ctrlIndex": 74}, "ctrlIndex", "give [number], or [high half, low half]"),
    ({"ctrlIndex": []}, "ctrlIndex", "give [number]"),
    ({"ctrlIndex": [7, 39, 1]}, "ctrlIndex", "give [number]"),
    ({"ctrlIndex": [7, 40]}, "ctrlIndex", "low half 32 above"),
    ({"ctrlIndex": [39, 7]}, "ctrlIndex", "low half 32 above"),
    ({"ctrlIndex": [64, 96]}, "ctrlIndex", "low half 32 above"),
    ({"ctrlIndex": [128]}, "ctrlIndex[0]", "0 to 127"),
    ({"ctrlIndex": [7, 10**30]}, "ctrlIndex[1]", "0 to 127"),
    ({"ctrlIndex": ["7"]}, "ctrlIndex[0]", "0 to 127"),
    ({"ctrlType": "nrpn", "ctrlIndex": [55]}, "ctrlIndex", "give [MSB, LSB]"),
    ({"ctrlType": "nrpn", "ctrlIndex": [0, 128]}, "ctrlIndex[1]", "0 to 127"),
    ({"ctrlType": "nrpn", "ctrlIndex": [127, 127]}, "ctrlIndex", "null parameter"),
    ({"ctrlType": "rpn", "ctrlIndex": [127, 127]}, "ctrlIndex", "null parameter"),
    ({"ctrlType": "pnac", "ctrlIndex": [1, 2]}, "ctrlIndex", "give [number]"),
    ({"ctrlType": "pnrc", "ctrlIndex": [256]}, "ctrlIndex[0]", "0 to 255"),
    ({"priority": 0}, "priority", "1 to 5"),
    ({"priority": 6}, "priority", "1 to 5"),
    ({"priority": "high"}, "priority", "1 to 5"),
    ({"default": -1}, "default", "0 to 4294967295"),
    ({"default": "half"}, "default", "0 to 4294967295"),
    ({"default": math.nan}, "default", "0 to 4294967295"),
    ({"transmit": "sometimes"}, "transmit", "absolute, relative, both, none"),
    ({"recognize": False}, "recognize", "absolute, relative, both, none"),
    ({"numSigBits": 0}, "numSigBits", "1 to 32"),
    ({"numSigBits": 33}, "numSigBits", "1 to 32"),
    ({"paramPath": 7}, "paramPath", "give text"),
    ({"paramPath": "/" + "a" * 256}, "paramPath", "at most 256 bytes"),
    ({"paramPath": "/" + "é" * 128}, "paramPath", "at most 256 bytes"),
    ({"paramPath": f"/filter/{BAD}cutoff"}, "paramPath", "printable"),
    ({"paramPath": "/fil\nter/cutoff"}, "paramPath", "printable"),
    ({"paramPath": "/\udc00"}, "paramPath", "printable"),
    ({"typeHint": 1}, "typeHint", "give text"),
    ({"typeHint": "valueSelect"}, "ctrlMapId", "takes the id of a CtrlMapList"),
    ({"ctrlMapId": ""}, "ctrlMapId", "1 to 36 of the characters"),
    ({"ctrlMapId": "a" * 37}, "ctrlMapId", "1 to 36 of the characters"),
    ({"ctrlMapId": "a-b"}, "ctrlMapId", "1 to 36 of the characters"),
    ({"ctrlMapId": "é"}, "ctrlMapId", "1 to 36 of the characters"),
    ({"ctrlMapId": "wave\n"}, "ctrlMapId", "1 to 36 of the characters"),
    ({"ctrlMapId": 7}, "ctrlMapId", "1 to 36 of the characters"),
    ({"stepCount": 1}, "stepCount", "2 to 4294967296"),
    ({"stepCount": 2**32 + 1}, "stepCount", "2 to 4294967296"),
    ({"stepCount": 4, "minMax": [0, 5]}, "stepCount", "not both"),
    ({"minMax": [0]}, "minMax", "two whole numbers"),
    ({"minMax": "0-5"}, "minMax", "two whole numbers"),
    ({"minMax": [5, 5]}, "minMax", "the lower one first"),
    ({"minMax": [6, 5]}, "minMax", "the lower one first"),
    ({"minMax": [-1, 5]}, "minMax[0]", "0 to 4294967295"),
    ({"minMax": [0, 2**32]}, "minMax[1]", "0 to 4294967295"),
    ({"minMax": [0, 0.5]}, "minMax[1]", "0 to 4294967295"),
    ({"defaultCCMap": "yes"}, "defaultCCMap", "true or false"),
    ({"defaultCCMap": 1}, "defaultCCMap", "true or false"),
]


@pytest.mark.parametrize(("keys", "field", "right"), ENTRIES, ids=range(len(ENTRIES)))
def test_a_value_that_a_key_cannot_hold(keys: dict[str, Any], field: str, right: str) -> None:
    fine = [entry(title="A", ctrlIndex=[10]), entry(title="B", ctrlIndex=[11])]
    with pytest.raises(InputError) as caught:
        brought(*fine, entry(**keys))
    assert caught.value.field == f"[2].{field}"
    assert right in caught.value.right
    key = field.split("[", maxsplit=1)[0]
    if key in keys and "[" not in field:
        assert caught.value.value is keys[key] or caught.value.value == keys[key]


@pytest.mark.parametrize("key", ["title", "ctrlType", "ctrlIndex"])
def test_a_required_key_is_missing(key: str) -> None:
    # 2.1: required are title, ctrlType and, for most types, ctrlIndex.
    for given in (entry(key), entry(**{key: None})):
        with pytest.raises(InputError, match=rf"^\[0\]\.{key}: is missing"):
            brought(given)


# SoundFont 2.04, 8.2.1: 0, 6, 32, 38, 98 to 101 and 120 to 127 are illegal; MIDI 1.0, Table III:
# 96 and 97 are data increment and decrement.
RESERVED = [0, 6, 32, 38, *range(96, 102), *range(120, 128)]


@pytest.mark.parametrize("number", range(128))
def test_a_reserved_number_is_refused_where_it_would_be_driven(number: int) -> None:
    if number in RESERVED:
        with pytest.raises(InputError, match="reserved") as caught:
            one(ctrlIndex=[number])
        assert (caught.value.field, caught.value.value) == ("[0].ctrlIndex", [number])
        # What is only sent is never driven, so that it does no harm.
        assert one(ctrlIndex=[number], recognize="none").voices[0].destinations == ()
    else:
        assert one(ctrlIndex=[number]).listening[0].numbers == (number,)
    if number < 32:
        pair = [number, number + 32]
        if number in RESERVED:
            with pytest.raises(InputError, match="reserved"):
                one(ctrlIndex=pair)
        else:
            assert one(ctrlIndex=pair).listening[0].numbers == tuple(pair)


TWICE: list[tuple[dict[str, Any], dict[str, Any], str]] = [
    ({}, {}, "ctrlIndex"),
    ({"ctrlIndex": [7, 39]}, {"ctrlIndex": [7]}, "ctrlIndex"),
    ({"ctrlIndex": [39]}, {"ctrlIndex": [7, 39]}, "ctrlIndex"),
    ({"transmit": "none"}, {}, "ctrlIndex"),
    ({"transmit": "none"}, {"transmit": "none"}, "ctrlIndex"),
    ({"recognize": "none"}, {}, "ctrlIndex"),
    ({"recognize": "none"}, {"recognize": "none"}, "ctrlIndex"),
    (
        {"ctrlType": "nrpn", "ctrlIndex": [1, 2]},
        {"ctrlType": "nrpn", "ctrlIndex": [1, 2]},
        "ctrlIndex",
    ),
    ({"ctrlType": "pBend"}, {"ctrlType": "pBend"}, "ctrlType"),
]


@pytest.mark.parametrize(("first", "second", "field"), TWICE)
def test_a_controller_that_is_listed_twice(
    first: dict[str, Any], second: dict[str, Any], field: str
) -> None:
    # 2.1: twice only if one entry has transmit none and the other recognize none.
    left_out = ("ctrlIndex",) if first.get("ctrlType") == "pBend" else ()
    with pytest.raises(InputError, match=r"\[0\] is this controller already") as caught:
        brought(entry(*left_out, **first), entry(*left_out, **second))
    assert caught.value.field == f"[1].{field}"
    with pytest.raises(InputError):
        of_channel(entry(*left_out, **first), entry(*left_out, **second))


def test_a_controller_that_is_listed_a_third_time() -> None:
    pair = [entry(transmit="none"), entry(recognize="none")]
    for third in (entry(), *pair):
        with pytest.raises(InputError) as caught:
            brought(*pair, third)
        assert caught.value.field == "[2].ctrlIndex"


def test_one_key_in_two_cases() -> None:
    with pytest.raises(InputError, match="stands for title, which is there already") as caught:
        brought({**entry(), "Title": "Other"})
    assert caught.value.field == "[0].Title"


def test_a_key_that_is_no_text() -> None:
    wrong: list[dict[Any, Any]] = [{5: 1}, {None: 1}, {10**5000: 1}, {b"title": "A"}]
    for keys in wrong:
        with pytest.raises(InputError, match="a key is text"):
            brought({**entry(), **keys})


def test_an_entry_without_its_channel_among_others() -> None:
    with pytest.raises(InputError, match="say its channel") as caught:
        brought(entry(), entry("channel", title="Other", ctrlIndex=[7]))
    assert caught.value.field == "[1].channel"
