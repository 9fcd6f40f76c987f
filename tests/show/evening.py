"""An evening of four songs, two of them programmed, and what comes of it."""

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
ENCORE = Setup(
    "Encore as it was",
    PANEL,
    (Voice("Bass", BASS.destinations, layer=1),),
    routes=(Route("Bass/level", "K2"),),
    snapshots=(Snapshot("all", ("Bass",)),),
)
"""Its bass is elsewhere than in the ballad, and neither gives way."""
SHOW = Show(
    "Friday",
    [
        Song("Opener", Request(PANEL, [ORGAN])),
        Song("Ballad", PROGRAMMED),
        Song("Waltz", Request(PANEL, [PIANO, ORGAN])),
        Song("Encore", ENCORE),
    ],
    breaks=["Ballad"],
)


@cache
def laid_out() -> ShowAllocation:
    """The evening laid out."""
    return allocate_show(SHOW)
