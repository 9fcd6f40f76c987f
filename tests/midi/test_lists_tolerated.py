"""What is taken all the same, each with a remark: the errata of M2-117-UM, and what is harmless."""

from __future__ import annotations

import json
from typing import Any

import pytest

from knobpack.midi import Imported
from knobpack.words import Destination
from tests.midi.lists import TOP, WAVES, brought, entry, of_channel, one


def plain(found: Imported) -> tuple[object, ...]:
    """All that was brought, without the remarks."""
    return (found.voices, found.listening, found.controllers, found.groups)


def test_table_11_capitalises_keys() -> None:
    found = brought(
        {
            "Title": "Cutoff",
            "CHANNEL": 1,
            "ctrltype": "cc",
            "ctrlIndex": [74],
            "Priority": 2,
            "Default": 7,
            "Transmit": "absolute",
        }
    )
    assert plain(found) == plain(one(default=7))
    assert found.remarks == (
        "[0].Title: it is taken for title.",
        "[0].CHANNEL: it is taken for channel.",
        "[0].ctrltype: it is taken for ctrlType.",
        "[0].Priority: it is taken for priority.",
        "[0].Default: it is taken for default.",
        "[0].Transmit: it is taken for transmit.",
    )


def test_an_example_prints_a_default_above_32_bits() -> None:
    found = brought(entry(default=214748364864), entry(channel=2, default=2**32))
    assert [each.default for each in found.controllers] == [None, None]
    assert found.remarks == ("[0].default and [1].default: it is left out: it is above 2**32 - 1.",)
    kept = one(default=TOP)
    assert (kept.controllers[0].default, kept.remarks) == (TOP, ())


@pytest.mark.parametrize("map_id", ["volumeDb", "lfoWaveType"])
def test_examples_print_ids_with_capitals(map_id: str) -> None:
    found = one(typeHint="valueSelect", ctrlMapId=map_id, maps={map_id: WAVES})
    assert found.voices[0].destinations[0].steps == 3
    assert found.remarks == (
        "[0].ctrlMapId: it has capitals, which the standard does not allow; taken as it is.",
    )


def test_an_example_takes_soft_pedal_for_hold_and_breath_for_modulation() -> None:
    # Hold is 64, modulation 1; what a device listens to is its own to say.
    hold = entry(title="Hold", ctrlIndex=[67], typeHint="momentary")
    wheel = entry(title="Modulation", ctrlIndex=[2])
    found = brought(hold, wheel)
    assert found.voices[0].destinations == (
        Destination("Hold", "soft pedal", 2, steps=2),
        Destination("Modulation", "breath controller", 2),
    )
    assert (found.listening[0].numbers, found.remarks) == ((2, 67), ())


def test_keys_of_a_resource_list_and_others_that_are_not_known() -> None:
    for key in ("requireId", "requireResId", "x-colour"):
        found = one(**{key: True})
        assert plain(found) == plain(one())
        assert len(found.remarks) == 1
        assert key in found.remarks[0]
        assert "not known" in found.remarks[0]
    both = one(requireId=True, requireResId=[{"deep": [[1.5]]}])
    assert both.remarks == (
        "[0]: .requireId and .requireResId: these keys are not known and passed over.",
    )


def test_keys_that_cannot_be_shown_are_told_safely() -> None:
    keys: dict[str, Any] = {"\u202e\x1b[2J": 1, "k" * 500: 2, "\ud800": 3}
    (remark,) = one(**keys).remarks
    assert remark.isascii()
    assert remark.isprintable()
    assert len(remark) < 300
    many = one(**{f"k{number}": 0 for number in range(5000)}).remarks
    assert len(many[0]) < 300


def test_null_is_no_value() -> None:
    found = one(priority=None, ctrlMapId=None, description=None)
    assert plain(found) == plain(one(priority=3))
    null, priority = found.remarks
    assert null == ("[0].priority, [0].ctrlMapId and [0].description: null is taken for no value.")
    assert priority.startswith("[0]: no priority is given")


def test_words_in_other_case() -> None:
    found = one(ctrlType="CC", recognize="Both", typeHint="TOGGLE")
    assert plain(found) == plain(one(recognize="both", typeHint="toggle"))
    assert [remark.split(": ")[1] for remark in found.remarks] == [
        "it is taken for cc.",
        "it is taken for both.",
        "it is taken for toggle.",
    ]


def test_no_priority_is_told_once_for_all() -> None:
    listed = [entry("priority", channel=number) for number in (1, 2, 3)]
    found = brought(*listed)
    assert {each.priority for voice in found.voices for each in voice.destinations} == {3}
    told = "no priority is given, and the standard has no default; taken as medium, 3."
    assert found.remarks == (f"[0], [1] and [2]: {told}",)


SPARE: list[tuple[dict[str, Any], str]] = [
    ({"typeHint": "wobble"}, "no such hint"),
    ({"paramPath": "filter/cutoff"}, "no JSON Pointer"),
    ({"paramPath": "#/filter/cutoff"}, "no JSON Pointer"),
    ({"paramPath": "/a~2b"}, "no JSON Pointer"),
    ({"paramPath": "/a~"}, "no JSON Pointer"),
    ({"defaultCCMap": True}, "belongs to a cc of a ChCtrlList"),
]


@pytest.mark.parametrize(("keys", "told"), SPARE)
def test_what_is_passed_over(keys: dict[str, Any], told: str) -> None:
    found = one(**keys)
    assert plain(found) == plain(one())
    assert len(found.remarks) == 1
    assert told in found.remarks[0]


