"""A show of two songs in files, for tests of the command."""

from __future__ import annotations

from knobpack import (
    Destination,
    Surface,
    Voice,
)

PANEL = Surface.row(4)
ORGAN = Voice("Organ", [Destination("level", priority=1), Destination("drive", priority=2)])
BASS = Voice("Bass", [Destination("level", priority=1)])
