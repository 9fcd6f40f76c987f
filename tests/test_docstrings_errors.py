"""Each error that a docstring names is raised: here is a call that brings it on."""

from __future__ import annotations

import sys
from collections.abc import Callable
from typing import Any

import attrs
import numpy as np
import pytest

import knobpack as kp
from knobpack import (
    Apart,
    Destination,
    Fixed,
    Layout,
    Request,
    Route,
    Setup,
    Snapshot,
    Surface,
    Travel,
    Voice,
    files,
    pictures,
    show,
)
from knobpack.positions import Curve, Position
from knobpack.words import edits
from tests.test_docstrings import DESCRIBED, docstring, entries, sections
from tests.test_wrong_kinds import EACH

PAD = Voice("Glass pad", (Destination("cutoff"), Destination("level")), layer=1)
BASS = Voice("Round bass", (Destination("drive"),), layer=2)
REQUEST = Request(Surface.row(2), (PAD, BASS))
NARROW = attrs.evolve(REQUEST, surface=Surface.row(1))
CRAMPED = edits.placed(NARROW)
PARTED = edits.placed(
    attrs.evolve(REQUEST, rules=(kp.Together(("Glass pad",)), kp.Alone(("Glass pad/level",))))
)
FOUND = kp.allocate_request(REQUEST)
SETUP = FOUND.setup("Evening set")
WIDE = Setup("Cellar set", Surface.row(3), (PAD,), routes=(Route("Glass pad/level", "K3"),))
MUST = Voice("Bell choir", (Destination("level", must_place=True),))
GUEST = attrs.evolve(WIDE, voices=(MUST,), routes=(Route("Bell choir/level", "K1"),))
BASE = Setup("Hall set", Surface.row(1), (PAD,), routes=(Route("Glass pad/level", "K1"),))
RING = tuple(Voice(f"V{place}", (Destination("a"),), layer=place + 1) for place in range(5))
"""Each apart from the next, which two knobs cannot do; to find that out takes a search."""
RULES = tuple(Apart(f"V{place}", f"V{(place + 1) % 5}") for place in range(5))


def evening(request: Request) -> show.Show:
    """A show of one song."""
    return show.Show("Evening", [show.Song("Opener", request)])


TURNING = Request(
    Surface.row(2),
    RING,
    snapshots=(Snapshot("all", tuple(each.name for each in RING)),),
    rules=RULES,
)
TURNED = kp.allocate_request(TURNING)
STUCK = edits.placed(TURNING)
RING_SETUP = Setup(
    "Ring set",
    Surface.row(5),
    STUCK.voices,
    routes=tuple(Route(f"V{place}/a", f"K{place + 1}") for place in range(5)),
    snapshots=STUCK.snapshots or (),
)
NUMBERS = kp.midi.controller_numbers(SETUP)
GRAPH = FOUND.graph
NONE: Any = object()
"""What nothing takes."""

Calls = dict[str, Callable[[], object]]


def refused(*names: str, call: Callable[[Callable[..., object]], object]) -> Calls:
    """The same call of several."""
    return {name: lambda name=name: call(DESCRIBED[name]) for name in names}  # type: ignore[misc]


