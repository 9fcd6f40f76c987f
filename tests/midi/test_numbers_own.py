"""What is kept of what knobs really send, and what is refused: each wrong thing by its field."""

from __future__ import annotations

from typing import Any

import pytest

from knobpack.errors import InputError
from knobpack.midi import Listening, Sent, controller_numbers
from knobpack.midi.sent import MASTER
from knobpack.words import KnobSending
from tests.midi.numbered_setups import on_channels, plain, sending, setup


def test_what_a_knob_really_sends_is_kept_and_no_one_else_gets_it() -> None:
    bare = controller_numbers(plain(4, bits=10))
    taken = bare.numbers["K1"]
    assert isinstance(taken, int)
    own = (
        KnobSending("K3", taken),
        KnobSending("K2", 7, fine=True),
        KnobSending("K4", turning="endless"),
    )
    heard = [Listening("Pad", 1, (7,))]
    found = controller_numbers(sending(plain(4, bits=10), *own), listening=heard)
    # The low half of 7 is 39 (MIDI 1.0, page 12).
    assert found.numbers["K3"] == taken
    assert found.numbers["K2"] == (7, 39)
    assert found.numbers["K1"] not in {taken, 7, 39}
    assert [each.own for each in found.knobs] == [False, True, True, False, False]
    assert f"K3 sends controller {taken} on channel 1: " in "\n".join(found.sentences)
    assert "which it really sends; Pad listens to it" in str(found.knobs[1])
    assert found.knobs[1].heard_by == ("Pad",)


def test_a_number_beyond_those_that_are_allowed_is_kept_too() -> None:
    found = controller_numbers(sending(plain(2), KnobSending("K1", 110)), allowed=[20, 21])
    assert found.numbers == {"K1": 110, "K2": 20}


def test_what_sends_7_bits_goes_on_doing_so_where_all_are_to_send_14() -> None:
    found = controller_numbers(sending(plain(2, bits=10), KnobSending("K1", 20)), fine=True)
    assert [(each.sent.bits, each.fine) for each in found.knobs[:2]] == [(7, False), (14, True)]


def test_a_knob_that_drives_nothing_keeps_its_number_from_the_others() -> None:
    made = setup({"K1": [("Pad", 3)]}, panel=2)
    free = controller_numbers(made).numbers["K1"]
    assert isinstance(free, int)
    found = controller_numbers(sending(made, KnobSending("K2", free)))
    assert found.numbers["K2"] == free
    assert found.numbers["K1"] != free


def test_channels_are_those_of_knobs_and_voices() -> None:
    made = setup({"K1": [("Bass", 3)], "K2": [("Pad", 3)], "K3": [("Lead", 3)], "K4": [("Pad", 3)]})
    made = on_channels(made, Bass=3, Pad=2)
    found = controller_numbers(sending(made, KnobSending("K4", 20, channel=5)))
    assert {each.knob: each.channels for each in found.knobs} == {
        "K1": (3,),
        "K2": (2,),
        "K3": (1,),  # nothing is known of its voice
        "K4": (5,),
        MASTER: (1,),
    }
    # One channel for all, where that is asked for.
    assert {each.channels for each in controller_numbers(made, channel=9).knobs} == {(9,)}


def test_a_knob_of_voices_on_several_channels_is_left_unless_its_own_is_known() -> None:
    made = on_channels(setup({"K1": [("Bass", 3), ("Pad", 3)]}), Bass=3, Pad=2)
    found = controller_numbers(sending(made, KnobSending("K1", 20)))
    assert found.knobs[0].sent == Sent()
    assert not found.knobs[0].own
    found = controller_numbers(sending(made, KnobSending("K1", 20, channel=3)))
    assert found.numbers == {"K1": 20}


@pytest.mark.parametrize(
    ("sent", "right"),
    [
        # MIDI 1.0, Table III: 6 is data entry, 99 half a parameter number, 40 the low half of 8.
        ((KnobSending("K1", 6),), "reserved"),
        ((KnobSending("K2", 20), KnobSending("K1", 99)), "reserved"),
        ((KnobSending("K1", 40),), "low halves"),
        ((KnobSending("K1", 20), KnobSending("K2", 20)), "'K1' sends it on channel 1"),
    ],
)
def test_what_cannot_be_told_apart_is_refused(sent: tuple[KnobSending, ...], right: str) -> None:
    with pytest.raises(InputError, match=right) as caught:
        controller_numbers(sending(plain(2), *sent))
    assert caught.value.field.startswith("controller_numbers.setup.sending")


