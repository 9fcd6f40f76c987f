"""One request and one setup that hold a little of everything."""

from __future__ import annotations

from typing import Any, cast

from knobpack.words import (
    Apart,
    Destination,
    Fixed,
    Group,
    KnobTravel,
    Layout,
    Request,
    Route,
    Setup,
    Snapshot,
    Surface,
    Travel,
    Voice,
    VoiceLayer,
    Weights,
)
from knobpack.words.rules import RULES

REQUEST = Request(
    Surface.row(3, bits=14, reserved=("K3",)),
    (
        Voice("Pad", (Destination("cutoff"), Destination("level", travel=Travel(0, 8191)))),
        Voice(
            "Bass", (Destination("cutoff", priority=1, source_knob="7", source_place=7),), layer=2
        ),
        Voice("Drône №1", (Destination("level", movable=False),)),
    ),
    groups=(Group("low", ("Bass", "Pad/level")),),
    snapshots=(Snapshot("all", ("Pad", "Bass")), Snapshot("low", ("low",), 5)),
    rules=(Apart(("Pad",), ("Bass",), weight=30), Fixed(("Bass/cutoff",), "K3")),
    keep=Layout((Route("Bass/cutoff", "K3"),), (KnobTravel("K3", Travel(9, 1)),)),
    previous=Layout((Route("Lead/level", "K9"),), layers=(VoiceLayer("Lead", 1),)),
    weights=Weights(sequence=0),
)
SETUP = Setup("Stage", REQUEST.surface, REQUEST.voices, routes=(Route("Nobody/level", "K8"),))

_GIVEN = {
    "names": ("Pad", "Bass/level"),
    "first": ("Pad",),
    "second": ("Bass", "Lead"),
    "knob": "K3",
    "knobs": ("K1", "K2"),
}
EACH_RULE: tuple[Any, ...] = tuple(
    cast("Any", kind)(**{key: value for key, value in _GIVEN.items() if hasattr(kind, key)})
    for kind in RULES
)
"""A rule of each sort, of what its fields take."""
