"""Columns: what a table holds, one column for each field of a word, in the order of the table.

To import it takes next to no time.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Final, NamedTuple

from knobpack.tables import cells

SETUP, SURFACE, KNOB, PLACE, LABEL, SENDING = "setup", "surface", "knob", "place", "label", "sends"
VOICE, DESTINATION, TRAVEL = "voice", "destination", "travel"
"""What a column is about."""

SNAPSHOT: Final = "snapshot:"
"""What the heading of the column of a snapshot starts with, before its name."""


class TableColumn(NamedTuple):
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
    TableColumn("knob", KNOB, "name", always=True),
    TableColumn("knob row", KNOB, "row", cells.number, always=True),
    TableColumn("knob column", KNOB, "column", cells.number, always=True),
    TableColumn("label", LABEL, "label"),
    TableColumn("layer", VOICE, "layer", cells.number, always=True),
    TableColumn("voice", VOICE, "name", always=True),
    TableColumn("destination", DESTINATION, "name", always=True),
    TableColumn("kind", DESTINATION, "kind", always=True),
    TableColumn("priority", DESTINATION, "priority", cells.number, always=True),
    TableColumn("start", TRAVEL, "start", cells.number, always=True),
    TableColumn("end", TRAVEL, "end", cells.number, always=True),
    # Here stand the snapshots.
    TableColumn("wanted start", DESTINATION, "travel.start", cells.number),
    TableColumn("wanted end", DESTINATION, "travel.end", cells.number),
    TableColumn("movable", DESTINATION, "movable", cells.yes_or_no, default="yes"),
    TableColumn("steps", DESTINATION, "steps", cells.number),
    TableColumn("must place", DESTINATION, "must_place", cells.yes_or_no, default="no"),
    TableColumn("source", VOICE, "source"),
    TableColumn("source knob", DESTINATION, "source_knob"),
    TableColumn("source place", DESTINATION, "source_place", cells.number),
    TableColumn("channel", VOICE, "channel", cells.number),
    TableColumn("keys", VOICE, "keys", cells.span),
    TableColumn("velocities", VOICE, "velocities", cells.span),
    TableColumn("transposition", VOICE, "transposition", cells.number),
    TableColumn("program", VOICE, "program", cells.number),
    TableColumn("controller", SENDING, "number", cells.number),
    TableColumn("fine", SENDING, "fine", cells.yes_or_no, default="no"),
    TableColumn("controller channel", SENDING, "channel", cells.number),
    TableColumn("turning", SENDING, "turning"),
    TableColumn("usual", KNOB, "usual", cells.name_list),
    TableColumn("reserved", PLACE, "reserved", cells.yes_or_no, default="no"),
    TableColumn("favoured", PLACE, "favoured", cells.number),
    TableColumn("travel on", SURFACE, "travel_on", default="knob"),
    TableColumn("most on a knob", SURFACE, "destinations_per_knob", cells.number),
    TableColumn("most routes", SURFACE, "routes", cells.number),
    TableColumn("most layers", SURFACE, "layers", cells.number),
    TableColumn("most snapshots", SURFACE, "snapshots", cells.number),
    TableColumn("label length", SURFACE, "label_length", cells.number),
    TableColumn("bits", SURFACE, "bits", cells.number, always=True),
    TableColumn("setup", SETUP, "name", always=True),
)

BY_HEADING: Final = {column.heading: column for column in COLUMNS}

FRONT: Final = next(at for at, column in enumerate(COLUMNS) if column.heading == "wanted start")
"""How many columns stand before those of the snapshots."""

WORDS: Final = {
    SETUP: "SetupFile",
    SURFACE: "Surface",
    KNOB: "Knob",
    LABEL: "KnobLabel",
    SENDING: "KnobSending",
    VOICE: "Voice",
    DESTINATION: "Destination",
}
"""What the schema of files calls the word that a column is about; positions it cannot know."""

REQUIRED: Final = ("knob", "voice", "destination")
"""Headings that must be there."""
