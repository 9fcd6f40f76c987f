"""What kind a listed controller is of, and which are kept together."""

from __future__ import annotations

from typing import Any

import pytest

from knobpack.midi import Imported, import_controllers
from knobpack.words.loudness import level_like
from tests.midi.lists import brought, entry, one


def kind(**keys: Any) -> str:
    """The kind of a controller that is listed with these keys."""
    if keys.get("ctrlType") in {"chPress", "pPress", "pBend", "pnp"}:
        return one("ctrlIndex", **keys).voices[0].destinations[0].kind
    return one(**keys).voices[0].destinations[0].kind


# The path says it; else the standard meaning: MIDI 1.0 Table III, RP-021 (70 to 78), RP-023 (91,
# 93) and the table of registered parameters; else the title.
KINDS: list[tuple[dict[str, Any], str]] = [
    ({"paramPath": "/filter/cutoff"}, "cutoff"),
    ({"paramPath": "/lfo/waveType"}, "wave type"),
    ({"paramPath": "/lfo/Wave_Type/"}, "wave type"),
    ({"paramPath": "/osc/0/pitch/1"}, "pitch"),
    ({"paramPath": "/a~1b/c~0d"}, "c~d"),
    # RFC 6901, section 4: ~01 is ~1 and no slash.
    ({"paramPath": "/x~01"}, "x~1"),
    ({"paramPath": "/on~1off"}, "on off"),
    ({"paramPath": ""}, "brightness"),
    ({"paramPath": "/"}, "brightness"),
    ({"paramPath": "/0/1"}, "brightness"),
    ({}, "brightness"),
    ({"ctrlIndex": [71]}, "timbre harmonic intensity"),
    ({"ctrlIndex": [1, 33]}, "modulation wheel"),
    ({"ctrlIndex": [10]}, "pan"),
    ({"ctrlIndex": [3]}, "cutoff"),
    ({"ctrlIndex": [16]}, "cutoff"),
    ({"ctrlIndex": [12]}, "cutoff"),
    ({"ctrlIndex": [79]}, "cutoff"),
    ({"ctrlIndex": [39]}, "cutoff"),
    ({"ctrlIndex": [110]}, "cutoff"),
    ({"ctrlType": "rpn", "ctrlIndex": [0, 1]}, "fine tuning"),
    ({"ctrlType": "rpn", "ctrlIndex": [9, 9]}, "cutoff"),
    ({"ctrlType": "nrpn", "ctrlIndex": [0, 1]}, "cutoff"),
    ({"ctrlType": "pnac", "ctrlIndex": [7]}, "cutoff"),
    ({"ctrlType": "pBend"}, "pitch bend"),
    ({"ctrlType": "chPress"}, "channel pressure"),
    ({"ctrlType": "nrpn", "ctrlIndex": [0, 1], "title": "FilterEnv Amount"}, "filter env amount"),
    # A name without a word in it.
    ({"ctrlType": "nrpn", "ctrlIndex": [0, 1], "title": "_"}, "_"),
]


@pytest.mark.parametrize(("keys", "expected"), KINDS)
def test_kinds(keys: dict[str, Any], expected: str) -> None:
    assert kind(**keys) == expected


# Channel volume and expression add up in decibels (GM2 3.3.4 and 3.3.6): whatever the list calls
# them, a snapshot that recalls them may be loud, and a caution is due.
LOUD: list[tuple[dict[str, Any], str]] = [
    ({"ctrlIndex": [7]}, "level"),
    ({"ctrlIndex": [7, 39], "paramPath": "/mixer/part1"}, "level"),
    ({"ctrlIndex": [11], "paramPath": "/expression"}, "level"),
    ({"ctrlIndex": [7], "paramPath": "/mixer/volume"}, "volume"),
    ({"ctrlIndex": [20], "paramPath": "/amp/outLevel"}, "out level"),
    ({"ctrlIndex": [20], "title": "Master Gain", "paramPath": "/global/amount"}, "master gain"),
    # Volume per note: M2-104-UM, from memory.
    ({"ctrlType": "pnrc", "ctrlIndex": [7]}, "level"),
]


@pytest.mark.parametrize(("keys", "expected"), LOUD)
def test_what_can_be_loud_is_known_to_be(keys: dict[str, Any], expected: str) -> None:
    assert kind(**keys) == expected
    assert level_like(kind(**keys))


def with_paths(*paths: str | None) -> Imported:
    """What a list brings whose entries T0, T1, … have these paths."""
    listed = [
        entry(title=f"T{number}", ctrlIndex=[14 + number], paramPath=path)
        for number, path in enumerate(paths)
    ]
    return brought(*listed)


def names(found: Imported) -> dict[str, str]:
    """The members of each group, voice aside: ``{"filter": "T0 T1"}``."""
    return {
        group.name.removeprefix("Lead "): " ".join(m.split("/")[1] for m in group.members)
        for group in found.groups
    }


def test_levels_are_counted_below_what_all_begin_with() -> None:
    assert names(with_paths("/p/1/env/a", "/p/1/env/d", "/p/1/lfo/r", "/p/1/lfo/d")) == {
        "env": "T0 T1",
        "lfo": "T2 T3",
    }


def test_no_group_of_one_nor_of_all() -> None:
    assert names(with_paths("/env/a", "/lfo/r", "/pan")) == {}
    assert names(with_paths("/env/a", "/env/d")) == {}
    assert names(with_paths("/env/a", "/env/d", None)) == {"env": "T0 T1"}


def test_a_path_that_is_passed_over_is_in_no_group() -> None:
    assert names(with_paths("env/a", "env/d", "/lfo/r", "/lfo/d")) == {"lfo": "T2 T3"}


def test_names_of_groups_are_their_own_and_not_too_long() -> None:
    long = "n" * 100
    listed = [
        entry(title=f"T{number}", ctrlIndex=[14 + number], channel=channel, paramPath=path)
        for channel in (1, 2)
        for number, path in enumerate([f"/{long}1/a", f"/{long}1/b", f"/{long}2/a", f"/{long}2/b"])
    ]
    found = import_controllers(listed, "v" * 119)
    called = [group.name for group in found.groups]
    assert len(set(called)) == 4
    assert max(map(len, called)) <= 120
