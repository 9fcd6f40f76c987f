"""Snapshot: which destinations move with the master, all else held."""

from __future__ import annotations

import attrs

from knobpack.words import fields

EVERYTHING = "everything"
"""What the snapshot is called that moves everything; it is there where none is given."""

ONLY = "only "
"""What the name of a default snapshot starts with, before the name of a voice or group."""


@attrs.frozen
class Snapshot:
    """A recalled state of the setup.

    Args:
        name: unique among the snapshots of a request; a little longer than other names may be, so
            that ``only`` fits before any of them.
        moves: names of the voices, groups or destinations that move with the master; all else is
            held. Members that are not movable are held too.
        break_weight: None: what it moves and what it holds must stay on different knobs. A number,
            0 to 10,000: they may share, and each destination that then does the wrong thing in this
            snapshot costs so many points of the independence tier.

    Raises:
        InputError: a field holds a value it cannot hold, or a name is given twice.
    """

    name: str = fields.name(longest=fields.LONGEST_NAME + len(ONLY))
    moves: tuple[str, ...] = fields.names(slash=True)
    break_weight: int | None = fields.weight()
