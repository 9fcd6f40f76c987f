"""One clean setup, and what is made of it to put faults in. Names are invented."""

from __future__ import annotations

from typing import Any

import attrs

from knobpack.words import Destination, KnobTravel, Route, Setup, Snapshot, Surface, Travel, Voice

PAD = Voice("Pad", (Destination("cutoff"), Destination("level")), layer=1)
BASS = Voice("Bass", (Destination("cutoff"),), layer=2)
CLEAN = Setup(
    "Stage",
    Surface.row(3),
    (PAD, BASS),
    routes=(Route("Pad/cutoff", "K1"), Route("Pad/level", "K2"), Route("Bass/cutoff", "K3")),
    travels=(KnobTravel("K3", Travel(0, 64)),),
    snapshots=(
        Snapshot("all", ("Pad", "Bass")),
        Snapshot("pad alone", ("Pad",)),
        Snapshot("bass alone", ("Bass",)),
    ),
)
"""All three knobs do something, each destination has its own, and no two snapshots are alike."""


@attrs.frozen
class Case:
    """A fault.

    Args:
        cause: the cause that is to be found, and nothing else.
        setup: the setup with the fault.
        sentence: what is to be said of it.
        mends: setups in which it is mended, each in a way that the sentence tells.
        dead: the knobs that are dead.
        beside: causes that cannot but be found as well, before and after.
    """

    cause: str
    setup: Setup
    sentence: str
    mends: tuple[Setup, ...]
    dead: tuple[str, ...] = ()
    beside: tuple[str, ...] = ()


def stage(base: Setup = CLEAN, **change: Any) -> Setup:
    """The clean setup, or another, with something changed."""
    return attrs.evolve(base, **change)


def routed(*more: Route) -> Setup:
    return stage(routes=(*CLEAN.routes, *more))


def travelled(travel: Travel, knob: str = "K1") -> Setup:
    return stage(travels=(*CLEAN.travels, KnobTravel(knob, travel)))


def limited(**limits: Any) -> Setup:
    return stage(surface=Surface.row(3, **limits))


def played(*more: Snapshot) -> Setup:
    return stage(snapshots=(*CLEAN.snapshots, *more))


def layered(layer: int, **limits: Any) -> Setup:
    return stage(limited(**limits), voices=(PAD, attrs.evolve(BASS, layer=layer)))


SHARED = stage(
    routes=(Route("Pad/cutoff", "K1"), Route("Pad/level", "K2"), Route("Bass/cutoff", "K2")),
    travels=(),
    surface=Surface.row(3, reserved=("K3",)),
    snapshots=(CLEAN.snapshots[0], Snapshot("cutoff alone", ("Pad/cutoff",))),
)
TORN = stage(SHARED, snapshots=CLEAN.snapshots[:2])
ON_ONE = stage(
    routes=tuple(attrs.evolve(route, knob="K1") for route in CLEAN.routes),
    travels=(),
    surface=Surface.row(1),
    snapshots=(Snapshot("pad alone", ("Pad",)),),
)
SHAKER = Voice("Shaker", (Destination("level", movable=False),), layer=3)
BY_HAND = stage(
    surface=Surface.row(4),
    voices=(PAD, BASS, SHAKER),
    routes=(*CLEAN.routes, Route("Shaker/level", "K4")),
)
HELD_TOO = stage(
    CLEAN,
    surface=Surface.row(1),
    voices=(PAD, SHAKER),
    routes=tuple(Route(name, "K1") for name in ("Pad/cutoff", "Pad/level", "Shaker/level")),
    travels=(),
    snapshots=(),
)
WIDE = stage(surface=Surface.row(4))
FREE_LEAD = stage(
    WIDE,
    voices=(PAD, BASS, Voice("Lead", (Destination("pan"),), layer=3)),
    routes=(*CLEAN.routes, Route("Lead/pan", "K4")),
)
STEPPED = stage(
    voices=(PAD, attrs.evolve(BASS, destinations=(Destination("cutoff", steps=3),))),
    travels=(),
    snapshots=(CLEAN.snapshots[0], Snapshot("level alone", ("Pad/level",))),
)
"""Three steps begin at the positions 0, 43 and 86, where ``position * 3 >> 7`` becomes 0, 1 and 2
(M2-115-U 1.0.2, section 5)."""
