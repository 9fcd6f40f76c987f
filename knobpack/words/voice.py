"""Voice, destination and group: what the knobs drive; the keys and velocities of a voice."""

from __future__ import annotations

from functools import cached_property
from typing import TypeAlias

import attrs

from knobpack.errors import InputError
from knobpack.text.shown import Fielded
from knobpack.words import converters, fields
from knobpack.words.names import near_to
from knobpack.words.travel import Travel

HIGHEST_DATA = 127
"""The highest data byte of MIDI 1.0: 7 bits."""


@attrs.frozen
class Span(Fielded):
    """The keys, or the velocities, from a lowest to a highest, both among them.

    Where ``high`` is below ``low`` there is none: a setup may be faulty, and the audit says so.

    Args:
        low: the lowest, 0 to 127.
        high: the highest, 0 to 127.

    Raises:
        InputError: one of them is not a whole number from 0 to 127.

    Source:
        MIDI 1.0 Detailed Specification, Table II: keys and velocities are data bytes of 7 bits;
        key 60 is middle C.
    """

    low: int = attrs.field(converter=converters.whole, validator=fields.whole(0, HIGHEST_DATA))
    high: int = attrs.field(converter=converters.whole, validator=fields.whole(0, HIGHEST_DATA))

    def __str__(self) -> str:
        return f"{self.low} to {self.high}"


STANDING = (8, 4, 2, 1, 0)
"""What priority 1 to 5 counts where it moves. A step doubles: essential outweighs high and low."""

HIDDEN = 5
"""The priority of what is hidden."""

CHANNELS = 16
"""MIDI channels of one cable (MIDI 1.0, Table I)."""

PROGRAMS = 128
"""Programs of one bank (MIDI 1.0, Table I: a data byte)."""

DOWN, UP = -64, 63
"""Semitones that a channel can be transposed by (MIDI 1.0, RPN 00-02, channel coarse tuning)."""


@attrs.frozen
class Destination(Fielded):
    """One controllable input of a voice.

    Outside its voice it is named ``voice/destination``.

    Args:
        name: unique in its voice.
        kind: what it controls (cutoff, level, …); where none is given, the name itself.
        priority: 1 essential, 2 high, 3 medium, 4 low, 5 hidden.
        travel: the travel wanted, in the resolution of the surface; None: the full travel.
        source_knob: the knob that carried it in its source. Destinations of one source with one
            source knob are a bundle; of a voice without a source, those within the voice.
        source_place: where that knob lies on the panel of its source, counted from 1, 1 to 10,000;
            None: not known. What came from one source is laid out in its order there.
        movable: whether the master may move it at all; if not, every snapshot holds it.
        steps: how many values a stepped destination takes, 2 to 2**32; None: it is continuous.
        must_place: whether a layout without it is no layout.

    Raises:
        InputError: a field holds a value it cannot hold.

    Source:
        The scale of priorities is that of M2-117-UM 1.0, MIDI-CI Property Exchange controller
        resources.
    """

    name: str = attrs.field(validator=fields.name())
    kind: str = attrs.field(
        default=attrs.Factory(lambda self: self.name, takes_self=True),
        converter=converters.maybe_kind,
        validator=fields.name(optional=True),
    )
    priority: int = attrs.field(
        default=3,
        converter=converters.whole,
        validator=fields.whole(1, 5, unit="(1 essential, 5 hidden)"),
    )
    travel: Travel | None = attrs.field(default=None, validator=fields.one(Travel, optional=True))
    source_knob: str | None = attrs.field(default=None, validator=fields.name(optional=True))
    source_place: int | None = attrs.field(
        default=None,
        converter=converters.maybe_whole,
        validator=fields.whole(1, fields.MOST_ITEMS, optional=True),
    )
    movable: bool = attrs.field(default=True, validator=fields.flag())
    steps: int | None = attrs.field(
        default=None,
        converter=converters.maybe_whole,
        validator=fields.whole(2, 2**32, optional=True),
    )
    must_place: bool = attrs.field(default=False, validator=fields.flag())

    def __attrs_post_init__(self) -> None:
        if not self.kind:
            object.__setattr__(self, "kind", self.name)


