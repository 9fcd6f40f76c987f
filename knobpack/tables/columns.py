"""Columns: what a table holds, one column for each field of a word, in the order of the table."""

from __future__ import annotations

from collections.abc import Callable
from typing import Final

import attrs

from knobpack.tables import cells
from knobpack.words import Surface, fields

SETUP, SURFACE, KNOB, PLACE, LABEL, SENDING = "setup", "surface", "knob", "place", "label", "sends"
VOICE, DESTINATION, TRAVEL = "voice", "destination", "travel"
"""What a column is about."""

SNAPSHOT: Final = "snapshot:"
"""What the heading of the column of a snapshot starts with, before its name."""


@attrs.frozen
class Column:
    """A column of a table.

    Args:
        heading: what stands at its head, in small letters.
        about: what it is about; all rows of the same knob, voice or destination say the same.
        field: the field of that word that it holds.
        read: what a cell says, for the word to refuse if it will not do.
        always: whether it is there even where every row has the default.
        default: the cell that says what is so by default, if that is not an empty one.
    """

    heading: str
    about: str
    field: str
    read: Callable[[str], object] = cells.text
    always: bool = False
    default: str = ""


COLUMNS: Final = (
    Column("knob", KNOB, "name", always=True),
    Column("knob row", KNOB, "row", cells.whole, always=True),
    Column("knob column", KNOB, "column", cells.whole, always=True),
    Column("label", LABEL, "label"),
    Column("layer", VOICE, "layer", cells.whole, always=True),
    Column("voice", VOICE, "name", always=True),
    Column("destination", DESTINATION, "name", always=True),
    Column("kind", DESTINATION, "kind", always=True),
    Column("priority", DESTINATION, "priority", cells.whole, always=True),
    Column("start", TRAVEL, "start", cells.whole, always=True),
    Column("end", TRAVEL, "end", cells.whole, always=True),
    # Here stand the snapshots.
    Column("wanted start", DESTINATION, "travel.start", cells.whole),
    Column("wanted end", DESTINATION, "travel.end", cells.whole),
    Column("movable", DESTINATION, "movable", cells.flag, default="yes"),
    Column("steps", DESTINATION, "steps", cells.whole),
    Column("must place", DESTINATION, "must_place", cells.flag, default="no"),
    Column("source", VOICE, "source"),
    Column("source knob", DESTINATION, "source_knob"),
    Column("source place", DESTINATION, "source_place", cells.whole),
    Column("channel", VOICE, "channel", cells.whole),
    Column("keys", VOICE, "keys", cells.span),
    Column("velocities", VOICE, "velocities", cells.span),
    Column("transposition", VOICE, "transposition", cells.whole),
    Column("program", VOICE, "program", cells.whole),
    Column("controller", SENDING, "number", cells.whole),
    Column("fine", SENDING, "fine", cells.flag, default="no"),
    Column("controller channel", SENDING, "channel", cells.whole),
    Column("turning", SENDING, "turning"),
    Column("usual", KNOB, "usual", cells.names),
    Column("reserved", PLACE, "reserved", cells.flag, default="no"),
    Column("favoured", PLACE, "favoured", cells.whole),
    Column("travel on", SURFACE, "travel_on", default="knob"),
    Column("most on a knob", SURFACE, "destinations_per_knob", cells.whole),
    Column("most routes", SURFACE, "routes", cells.whole),
    Column("most layers", SURFACE, "layers", cells.whole),
    Column("most snapshots", SURFACE, "snapshots", cells.whole),
    Column("label length", SURFACE, "label_length", cells.whole),
    Column("bits", SURFACE, "bits", cells.whole, always=True),
    Column("setup", SETUP, "name", always=True),
)

BY_HEADING: Final = {column.heading: column for column in COLUMNS}

FRONT: Final = next(at for at, column in enumerate(COLUMNS) if column.heading == "wanted start")
"""How many columns stand before those of the snapshots."""

REQUIRED: Final = ("knob", "voice", "destination")
"""Headings that must be there."""


@attrs.frozen
class Place:
    """What the surface says of a knob beside where it lies.

    Args:
        reserved: whether it takes no new route.
        favoured: its rank among the knobs that are the best to reach, counted from 1; None: none.
    """

    reserved: bool = attrs.field(default=False, validator=fields.flag())
    favoured: int | None = attrs.field(
        default=None, validator=fields.whole(1, fields.MOST_ITEMS, optional=True)
    )


def places(surface: Surface) -> dict[str, Place]:
    """What the surface says of each of its knobs, by name, in panel order."""
    rank = {knob: at for at, knob in enumerate(surface.favoured, start=1)}
    reserved = set(surface.reserved)
    return {knob: Place(knob in reserved, rank.get(knob)) for knob in surface.knob_names}
