"""M2-117-UM v1.0: what becomes of steps, ranges and paths (sections 1.5, 2.1 and 4; Table 5)."""

from __future__ import annotations

from typing import Any

import pytest

from knobpack.words import Group, Travel
from tests.midi.lists import WAVES, brought, entry, one, only

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
    (voice,) = brought(*listed, names={1: "Lead"}).voices
    assert [each.kind for each in voice.destinations] == [
        "cutoff",
        "volume",
        "attack",
        "decay",
        "rate",
    ]
    filter_group = Group("Lead filter", ("Lead/T0", "Lead/T2", "Lead/T3"))
    envelope = Group("Lead filter env", ("Lead/T2", "Lead/T3"))
    for levels, groups in ((0, ()), (1, (filter_group,)), (2, (filter_group, envelope))):
        found = brought(*listed, names={1: "Lead"}, levels=levels)
        assert found.groups == groups
    assert (
        "Group Lead filter: Lead/T0, Lead/T2 and Lead/T3."
        in brought(*listed, names={1: "Lead"}).sentences
    )