def test_two_knobs_on_two_channels_may_send_one_number() -> None:
    made = sending(plain(2), KnobSending("K1", 20, channel=1), KnobSending("K2", 20, channel=2))
    assert controller_numbers(made).numbers == {"K1": 20, "K2": 20}


TWO = setup({"K1": [("Pad", 3)], "K2": [("Bass", 3), ("Pad", 3)]}, panel=3)

WRONG: list[tuple[dict[str, Any], str, str]] = [
    ({"channel": 0}, ".channel", "1 to 256"),
    ({"channel": 257}, ".channel", "1 to 256"),
    ({"channel": True}, ".channel", "1 to 256"),
    ({"listening": 7}, ".listening", "each a Listening"),
    ({"listening": [(1, 2)]}, ".listening[0]", "give a Listening"),
    ({"fine": ["K1"]}, ".fine", "true or false"),
    ({"channel": {"Pad": 1}}, ".channel", "1 to 256"),
    ({"allowed": 14}, ".allowed", "a list of controller numbers"),
    ({"allowed": [14, "15"]}, ".allowed[1]", "0 to 127"),
    ({"parameters": 3}, ".parameters", "each MSB and LSB"),
    ({"parameters": [(1, 2, 3)]}, ".parameters[0]", "two numbers"),
    ({"parameters": [(1, 128)]}, ".parameters[0]", "0 to 127"),
    ({"parameters": [(1, 2), (1, 2)]}, ".parameters[1]", "given twice"),
    # 7FH 7FH is the null parameter: M2-113 and MIDI 1.0, parameter numbers.
    ({"parameters": [(127, 127)]}, ".parameters[0]", "selects no parameter"),
    ({"previous": {"K1": 14}}, ".previous", "give a ControllerNumbers"),
    ({"master": 1}, ".master", "true or false"),
]


@pytest.mark.parametrize(
    ("asked", "field", "right"), WRONG, ids=[str(n) for n in range(len(WRONG))]
)
def test_what_is_wrong_is_refused(asked: dict[str, Any], field: str, right: str) -> None:
    made = TWO
    if "fine" in asked:
        made = plain(3, bits=10)
    with pytest.raises(InputError) as caught:
        controller_numbers(made, **asked)
    assert caught.value.field == f"controller_numbers{field}"
    assert right in caught.value.right


# SoundFont 2.04, 8.2.1, and 96 and 97 of MIDI 1.0, page 11; 33 to 63 are low halves.
@pytest.mark.parametrize("number", [0, 6, 32, 33, 38, 63, *range(96, 102), *range(120, 128)])
def test_no_reserved_number_or_low_half_is_taken(number: int) -> None:
    with pytest.raises(InputError, match=r"reserved|low halves"):
        controller_numbers(TWO, allowed=[14, number])


def test_fine_on_seven_bits_is_refused() -> None:
    with pytest.raises(InputError, match="positions of 7 bits need no low half"):
        controller_numbers(plain(2), fine=True)
    assert controller_numbers(plain(2), fine=False).left == ()
    assert controller_numbers(plain(2, bits=8), fine=True).knobs[0].sent.bits == 14


def test_no_setup_is_refused() -> None:
    with pytest.raises(InputError, match=r"controller_numbers\.setup"):
        controller_numbers("Evening")  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("voice", ""),
        ("voice", "Pad/cutoff"),
        ("channel", 0),
        ("channel", 257),
        ("channel", True),
        ("numbers", 7),
        ("numbers", "7"),
        ("numbers", None),
    ],
)
def test_a_wrong_listening_is_refused(field: str, value: object) -> None:
    right: dict[str, Any] = {"voice": "Pad", "channel": 1, "numbers": (7,)}
    with pytest.raises(InputError) as caught:
        Listening(**{**right, field: value})
    assert caught.value.field == f"Listening.{field}"


@pytest.mark.parametrize("numbers", [(7, 128), (7, -1), (7, 7), (7, True), (7, 8.0)])
def test_a_wrong_number_in_a_listening_is_refused(numbers: tuple[Any, ...]) -> None:
    with pytest.raises(InputError) as caught:
        Listening("Pad", 1, numbers)
    assert caught.value.field == "Listening.numbers[1]"


def test_a_listening_takes_any_iterable_and_may_be_empty() -> None:
    assert Listening("Pad", 256, [0, 127, 32]).numbers == (0, 127, 32)
    assert Listening("Pad", 1, ()).numbers == ()


@pytest.mark.parametrize(("number", "channel"), [(128, 1), (-1, 1), (14, 0), ("14", 1)])
def test_why_not_refuses_what_is_no_number_or_channel(number: Any, channel: Any) -> None:
    found = controller_numbers(plain(1))
    with pytest.raises(InputError, match="why_not"):
        found.why_not(number, channel)