INPUT: Calls = {
    "ShowPrices.total": lambda: show.allocate_show(evening(REQUEST)).prices.total("cost"),
    "Request.named": lambda: REQUEST.named(("Tin",)),
    "Request.wanted": lambda: REQUEST.wanted("Tin/level"),
    "Request.driven": lambda: REQUEST.driven("Tin/level"),
    "Request.omission": lambda: REQUEST.omission("Tin/level"),
    "Request.hidden": lambda: REQUEST.hidden("Tin/level"),
    "Prices.total": lambda: kp.checker.check(REQUEST, kp.Layout()).prices.total("cost"),
    "Request.moved": lambda: REQUEST.moved(Snapshot("All", ("Tin",))),
    "Show": lambda: show.Show("Evening", ()),
    "ShowAllocation.song": lambda: show.allocate_show(evening(REQUEST)).song("Ballad"),
    "ShowAllocation.setup": lambda: show.allocate_show(evening(REQUEST)).setup("Ballad"),
    "ShowAllocation.sheets": lambda: show.allocate_show(evening(REQUEST)).sheets(NONE),
    "ShowAllocation.tier": lambda: show.allocate_show(evening(REQUEST)).tier("cost"),
    "Song": lambda: show.Song("", REQUEST),
    "VoiceRole": lambda: show.VoiceRole("", "Organ"),
    "as_laid_out": lambda: show.as_laid_out(show.allocate_show(evening(REQUEST)), ("Ballad",)),
    "with_song": lambda: show.with_song(
        show.allocate_show(evening(REQUEST)), show.Song("Opener", REQUEST)
    ),
    "without_song": lambda: show.without_song(show.allocate_show(evening(REQUEST)), "Ballad"),
    "show_in_order": lambda: show.show_in_order(show.allocate_show(evening(REQUEST)), ()),
    "with_voice": lambda: show.with_voice(show.allocate_show(evening(REQUEST)), REQUEST.voices[0]),
    "on_panel": lambda: show.on_panel(show.allocate_show(evening(REQUEST)), REQUEST.surface),
    "worth_freeing": lambda: show.worth_freeing(evening(REQUEST)),  # type: ignore[arg-type]
    "odd_songs": lambda: show.odd_songs(evening(REQUEST)),  # type: ignore[arg-type]
    "one_more_knob": lambda: show.one_more_knob(evening(REQUEST)),  # type: ignore[arg-type]
    "what_if_show": lambda: show.what_if_show(
        show.allocate_show(evening(REQUEST)),
        REQUEST,  # type: ignore[arg-type]
    ),
    "why_elsewhere": lambda: show.why_elsewhere(
        show.allocate_show(evening(REQUEST)), "Opener", "Glass pad/level", "K9"
    ),
    **refused("PastEdit", "SetupPart", call=lambda it: it("Swap/")),
    **refused("Away", "OwnKnob", "Part", call=lambda it: it(())),
    **refused("BackInUse", "OutOfUse", call=lambda it: it("a/b")),
    **refused("Join", call=lambda it: it(("K1",))),
    **refused("OnKnob", call=lambda it: it(("Pad",), NONE)),
    **refused("OneMore", call=lambda it: it("Pad")),
    **refused("Swap", call=lambda it: it("K1", NONE)),
    **refused("Limits", call=lambda it: it(-1)),
    **refused("Source", call=lambda it: it(SETUP, ("Tin bells", "Tin bells"))),
    **refused("Listening", call=lambda it: it("Glass pad", 257, ())),
    **refused("Curve", call=lambda it: it("square")),
    **refused("Position", call=lambda it: it(128, 7)),
    **refused("Response", call=lambda it: it(depth=float("nan"))),
    **refused("Alone", "Together", call=lambda it: it(())),
    **refused("Apart", call=lambda it: it("Glass pad", "Round bass", 0)),
    **refused("Barred", call=lambda it: it("Glass pad", ("K1", "K1"))),
    **refused("BrokenKnob", call=lambda it: it("K1", before=NONE)),
    **refused("Home", call=lambda it: it(SETUP, NONE)),
    **refused("Fixed", call=lambda it: it("Glass pad", "K1", 10_001)),
    **refused("Destination", call=lambda it: it("level", priority=6)),
    **refused("Group", call=lambda it: it("all", ("Glass pad", "Glass pad"))),
    **refused("Knob", call=lambda it: it("K1", row=0)),
    **refused("KnobPosition", call=lambda it: it("K1", -1)),
    **refused("Arrival", call=lambda it: it("a/b", "Evening set")),
    **refused("MovedRoute", call=lambda it: it(0, Route("Pad/level", "K1"))),
    **refused("KnobLabel", "KnobTravel", "Route", call=lambda it: it("K1", NONE)),
    **refused("KnobSending", call=lambda it: it("K1", channel=1)),
    **refused("Span", call=lambda it: it(0, 128)),
    **refused("Layout", call=lambda it: it((Route("Pad/level", "K1"), Route("Pad/level", "K2")))),
    **refused(
        "Request", call=lambda it: it(Surface.row(2), (PAD,), rules=(Fixed(("Tin",), "K1"),))
    ),
    **refused("Setup", call=lambda it: it("Set", Surface.row(2), (PAD, PAD))),
    **refused("Snapshot", call=lambda it: it("All", ("Glass pad",), 10_001)),
    **refused("Surface", call=lambda it: it((), reserved=("K1",))),
    **refused("Travel", call=lambda it: it(0, 2**32)),
    **refused("Voice", call=lambda it: it("Pad", (Destination("level"), Destination("level")))),
    **refused("VoiceLayer", call=lambda it: it("Glass pad", 0)),
    **refused("Weights", call=lambda it: it(travel=(1, 2, 3, 4))),
    **refused("files.load", call=lambda it: it("not/there.json")),
    **refused("files.save", call=lambda it: it("not/there.json", Layout())),
    **refused("files.load_show", call=lambda it: it("not/there.json")),
    **refused("files.save_show", call=lambda it: it("not/there.json", evening(REQUEST))),
    **refused("files.save_graph", call=lambda it: it("not/there.json", GRAPH)),
    **refused("files.save_sheet", call=lambda it: it("not/there.md", kp.patch_sheet(SETUP, SETUP))),
    **refused("load_recording", call=lambda it: it("not/there.mid")),
    **refused("tables.load", call=lambda it: it("not/there.csv")),
    **refused("tables.save", call=lambda it: it("not/there.csv", SETUP)),
    "Allocation.setup": lambda: FOUND.setup(" "),
    "Allocation.of": lambda: kp.Allocation.of(REQUEST, Layout.of({"K9": "Glass pad/level"})),
    "Allocation.on": lambda: FOUND.on("K9"),
    "Explanation.page": lambda: FOUND.explain().page(kp.Setup("Away", Surface.row(7))),
    "Allocation.knob_of": lambda: FOUND.knob_of("Glass pad"),
    "Allocation.travel_of": lambda: FOUND.travel_of("Glass pad"),
    "SweepFile.save": lambda: kp.midi.sweep_file(SETUP, "everything", {"K1": 16}).save(
        "not/there.mid"
    ),
    "ControllerNumbers.why_not": lambda: NUMBERS.why_not(128),
    "Curve.output": lambda: Curve().output(128, 7),
    "Curve.outputs": lambda: Curve().outputs(np.array([-1]), 7),
    "Position.at": lambda: Position(1, 7).at(33),
    "Layout.of": lambda: Layout.of({"K1": ["Pad/level", "Pad/level"]}),
    "Setup.layout": lambda: attrs.evolve(SETUP, routes=(*SETUP.routes, SETUP.routes[0])).layout,
    "Voice.full_name": lambda: PAD.full_name("Glass pad/level"),
    "Surface.grid": lambda: Surface.grid(0, 4),
    "Surface.row": lambda: Surface.row(2, bits=1),
    "Travel.full": lambda: Travel.full(33),
}

