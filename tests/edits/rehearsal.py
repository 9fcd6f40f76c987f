"""A setup at a rehearsal, and what is looked at in it."""

from __future__ import annotations

from knobpack.setups.as_read import read
from knobpack.words import (
    Destination,
    Group,
    KnobLabel,
    KnobPosition,
    KnobTravel,
    Route,
    Setup,
    Snapshot,
    Surface,
    Travel,
    Voice,
)

ORGAN = Voice("Organ", (Destination("level", priority=1), Destination("drive")), 1)
BASS = Voice(
    "Bass", (Destination("level", priority=1, travel=Travel(0, 64)), Destination("cutoff")), 2
)
STRINGS = Voice(
    "Strings", (Destination("level", priority=1), Destination("attack")), 3, source="Late set"
)
SETUP = Setup(
    "Evening set",
    Surface.row(5),
    (ORGAN, BASS, STRINGS),
    groups=(Group("Low", ("Bass", "Organ/drive")),),
    routes=(
        Route("Organ/level", "K1"),
        Route("Organ/drive", "K1"),
        Route("Bass/level", "K2"),
        Route("Bass/cutoff", "K2"),
        Route("Strings/level", "K3"),
        Route("Strings/attack", "K4"),
    ),
    travels=(KnobTravel("K1", Travel(20, 101)), KnobTravel("K2", Travel(127, 30))),
    snapshots=(
        Snapshot("All", ("Organ", "Bass", "Strings"), positions=(KnobPosition("K5", 3),)),
        Snapshot("Bass", ("Bass",), positions=(KnobPosition("K1", 99), KnobPosition("K3", 33))),
        Snapshot("Rest", ("Organ", "Strings"), positions=(KnobPosition("K2", 12),)),
    ),
    labels=(KnobLabel("K1", "ORGAN"), KnobLabel("K2", "BASS")),
)


def on(setup: Setup, knob: str) -> set[str]:
    return set(read(setup).carries[knob])


def as_played(setup: Setup) -> object:
    """What each knob drives, over which travel, and where it stands in each snapshot."""
    reading = read(setup)
    used = [knob for knob, names in reading.carries.items() if names]
    return (
        {knob: (set(reading.carries[knob]), reading.goes[knob]) for knob in used},
        [(each.name, {k: each.stored.get(k) for k in used}) for each in setup.snapshots],
    )


def travel(setup: Setup, knob: str) -> Travel:
    return read(setup).goes[knob]
