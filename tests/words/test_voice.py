"""Voice, destination and group."""

from typing import Any

import pytest

from knobpack.errors import InputError
from knobpack.words import Destination, Group, Travel, Voice


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


@pytest.mark.parametrize("priority", [1, 2, 3, 4, 5])
def test_the_priority_scale_has_five_steps(priority: int) -> None:
    # M2-117-UM v1.0 (June 2023), property "priority": an integer, 1 essential to 5 hidden.
    assert Destination("cutoff", priority=priority).priority == priority


@pytest.mark.parametrize("priority", [0, 6, True, 3.0, "3", None])
def test_no_other_priority_is_on_the_scale(priority: Any) -> None:
    right = r"a whole number \(1 essential, 5 hidden\) from 1 to 5"
    with pytest.raises(InputError, match=right) as caught:
        Destination("cutoff", priority=priority)
    assert caught.value.field == "Destination.priority"


@pytest.mark.parametrize(
    ("field", "wrong"),
    [
        *(("kind", None), ("kind", "a/b"), ("travel", (0, 127)), ("travel", 5)),
        *(("source_knob", ""), ("source_knob", 3), ("movable", None), ("must_place", 1)),
        *(("steps", 1), ("steps", 0), ("steps", 2**32 + 1), ("steps", 2.0)),
    ],
)
def test_a_destination_refuses_what_a_field_cannot_hold(field: str, wrong: Any) -> None:
    with pytest.raises(InputError) as caught:
        Destination(**{"name": "cutoff", field: wrong})
    assert caught.value.field == f"Destination.{field}"
    assert caught.value.value == wrong


def test_a_stepped_destination_takes_two_values_or_more() -> None:
    assert Destination("wave", steps=2).steps == 2
    assert Destination("wave", steps=2**32).steps == 2**32


def test_a_voice_names_its_destinations_outside() -> None:
    cutoff = Destination("cutoff", travel=Travel(0, 63))
    voice = Voice("Pad", (cutoff, Destination("level")), layer=1, source="Stage")
    assert voice.full_name(cutoff) == "Pad/cutoff"


def test_the_destinations_of_a_voice_have_names_of_their_own() -> None:
    twice = (Destination("cutoff"), Destination("level"), Destination("cutoff", kind="other"))
    with pytest.raises(InputError, match="given twice") as caught:
        Voice("Pad", twice)
    assert caught.value.field == "Voice.destinations[2].name"
    assert caught.value.value == "cutoff"


@pytest.mark.parametrize(
    ("field", "wrong"),
    [
        *(("layer", 0), ("layer", 10_001), ("layer", True), ("source", ""), ("source", 1)),
        *(("destinations", None), ("destinations", "cutoff")),
    ],
)
def test_a_voice_refuses_what_a_field_cannot_hold(field: str, wrong: Any) -> None:
    with pytest.raises(InputError) as caught:
        Voice(**{"name": "Pad", field: wrong})
    assert caught.value.field == f"Voice.{field}"


def test_a_group_has_members_each_once() -> None:
    assert Group("low", ("Pad", "Bass/level")).members == ("Pad", "Bass/level")
    with pytest.raises(InputError, match="give 1 or more names") as caught:
        Group("low", ())
    assert caught.value.field == "Group.members"
    with pytest.raises(InputError, match="given twice") as caught:
        Group("low", ("Pad", "Pad"))
    assert caught.value.field == "Group.members[1]"
