"""Listening: the controller numbers that a voice already answers to on its channel."""

from __future__ import annotations

import attrs

from knobpack.errors import InputError
from knobpack.shown import Fielded
from knobpack.words import converters, fields

CHANNELS = 256
"""Channels of one Function Block, at most: 16 in each of 16 Groups (M2-117-UM, key ``channel``)."""

HIGHEST_NUMBER = 127
"""The highest controller number: a data byte of seven bits (MIDI 1.0, Table III)."""


def check_channel(where: str, channel: object) -> None:
    """Refuse what is not a channel.

    Args:
        where: the field that holds it.
        channel: 1 to 256, counted across the Groups of the Function Block.

    Raises:
        InputError: it is no channel.
    """
    fields.check_whole(where, channel, 1, CHANNELS)


def _check_numbers(_: object, __: object, numbers: object) -> None:
    where = "Listening.numbers"
    right = f"give a list, each a whole number from 0 to {HIGHEST_NUMBER}"
    if not isinstance(numbers, tuple):
        raise InputError(where, numbers, right)
    for position, number in enumerate(numbers):
        fields.check_whole(f"{where}[{position}]", number, 0, HIGHEST_NUMBER)
        if number in numbers[:position]:
            given = "this number is given twice; each must be its own"
            raise InputError(f"{where}[{position}]", number, given)


@attrs.frozen
class Listening(Fielded):
    """What a voice already listens to, before any knob is given a number.

    Args:
        voice: its name.
        channel: where it receives, 1 to 256 (counted across Groups).
        numbers: the controller numbers it answers to there, 0 to 127, each once; of a 14-bit pair
            both halves. An empty list is a voice that answers to no controller.

    Raises:
        InputError: a field holds a value it cannot hold.

    Source:
        M2-117-UM 1.0 (channels across Groups).
    """

    voice: str = attrs.field(converter=converters.voice_name, validator=fields.name())
    channel: int = attrs.field(converter=converters.whole, validator=fields.whole(1, CHANNELS))
    numbers: tuple[int, ...] = attrs.field(converter=converters.wholes, validator=_check_numbers)
