"""Curves as a rule: at every resolution, over arrays, and what reaches a destination."""

from __future__ import annotations

import math
import pickle
from collections.abc import Callable
from itertools import pairwise, product
from typing import Any

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from knobpack.errors import InputError
from knobpack.positions import SHAPES, Curve, Reach, reach, scaled
from knobpack.positions.curves import Shape
from knobpack.words import Travel

MANY = settings(max_examples=300)
ALL = [Curve(*each) for each in product(SHAPES, (False, True), (False, True))]
WIDTHS = st.integers(1, 32)
CURVES = st.sampled_from(ALL)


@pytest.mark.parametrize("curve", ALL, ids=str)
@pytest.mark.parametrize("bits", range(1, 13))
def test_no_curve_turns_back_or_leaves_its_range(curve: Curve, bits: int) -> None:
    outputs = [curve.output(position, bits) for position in range(2**bits)]
    steps = [later - earlier for earlier, later in pairwise(outputs)]
    assert all(step <= 0 for step in steps) if curve.inverted else all(step >= 0 for step in steps)
    low = -1 if curve.bipolar else 0
    assert all(low <= output <= 1 for output in outputs)
    assert low in (outputs[0], outputs[-1])
    if curve.shape != "linear":
        assert 1 in (outputs[0], outputs[-1])
    assert all(math.copysign(1, output) == 1 for output in outputs if output == 0)  # no -0.0


@pytest.mark.parametrize("curve", ALL, ids=str)
@pytest.mark.parametrize("bits", [*range(1, 13), 14])
def test_an_array_gives_the_same(curve: Curve, bits: int) -> None:
    every = np.arange(2**bits).reshape(2, -1)
    found = curve.outputs(every, bits)
    assert found.dtype == np.float64
    assert found.shape == every.shape
    expected = np.array([curve.output(position, bits) for position in range(2**bits)])
    assert np.abs(found.ravel() - expected).max() < 1e-14
    assert not np.signbit(found[found == 0]).any()


@MANY
@given(CURVES, WIDTHS, st.data())
def test_any_curve_at_any_width(curve: Curve, bits: int, data: st.DataObject) -> None:
    positions = data.draw(st.lists(st.integers(0, 2**bits - 1), min_size=1, max_size=20))
    positions.sort(reverse=curve.inverted)
    outputs = [curve.output(position, bits) for position in positions]
    # A logarithm may be off in its last digit, so that two neighbours of 32 bits change places.
    assert all(later >= earlier - 1e-14 for earlier, later in pairwise(outputs))
    assert all((-1 if curve.bipolar else 0) <= output <= 1 for output in outputs)
    found = curve.outputs(np.array(positions, dtype=np.uint32), bits)
    assert found.tolist() == pytest.approx(outputs, abs=1e-14)


@pytest.mark.parametrize("bits", range(1, 33))
def test_a_bend_meets_its_flat_part_without_a_jump(bits: int) -> None:
    # DLS 2.2, 1.6.5: 10**(-12/5) of MaxValue, where 96 dB are reached. The next whole position on
    # either side is at most 1 / (10**(-12/5) MaxValue) away, times the slope 5/12 / ln 10.
    most = 127 * 2**bits // 128 if bits >= 7 else 2**bits - 1
    knee = int(most * 10 ** (-12 / 5))
    step = 5 / 12 / math.log(10) / (most * 10 ** (-12 / 5))
    before, after = (Curve("convex").output(position, bits) for position in (knee, knee + 1))
    assert 0 == before < after <= min(1, step)
    low, high = (Curve("concave").output(most - place, bits) for place in (knee + 1, knee))
    assert 1 == high > low >= max(0, 1 - step)
    places = np.array([knee, knee + 1])
    assert Curve("convex").outputs(places, bits).tolist() == pytest.approx([before, after])
    assert Curve("concave").outputs(most - places, bits).tolist() == pytest.approx([high, low])


@MANY
@given(st.sampled_from(SHAPES), st.booleans(), st.integers(1, 7), st.data())
def test_inverted_is_the_position_from_the_other_end(
    shape: Shape, bipolar: bool, bits: int, data: st.DataObject
) -> None:
    # DLS 2.2, 1.6.4, at 7 bits; fewer go beyond it.
    position = data.draw(st.integers(0, 2**bits - 1))
    turned = Curve(shape, bipolar, inverted=True).output(position, bits)
    assert turned == Curve(shape, bipolar).output(2**bits - 1 - position, bits)


@pytest.mark.parametrize("shape", ["concave", "convex"])
def test_a_bipolar_bend_is_odd_about_the_middle(shape: Shape) -> None:
    # DLS 2.2, 1.6.5: sgn(v) times the curve of |v|, v = 2i - MaxValue. At 7 bits no position is
    # in the middle; at 14 bits position 8128 is.
    curve = Curve(shape, bipolar=True)
    for position in range(64):
        assert curve.output(position, 7) == -curve.output(127 - position, 7) != 0
    assert curve.output(8128, 14) == 0
    assert curve.outputs(np.array([8128]), 14).tolist() == [0]


@pytest.mark.parametrize("bits", [8, 10, 14, 16, 32])
def test_positions_above_the_largest_value_are_kept_in_range(bits: int) -> None:
    # Beyond DLS 2.2: its MaxValue is 127/128 of the range (1.6.4), and what lies above is not
    # treated. At 14 bits: 16257 to 16383.
    most = 127 * 2**bits // 128
    for position in (most + 1, 2**bits - 1):
        for shape, bipolar in product(SHAPES, (False, True)):
            turned = Curve(shape, bipolar, inverted=True)
            assert turned.output(position, bits) == turned.output(most, bits) == -int(bipolar)
        assert Curve("convex").output(position, bits) == 1
        assert Curve("concave").output(position, bits) == 1
        assert Curve("linear").output(position, bits) == position / 2**bits


