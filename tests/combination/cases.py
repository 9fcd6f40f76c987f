"""The setups of the worked case (common practice, no source)."""

from __future__ import annotations

from knobpack.combination.answer import Combination
from knobpack.words import Destination, KnobTravel, Route, Setup, Snapshot, Surface, Travel, Voice


def inner(name: str, priority: int = 3, **more: object) -> Destination:
    """A destination, by its name and priority."""
    return Destination(name, priority=priority, **more)  # type: ignore[arg-type]


BASE = Setup(
    "Evening set",
    Surface.row(8, bits=10),
    (Voice("Felt piano", (inner("level", 1), inner("tone", 2)), 1),),
    routes=(Route("Felt piano/level", "K1"), Route("Felt piano/tone", "K2")),
    travels=(KnobTravel("K1", Travel(0, 1023)),),
    snapshots=(Snapshot("piano", ("Felt piano",)),),
)
"""Two of eight knobs in use, at 10 bits."""

GUEST = Setup(
    "Harbour set",
    Surface.row(6),
    (
        Voice("Glass pad", (inner("cutoff", 1), inner("level", 2), inner("send")), 1),
        Voice("Low drone", (inner("cutoff"), inner("drive")), 2),
        Voice("Reed lead", (inner("level", 1), inner("vibrato")), 3),
    ),
    routes=(
        Route("Glass pad/cutoff", "K1"),
        Route("Low drone/cutoff", "K2"),
        Route("Low drone/drive", "K2"),
        Route("Glass pad/send", "K2"),
        Route("Reed lead/level", "K3"),
        Route("Reed lead/vibrato", "K4"),
        Route("Glass pad/level", "K5"),
        Route("Gone/level", "K6"),
    ),
    travels=(
        KnobTravel("K2", Travel(0, 64)),
        KnobTravel("K3", Travel(127, 0)),
        KnobTravel("K5", Travel(64, 64)),
    ),
    snapshots=(
        Snapshot("pad", ("Glass pad",)),
        Snapshot("all", ("Glass pad", "Low drone", "Reed lead")),
    ),
)
"""Three voices; four of six knobs live: one drives three over half travel, one is reversed."""

LATER = Setup(
    "Tin roof set",
    Surface.row(8),
    (
        Voice("Pulse bass", (inner("cutoff", 1), inner("level", 2), inner("drive")), 1),
        Voice("Felt piano", (inner("level"), inner("tone")), 2),
    ),
    routes=tuple(
        Route(name, f"K{number}")
        for number, name in enumerate(
            (
                "Pulse bass/cutoff",
                "Pulse bass/level",
                "Pulse bass/drive",
                "Felt piano/level",
                "Felt piano/tone",
            ),
            1,
        )
    ),
)
"""Two voices, five live knobs; one voice is called like one of the base."""


def told(found: Combination) -> str:
    """What is said of all that a combination leaves."""
    return "\n".join(str(each) for each in found.left)
