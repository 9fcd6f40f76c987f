"""Setups of one voice, of which nothing is programmed, or all is held."""

from __future__ import annotations

import attrs

from knobpack.words import Destination, KnobPosition, Route, Setup, Snapshot, Surface, Voice

PAD = Voice("Pad", (Destination("level"), Destination("pan")), 1)
A = Setup("A", Surface.row(2, bits=10), (PAD,))
HELD = attrs.evolve(
    A,
    routes=(Route("Pad/level", "K1"), Route("Pad/pan", "K2")),
    snapshots=(Snapshot("held", positions=(KnobPosition("K1", 512), KnobPosition("K2", 9))),),
)


def one_line(text: str) -> str:
    return " ".join(text.split())
