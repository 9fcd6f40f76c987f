"""Pick-up: what a knob does that is turned by hand where it does not stand at the current value.

Two behaviours (common practice, no source):

- ``absolute``: as soon as it is turned, its own position takes effect.
- ``pick-up``: nothing happens until it reaches or passes the current value; from then on its own
  position takes effect.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise
from typing import Literal, TypeAlias, get_args

import attrs

from knobpack.errors import InputError
from knobpack.text.shown import Told
from knobpack.words import fields
from knobpack.words.knob_settings import ABSOLUTE
from knobpack.words.travel import HIGHEST_POSITION

Behaviour: TypeAlias = Literal["absolute", "pick-up"]
"""What a physical knob may do that has a position; an endless one has none."""

BEHAVIOURS: tuple[Behaviour, ...] = get_args(Behaviour)


@attrs.frozen
class Turned(Told):
    """What came of turning a knob by hand.

    Args:
        behaviour: ``absolute`` or ``pick-up``.
        current: the position in force before, 0 to 2**32 - 1.
        path: where the knob stood, and each position that was read as it was turned, 0 to 2**32 -
            1.
        effective: the position in force at each of them; the first is ``current``.
        taken: where in ``path`` the knob first takes effect, counted from 0; None: nowhere.
        jump: the largest step of the position in force that is longer than the movement of the hand
            that made it, in positions; 0 where none is.
    """

    behaviour: Behaviour
    current: int
    path: tuple[int, ...]
    effective: tuple[int, ...]
    taken: int | None
    jump: int

    @property
    def sentences(self) -> tuple[str, ...]:
        """When the knob takes effect, and whether anything jumps."""
        if self.taken is None:
            return (f"The knob does not take effect: {self.current} stays in force.",)
        told = f"The knob takes effect at {self.path[self.taken]} ({self.behaviour})"
        if self.jump == 0:
            return (f"{told}; nothing jumps.",)
        return (f"{told}; the position in force jumps by {self.jump}.",)


def turned(current: int, physical_path: Iterable[int], behaviour: Behaviour) -> Turned:
    """Turn a physical knob.

    Args:
        current: the position in force, 0 to 2**32 - 1.
        physical_path: where the knob stands, and then each position that is read as it is turned,
            in the same resolution. A hand may be faster than the positions are read: a movement
            that passes the current value picks it up.
        behaviour: ``absolute`` or ``pick-up``.

    Returns:
        The position in force at each place of the path, where the knob takes effect, and the
        largest jump.

    Raises:
        InputError: a position is not a whole number in its range, there is none, or the behaviour
            is another.

    Example:
        >>> from knobpack.simulation import turned
        >>> turned(64, (10, 40, 90), "pick-up").effective
        (64, 64, 90)
        >>> turned(64, (10, 40, 90), "absolute").effective
        (64, 40, 90)
    """
    fields.check_whole("turned.current", current, 0, HIGHEST_POSITION)
    right = "give one or more positions"
    path = fields.as_list("turned.physical_path", physical_path, right, least=1)
    for index, position in enumerate(path):
        fields.check_whole(f"turned.physical_path[{index}]", position, 0, HIGHEST_POSITION)
    if not isinstance(behaviour, str) or behaviour not in BEHAVIOURS:
        raise InputError("turned.behaviour", behaviour, f"give one of {', '.join(BEHAVIOURS)}")
    effective, taken, jump = [current], None, 0
    for index, (old, new) in enumerate(pairwise(path), start=1):
        reached = behaviour == ABSOLUTE or min(old, new) <= current <= max(old, new)
        if taken is None and new != old and reached:
            taken = index
        effective.append(current if taken is None else new)
        step = abs(effective[-1] - effective[-2])
        if step > abs(new - old):
            jump = max(jump, step)
    return Turned(behaviour, current, path, tuple(effective), taken, jump)