IMPOSSIBLE: Calls = {
    "allocate": lambda: kp.allocate(CRAMPED.voices, CRAMPED.surface),
    **refused("allocate_request", call=lambda it: it(CRAMPED)),
    **refused("fewest_knobs", "least_knobs", call=lambda it: it(PARTED)),
    "combine": lambda: kp.combine(BASE, GUEST),
    "edit": lambda: kp.edit(SETUP, kp.OnKnob(("Glass pad", "Round bass"), "K1")),
    "allocate_show": lambda: show.allocate_show(evening(CRAMPED)),
}

STOPPED: Calls = {
    "allocate_show": lambda: show.allocate_show(evening(STUCK), effort=0),
    "allocate": lambda: kp.allocate(
        STUCK.voices, STUCK.surface, snapshots=STUCK.snapshots, rules=RULES, effort=0
    ),
    **refused("allocate_request", call=lambda it: it(STUCK, effort=0)),
    "combine": lambda: kp.combine(
        Setup("Hall set", Surface.row(2)), RING_SETUP, rules=RULES, effort=0
    ),
    "what_if": lambda: kp.questions.what_if(FOUND, STUCK, effort=0),
    "what_if_show": lambda: show.what_if_show(
        show.allocate_show(evening(REQUEST)), evening(STUCK), effort=0
    ),
    "with_song": lambda: show.with_song(
        show.allocate_show(evening(kp.Request(STUCK.surface, STUCK.voices[:1]))),
        show.Song("Ring", STUCK),
        effort=0,
    ),
    "why": lambda: kp.questions.why(TURNED, TURNED.unplaced[0], effort=0),
    "why_unplaced": lambda: kp.questions.why_unplaced(TURNED, TURNED.unplaced[0], effort=0),
}