@attrs.frozen
class Voice(Fielded):
    """One sound of a layered setup.

    Args:
        name: unique among the voices and groups of a request.
        destinations: its controllable inputs; names unique in the voice.
        layer: the layer it has in its source, counted from 1, 1 to 10,000; None: none yet.
        source: the name of the setup it comes from; None: none, or the base itself.
        channel: the MIDI channel that it receives on, 1 to 16; None: not known.
        keys: its key range, as the keys are pressed; None: all keys.
        velocities: its velocity range; None: all velocities.
        transposition: by how many semitones it sounds above the key that is pressed, -64 to 63;
            None: not known, so taken for none.
        program: its program number, counted from 1 as players count, 1 to 128: a Program Change
            carries one less. None: not known.

    Raises:
        InputError: a field holds a value it cannot hold, or a name is given twice.

    Source:
        MIDI 1.0 Detailed Specification, Table I (channels, programs), Table II (keys, velocities; a
        Note On of velocity 0 is a Note Off) and RPN 00-02 (coarse tuning).
    """

    name: str = attrs.field(validator=fields.name())
    destinations: tuple[Destination, ...] = attrs.field(
        default=(), converter=converters.destinations, validator=fields.several(Destination)
    )
    layer: int | None = attrs.field(
        default=None,
        converter=converters.maybe_whole,
        validator=fields.whole(1, fields.MOST_ITEMS, optional=True),
    )
    source: str | None = attrs.field(default=None, validator=fields.name(optional=True))
    channel: int | None = attrs.field(
        default=None,
        converter=converters.maybe_whole,
        validator=fields.whole(1, CHANNELS, optional=True, unit="(a MIDI channel)"),
    )
    keys: Span | None = attrs.field(default=None, validator=fields.one(Span, optional=True))
    velocities: Span | None = attrs.field(default=None, validator=fields.one(Span, optional=True))
    transposition: int | None = attrs.field(
        default=None,
        converter=converters.maybe_whole,
        validator=fields.whole(DOWN, UP, optional=True, unit="of semitones"),
    )
    program: int | None = attrs.field(
        default=None,
        converter=converters.maybe_whole,
        validator=fields.whole(1, PROGRAMS, optional=True, unit="(counted from 1)"),
    )

    def __attrs_post_init__(self) -> None:
        inner = (destination.name for destination in self.destinations)
        fields.check_distinct("Voice.destinations[].name", inner)

    def full_name(self, destination: str | Destination) -> str:
        """How ``destination`` of this voice is named outside it.

        Args:
            destination: one of its destinations, or the name of one.

        Returns:
            ``voice/destination``.

        Raises:
            InputError: the voice has none of that name.
        """
        name = destination if isinstance(destination, str) else destination.name
        if name not in self._inside:
            right = f"name a destination of {self.name}{near_to(name, self._inside)}"
            raise InputError("Voice.full_name.destination", name, right)
        return f"{self.name}/{name}"

    @cached_property
    def by_full_name(self) -> dict[str, Destination]:
        """Its destinations, each under the name that it has outside: ``voice/destination``."""
        return {f"{self.name}/{each.name}": each for each in self.destinations}

    @cached_property
    def _inside(self) -> frozenset[str]:
        return frozenset(each.name for each in self.destinations)

    @property
    def played(self) -> tuple[str, ...]:
        """How it is played, as far as that is known: channel, keys, velocities and so on."""
        told = []
        if self.channel is not None:
            told.append(f"channel {self.channel}")
        if self.keys is not None:
            told.append(f"keys {self.keys}")
        if self.velocities is not None:
            told.append(f"velocities {self.velocities}")
        if self.transposition is not None:
            unit = "semitone" if abs(self.transposition) == 1 else "semitones"
            told.append(f"transposition {self.transposition:+d} {unit}")
        if self.program is not None:
            told.append(f"program {self.program} (sent as {self.program - 1})")
        return tuple(told)

    @property
    def sounding_keys(self) -> range:
        """The keys that it answers to, 0 to 127; none where its key range is empty."""
        return range(128) if self.keys is None else range(self.keys.low, self.keys.high + 1)

    @property
    def sounding_velocities(self) -> range:
        """The velocities that it answers to, 1 to 127: a Note On of velocity 0 is a Note Off."""
        if self.velocities is None:
            return range(1, 128)
        return range(max(1, self.velocities.low), self.velocities.high + 1)

    @property
    def sounds(self) -> bool:
        """Whether there is a key and a velocity that it answers to."""
        return bool(self.sounding_keys) and bool(self.sounding_velocities)


@attrs.frozen
class Group(Fielded):
    """A named set of voices, groups or destinations.

    Args:
        name: unique among the voices and groups of a request.
        members: names of voices, of other groups, or ``voice/destination``.

    Raises:
        InputError: a field holds a value it cannot hold, or a member is given twice.
    """

    name: str = attrs.field(validator=fields.name())
    members: tuple[str, ...] = attrs.field(
        converter=converters.member_names, validator=fields.names(slash=True, least=1)
    )


Member: TypeAlias = str | Voice | Group
"""What a rule, group or snapshot names: a voice or group, or a destination by its full name."""
