"""Every public function refuses a value of a wrong kind in each of its arguments, by its name."""

from __future__ import annotations

import inspect
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from contextlib import suppress
from pathlib import Path
from typing import Any

import attrs
import matplotlib
import numpy as np
import pytest
from matplotlib import pyplot

import knobpack as kp
from knobpack import Destination, Layout, Request, Route, Setup, Surface, Travel, Voice
from knobpack import files as kept
from knobpack.heavy_imports import BoundQuestion
from knobpack.positions import Curve
from knobpack.questions import AskedOfAllocation, AskedOfRequest
from knobpack.words.demand import Demand
from tests.test_docstrings import DESCRIBED

matplotlib.use("Agg")

PAD = Voice("Glass pad", (Destination("cutoff", must_place=True), Destination("level")), layer=1)
BASS = Voice("Round bass", (Destination("drive"),), layer=2)
REQUEST = Request(Surface.row(2), (PAD, BASS), rules=(kp.Together(("Glass pad",)),))
FOUND = kp.allocate_request(REQUEST)
LEFT = kp.allocate_request(Request(Surface.row(1), (PAD, BASS)))
SETUP = FOUND.setup("Evening set")
CAME = Setup("Evening set", Surface.row(1), arrivals=(kp.words.Arrival("Quay set", "Day set"),))
OTHER = Setup("Cellar set", Surface.row(2), (BASS,), routes=(Route("Round bass/drive", "K2"),))
ATTIC = Setup(
    "Attic set",
    Surface.row(2),
    (PAD,),
    routes=(Route("Glass pad/level", "K1"), Route("Glass pad/cutoff", "K2")),
)
SONG = kp.show.Song("Opener", SETUP)
CROWDED = kp.combine(ATTIC, OTHER)
SHARED = next(knob for knob in ("K1", "K2") if len(FOUND.on(knob)) > 1)
NUMBERS = {"K1": 16, "K2": 17}
EVENING = kp.show.Show("Evening", [kp.show.Song("Opener", REQUEST)])
SHOWN = kp.show.allocate_show(EVENING)
TWO = kp.show.Show("Evening", [*EVENING.songs, kp.show.Song("Ballad", REQUEST)])
PLACED = FOUND.routes[0].destination
GONE = LEFT.unplaced[0]

Arguments = dict[str, Any]


SWEPT = kp.midi.sweep_file(SETUP, "everything", NUMBERS, master_number=1, seconds=1)
TURNED = kp.midi.read_recording(SWEPT.data)
STORED = attrs.evolve(SETUP, snapshots=(kp.Snapshot("Still"),))


def given(**arguments: Any) -> Arguments:
    return arguments


USUAL = given(
    request=REQUEST,
    allocation=FOUND,
    setup=SETUP,
    word=Layout(),
    destination=PLACED,
    knob=SHARED,
    found=SHOWN,
    show=EVENING,
)
"""What is given where nothing else must be, by the name of the argument."""

FUNCTIONS = {
    name: value
    for name, value in DESCRIBED.items()
    if inspect.isfunction(value) and not name[0].isupper()  # what has an owner is a method
}


def usual(function: Callable[..., object]) -> Arguments:
    """The usual call: all that must be given."""
    takes = inspect.signature(function).parameters.values()
    needed = [each.name for each in takes if each.default is each.empty]
    return {name: USUAL[name] for name in needed if name in USUAL}


