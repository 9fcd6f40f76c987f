"""The request that sums are done by hand for."""

from __future__ import annotations

from typing import Any

from knobpack.checker import check
from knobpack.words import Destination, Layout, Request, Snapshot, Surface, Voice

PAD = Voice(
    "Pad",
    (
        Destination("cutoff", priority=1),
        Destination("level", priority=2),
        Destination("pan", priority=3),
    ),
)
BASS = Voice("Bass", (Destination("cutoff", priority=4), Destination("drive", priority=5)))
FREE = (Snapshot("all", ("Pad", "Bass")),)
ALL = ("Pad/cutoff", "Pad/level", "Pad/pan", "Bass/cutoff", "Bass/drive")
SPLIT = Layout.of({"K1": ALL[:2], "K2": ALL[2:4], "K3": ALL[4:]})


def a_request(*, knobs: int = 3, **fields: Any) -> Request:
    """Pad and Bass on a row of knobs; one snapshot in which everything moves."""
    given: dict[str, Any] = {
        "surface": Surface.row(knobs),
        "voices": (PAD, BASS),
        "snapshots": FREE,
    }
    return Request(**(given | fields))


def totals(request: Request, layout: Layout) -> tuple[int, ...]:
    """The tier values; the layout must be valid."""
    checked = check(request, layout)
    assert checked.breaches == ()
    return checked.prices.totals
