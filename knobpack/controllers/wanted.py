"""Wanted: which knobs need a number, on which channel, and which numbers are open there."""

from __future__ import annotations

from functools import cached_property

import attrs

from knobpack.controllers.listening import Listening
from knobpack.controllers.parts import Closed, KnobNumber, Sent
from knobpack.controllers.table import HALF

MASTER_STANDING = 6
"""The master stands above every knob: it moves all that follow it."""

CARRYING = frozenset((6, 38, 98, 99))
"""The controllers that carry a non-registered parameter (MIDI 1.0, page 17)."""


@attrs.frozen
class Want:
    """One knob, or the master, that needs a number.

    Args:
        who: the name of the knob; ``MASTER``: the master.
        channels: the channels of the voices that it drives, ascending; it can have a number only
            if there is one.
        standing: 5 for a knob that drives something essential, down to 1 for one that drives only
            what is hidden (priority 1 to 5, M2-117-UM); 6 for the master.
        fine: whether it is to send 14 bits.
        deliberate: the number that it must have; None: any.
        before: what it was sent on before; None: nothing is known.
        own: whether ``deliberate`` is what it really sends.
    """

    who: str
    channels: tuple[int, ...]
    standing: int
    fine: bool = False
    deliberate: int | None = None
    before: Sent | None = None
    own: bool = False

    @property
    def channel(self) -> int | None:
        """The one channel that it sends on; None: it would take several."""
        return self.channels[0] if len(self.channels) == 1 else None

    def sent(self, number: int) -> Sent:
        """What it is sent on if it is given ``number``."""
        return Sent(number, number + HALF if self.fine and number < HALF else None)


@attrs.frozen
class Wanted:
    """All that the choice of numbers depends on, in order.

    Args:
        setup: the name of the setup.
        wants: the knobs in panel order, then the master.
        allowed: the numbers that may be used, ascending.
        listening: what voices listen to already.
        parameters: the non-registered parameters that may be used where numbers run out, the
            first first; the same ones on every channel where no voice listens to what carries them.
    """

    setup: str
    wants: tuple[Want, ...]
    allowed: tuple[int, ...]
    listening: tuple[Listening, ...] = ()
    parameters: tuple[tuple[int, int], ...] = ()

    @cached_property
    def channels(self) -> tuple[int, ...]:
        """The channels that something is sent on, ascending."""
        return tuple(sorted({want.channel for want in self.wants if want.channel is not None}))

    def on(self, channel: int) -> tuple[Want, ...]:
        """What is sent on a channel, in order."""
        return tuple(want for want in self.wants if want.channel == channel)

    def heard_by(self, channel: int, number: int) -> tuple[str, ...]:
        """The voices on a channel that are touched if ``number`` is sent there, each once.

        A voice that listens to the low half alone is touched by the high half, too: to receive it
        sets the low half to zero (MIDI 1.0, Table II, note 4).
        """
        touched = _touched(number)
        return tuple(
            dict.fromkeys(
                each.voice
                for each in self.listening
                if each.channel == channel and not touched.isdisjoint(each.numbers)
            )
        )

    def shut_by(self, channel: int) -> tuple[str, ...]:
        """The voices on a channel that listen to what carries parameters: none is given there."""
        return tuple(
            dict.fromkeys(
                each.voice
                for each in self.listening
                if each.channel == channel and not CARRYING.isdisjoint(each.numbers)
            )
        )

    def offered(self, channel: int) -> tuple[tuple[int, int], ...]:
        """The parameters that may be used on a channel."""
        return () if self.shut_by(channel) else self.parameters

    def answered(self, want: Want, sent: Sent) -> KnobNumber:
        """The answer for one, if it is sent so."""
        heard: tuple[str, ...] = ()
        if want.channel is not None and sent.number is not None:
            heard = self.heard_by(want.channel, sent.number)
        return KnobNumber(
            knob=want.who,
            channels=want.channels,
            sent=sent,
            fine=want.fine,
            deliberate=want.deliberate is not None,
            heard_by=heard,
            before=want.before,
            own=want.own and want.deliberate is not None,
        )

    def closed(self, channel: int) -> tuple[Closed, ...]:
        """The allowed numbers that voices on a channel listen to, ascending."""
        heard = {n for each in self.listening if each.channel == channel for n in each.numbers}
        return tuple(
            Closed(
                channel,
                number,
                tuple(sorted(_touched(number) & heard)),
                self.heard_by(channel, number),
            )
            for number in self.allowed
            if not heard.isdisjoint(_touched(number))
        )

    def open(self, channel: int) -> tuple[int, ...]:
        """The numbers that may be chosen freely on a channel, ascending."""
        asked = {want.deliberate for want in self.on(channel)}
        shut = {closed.number for closed in self.closed(channel)} | asked
        return tuple(number for number in self.allowed if number not in shut)


def _touched(number: int) -> frozenset[int]:
    return frozenset((number, number + HALF) if number < HALF else (number,))