RIGHT: dict[str, Arguments] = {
    **{name: usual(function) for name, function in FUNCTIONS.items()},
    "allocate": given(voices=(PAD,), surface=Surface.row(2)),
    "sweep_file": given(setup=SETUP, snapshot="everything", numbers=NUMBERS),
    "sweep_files": given(setup=SETUP, numbers=NUMBERS),
    "check": given(request=REQUEST, layout=FOUND.layout),
    "combine": given(base=SETUP),
    "taking": given(found=CROWDED, offer=CROWDED.offers[0]),
    "edit": given(setup=SETUP, what=kp.OutOfUse("K2")),
    "take_back": given(setup=kp.edit(SETUP, kp.OutOfUse("K2")).setup, which=1),
    "move_home": given(setup=kp.move_to_panel(SETUP, Surface.row(3)).setup),
    "move_to_panel": given(setup=SETUP, surface=Surface.row(3)),
    "without_source": given(setup=CAME, source="Quay set"),
    "hear_positions": given(setup=STORED, recording=TURNED, snapshot="Still", numbers=NUMBERS),
    "hear_travels": given(setup=SETUP, recording=TURNED, numbers=NUMBERS),
    "load_recording": given(path="turned.mid"),
    "read_recording": given(data=SWEPT.data),
    "import_controllers": given(controllers="[]", voice="Bell"),
    "why_not": given(
        allocation=FOUND,
        destination=PLACED,
        knob=next(knob for knob in ("K1", "K2") if PLACED not in FOUND.on(knob)),
    ),
    "why_unplaced": given(allocation=LEFT, destination=GONE),
    "layout_graph": given(request=REQUEST, layout=FOUND.layout, prices=FOUND.prices),
    "allocate_many": given(requests=(REQUEST,)),
    "each_reply": given(requests=(REQUEST,)),
    "what_if_show": given(found=SHOWN, show=EVENING),
    "why_elsewhere": given(found=SHOWN, song="Opener", destination=PLACED, knob="K1"),
    "with_song": given(found=SHOWN, song=kp.show.Song("Ballad", SETUP), after="Opener"),
    "without_song": given(found=kp.show.allocate_show(TWO), song="Ballad"),
    "show_in_order": given(found=SHOWN, songs=["Opener"]),
    "with_voice": given(found=SHOWN, voice=Voice("Tin bells", (Destination("level"),))),
    "on_panel": given(found=SHOWN, surface=Surface.row(3)),
    "reach": given(travel=Travel(0, 1), curve=Curve(), depth=1.0, bits=7),
    "scaled": given(value=1, from_bits=7, to_bits=14),
    "scaled_array": given(values=np.array([1]), from_bits=7, to_bits=14),
    "scaled_travel": given(travel=Travel(0, 1), from_bits=7, to_bits=14),
    "step_at": given(position=1, steps=3, bits=7),
    "step_position": given(step=1, steps=3, bits=7),
    "zero_extended": given(value=1, from_bits=7, to_bits=14),
    "patch_sheet": given(before=SETUP, after=SETUP),
    "change": given(setup=SETUP, before="everything", after="everything", master=1),
    "jump_sentences": given(jumps=()),
    "sweep": given(setup=SETUP, snapshot="everything"),
    "files.from_plain": given(data=kept.to_plain(Layout())),
    "files.load": given(path="layout.json"),
    "files.load_allocation": given(path="allocation.json"),
    "files.load_request": given(path="request.json"),
    "files.load_setup": given(path="setup.json"),
    "files.load_show": given(path="show.json"),
    "files.loads": given(text=kept.dumps(Layout())),
    "files.save": given(value=Layout(), path="again.json"),
    "pictures.draw_budget": given(budget=kp.questions.knob_budget(FOUND)),
    "pictures.draw_reasons": given(answer=FOUND.why(PLACED)),
    "pictures.draw_show": given(laid_out=kp.show.allocate_show(kp.show.Show("Evening", [SONG]))),
    "pictures.draw_sweep": given(sweep=kp.simulation.sweep(SETUP, "everything")),
    "tables.from_rows": given(table=[["knob", "voice", "destination"]]),
    "tables.loads": given(text="knob;voice;destination"),
    "tables.load": given(path="setup.csv"),
    "words.edits.without_knob": given(request=REQUEST, knob="K2"),
    "words.edits.with_rule": given(request=REQUEST, rule=kp.Alone(("Glass pad",))),
    "words.edits.without_rule": given(request=REQUEST, rule=REQUEST.rules[0]),
    "words.edits.with_snapshot": given(
        request=REQUEST, snapshot=kp.Snapshot("all", ("Glass pad",))
    ),
    "words.edits.without_snapshot": given(request=REQUEST, name="everything"),
    "words.edits.with_voice": given(request=REQUEST, voice=Voice("Bell", (Destination("level"),))),
    "words.edits.without_voice": given(request=REQUEST, name="Round bass"),
    "words.edits.only": given(request=REQUEST, destinations=tuple(REQUEST.by_full_name)),
    "words.edits.given_up": given(request=REQUEST, demand=Demand("place", "Glass pad/cutoff")),
}
"""A call of each public function that is taken: the usual one, or that which is told here."""

WRONG: tuple[Any, ...] = (
    object(),
    "x",
    {"x": 1},
    3.5,
    -1,
    REQUEST,
    FOUND,
    SETUP,
    (object(),),
    None,
)
"""Values of many kinds, which each argument takes or refuses."""

EACH = [(name, field) for name in RIGHT for field in inspect.signature(FUNCTIONS[name]).parameters]

