"""Steps: a choice of a few, told as a position.

After M2-115-U 1.0.2, section 5. The standard calls 32 steps or fewer the most robust choice, and
advises against more than half as many steps as there are positions.
"""

from __future__ import annotations

from knobpack.positions.resolution import MOST_BITS, top
from knobpack.words import fields


def step_position(step: int, steps: int, bits: int) -> int:
    """The position to send for a step.

    Two steps stand at the bottom and the top. More stand near the middle of their share of the
    range, so that a receiver of another resolution still finds them.

    Args:
        step: counted from 0, 0 to steps - 1.
        steps: how many there are, 2 to 2**bits.
        bits: the resolution, 1 to 32.

    Returns:
        The position, 0 to 2**bits - 1; ``step_at`` gives the step back.

    Raises:
        InputError: an argument is not a whole number in its range.

    Source:
        M2-115-U 1.0.2, section 5.

    Example:
        >>> from knobpack.positions import step_position
        >>> [step_position(step, 3, 7) for step in range(3)]
        [21, 64, 107]
    """
    _check_steps("step_position", steps, bits)
    fields.check_whole("step_position.step", step, 0, steps - 1)
    if steps == 2:
        return step * top(bits)
    whole = 1 << bits
    return (whole * step + steps - 1) // steps + whole // (2 * steps)


def step_at(position: int, steps: int, bits: int) -> int:
    """The step that a received position stands for.

    Args:
        position: 0 to 2**bits - 1.
        steps: how many there are, 2 to 2**bits.
        bits: the resolution, 1 to 32.

    Returns:
        The step, 0 to steps - 1.

    Raises:
        InputError: an argument is not a whole number in its range.

    Source:
        M2-115-U 1.0.2, section 5.

    Example:
        >>> from knobpack.positions import step_at
        >>> [step_at(position, 3, 7) for position in (0, 64, 127)]
        [0, 1, 2]
    """
    _check_steps("step_at", steps, bits)
    fields.check_whole("step_at.position", position, 0, top(bits))
    return position * steps >> bits


def _check_steps(where: str, steps: int, bits: int) -> None:
    fields.check_whole(f"{where}.bits", bits, 1, MOST_BITS, "of bits")
    fields.check_whole(f"{where}.steps", steps, 2, 1 << bits)