LONG = {
    "edit",
    "move_home",
    "move_to_panel",
    "take_back",
    "fewest_knobs",
    "least_knobs",
    "taking",
    "one_more_knob",
    "on_panel",
    "why_elsewhere",
    "with_voice",
    "why_not",
    "why_shared",
}
"""What raises NoLayoutFound only where a search is longer than a test may be."""

BARE: Calls = {
    "sweep_file": lambda: kp.midi.sweep_file(SETUP, "everything", {"K1": 16}),
    "sweep_files": lambda: kp.midi.sweep_files(SETUP, {"K1": 16}),
    "pictures.draw_before_after": lambda: pictures.draw_before_after(SETUP, SETUP),
    "pictures.draw_budget": lambda: pictures.draw_budget(kp.questions.knob_budget(FOUND)),
    "pictures.draw_frontiers": lambda: pictures.draw_frontiers(FOUND),
    "pictures.draw_reasons": lambda: pictures.draw_reasons(FOUND.knob_budget()),
    "pictures.draw_routes": lambda: pictures.draw_routes(SETUP),
    "pictures.draw_show": lambda: pictures.draw_show(show.allocate_show(evening(REQUEST))),
    "pictures.draw_snapshots": lambda: pictures.draw_snapshots(SETUP),
    "pictures.draw_surface": lambda: pictures.draw_surface(SETUP),
    "pictures.draw_sweep": lambda: pictures.draw_sweep(kp.simulation.sweep(SETUP, "everything")),
}

LOST = kp.many.Reply(None, kp.KnobpackError("lost"))

UNREADABLE: Calls = {
    "SweepFile.save": INPUT["SweepFile.save"],
    "files.load": INPUT["files.load"],
    "load_recording": INPUT["load_recording"],
    "tables.load": INPUT["tables.load"],
    "tables.save": INPUT["tables.save"],
    "files.load_request": lambda: files.load_request("not/there.json"),
    "files.load_setup": lambda: files.load_setup("not/there.json"),
    "files.save": INPUT["files.save"],
    "files.save_graph": INPUT["files.save_graph"],
    "files.load_show": INPUT["files.load_show"],
    "files.save_sheet": INPUT["files.save_sheet"],
    "files.save_show": INPUT["files.save_show"],
}


def that_name(error: str) -> set[str]:
    """Whose docstring names the error."""
    found = {name: sections(docstring(value)) for name, value in DESCRIBED.items()}
    return {name for name, told in found.items() if error in entries(told.get("Raises", ""))}


@pytest.fixture(autouse=True)
def _in_a_folder_of_its_own(tmp_path: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def test_every_error_that_is_named_is_brought_on() -> None:
    assert that_name("InputError") == {*INPUT, *(name for name, _ in EACH)}
    assert that_name("ImpossibleDemands") == set(IMPOSSIBLE)
    assert that_name("NoLayoutFound") == {*STOPPED, *LONG}
    assert that_name("MissingExtra") == set(BARE)
    assert that_name("FileError") == set(UNREADABLE)
    assert that_name("KnobpackError") == {"Reply.get"}


@pytest.mark.parametrize("name", INPUT)
def test_a_wrong_value_is_refused(name: str) -> None:
    with pytest.raises(kp.InputError):
        INPUT[name]()


@pytest.mark.parametrize("name", IMPOSSIBLE)
def test_what_no_layout_meets_is_refused(name: str) -> None:
    with pytest.raises(kp.ImpossibleDemands):
        IMPOSSIBLE[name]()


@pytest.mark.parametrize("name", STOPPED)
def test_what_is_stopped_too_soon_says_so(name: str) -> None:
    with pytest.raises(kp.NoLayoutFound):
        STOPPED[name]()


@pytest.mark.parametrize("name", BARE)
def test_without_what_it_needs_it_says_so(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    for library in ("mido", "matplotlib"):
        for loaded in [each for each in sys.modules if each.partition(".")[0] == library]:
            monkeypatch.setitem(sys.modules, loaded, None)
        monkeypatch.setitem(sys.modules, library, None)
    with pytest.raises(kp.MissingExtra):
        BARE[name]()


@pytest.mark.parametrize("name", UNREADABLE)
def test_a_file_that_cannot_be_used_is_refused(name: str) -> None:
    with pytest.raises(kp.FileError):
        UNREADABLE[name]()


def test_an_error_in_place_of_an_answer_is_raised() -> None:
    with pytest.raises(kp.KnobpackError, match="lost"):
        LOST.get()