ELSEWHERE = {
    ("import_controllers", "controllers"): "top level",
    ("files.from_plain", "data"): "top level",
}
"""Where an error names another field than the argument."""


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with one file of each sort."""
    made = tmp_path_factory.mktemp("files")
    kept.save(made / "layout.json", Layout())
    kept.save(made / "request.json", REQUEST)
    kept.save(made / "allocation.json", FOUND)
    kept.save(made / "setup.json", SETUP)
    kept.save(made / "show.json", kp.show.Show("Evening", [SONG]))
    kept.save(made / "setup.csv", SETUP)
    kept.save(made / "turned.mid", SWEPT)
    return made


@pytest.fixture(autouse=True)
def _in_a_folder_of_its_own(folder: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    monkeypatch.chdir(folder)
    yield
    pyplot.close("all")


def called(name: str, field: str, value: Any) -> object:
    """What a right call gives back once one argument is this value."""
    function = FUNCTIONS[name]
    if inspect.signature(function).parameters[field].kind is inspect.Parameter.VAR_POSITIONAL:
        return function(*RIGHT[name].values(), value)
    return function(**{**RIGHT[name], field: value})


@pytest.mark.parametrize("name", RIGHT)
def test_the_right_call_is_taken(name: str) -> None:
    FUNCTIONS[name](**RIGHT[name])


@pytest.mark.parametrize(("name", "field"), EACH)
def test_what_is_no_such_thing_is_refused_by_its_field(name: str, field: str) -> None:
    with pytest.raises(kp.InputError) as refusal:
        called(name, field, WRONG[0])
    assert ELSEWHERE.get((name, field), field) in refusal.value.field
    assert refusal.value.right
    for value in WRONG[1:]:  # taken or refused on purpose
        with suppress(kp.KnobpackError):
            called(name, field, value)


BOUND = [
    (owner, name)
    for owner in (AskedOfAllocation, AskedOfRequest)
    for name, value in vars(owner).items()
    if isinstance(value, BoundQuestion)
]
"""The questions that are methods, of an allocation and of a request."""

METHODS: dict[tuple[object, str], Arguments] = {
    (FOUND, "on"): given(knob="K1"),
    (FOUND, "knob_of"): given(destination=PLACED),
    (FOUND, "travel_of"): given(destination=PLACED),
    (FOUND, "tier"): given(name="sharing"),
    **{
        (next(iter(RIGHT[name].values())), name): dict(list(RIGHT[name].items())[1:])
        for _, name in BOUND
    },
    **{(REQUEST, name): given(destination=PLACED) for name in ("wanted", "driven")},
    (REQUEST, "named"): given(names=[PLACED]),
    (REQUEST, "moved"): given(snapshot=REQUEST.played[0]),
    (SHOWN, "tier"): given(name="moves"),
    (SHOWN, "song"): given(name="Opener"),
    (SHOWN, "setup"): given(name="Opener"),
    (SHOWN, "sheets"): {},
    (SHOWN, "as_laid_out"): {},
    (SHOWN, "one_more_knob"): {},
    (SHOWN, "why_elsewhere"): given(song="Opener", destination=PLACED, knob="K1"),
    (kp.patch_sheet(None, SETUP), "text"): given(page=80),
    (FOUND.prices, "total"): given(tier="layout"),
    (SHOWN.prices, "total"): given(tier="moves"),
    (Surface, "row"): given(count=3),
    (Surface, "grid"): given(rows=1, columns=3),
}
"""A call of each method that is taken."""

OF_METHODS = [
    (about, name, field)
    for about, name in METHODS
    for field, takes in inspect.signature(getattr(about, name)).parameters.items()
    if takes.kind is not inspect.Parameter.VAR_KEYWORD
]


@pytest.mark.parametrize(("about", "name", "field"), OF_METHODS, ids=lambda each: str(each)[:20])
def test_a_method_refuses_in_its_own_name(about: Any, name: str, field: str) -> None:
    method = getattr(about, name)
    with pytest.raises(kp.InputError) as refusal:
        method(**{**METHODS[about, name], field: object()})
    where = refusal.value.field
    assert where.removeprefix(f"{type(about).__name__}.").removeprefix("Surface.").startswith(name)
    assert field in where
    required = inspect.signature(method).parameters[field].default is inspect.Parameter.empty
    if required and field in METHODS[about, name]:
        with pytest.raises(TypeError, match=rf"\b{name}\(\) missing .*'{field}'"):
            method(**{key: it for key, it in METHODS[about, name].items() if key != field})


def test_the_function_that_was_called_is_named() -> None:
    with pytest.raises(kp.InputError) as refusal:
        kp.allocate(REQUEST, rules=[kp.Alone("Glass pad")])  # type: ignore[call-overload]
    assert refusal.value.field == "allocate.rules"
    with pytest.raises(kp.InputError, match="give its request") as refusal:
        kp.allocate(FOUND)  # type: ignore[call-overload]
    assert refusal.value.field == "allocate.voices"
    with pytest.raises(kp.InputError, match="of a class, call it") as refusal:
        kp.allocate_many([REQUEST], executor=ThreadPoolExecutor)  # type: ignore[arg-type]
    assert refusal.value.field == "allocate_many.executor"
    with pytest.raises(kp.InputError) as refusal:
        kp.show.allocate_show(EVENING, executor=3)  # type: ignore[arg-type]
    assert refusal.value.field == "allocate_show.executor"
    with pytest.raises(kp.InputError) as refusal:
        FOUND.setup("a/b")
    assert refusal.value.field == "Allocation.setup.name"
    with pytest.raises(kp.InputError) as refusal:
        kp.checker.check(REQUEST, FOUND)  # type: ignore[arg-type]
    assert refusal.value.field == "check.layout"
    assert refusal.value.right == "give a Layout; of an Allocation its layout"
    with pytest.raises(kp.InputError) as refusal:
        kp.questions.every_clash(FOUND)  # type: ignore[arg-type]
    assert refusal.value.field == "every_clash.request"
    assert refusal.value.right == "give a Request; of an Allocation its request"


@pytest.mark.parametrize("name", [name for name, field in EACH if field == "effort"])
def test_a_wrong_effort_is_told_of_the_function_that_was_called(name: str) -> None:
    with pytest.raises(kp.InputError) as refusal:
        called(name, "effort", -1)
    assert refusal.value.field == f"{name}.effort"
