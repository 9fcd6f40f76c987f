"""Scaling as a rule: at every width, against two other implementations, and what it refuses."""

from __future__ import annotations

import pickle
from collections.abc import Callable
from fractions import Fraction
from itertools import pairwise
from typing import Any

import attrs
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from hypothesis.strategies import DrawFn

from knobpack.errors import InputError
from knobpack.positions import Position, scaled, scaled_array, scaled_travel, zero_extended
from knobpack.words import Travel
from tests.positions.standard import by_the_loop, by_the_pattern

MANY = settings(max_examples=300)
WIDTHS = st.integers(1, 32)
WRONG_WIDTHS: list[Any] = [0, 33, -1, 7.0, "7", True, None]


@st.composite
def positions(draw: DrawFn, least_bits: int = 1) -> tuple[int, int]:
    """A value and its bits; the ends and the centre come up often."""
    bits = draw(st.integers(least_bits, 32))
    top = 2**bits - 1
    near = st.sampled_from([0, 1, top // 2, top // 2 + 1, top // 2 + 2, top - 1, top])
    return draw(st.integers(0, top) | near.map(lambda value: min(max(value, 0), top))), bits


@pytest.mark.parametrize("from_bits", range(2, 13))
def test_every_value_of_a_narrow_source(from_bits: int) -> None:
    # The core rules of M2-115-U 3.2, and 3.3.1 against its loop and the closed form.
    every = range(2**from_bits)
    for to_bits in sorted({from_bits + 1, 13, 14, 16, 23, 32}):
        up = [scaled(value, from_bits, to_bits) for value in every]
        assert up == [by_the_loop(value, from_bits, to_bits) for value in every]
        assert up == [by_the_pattern(value, from_bits, to_bits) for value in every]
        assert all(low < high for low, high in pairwise(up))
        assert (up[0], up[2 ** (from_bits - 1)], up[-1]) == (0, 2 ** (to_bits - 1), 2**to_bits - 1)
        assert [scaled(value, to_bits, from_bits) for value in up] == list(every)


@pytest.mark.parametrize("from_bits", range(1, 13))
@pytest.mark.parametrize("to_bits", [1, 2, 7, 12, 14, 31, 32])
def test_an_array_is_scaled_as_each_of_its_values(from_bits: int, to_bits: int) -> None:
    every = np.arange(2**from_bits)
    expected = [scaled(value, from_bits, to_bits) for value in range(2**from_bits)]
    assert scaled_array(every, from_bits, to_bits).tolist() == expected


@pytest.mark.parametrize("from_bits", range(1, 33))
def test_an_array_is_exact_at_every_width(from_bits: int) -> None:
    top = 2**from_bits - 1
    values = sorted({0, 1 & top, top // 3, top // 2, (top + 1) // 2, top * 2 // 3, top - 1, top})
    for to_bits in range(1, 33):
        expected = [scaled(value, from_bits, to_bits) for value in values]
        assert scaled_array(np.array(values), from_bits, to_bits).tolist() == expected


@MANY
@given(positions(2), WIDTHS)
def test_any_value_at_any_width(drawn: tuple[int, int], to_bits: int) -> None:
    value, bits = drawn
    result = scaled(value, bits, to_bits)
    assert 0 <= result < 2**to_bits
    if to_bits > bits:
        assert result == by_the_loop(value, bits, to_bits) == by_the_pattern(value, bits, to_bits)
        assert scaled(result, to_bits, bits) == value
        if value:
            assert scaled(value - 1, bits, to_bits) < result
    else:
        assert result == value // 2 ** (bits - to_bits)
    assert scaled_array(np.array([value]), bits, to_bits).tolist() == [result]
    assert Position(value, bits).at(to_bits) == result


@MANY
@given(positions(), WIDTHS, WIDTHS)
def test_down_scales_may_be_chained(drawn: tuple[int, int], one: int, other: int) -> None:
    value, bits = drawn
    low, middle = sorted((min(one, bits), min(other, bits)))
    assert scaled(scaled(value, bits, middle), middle, low) == scaled(value, bits, low)


@pytest.mark.parametrize(
    ("middle", "same"),
    [(14, set()), (16, {73, 82, 91, 100, 109, 118}), (10, {73, 82, 91, 100, 109, 118})],
)
def test_up_scales_must_not_be_chained(middle: int, same: set[int]) -> None:
    # Computed. All that lies strictly between the centre and the top comes out wrong, 62 values
    # of 128 by way of 14 bits; some few are right by chance by way of 10 or 16.
    chained = [scaled(scaled(value, 7, middle), middle, 32) for value in range(128)]
    differ = {value for value in range(128) if chained[value] != scaled(value, 7, 32)}
    assert differ == set(range(65, 127)) - same


def test_a_position_is_always_told_from_its_original() -> None:
    position = Position(100, 7)
    assert position.at(14) == scaled(100, 7, 14)
    assert position.at(32) == scaled(100, 7, 32) != scaled(position.at(14), 14, 32)
    assert position.at(7) == 100
    assert position.at(1) == 1
    assert position == Position(100, 7) == pickle.loads(pickle.dumps(position))  # noqa: S301
    assert position != Position(100, 8)
    with pytest.raises(attrs.exceptions.FrozenInstanceError):
        position.value = 1  # type: ignore[misc]


def test_it_is_not_linear_rounding() -> None:
    # Computed: how many of 128 values differ, and by how much at most.
    def rounded(value: int, to_bits: int) -> int:
        return round(Fraction(value * (2**to_bits - 1), 127))

    for to_bits, count, most in [(14, 126, 64), (16, 126, 258), (10, 104, 4)]:
        apart = [abs(scaled(value, 7, to_bits) - rounded(value, to_bits)) for value in range(128)]
        assert (sum(map(bool, apart)), max(apart)) == (count, most)


def test_it_is_not_plain_replication() -> None:
    # Computed: repeating all seven bits loses the centre, and what lies below it.
    def replicated(value: int) -> int:
        return int((f"{value:07b}" * 3)[:16], 2)

    assert [replicated(value) for value in (1, 63, 64)] == [0x0204, 0x7EFD, 0x8102]
    assert [scaled(value, 7, 16) for value in (1, 63, 64)] == [0x0200, 0x7E00, 0x8000]


@MANY
@given(positions(2), st.integers(2, 32))
def test_zero_extension_keeps_the_share_of_the_range(drawn: tuple[int, int], to_bits: int) -> None:
    # M2-115-U 4: up exact; down to the nearest, a half up, never past the top.
    value, bits = drawn
    exact = Fraction(value * 2**to_bits, 2**bits)
    nearest = (exact + Fraction(1, 2)).__floor__()
    assert zero_extended(value, bits, to_bits) == min(nearest, 2**to_bits - 1)
    if to_bits >= bits:
        assert zero_extended(zero_extended(value, bits, to_bits), to_bits, bits) == value


@MANY
@given(positions(), st.data())
def test_a_travel_is_scaled_end_by_end(drawn: tuple[int, int], data: st.DataObject) -> None:
    start, bits = drawn
    end = data.draw(st.integers(0, 2**bits - 1))
    to_bits = data.draw(st.integers(bits, 32))
    travel = scaled_travel(Travel(start, end), bits, to_bits)
    assert travel == Travel(scaled(start, bits, to_bits), scaled(end, bits, to_bits))
    assert (travel.reversed, travel.empty) == (end < start, end == start)
    assert scaled_travel(travel, to_bits, bits) == Travel(start, end)
    full, wider = Travel(0, 2**bits - 1), Travel(0, 2**to_bits - 1)
    assert scaled_travel(full, bits, to_bits) == wider


def test_a_short_travel_may_become_empty_on_the_way_down() -> None:
    assert scaled_travel(Travel(0, 7), 10, 7) == Travel(0, 0)


@pytest.mark.parametrize(
    "kind", ["int8", "uint8", "int16", ">i2", "uint32", "int64", "uint64", ">u8"]
)
def test_an_array_of_any_whole_numbers_keeps_its_shape(kind: str) -> None:
    given_values = np.arange(120, dtype=kind).reshape(2, 3, 20)
    before = given_values.copy()
    for to_bits in (5, 7, 32):
        result = scaled_array(given_values, 7, to_bits)
        assert result.dtype == np.int64
        assert result.shape == (2, 3, 20)
        flat = [scaled(value, 7, to_bits) for value in range(120)]
        assert result.ravel().tolist() == flat
        result[:] = 0  # the answer is an array of its own
        assert (given_values == before).all()


def test_an_array_may_be_empty_or_a_single_number() -> None:
    for from_bits, to_bits in [(1, 9), (7, 9), (7, 7), (7, 3)]:
        assert scaled_array(np.zeros((0, 4), dtype=int), from_bits, to_bits).shape == (0, 4)
        single = scaled_array(np.array(1), from_bits, to_bits)
        assert isinstance(single, np.ndarray)
        assert single.shape == ()
        assert single.dtype == np.int64
        assert int(single) == scaled(1, from_bits, to_bits)


@pytest.mark.parametrize("wrong", WRONG_WIDTHS)
@pytest.mark.parametrize("call", [scaled, zero_extended, scaled_array, scaled_travel])
def test_a_width_that_is_none_is_refused(call: Any, wrong: Any) -> None:
    first: Any = {scaled_array: np.array([0]), scaled_travel: Travel(0, 0)}.get(call, 0)
    for field, widths in [("from_bits", (wrong, 7)), ("to_bits", (7, wrong))]:
        with pytest.raises(InputError, match=r"whole number of bits from \d to 32") as caught:
            call(first, *widths)
        assert caught.value.field == f"{call.__name__}.{field}"
        assert caught.value.value is wrong


@pytest.mark.parametrize("widths", [(1, 7), (7, 1)])
def test_zero_extension_is_not_for_one_bit(widths: tuple[int, int]) -> None:
    with pytest.raises(InputError, match="from 2 to 32"):
        zero_extended(1, *widths)  # M2-115-U 4


@pytest.mark.parametrize("wrong", [-1, 128, 1.0, "1", True, None])
def test_a_value_beyond_its_width_is_refused(wrong: Any) -> None:
    right = "give a whole number from 0 to 127" + (" and no text" if wrong == "1" else "")
    calls: list[tuple[str, Callable[[], object]]] = [
        ("scaled.value", lambda: scaled(wrong, 7, 14)),
        ("zero_extended.value", lambda: zero_extended(wrong, 7, 14)),
        ("Position.value", lambda: Position(wrong, 7)),
    ]
    for field, call in calls:
        with pytest.raises(InputError) as caught:
            call()
        assert (caught.value.field, caught.value.right) == (field, right)
        assert caught.value.value is wrong


@pytest.mark.parametrize("wrong", WRONG_WIDTHS)
def test_a_position_has_a_width(wrong: Any) -> None:
    with pytest.raises(InputError) as caught:
        Position(0, wrong)
    assert caught.value.field == "Position.bits"
    with pytest.raises(InputError) as caught:
        Position(0, 7).at(wrong)
    assert caught.value.field == "Position.at.bits"


@pytest.mark.parametrize(
    ("values", "field", "found"),
    [
        (np.array([[0, 1], [128, 129]]), "scaled_array.values[1, 0]", 128),
        (np.array([3, -1]), "scaled_array.values[1]", -1),
        (np.array(2**64 - 1, dtype=np.uint64), "scaled_array.values", 2**64 - 1),
    ],
)
def test_a_value_of_an_array_is_refused_by_its_place(values: Any, field: str, found: int) -> None:
    with pytest.raises(InputError, match="whole numbers from 0 to 127") as caught:
        scaled_array(values, 7, 14)
    assert (caught.value.field, caught.value.value) == (field, found)


@pytest.mark.parametrize(
    "wrong", [[1, 2], 5, None, np.array([1.0]), np.array([True]), np.array(["1"], dtype=object)]
)
def test_what_is_no_array_of_whole_numbers_is_refused(wrong: Any) -> None:
    with pytest.raises(InputError, match="numpy array of whole numbers"):
        scaled_array(wrong, 7, 14)


@pytest.mark.parametrize(
    ("travel", "field"),
    [((0, 5), ""), (Travel(128, 0), ".start"), (Travel(0, 128), ".end")],
)
def test_a_travel_beyond_its_width_is_refused(travel: Any, field: str) -> None:
    with pytest.raises(InputError) as caught:
        scaled_travel(travel, 7, 14)
    assert caught.value.field == f"scaled_travel.travel{field}"
