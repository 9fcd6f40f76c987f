"""Each error that a docstring names is raised: here is a call that brings it on."""

from __future__ import annotations

import inspect
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
    Layout,
    Request,
    Route,
    Setup,
    Snapshot,
    Surface,
    Travel,
    Voice,
    show,
)
from knobpack.limits import Limits
from knobpack.positions import Curve, Position
from knobpack.words import edits
from tests.test_docstrings import DESCRIBED, docstring, entries, sections
from tests.test_wrong_kinds import EACH, OF_METHODS, RIGHT

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
NONE: Any = object()
"""What nothing takes."""

Calls = dict[str, Callable[[], object]]


def refused(*names: str, call: Callable[[Callable[..., object]], object]) -> Calls:
    """The same call of several."""
    return {name: lambda name=name: call(DESCRIBED[name]) for name in names}  # type: ignore[misc]


def unreadable(*names: str, path: str, **given: Any) -> Calls:
    """Functions that are to read or write a file in a folder that is not there."""
    return {name: lambda name=name: DESCRIBED[name](path, **given) for name in names}  # type: ignore[misc]


UNREADABLE: Calls = {
    **unreadable("files.load", "files.load_request", "files.load_setup", path="not/there.json"),
    **unreadable("files.load_allocation", "files.load_show", path="not/there.json"),
    **unreadable("files.save", path="not/there.json", value=Layout()),
    **unreadable("load_recording", path="not/there.mid"),
    **unreadable("tables.load", path="not/there.csv"),
}


INPUT: Calls = {
    "Allocation.setup": lambda: FOUND.setup(" "),
    "Allocation.of": lambda: kp.Allocation.of(REQUEST, Layout.of({"K9": "Glass pad/level"})),
    "Explanation.page": lambda: FOUND.explain().page(kp.Setup("Away", Surface.row(7))),
    "ControllerNumbers.why_not": lambda: NUMBERS.why_not(128),
    "Curve.output": lambda: Curve().output(128, 7),
    "Curve.outputs": lambda: Curve().outputs(np.array([-1]), 7),
    "Position.at": lambda: Position(1, 7).at(33),
    "Layout.of": lambda: Layout.of({"K1": ["Pad/level", "Pad/level"]}),
    "Setup.layout": lambda: attrs.evolve(SETUP, routes=(*SETUP.routes, SETUP.routes[0])).layout,
    "Voice.full_name": lambda: PAD.full_name("Glass pad/level"),
    "Travel.full": lambda: Travel.full(33),
}
"""Of what is no method that ``tests/test_wrong_kinds.py`` calls with a wrong argument."""

IMPOSSIBLE: Calls = {
    "allocate": lambda: kp.allocate(CRAMPED.voices, CRAMPED.surface),
    **refused("allocate_request", call=lambda it: it(CRAMPED)),
    **refused("least_knobs", call=lambda it: it(PARTED)),
    "combine": lambda: kp.combine(BASE, GUEST, insist=BASE.name),
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
}

LONG = {
    "edit",
    "move_home",
    "move_to_panel",
    "take_back",
    "least_knobs",
    "taking",
    "one_more_knob",
    "on_panel",
    "why_elsewhere",
    "with_voice",
    "why_shared",
}
"""What raises NoLayoutFound only where a search is longer than a test may be."""

LOST = kp.many.Reply(None, kp.KnobpackError("lost"))


def that_name(error: str) -> set[str]:
    """Whose docstring names the error."""
    found = {name: sections(docstring(value)) for name, value in DESCRIBED.items()}
    return {name for name, told in found.items() if error in entries(told.get("Raises", ""))}


WORDS: dict[str, type] = {
    name: value
    for name in sorted(that_name("InputError"))
    if inspect.isclass(value := DESCRIBED[name])
}


@pytest.fixture(autouse=True)
def _in_a_folder_of_its_own(tmp_path: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def test_every_error_that_is_named_is_brought_on() -> None:
    called = {f"{getattr(of, '__name__', type(of).__name__)}.{name}" for of, name, _ in OF_METHODS}
    assert that_name("InputError") - called == {*INPUT, *WORDS, *(name for name, _ in EACH)}
    assert that_name("ImpossibleDemands") == set(IMPOSSIBLE)
    assert that_name("NoLayoutFound") == {*STOPPED, *LONG}
    assert that_name("FileError") == set(UNREADABLE)
    assert that_name("KnobpackError") == {"Reply.get"}


def wrongly_made(word: type) -> object:
    """A word of nothing but what it does not take."""
    fields = inspect.signature(word).parameters.values()
    needed = [each.name for each in fields if each.default is each.empty]
    return word(**dict.fromkeys(needed or [next(iter(fields)).name], NONE))


@pytest.mark.parametrize("name", WORDS)
def test_a_word_of_wrong_values_is_refused(name: str) -> None:
    with pytest.raises(kp.InputError):
        wrongly_made(WORDS[name])


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


@pytest.mark.parametrize("name", sorted(that_name("MissingExtra")))
def test_without_what_it_needs_it_says_so(name: str, monkeypatch: pytest.MonkeyPatch) -> None:
    for library in ("mido", "matplotlib"):
        for loaded in [each for each in sys.modules if each.partition(".")[0] == library]:
            monkeypatch.setitem(sys.modules, loaded, None)
        monkeypatch.setitem(sys.modules, library, None)
    with pytest.raises(kp.errors.MissingExtra):
        DESCRIBED[name](**RIGHT[name])


@pytest.mark.parametrize("name", UNREADABLE)
def test_a_file_that_cannot_be_used_is_refused(name: str) -> None:
    with pytest.raises(kp.FileError):
        UNREADABLE[name]()


def test_an_error_in_place_of_an_answer_is_raised() -> None:
    with pytest.raises(kp.KnobpackError, match="lost"):
        LOST.get()


@pytest.mark.parametrize("ask", ["why", "why_unplaced"])
def test_what_is_left_out_is_told_though_the_search_for_a_place_was_stopped(ask: str) -> None:
    name = TURNED.unplaced[0]
    answer = getattr(TURNED, ask)(name, limits=Limits(effort=0))
    assert (answer.stopped, answer.placing) == ("effort", None)
    assert "What would place it is not known: stopped by the limit of effort." in answer.sentences
    assert answer.knobs == TURNED.why_unplaced(name, solve=False).knobs