def test_what_is_passed_over_by_sort() -> None:
    bend = one(ctrlType="pBend", ctrlIndex=[1])
    assert bend.controllers[0].ctrl_index == ()
    assert bend.remarks == ("[0].ctrlIndex: it is passed over: pBend has none.",)
    of_nrpn = of_channel(entry(ctrlType="nrpn", ctrlIndex=[0, 1], defaultCCMap=True))
    assert of_nrpn.controllers[0].default_cc_map is False
    assert "belongs to a cc" in of_nrpn.remarks[0]
    assert of_channel(entry(defaultCCMap=False)).remarks == ()


def test_maps_that_are_not_there_or_do_not_fit() -> None:
    keys: dict[str, Any] = {"typeHint": "valueSelect", "ctrlMapId": "wave"}

    def steps_and_remarks(maps: Any, **more: Any) -> tuple[int | None, str]:
        found = one(maps=maps, **keys, **more)
        (remark,) = found.remarks
        return found.voices[0].destinations[0].steps, remark

    steps, remark = steps_and_remarks(None)
    assert (steps, "was not given" in remark) == (None, True)
    steps, remark = steps_and_remarks({"wave": WAVES}, stepCount=5)
    assert (steps, "the stepCount is taken" in remark) == (5, True)
    steps, remark = steps_and_remarks({"wave": WAVES}, minMax=[0, 2**31])
    assert (steps, "within a range" in remark) == (None, True)
    # Plain numbers, as if values had no 32 bits: all lie in the first of three even steps.
    low = [{"value": number, "title": str(number)} for number in range(3)]
    steps, remark = steps_and_remarks({"wave": low})
    assert (steps, "not spread evenly" in remark) == (3, True)
    double = [*json.loads(WAVES), {"value": 2**31, "title": "Saw again"}]
    steps, remark = steps_and_remarks({"wave": double})
    assert (steps, 'maps["wave"]: a value is in it twice' in remark) == (3, True)


def test_a_map_without_a_choice_leaves_nothing_to_drive() -> None:
    for count in (0, 1):
        values = [{"value": 0, "title": "Sine"}] * count
        found = one(typeHint="valueSelect", ctrlMapId="wave", maps={"wave": values})
        assert found.voices[0].destinations == ()
        assert found.controllers[0].destination is None
        # It listens all the same, so that no knob is given its number.
        assert found.listening[0].numbers == (74,)
        assert found.remarks == ("[0]: it is left out: its map has no two values to choose from.",)


def test_maps_that_nothing_names() -> None:
    found = one(maps={"wave": WAVES, "other": []})
    assert found.remarks == ('maps["wave"] and maps["other"]: no controller names this map.',)


def test_a_range_finer_than_a_position_leaves_nothing_to_drive() -> None:
    # 0 to 127 as if values had 7 bits: within the first position of 7 bits, not of 32.
    found = one(minMax=[0, 127])
    assert found.voices[0].destinations == ()
    assert found.remarks == ("[0]: it is left out: its range lies within one position of 7 bits.",)
    assert one(minMax=[0, 127], bits=32).remarks == ()


def test_more_steps_than_half_the_positions() -> None:
    # M2-115-U 5: more steps than half the range should be avoided.
    assert one(stepCount=64).remarks == ()
    found = one(stepCount=65)
    assert found.voices[0].destinations[0].steps == 65
    assert "more steps than half the positions of 7 bits" in found.remarks[0]
    assert one(stepCount=65, bits=8).remarks == ()
    assert one(stepCount=2, bits=2).remarks == ()


NAMES = [
    ("On/Off", "On-Off"),
    ("  Cutoff ", "Cutoff"),
    ("/", "-"),
    ("a" * 121, "a" * 119 + "…"),
    ("a" * 100_000, "a" * 119 + "…"),
]


@pytest.mark.parametrize(("title", "name"), NAMES, ids=range(len(NAMES)))
def test_titles_that_are_no_names(title: str, name: str) -> None:
    found = one(title=title)
    assert found.voices[0].destinations[0].name == name
    assert found.controllers[0].title == name
    assert len(found.remarks) == 1
    assert f"it is called {name!r} here" in found.remarks[0]


def test_titles_that_are_there_twice() -> None:
    listed = [entry(ctrlIndex=[number]) for number in (14, 15, 16)]
    listed.insert(2, entry(title="Cutoff (cc 16)", ctrlIndex=[20]))
    listed.append(entry(title="Cutoff", ctrlIndex=[21], recognize="none"))
    found = brought(*listed)
    assert [each.name for each in found.voices[0].destinations] == [
        "Cutoff",
        "Cutoff (cc 15)",
        "Cutoff (cc 16)",
        "Cutoff (cc 16 2)",
    ]
    assert [each.destination for each in found.controllers] == [
        "Lead/Cutoff",
        "Lead/Cutoff (cc 15)",
        "Lead/Cutoff (cc 16)",
        "Lead/Cutoff (cc 16 2)",
        None,
    ]
    assert sum("another has this title" in remark for remark in found.remarks) == 2


def test_thousands_of_titles_alike_are_quick() -> None:
    listed = [entry(ctrlType="nrpn", ctrlIndex=[n // 127, n % 127]) for n in range(10_000)]
    (voice,) = brought(*listed).voices
    assert len({each.name for each in voice.destinations}) == 10_000
