"""An evening of four songs, and what comes of it when each is laid out by itself."""

from __future__ import annotations

from functools import cache

from knobpack import (
    Destination,
    KnobTravel,
    Request,
    Route,
    Setup,
    Snapshot,
    Surface,
    Travel,
    Voice,
)
from knobpack.show import Show, ShowAllocation, Song, allocate_show

PANEL = Surface.row(3)
ORGAN = Voice("Organ", [Destination("level", priority=1), Destination("drive", priority=2)])
BASS = Voice("Bass", [Destination("level", priority=1)])
PIANO = Voice("Piano", [Destination("level", priority=1)])
PROGRAMMED = Setup(
    "Ballad as it was",
    PANEL,
    (Voice("Organ", ORGAN.destinations, layer=1), Voice("Bass", BASS.destinations, layer=2)),
    routes=(Route("Organ/level", "K3"), Route("Organ/drive", "K2"), Route("Bass/level", "K1")),
    travels=(KnobTravel("K3", Travel(0, 100)),),
    snapshots=(Snapshot("all", ("Organ", "Bass")),),
)
SHOW = Show(
    "Friday",
    [
        Song("Opener", Request(PANEL, [ORGAN])),
        Song("Ballad", PROGRAMMED),
        Song("Waltz", Request(PANEL, [PIANO, ORGAN])),
        Song("Encore", Request(PANEL, [BASS])),
    ],
    breaks=["Ballad"],
)


@cache
def laid_out() -> ShowAllocation:
    """The evening laid out."""
    return allocate_show(SHOW)
