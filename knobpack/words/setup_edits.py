"""Setup edits: what a player can ask for at a rehearsal, each edit a value."""

from __future__ import annotations

from typing import TypeAlias

import attrs

from knobpack.text.shown import Fielded
from knobpack.words import converters, fields
from knobpack.words.layout import KnobTravel
from knobpack.words.names import knob_told, knobs_told, listed
from knobpack.words.surface import Knob
from knobpack.words.voice import Member, Voice

Driven: TypeAlias = Member | Knob
"""What an edit names: a member, or a knob, which stands for what it drives."""


@attrs.frozen
class OwnKnob(Fielded):
    """A destination, or several that belong together, on a knob of their own.

    Nothing else is on that knob from then on.

    Args:
        names: what is to have it: destinations, voices or groups; a knob stands for what it
            drives.
        knob: which knob; None: whichever takes the least.

    Raises:
        InputError: a field holds a value it cannot hold.
    """

    names: tuple[str, ...] = attrs.field(
        converter=converters.driven_names, validator=fields.names(slash=True, least=1)
    )
    knob: str | None = attrs.field(
        default=None, converter=converters.maybe_knob_name, validator=fields.name(optional=True)
    )

    def __str__(self) -> str:
        told = f"{listed(self.names)} on a knob of {'its' if len(self.names) == 1 else 'their'} own"
        return told if self.knob is None else f"{told}, {knob_told(self.knob)}"


@attrs.frozen
class OnKnob(Fielded):
    """A destination, or several, on this knob.

    What is on it already stays there, unless a snapshot moves the one and not the other, or the
    knob takes no more.

    Args:
        names: what is to be there: destinations, voices or groups; a knob stands for what it
            drives.
        knob: the knob.

    Raises:
        InputError: a field holds a value it cannot hold.
    """

    names: tuple[str, ...] = attrs.field(
        converter=converters.driven_names, validator=fields.names(slash=True, least=1)
    )
    knob: str = attrs.field(converter=converters.knob_name, validator=fields.name())

    def __str__(self) -> str:
        return f"{listed(self.names)} on {knob_told(self.knob)}"


@attrs.frozen
class Swap(Fielded):
    """Two knobs change places: each drives what the other drove, over the same travel.

    Args:
        one: a knob.
        other: another; one of the two may drive nothing.

    Raises:
        InputError: a field holds a value it cannot hold.
    """

    one: str = attrs.field(converter=converters.knob_name, validator=fields.name())
    other: str = attrs.field(converter=converters.knob_name, validator=fields.name())

    def __str__(self) -> str:
        return f"{knobs_told((self.one, self.other))} change places"


@attrs.frozen
class Part(Fielded):
    """What shares a knob parted, so that it can be moved apart.

    Args:
        names: what is to be parted: destinations, voices or groups; a knob stands for what it
            drives.
        others: from what; none: each of ``names`` from each other, what is within one of them as
            it is. One name alone parts all that is within it.

    Raises:
        InputError: a field holds a value it cannot hold.
    """

    names: tuple[str, ...] = attrs.field(
        converter=converters.driven_names, validator=fields.names(slash=True, least=1)
    )
    others: tuple[str, ...] = attrs.field(
        default=(), converter=converters.driven_names, validator=fields.names(slash=True)
    )

    def __str__(self) -> str:
        rest = f" from {listed(self.others)}" if self.others else ""
        return f"{listed(self.names)} parted{rest}"


@attrs.frozen
class Join(Fielded):
    """What several knobs drive joined on one knob, so that the others are free.

    Args:
        knobs: two or more, each of which drives something.

    Raises:
        InputError: a field holds a value it cannot hold.
    """

    knobs: tuple[str, ...] = attrs.field(
        converter=converters.knob_names, validator=fields.names(least=2)
    )

    def __str__(self) -> str:
        return f"{knobs_told(self.knobs)} joined"


@attrs.frozen
class OutOfUse(Fielded):
    """A knob that is broken tonight: nothing is on it until it is back in use.

    Args:
        knob: the knob.

    Raises:
        InputError: a field holds a value it cannot hold.
    """

    knob: str = attrs.field(converter=converters.knob_name, validator=fields.name())

    def __str__(self) -> str:
        return f"{knob_told(self.knob)} out of use"


@attrs.frozen
class BackInUse(Fielded):
    """A knob that is mended: what moved because it was broken goes back, unless edited since.

    Args:
        knob: the knob.

    Raises:
        InputError: a field holds a value it cannot hold.
    """

    knob: str = attrs.field(converter=converters.knob_name, validator=fields.name())

    def __str__(self) -> str:
        return f"{knob_told(self.knob)} back in use"


@attrs.frozen
class Away(Fielded):
    """A voice, a source or a destination away, or what a knob drives.

    A voice goes whole, a source with all its voices; a destination stays with its voice, and no
    knob drives it any more. A knob is free then: its routes, travel and label go.

    Args:
        names: voices, sources, destinations or knobs.

    Raises:
        InputError: a field holds a value it cannot hold.
    """

    names: tuple[str, ...] = attrs.field(
        converter=converters.driven_names, validator=fields.names(slash=True, least=1)
    )

    def __str__(self) -> str:
        return f"{listed(self.names)} away"


@attrs.frozen
class OneMore(Fielded):
    """A voice more: it gets a free layer, and free knobs for what it has.

    Destinations that say that one knob of their source drove them (``source_knob``) come as one
    bundle, on one knob; each other one comes by itself. What is there stays where it is. What
    finds no knob is left out, and that is said first; the voice comes all the same.

    Args:
        voice: the voice, its travels in the resolution of the setup. Its layer is chosen anew.
        moves_in: the snapshots in which it moves; None: those that move all that others move.

    Raises:
        InputError: a field holds a value it cannot hold.

    Example:
        >>> from knobpack import Destination, OneMore, Route, Setup, Snapshot, Surface, Voice, edit
        >>> organ = Voice("Organ", (Destination("level"),), layer=1)
        >>> routes, stored = (Route("Organ/level", "K1"),), (Snapshot("All", ("Organ",)),)
        >>> setup = Setup("Quay set", Surface.row(2), (organ,), routes=routes, snapshots=stored)
        >>> inner = Destination("level", source_knob="3"), Destination("breath", source_knob="3")
        >>> done = edit(setup, OneMore(Voice("Choir", inner)))
        >>> print(done)
        Choir more: 2 routes move; proven: less will not do, weighed by importance.
        Choir/level and Choir/breath get K2.
        Choir is on layer 2.
        >>> done.setup.snapshots[0].moves
        ('Organ', 'Choir')
    """

    voice: Voice = attrs.field(validator=fields.one(Voice))
    moves_in: tuple[str, ...] | None = attrs.field(
        default=None,
        converter=converters.maybe_snapshot_names,
        validator=fields.names(optional=True),
    )

    def __str__(self) -> str:
        return f"{self.voice.name} more"


Edit: TypeAlias = (
    OwnKnob | OnKnob | Swap | Part | Join | OutOfUse | BackInUse | Away | OneMore | KnobTravel
)
"""What can be edited; a :class:`KnobTravel` sets the travel of a knob otherwise."""
EDITS: tuple[type[Edit], ...] = (
    OwnKnob,
    OnKnob,
    Swap,
    Part,
    Join,
    OutOfUse,
    BackInUse,
    Away,
    OneMore,
    KnobTravel,
)
