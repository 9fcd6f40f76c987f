"""Answers of every kind."""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from inspect import signature
from typing import Any

from knobpack.allocation import Allocation
from knobpack.allocator import allocate_request
from knobpack.auditing.audit import audit
from knobpack.clash import Clash, WayOut
from knobpack.clash.every import every_clash
from knobpack.combination.combiner import combine
from knobpack.edits import edit
from knobpack.explanation.here import why_here
from knobpack.explanation.least import least_knobs
from knobpack.explanation.not_there import why_not
from knobpack.explanation.shared import why_shared
from knobpack.explanation.unplaced import why_unplaced
from knobpack.explanation.what_if import what_if
from knobpack.heavy_imports import BoundQuestion
from knobpack.midi import (
    Control,
    Recording,
    controller_numbers,
    hear_positions,
    import_controllers,
)
from knobpack.questions import AskedOfAllocation
from knobpack.sheets import patch_sheet
from knobpack.show import Show, Song, allocate_show
from knobpack.simulation import Response, sweep, worst_changes
from knobpack.words import (
    Apart,
    Destination,
    Fixed,
    KnobTravel,
    Layout,
    Request,
    Route,
    Setup,
    Snapshot,
    Surface,
    Travel,
    Voice,
)
from knobpack.words.demand import demands_of
from knobpack.words.edits import placed, without_rule
from knobpack.words.setup_edits import Swap

PAD = Voice("Pad №1", (Destination("höhe", source_knob="A"), Destination("level", source_knob="A")))
BASS = Voice("Bass", (Destination("cutoff"), Destination("drive", travel=Travel(127, 0))))
LEAD = Voice("Lead", (Destination("level", priority=5),))
REQUEST = Request(
    Surface.row(3, destinations_per_knob=2, reserved=("K3",)),
    (PAD, BASS, LEAD),
    snapshots=(Snapshot("all", ("Pad №1", "Bass", "Lead")), Snapshot("low", ("Bass",))),
    rules=(Apart(("Pad №1",), ("Bass/drive",), weight=30), Fixed(("Bass/cutoff",), "K1")),
    keep=Layout((Route("Pad №1/level", "K2"),)),
)
"""Five destinations on two knobs: one must be left out."""

SETUP = Setup(
    "Haus №1",
    Surface.row(2),
    (BASS, LEAD),
    routes=(Route("Bass/cutoff", "K1"), Route("Gone/level", "K2")),
    travels=(KnobTravel("K1", Travel(100, 0)),),
    snapshots=(Snapshot("low", ("Bass",)), Snapshot("none")),
)
"""A setup with faults."""


@cache
def allocation() -> Allocation:
    """The best layout for :data:`REQUEST`."""
    return allocate_request(REQUEST)


@cache
def answers() -> dict[str, Any]:
    """An answer to every question, by the name of the question in files."""
    made = allocation()
    (left_out,) = made.unplaced
    demands = demands_of(REQUEST)
    return {
        "why": why_here(made, "Bass/cutoff"),
        "why not": why_not(made, "Bass/drive", "K2", solve=True),
        "why shared": why_shared(made, "K2", solve=True),
        "why unplaced": why_unplaced(made, left_out),
        "least knobs": least_knobs(REQUEST),
        "what if": what_if(made, without_rule(REQUEST, REQUEST.rules[0])),
        "every clash": every_clash(placed(REQUEST)),
        # Made by hand, so that every kind of demand is in it.
        "clash": Clash(demands, False, (WayOut(demands[:2], 7),), 2, ("Bass/drive",), 4),
        **{each.question: each for each in of_the_whole(made, places=True, solve=True)},
        **_of_setups(),
        **_of_shows(),
    }


def of_the_whole(made: Allocation, **how: Any) -> Iterator[Any]:
    """The answers to questions about nothing in particular, asked as far as they take it so."""
    for name, question in vars(AskedOfAllocation).items():
        if isinstance(question, BoundQuestion):
            takes = signature(getattr(AskedOfAllocation, name)).parameters
            if sum(each.default is each.empty for each in takes.values()) == 1:
                yield getattr(made, name)(**{key: how[key] for key in how if key in takes})


def _of_setups() -> dict[str, Any]:
    base = Setup("Base", Surface.row(4, bits=10))
    combination = combine(base, SETUP, unreached=True)
    turned = Recording((Control(1, 16, None, 7, ((0, 3), (5, 64))),))
    listed = [{"title": "Cutoff", "ctrlType": "cc", "ctrlIndex": [74], "tempo": 1}]
    bent = {"Bass/cutoff": Response(depth=-1200)}
    return {
        "audit": audit(SETUP),
        "edit": edit(combination.setup, Swap("K1", "K4")),
        "combination": combination,
        "sweep": sweep(SETUP, "low", responses=bent),
        "patch sheet": patch_sheet(base, combination.setup),
        "jumps": worst_changes(SETUP),
        "controller numbers": controller_numbers(combination.setup, fine=True),
        "heard": hear_positions(SETUP, turned, "low", numbers={"K1": 16}),
        "controller lists": import_controllers(listed, "Pulse"),
    }


def _of_shows() -> dict[str, Any]:
    songs = Song("Opener", REQUEST), Song("Ballad", allocation().setup("Ballad"))
    found = allocate_show(Show("Friday", songs))
    return {
        "show": found,
        "show change": found.with_song(Song("Encore", Request(REQUEST.surface, (LEAD,)))),
        "show difference": found.one_more_knob(),
        "odd songs": found.odd_songs(),
        "worth freeing": found.worth_freeing(),
        "jumps from song to song": found.jumps,
        "on panel": found.on_panel(Surface.row(2)),
    }
