"""Response: where a knob stands as the master moves, and what a destination makes of it.

Positions are whole numbers throughout and exact at any resolution. ``nearest`` is the one rounding
there is; it serves whole numbers of Python, and numpy arrays of uint64, which no product of two
positions overflows: (2**32 - 1)**2 and half a position fit.
"""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import attrs

from knobpack.errors import InputError
from knobpack.heavy_imports import load
from knobpack.positions import Curve, step_at
from knobpack.positions.curves import finite
from knobpack.setups.as_read import Reading
from knobpack.text.shown import Fielded
from knobpack.words import Travel, fields

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray


def _depth(given: float) -> float:
    return finite("Response.depth", given)


@attrs.frozen
class Response(Fielded):
    """What a destination receives for the position of its knob: the curve times the depth.

    Args:
        curve: of its route.
        depth: any finite number, in the destination's own unit (such as cents); negative turns it
            round.

    Raises:
        InputError: a field holds a value it cannot hold.
    """

    curve: Curve = attrs.field(default=Curve(), validator=fields.one(Curve))
    depth: float = attrs.field(default=1.0, converter=_depth)


@attrs.frozen
class Receiver:
    """What stands at the end of a route.

    Args:
        bits: the resolution of the knob's position, 2 to 32.
        travel: what it goes over as the knob goes all the way; None: it takes the knob's position.
        steps: how many values the destination takes; None: it is continuous.
        response: None: it receives the share of full travel, 0 to 1.
    """

    bits: int
    travel: Travel | None
    steps: int | None
    response: Response | None

    @property
    def stepped(self) -> bool:
        """Whether there are fewer steps than positions."""
        return self.steps is not None and self.steps < 1 << self.bits

    def taken(self, position: int) -> int:
        """The position that it takes on the way of its own travel: of a stepped one, the step's.

        The step is read as M2-115-U 5 says, and stands for its share of the way from the first
        to the last: of three steps, the bottom, the middle and the top.
        """
        if self.travel is not None:
            position = position_at(self.travel, position, (1 << self.bits) - 1)
        if self.steps is None or not self.stepped:
            return position
        step = step_at(position, self.steps, self.bits)
        return nearest(step, (1 << self.bits) - 1, self.steps - 1)

    def received(self, position: int) -> float:
        """What it receives, the knob standing at ``position``."""
        if self.response is None:
            return self.taken(position) / ((1 << self.bits) - 1)
        part = self.response.curve.output(self.taken(position), self.bits)
        return self.response.depth * part + 0.0  # no -0.0

    def share(self, before: int, after: int) -> float:
        """How far it goes as its knob jumps, as a share of all that it can receive: 0 to 1.

        Unlike the difference of what it receives, it compares destinations of any unit, and equal
        jumps are equal to the last bit.
        """
        one, other = self.taken(before), self.taken(after)
        if self.response is None:
            return abs(other - one) / ((1 << self.bits) - 1)
        if self.response.depth == 0:
            return 0.0
        curve = self.response.curve
        way = abs(curve.output(other, self.bits) - curve.output(one, self.bits))
        return way / 2 if curve.bipolar else way

    def received_array(self, positions: NDArray[np.int64]) -> NDArray[np.float64]:
        """What ``received`` gives, for a whole array; of curves to the last bits of a float."""
        load("numpy")
        import numpy as np

        top = (1 << self.bits) - 1
        taken = positions if self.travel is None else positions_at(self.travel, positions, top)
        if self.steps is not None and self.stepped:
            step = taken.astype(np.uint64) * np.uint64(self.steps) >> np.uint64(self.bits)
            taken = nearest_array(step, top, self.steps - 1)
        if self.response is None:
            return np.asarray(taken / top, dtype=np.float64)
        outputs = self.response.curve.outputs(taken, self.bits)
        return np.asarray(self.response.depth * outputs + 0.0, dtype=np.float64)


def receivers(
    where: str, reading: Reading, responses: Mapping[str, Response] | None
) -> tuple[Receiver, ...]:
    """The receiver of every route that counts, in their order.

    Raises:
        InputError: ``responses`` names no destination of the setup, or holds no Response.
    """
    if responses is not None and not isinstance(responses, Mapping):
        raise InputError(where, responses, "give a Response for each voice/destination")
    given = dict(responses or {})
    for name, response in given.items():
        if name not in reading.destinations:
            raise InputError(where, name, "name a voice/destination of the setup")
        if not isinstance(response, Response):
            raise InputError(f"{where}[{name!r}]", response, "give a Response")
    bits, own = reading.setup.surface.bits, reading.setup.surface.per_route
    return tuple(
        Receiver(
            bits,
            reading.led(route) if own else None,
            reading.destinations[route.destination].steps,
            given.get(route.destination),
        )
        for route in reading.routes
    )


def nearest(count: int, whole: int, parts: int) -> int:
    """``count * whole / parts``, rounded to the nearest whole number, a half up."""
    return (count * whole + parts // 2) // parts


def nearest_array(counts: NDArray[np.uint64], whole: int, parts: int) -> NDArray[np.int64]:
    """What ``nearest`` gives, for a whole array; no product may reach 2**64."""
    load("numpy")
    import numpy as np

    found = (counts * np.uint64(whole) + np.uint64(parts // 2)) // np.uint64(parts)
    return np.asarray(found, dtype=np.int64)


def position_at(travel: Travel, master: int, top: int) -> int:
    """Where a knob that follows stands, in proportion to the master, rounded to the nearest.

    A half never occurs: ``top`` is odd. So the way down is the way up in reverse.

    Args:
        travel: of the knob, its ends 0 to top.
        master: its position, 0 to top.
        top: the highest position, of the master as of the knob: 2**bits - 1.
    """
    way = nearest(abs(travel.end - travel.start), master, top)
    return travel.start - way if travel.reversed else travel.start + way


def positions_at(travel: Travel, master: NDArray[np.int64], top: int) -> NDArray[np.int64]:
    """What ``position_at`` gives, for a whole array of positions of the master."""
    load("numpy")
    import numpy as np

    way = nearest_array(master.astype(np.uint64), abs(travel.end - travel.start), top)
    return travel.start - way if travel.reversed else travel.start + way
