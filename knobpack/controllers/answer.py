"""What controller_numbers() gives back: what every knob is sent on, and why, as values."""

from __future__ import annotations

import attrs

from knobpack.allocation import Tier
from knobpack.controllers import told
from knobpack.telling import Told

MASTER = ""
"""The name under which the master stands among the knobs; no knob is called so."""

TIERS = ("left", "parameters", "priority", "fine", "changes", "meaning", "runs", "lowest", "order")
"""The tiers by which numbers are chosen, the most important first.

Their costs are whole numbers; :mod:`knobpack.controllers.checked` defines them.
"""

Numbers = int | tuple[int, int]
"""One controller number for 7 bits, or two for 14: the high half, then the low."""


@attrs.frozen
class Sent:
    """What a knob is sent on; nothing, if all three are None.

    Args:
        number: a controller number; of 14 bits, that of the high half.
        low: the controller number of the low half; None: 7 bits are sent.
        parameter: the number of a non-registered parameter, MSB and LSB, each 0 to 127; its data
            are of 14 bits.
    """

    number: int | None = None
    low: int | None = None
    parameter: tuple[int, int] | None = None

    @property
    def bits(self) -> int:
        """How many bits of a position are sent: 0, 7 or 14."""
        if self.low is not None or self.parameter is not None:
            return 14
        return 0 if self.number is None else 7


@attrs.frozen
class KnobNumber:
    """What one knob, or the master, is sent on.

    Args:
        knob: its name; ``MASTER``: the master.
        channels: the channels of the voices that it drives. It sends on one channel: where there
            are several, it has no number.
        sent: what it is sent on.
        fine: whether 14 bits were asked for.
        deliberate: whether the number was asked for.
        heard_by: the voices that were listening to the number there already, in the order given.
        before: what it was sent on in the previous answer; None: nothing is known.
    """

    knob: str
    channels: tuple[int, ...]
    sent: Sent
    fine: bool = False
    deliberate: bool = False
    heard_by: tuple[str, ...] = ()
    before: Sent | None = None

    @property
    def channel(self) -> int | None:
        """The one channel that it sends on; None: it would take several."""
        return self.channels[0] if len(self.channels) == 1 else None

    @property
    def changed(self) -> bool:
        """Whether it was sent on another number before. Its low half alone is no change."""
        was, now = self.before, self.sent
        return was is not None and (was.number, was.parameter) != (now.number, now.parameter)

    def __str__(self) -> str:
        return told.knob_told(self)


@attrs.frozen
class Closed:
    """A number that is allowed, but that voices on the channel listen to already.

    Args:
        channel: the channel.
        number: the number.
        heard: what of it they listen to: the number itself, its low half, or both.
        by: the voices.
    """

    channel: int
    number: int
    heard: tuple[int, ...]
    by: tuple[str, ...]

    def __str__(self) -> str:
        return told.closed_told(self)


@attrs.frozen
class Room:
    """What would give room on a channel where the numbers have run out.

    Args:
        channel: the channel.
        left: the knobs without a number or parameter there.
        allowing: usable numbers that are not allowed and that no voice there listens to.
        listened: allowed numbers that voices listen to and no knob was asked to use.
    """

    channel: int
    left: tuple[str, ...]
    allowing: tuple[int, ...]
    listened: tuple[int, ...]

    def __str__(self) -> str:
        return told.room_told(self)


@attrs.frozen
class ControllerNumbers(Told):
    """The controller numbers of a setup, checked, and how far they are proven best.

    They are about channels: a knob sends on one, and two knobs collide only if they send one
    number on the same channel.

    Args:
        setup: the name of the setup.
        knobs: every knob that has something to send, in panel order, then the master.
        allowed: the numbers that were allowed, ascending.
        closed: those of them that voices listen to already, by channel and number.
        room: what would give room, for each channel where the numbers have run out.
        tiers: value, bound and proof of each tier of :data:`TIERS`.
        stopped: what cut the search short (``time limit``, ``effort``); None if nothing did.
    """

    setup: str
    knobs: tuple[KnobNumber, ...]
    allowed: tuple[int, ...]
    closed: tuple[Closed, ...]
    room: tuple[Room, ...]
    tiers: tuple[Tier, ...]
    stopped: str | None = None

    @property
    def proven(self) -> bool:
        """Whether every tier is proven best."""
        return all(tier.proven for tier in self.tiers)

    @property
    def numbers(self) -> dict[str, Numbers]:
        """The controller numbers of the knobs that have one, by name; the master is not here."""
        found = {each.knob: _numbers(each.sent) for each in self.knobs if each.knob != MASTER}
        return {knob: numbers for knob, numbers in found.items() if numbers is not None}

    @property
    def master_number(self) -> Numbers | None:
        """The controller numbers of the master; None: it has none."""
        return next((_numbers(each.sent) for each in self.knobs if each.knob == MASTER), None)

    @property
    def left(self) -> tuple[str, ...]:
        """The knobs that are sent on nothing, in panel order; ``MASTER`` for the master."""
        return tuple(each.knob for each in self.knobs if not each.sent.bits)

    def why_not(self, number: int, channel: int = 1) -> str:
        """Why a number is not free on a channel, or that it is, in a sentence.

        Args:
            number: 0 to 127.
            channel: 1 to 256.

        Raises:
            InputError: one of them is not what it must be.
        """
        return told.why_not(self, number, channel)

    @property
    def sentences(self) -> tuple[str, ...]:
        """How many got a number, each of them, what is closed, and what would give room."""
        return told.sentences(self)


def _numbers(sent: Sent) -> Numbers | None:
    if sent.number is None or sent.low is None:
        return sent.number
    return sent.number, sent.low
