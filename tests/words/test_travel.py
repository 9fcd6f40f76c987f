"""Travel."""

from typing import Any

import attrs
import pytest

from knobpack.errors import InputError
from knobpack.words import Travel


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


def test_a_travel_does_not_change() -> None:
    with pytest.raises(attrs.exceptions.FrozenInstanceError):
        Travel(0, 127).end = 3  # type: ignore[misc]
