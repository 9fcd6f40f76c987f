"""Snapshot: which destinations move with the master, all else held."""

from __future__ import annotations

from collections.abc import Mapping

import attrs

from knobpack.text.shown import Fielded
from knobpack.words import converters, fields
from knobpack.words.names import knob_told
from knobpack.words.travel import HIGHEST_POSITION

EVERYTHING = "everything"
"""What the snapshot is called that moves everything; it is there where none is given."""

ONLY = "only "
"""What the name of a default snapshot starts with, before the name of a voice or group."""


@attrs.frozen
class KnobPosition(Fielded):
    """Where a snapshot puts a knob that does not follow the master in it.

    Args:
        knob: the name of the knob.
        position: in the resolution of its surface, 0 to 2**32 - 1.

    Raises:
        InputError: a field holds a value it cannot hold.
    """

    knob: str = attrs.field(converter=converters.knob_name, validator=fields.name())
    position: int = attrs.field(
        converter=converters.whole, validator=fields.whole(0, HIGHEST_POSITION)
    )


@attrs.frozen
class Snapshot(Fielded):
    """A recalled state of the setup.

    Args:
        name: unique among the snapshots of a request; a little longer than other names may be, so
            that ``only`` fits before any of them.
        moves: names of the voices, groups or destinations that move with the master; all else is
            held. Members that are not movable are held too.
        break_weight: None: what it moves and what it holds must stay on different knobs. A number,
            0 to 10,000: they may share, and each destination that then does the wrong thing in this
            snapshot costs so many points of the independence tier.
        positions: where the knobs stand that do not follow in it, as far as that is known; each
            knob once. What is not given here is not known.
        silent: names of the voices that do not sound in it.
        idle: names of the knobs that are switched to follow the master in it although they drive
            nothing.

    Raises:
        InputError: a field holds a value it cannot hold, or a name is given twice.

    Example:
        >>> from knobpack import KnobPosition, Snapshot
        >>> solo = Snapshot("Solo", ("Reed organ",), positions=(KnobPosition("K4", 96),))
        >>> solo.stored
        {'K4': 96}
    """

    name: str = attrs.field(validator=fields.name(longest=fields.LONGEST_NAME + len(ONLY)))
    moves: tuple[str, ...] = attrs.field(
        default=(), converter=converters.member_names, validator=fields.names(slash=True)
    )
    break_weight: int | None = attrs.field(
        default=None, converter=converters.maybe_whole, validator=fields.weight(optional=True)
    )
    positions: tuple[KnobPosition, ...] = attrs.field(
        default=(), converter=converters.knob_positions, validator=fields.several(KnobPosition)
    )
    silent: tuple[str, ...] = attrs.field(
        default=(), converter=converters.voice_names, validator=fields.names()
    )
    idle: tuple[str, ...] = attrs.field(
        default=(), converter=converters.knob_names, validator=fields.names()
    )

    def __attrs_post_init__(self) -> None:
        fields.check_distinct("Snapshot.positions[].knob", (each.knob for each in self.positions))

    @property
    def stored(self) -> dict[str, int]:
        """The stored position of each knob that has one, in the order in which they are given."""
        return {each.knob: each.position for each in self.positions}

    @property
    def places(self) -> str:
        """Where it puts knobs, in a row: ``K1 at 64, K2 at 0``."""
        return ", ".join(f"{knob_told(each.knob)} at {each.position}" for each in self.positions)


def storing(snapshot: Snapshot, positions: Mapping[str, int]) -> Snapshot:
    """A snapshot that puts knobs, by name, at these positions and at no others."""
    placed = tuple(KnobPosition(knob, position) for knob, position in positions.items())
    return attrs.evolve(snapshot, positions=placed)
