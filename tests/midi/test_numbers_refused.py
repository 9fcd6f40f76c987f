"""What is refused: each wrong thing, its field, and what would be right."""

from __future__ import annotations

from typing import Any

import pytest

from knobpack.errors import InputError
from knobpack.midi import Listening, controller_numbers
from knobpack.midi.sent import MASTER
from tests.midi.numbered_setups import plain, setup

TWO = setup({"K1": [("Pad", 3)], "K2": [("Bass", 3), ("Pad", 3)]}, panel=3)
ON = {"Pad": 1, "Bass": 2}

WRONG: list[tuple[dict[str, Any], str, str]] = [
    ({"channel": 0}, ".channel", "1 to 256"),
    ({"channel": 257}, ".channel", "1 to 256"),
    ({"channel": True}, ".channel", "1 to 256"),
    ({"channel": {"Pad": 0, "Bass": 1}}, ".channel['Pad']", "1 to 256"),
    ({"channel": {**ON, "Lead": 1}}, ".channel", "name a voice of the setup"),
    ({"channel": {"Pad": 1}}, ".channel", "give the channel of 'Bass'"),
    ({"channel": ON, "deliberate": {"K3": 74}}, ".channel", "drives nothing"),
    ({"channel": ON, "deliberate": {"K2": 74}}, ".deliberate['K2']", "channels 1, 2"),
    ({"listening": 7}, ".listening", "each a Listening"),
    ({"listening": [(1, 2)]}, ".listening[0]", "give a Listening"),
    ({"deliberate": ["K1"]}, ".deliberate", "for each name of a knob"),
    ({"deliberate": {"K9": 74}}, ".deliberate", "name a knob of the surface"),
    ({"deliberate": {"": 74}, "master": False}, ".deliberate", "name a knob"),
    ({"deliberate": {"K1": 128}}, ".deliberate['K1']", "0 to 127"),
    ({"deliberate": {"K1": 74, "K2": 74}}, ".deliberate['K2']", "'K1' sends it"),
    ({"deliberate": {"K1": 74, MASTER: 74}}, ".deliberate['']", "'K1' sends it"),
    ({"fine": 3}, ".fine", "the names of knobs"),
    ({"fine": ["K9"]}, ".fine[0]", "name a knob"),
    ({"allowed": 14}, ".allowed", "a list of controller numbers"),
    ({"allowed": [14, "15"]}, ".allowed[1]", "0 to 127"),
    ({"parameters": 3}, ".parameters", "each MSB and LSB"),
    ({"parameters": [(1, 2, 3)]}, ".parameters[0]", "two numbers"),
    ({"parameters": [(1, 128)]}, ".parameters[0]", "0 to 127"),
    ({"parameters": [(1, 2), (1, 2)]}, ".parameters[1]", "given twice"),
    # 7FH 7FH is the null parameter: M2-113 and MIDI 1.0, parameter numbers.
    ({"parameters": [(127, 127)]}, ".parameters[0]", "selects no parameter"),
    ({"previous": [14]}, ".previous", "for each name of a knob"),
    ({"previous": {"K1": 128}}, ".previous['K1']", "from 1 to 119"),
    ({"previous": {"K1": (1, 2, 3)}}, ".previous['K1']", "for 14 bits two"),
    ({"previous": {"K1": "14"}}, ".previous['K1']", "for 14 bits two"),
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
    asked: list[dict[str, Any]] = [{"allowed": [14, number]}, {"deliberate": {"K1": number}}]
    for each in asked:
        with pytest.raises(InputError, match=r"reserved|low halves"):
            controller_numbers(TWO, **each)


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
