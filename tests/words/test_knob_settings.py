"""What the display of a knob shows, and what the knob sends."""

from typing import Any

import pytest

from knobpack.errors import InputError
from knobpack.words import KnobSending


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