def test_the_inverted_switch_at_14_bits_turns_at_its_own_place() -> None:
    # Computed from DLS 2.2, 1.6.4: 16256 - x is below 8192 from 8065 on.
    switch = Curve("switch", inverted=True)
    assert [switch.output(position, 14) for position in (8064, 8065)] == [1, 0]
    assert [Curve("switch").output(position, 14) for position in (8191, 8192)] == [0, 1]


def test_a_curve_is_a_plain_value() -> None:
    assert Curve() == Curve("linear", bipolar=False, inverted=False)
    assert pickle.loads(pickle.dumps(ALL)) == ALL  # noqa: S301
    assert len(set(ALL)) == 16


@pytest.mark.parametrize("wrong", ["", "Linear", "sine", None, 0, ["linear"], np.array(["a", "b"])])
def test_a_shape_is_one_of_four(wrong: Any) -> None:
    with pytest.raises(InputError, match="'linear', 'concave', 'convex', 'switch'") as caught:
        Curve(wrong)
    assert caught.value.field == "Curve.shape"


@pytest.mark.parametrize("field", ["bipolar", "inverted"])
@pytest.mark.parametrize("wrong", [0, 1, None, "yes"])
def test_polarity_and_direction_are_true_or_false(field: str, wrong: Any) -> None:
    with pytest.raises(InputError, match="true or false") as caught:
        Curve("linear", **{field: wrong})
    assert caught.value.field == f"Curve.{field}"


@pytest.mark.parametrize("wrong", [0, 33, 7.0, True, None])
def test_a_curve_has_a_resolution(wrong: Any) -> None:
    calls: list[tuple[str, Callable[[], object]]] = [
        ("Curve.output.bits", lambda: Curve().output(0, wrong)),
        ("Curve.outputs.bits", lambda: Curve().outputs(np.array([0]), wrong)),
        ("reach.bits", lambda: reach(Travel(0, 0), Curve(), 1.0, wrong)),
    ]
    for field, call in calls:
        with pytest.raises(InputError, match="from 1 to 32") as caught:
            call()
        assert caught.value.field == field


@pytest.mark.parametrize("wrong", [-1, 128, 1.0, "1", True, None])
def test_a_position_beyond_the_resolution_is_refused(wrong: Any) -> None:
    with pytest.raises(InputError, match="from 0 to 127") as caught:
        Curve().output(wrong, 7)
    assert caught.value.field == "Curve.output.position"


def test_an_array_beyond_the_resolution_is_refused() -> None:
    with pytest.raises(InputError, match="from 0 to 127") as caught:
        Curve().outputs(np.array([[5, 128]]), 7)
    assert caught.value.field == "Curve.outputs.positions[0, 1]"
    wrong: Any = [0.5]
    with pytest.raises(InputError, match="numpy array of whole numbers"):
        Curve().outputs(wrong, 7)


@MANY
@given(CURVES, st.integers(1, 8), st.floats(-1e6, 1e6), st.data())
def test_nothing_on_the_way_lies_outside_the_reach(
    curve: Curve, bits: int, depth: float, data: st.DataObject
) -> None:
    ends = st.integers(0, 2**bits - 1)
    travel = Travel(data.draw(ends), data.draw(ends))
    found = reach(travel, curve, depth, bits)
    low, high = sorted((travel.start, travel.end))
    way = [depth * curve.output(position, bits) for position in range(low, high + 1)]
    assert (found.low, found.high) == (min(way), max(way))
    assert found.start == depth * curve.output(travel.start, bits)
    assert found.end == depth * curve.output(travel.end, bits)


def test_a_half_reversed_travel_through_a_route() -> None:
    # Worked by hand: the upper half of the knob, backwards, half depth downwards.
    travel = Travel(scaled(127, 7, 10), scaled(64, 7, 10))
    found = reach(travel, Curve("linear", bipolar=True), -50, 10)
    assert found == Reach(-50 * (2 * 1023 / 1024 - 1), 0.0)
    assert (found.low, found.high) == (found.start, 0.0)
    assert math.copysign(1, found.end) == 1  # 0, never -0
    switched = reach(Travel(0, 127), Curve("switch", inverted=True), 3, 7)
    assert (switched.start, switched.end, switched.low, switched.high) == (3, 0, 0, 3)


def test_an_empty_travel_or_no_depth_moves_nothing() -> None:
    held = reach(Travel(40, 40), Curve("convex"), 10, 7)
    assert held.low == held.high == 10 * Curve("convex").output(40, 7)
    still = reach(Travel(0, 127), Curve("convex", bipolar=True), 0, 7)
    assert still == Reach(0.0, 0.0)
    assert math.copysign(1, still.start) == 1


@pytest.mark.parametrize("wrong", [math.nan, math.inf, -math.inf, 10**400, "1", None, True, 1j])
def test_a_depth_is_a_finite_number(wrong: Any) -> None:
    with pytest.raises(InputError, match="finite number") as caught:
        reach(Travel(0, 1), Curve(), wrong, 7)
    assert caught.value.field == "reach.depth"


@pytest.mark.parametrize(
    ("travel", "curve", "field"),
    [
        ((0, 127), Curve(), "travel"),
        (Travel(128, 0), Curve(), "travel.start"),
        (Travel(0, 128), Curve(), "travel.end"),
        (Travel(0, 0), "linear", "curve"),
    ],
)
def test_reach_takes_words(travel: Any, curve: Any, field: str) -> None:
    with pytest.raises(InputError) as caught:
        reach(travel, curve, 1, 7)
    assert caught.value.field == f"reach.{field}"
