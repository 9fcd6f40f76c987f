"""Steps, against M2-115-U v1.0.2, section 5.

The formulas are the standard's; the lists and the facts of the round trip are computed from them.
"""

from __future__ import annotations

from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from knobpack.errors import InputError
from knobpack.positions import scaled, step_at, step_position

COMPUTED = {
    (3, 7): [21, 64, 107],
    (5, 7): [12, 38, 64, 89, 115],
    (8, 7): [8, 24, 40, 56, 72, 88, 104, 120],
    (12, 7): [5, 16, 27, 37, 48, 59, 69, 80, 91, 101, 112, 123],
    (12, 14): [
        *(682, 2048, 3413, 4778, 6144, 7509, 8874, 10240, 11605, 12970, 14336, 15701),
    ],
    (8, 32): [0x10000000 + step * 0x20000000 for step in range(8)],
}


@pytest.mark.parametrize("case", COMPUTED)
def test_the_positions_of_steps(case: tuple[int, int]) -> None:
    steps, bits = case
    assert [step_position(step, steps, bits) for step in range(steps)] == COMPUTED[case]


def test_two_steps_stand_at_the_ends() -> None:
    for bits in range(1, 33):
        assert [step_position(step, 2, bits) for step in (0, 1)] == [0, 2**bits - 1]
        assert step_at(2 ** (bits - 1) - 1, 2, bits) == 0
        assert step_at(2 ** (bits - 1), 2, bits) == 1


@pytest.mark.parametrize("bits", range(1, 9))
def test_every_step_comes_back(bits: int) -> None:
    # The standard's worked case is a range of 128; computed for any that is as small.
    for steps in range(2, 2**bits + 1):
        sent = [step_position(step, steps, bits) for step in range(steps)]
        assert [step_at(position, steps, bits) for position in sent] == list(range(steps))
        assert sent[0] >= 0
        assert sent[-1] < 2**bits


@pytest.mark.parametrize("bits", [5, 7])
def test_each_step_has_its_even_share_of_the_positions(bits: int) -> None:
    for steps in range(2, 2**bits + 1):
        for position in range(2**bits):
            share = Fraction(position, 2**bits)
            step = step_at(position, steps, bits)
            assert Fraction(step, steps) <= share < Fraction(step + 1, steps)


@settings(max_examples=300)
@given(st.integers(1, 32), st.data())
def test_any_step_at_any_width_comes_back(bits: int, data: st.DataObject) -> None:
    steps = data.draw(st.integers(2, 2**bits))
    step = data.draw(st.integers(0, steps - 1))
    position = step_position(step, steps, bits)
    assert 0 <= position < 2**bits
    assert step_at(position, steps, bits) == step


def _lost(steps: int, from_bits: int, to_bits: int) -> bool:
    """Whether some step, sent in one resolution, is another one in another resolution."""
    sent = (step_position(step, steps, from_bits) for step in range(steps))
    arrived = [step_at(scaled(each, from_bits, to_bits), steps, to_bits) for each in sent]
    return arrived != list(range(steps))


def test_steps_of_32_bits_survive_a_receiver_of_seven() -> None:
    # Computed: true of every number of steps up to half the positions of the receiver.
    assert not [steps for steps in range(2, 65) if _lost(steps, 32, 7)]
    assert _lost(67, 32, 7)


@pytest.mark.parametrize("to_bits", [14, 16, 32])
def test_steps_of_seven_bits_are_sure_up_to_32_for_a_finer_receiver(to_bits: int) -> None:
    # Computed, up to half the range, beyond which the standard advises against steps at all.
    lost = [steps for steps in range(2, 65) if _lost(steps, 7, to_bits)]
    assert lost == [47, 49, 50, *range(52, 63)]


@pytest.mark.parametrize("call", [step_position, step_at])
@pytest.mark.parametrize(
    ("arguments", "field", "right"),
    [
        ((0, 1, 7), "steps", "from 2 to 128"),
        ((0, 129, 7), "steps", "from 2 to 128"),
        ((0, 3.0, 7), "steps", "from 2 to 128"),
        ((0, 3, 0), "bits", "of bits from 1 to 32"),
        ((0, 3, 33), "bits", "of bits from 1 to 32"),
        ((0, 3, None), "bits", "of bits from 1 to 32"),
    ],
)
def test_steps_that_a_range_cannot_hold_are_refused(
    call: Any, arguments: tuple[Any, ...], field: str, right: str
) -> None:
    with pytest.raises(InputError, match=right) as caught:
        call(*arguments)
    assert caught.value.field == f"{call.__name__}.{field}"


@pytest.mark.parametrize("wrong", [-1, 3, True, "0", 1.0])
def test_a_step_that_is_not_there_is_refused(wrong: Any) -> None:
    with pytest.raises(InputError, match="from 0 to 2") as caught:
        step_position(wrong, 3, 7)
    assert caught.value.field == "step_position.step"


@pytest.mark.parametrize("wrong", [-1, 128, True, "0", 1.0])
def test_a_position_that_is_not_there_is_refused(wrong: Any) -> None:
    with pytest.raises(InputError, match="from 0 to 127") as caught:
        step_at(wrong, 3, 7)
    assert caught.value.field == "step_at.position"
