"""A table, read back, is the setup that was written."""

from __future__ import annotations

import csv
from pathlib import Path

import attrs
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from knobpack import (
    Destination,
    Group,
    InputError,
    Knob,
    KnobLabel,
    KnobPosition,
    KnobTravel,
    Route,
    Setup,
    Snapshot,
    Surface,
    Travel,
    Voice,
    files,
    tables,
)
from knobpack.tables.columns import cell_text, guarded
from knobpack.tables.grid import grid
from knobpack.tables.onto import perhaps_misspelt
from knobpack.tables.read import NAME, setup_in
from knobpack.words import KnobSending
from tests.tables.setups import whole_setups
from tests.words_strategies import setups

DEMO = Path(tables.__file__).parents[1] / "present" / "demo_setups"

ORGAN = Voice("Organ", (Destination("level", priority=1), Destination("brightness")), layer=1)
BASS = Voice("Bass", (Destination("level", priority=2),), layer=2)
EVENING = Setup(
    "Evening set",
    Surface((Knob("A", 1, 1), Knob("B", 1, 2), Knob("C", 2, 1)), bits=10),
    (ORGAN, BASS),
    groups=(Group("Ground", ("Organ",)),),
    routes=(Route("Organ/level", "A"), Route("Organ/brightness", "A"), Route("Bass/level", "C")),
    travels=(KnobTravel("A", Travel(0, 512)), KnobTravel("C", Travel(1023, 0))),
    snapshots=(
        Snapshot("All", ("Organ", "Bass")),
        Snapshot("Bass alone", ("Bass",), positions=(KnobPosition("A", 512),), silent=("Organ",)),
        Snapshot("Ground", ("Ground",), 40, (KnobPosition("C", 7), KnobPosition("B", 9))),
    ),
)


@given(whole_setups())
def test_what_a_table_holds_is_the_same_again(setup: Setup) -> None:
    assert tables.from_rows(tables.to_rows(setup)) == setup
    assert tables.not_held(setup) == ()
    for delimiter in tables.DELIMITERS:
        assert tables.loads(tables.dumps(setup, delimiter)) == setup


@given(setups())
def test_with_the_setup_as_the_rest_any_setup_is_the_same_again(setup: Setup) -> None:
    rows = tables.to_rows(setup)
    assert tables.from_rows(rows, setup) == setup
    alone = setup_in(grid(rows), None, NAME, faulty=True)
    assert (alone == setup) == (tables.not_held(setup) == ())
    # What is read from a table stands in a table: nothing is lost any more.
    assert setup_in(grid(tables.to_rows(alone)), None, NAME, faulty=True) == alone


def test_a_row_says_which_knob_drives_what_and_what_each_snapshot_does() -> None:
    head, *rows = tables.to_rows(EVENING)
    wanted = ("knob", "layer", "voice", "destination", "kind", "priority", "start", "end")
    stored = ("snapshot: All", "snapshot: Bass alone", "snapshot: Ground")
    picked = [head.index(each) for each in (*wanted, *stored)]
    assert ["; ".join(row[at] for at in picked) for row in rows] == [
        "A; 1; Organ; level; level; 1; 0; 512; moves; held at 512, silent; moves",
        "A; 1; Organ; brightness; brightness; 3; 0; 512; moves; held at 512, silent; moves",
        "C; 2; Bass; level; level; 2; 1023; 0; moves; moves; held at 7",
        "B; ; ; ; ; ; ; ; ; ; held at 9",
    ]


def test_what_is_new_and_comes_close_to_what_is_gone_may_be_a_slip() -> None:
    rows = tables.to_rows(EVENING)
    wrong = [[cell.replace("brightness", "brihgtness") for cell in row] for row in rows]
    (told,) = perhaps_misspelt(EVENING, tables.from_rows(wrong, EVENING))
    assert told == (
        "Organ/brihgtness is new, and Organ/brightness, which comes close to it, is gone: if that "
        "is a slip, write Organ/brightness in the table."
    )
    more = attrs.evolve(ORGAN, destinations=(*ORGAN.destinations, Destination("brightness 2")))
    assert perhaps_misspelt(EVENING, attrs.evolve(EVENING, voices=(more, BASS))) == ()


def test_what_a_table_does_not_hold_is_told() -> None:
    assert tables.not_held(EVENING) == (
        "Not in the table: group Ground.",
        "Not in the table: the price of breaking snapshot 'Ground'.",
        "Not in the table: by what names it is said what moves of snapshot 'Ground'.",
        "Not in the table: the order of positions of snapshot 'Ground'.",
    )
    assert tables.not_held(EVENING, order=False) == tables.not_held(EVENING)[:-1]
    loose = attrs.evolve(EVENING, routes=(*EVENING.routes, Route("Flute/level", "A")))
    lost = "1 of 4 routes, where something is named that is not there"
    assert tables.not_held(loose)[1] == f"Not in the table: {lost}."


@pytest.mark.parametrize("path", sorted(DEMO.glob("*.json")), ids=lambda path: path.stem)
def test_setups_of_the_demo_come_back_from_a_file(path: Path, tmp_path: Path) -> None:
    setup = files.load_setup(path)
    files.save(tmp_path / "table.csv", setup)
    assert tables.load(tmp_path / "table.csv", setup) == setup


def test_a_row_that_is_edited_changes_that_alone(tmp_path: Path) -> None:
    """As a spreadsheet would save it: rows and columns in another order, semicolons, no mark."""
    path = tmp_path / "evening.csv"
    files.save(path, EVENING)
    with path.open(encoding="utf-8-sig", newline="") as file:
        records = list(csv.DictReader(file))
    for record in records:
        if record["knob"] == "A":
            record["end"] = "256,0"
        record["layer"] = f"{record['layer']}.0" if record["layer"] else ""
        record["snapshot: All"] = record["snapshot: All"].replace("moves", "X")
    columns = sorted(records[0])
    with path.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, columns, delimiter=";")
        writer.writeheader()
        writer.writerows(reversed(records))
    edited = tables.load(path, EVENING)
    assert edited == attrs.evolve(
        EVENING, travels=(KnobTravel("A", Travel(0, 256)), EVENING.travels[1])
    )


def test_what_has_no_column_is_as_it_was_and_what_has_no_row_is_gone() -> None:
    table = [["voice", "destination", "knob"], ["Organ", "level", "B"]]
    found = tables.from_rows(table, EVENING)
    assert found.voices == (attrs.evolve(ORGAN, destinations=ORGAN.destinations[:1]),)
    assert found.routes == (Route("Organ/level", "B"),)
    assert (found.name, found.surface) == ("Evening set", EVENING.surface)
    assert (found.travels, found.snapshots) == (EVENING.travels, ())


def changed(setup: Setup, destination: str, **cells: str) -> list[list[str]]:
    """The table of a setup, some cells of the row of a destination changed."""
    head, *rows = map(list, tables.to_rows(setup))
    for row in rows:
        if (
            "/".join(cell_text(row[head.index(each)]) for each in ("voice", "destination"))
            == destination
        ):
            for heading, cell in cells.items():
                row[head.index(heading.replace("_", " "))] = cell
    return [head, *rows]


def test_to_change_the_knob_it_is_enough_to_change_the_name_of_the_knob() -> None:
    setup = attrs.evolve(EVENING, sending=(KnobSending("A", 16),), labels=(KnobLabel("C", "Low"),))
    found = tables.from_rows(changed(setup, "Organ/brightness", knob="C"), setup)
    level, _, bass = setup.routes
    assert found == attrs.evolve(setup, routes=(level, bass, Route("Organ/brightness", "C")))
    # Where nothing is said of the new knob, the travel goes along; the old knob stays as it was.
    found = tables.from_rows(changed(setup, "Bass/level", knob="B"), setup)
    travels = (*setup.travels, KnobTravel("B", Travel(1023, 0)))
    routes = (*setup.routes[:2], Route("Bass/level", "B"))
    assert found == attrs.evolve(setup, routes=routes, travels=travels)
    # And what is to be driven by no knob has its name taken out.
    found = tables.from_rows(changed(setup, "Bass/level", knob=""), setup)
    assert found == attrs.evolve(setup, routes=setup.routes[:2])


def test_a_knob_that_is_not_on_the_panel_is_refused_or_has_a_place() -> None:
    with pytest.raises(InputError) as refusal:
        tables.from_rows(changed(EVENING, "Bass/level", knob="AA"), EVENING)
    assert refusal.value.field == "row 4, column A (knob)"
    assert refusal.value.right.endswith("close to it: A")
    with pytest.raises(InputError) as refusal:  # to rename a knob is to add one in its place
        tables.from_rows(changed(EVENING, "Bass/level", knob="D", knob_row="1"), EVENING)
    assert refusal.value.field == "row 4, column C (knob column)"
    assert refusal.value.right == "A lies at row 1, column 1 too"
    with pytest.raises(InputError, match="the setup says '1' of the same knob"):
        tables.from_rows(changed(EVENING, "Bass/level", knob="B", knob_column="3")[:-1], EVENING)
    place = {"knob_row": "2", "knob_column": "7"}
    found = tables.from_rows(changed(EVENING, "Bass/level", knob="D", **place), EVENING)
    assert found.surface.knobs == (*EVENING.surface.knobs, Knob("D", 2, 7))


@settings(max_examples=50)
@given(whole_setups(), st.data())
def test_one_route_on_another_knob_changes_that_alone(setup: Setup, data: st.DataObject) -> None:
    once = [
        route
        for route in setup.routes
        if [each.destination for each in setup.routes].count(route.destination) == 1
    ]
    assume(once)
    route = data.draw(st.sampled_from(once))
    knob = data.draw(st.sampled_from(setup.surface.knob_names))
    table = changed(setup, route.destination, knob=guarded(knob))
    found = tables.from_rows(table, setup)
    moved = attrs.evolve(route, knob=knob)
    assert set(found.routes) == {*(each for each in setup.routes if each != route), moved}
    kept = {each.knob: each.travel for each in setup.travels}
    now = {each.knob: each.travel for each in found.travels}
    assert now == ({knob: kept[route.knob]} if route.knob in kept else {}) | kept
    for field in attrs.fields(Setup):
        if field.name not in ("routes", "travels"):
            assert getattr(found, field.name) == getattr(setup, field.name)


def test_numbers_may_come_as_the_readers_of_spreadsheets_give_them() -> None:
    found = tables.from_rows(
        [
            ["Knob", "Voice", "Destination", "START", "end", "must_place", "snapshot: Solo", None],
            [7.0, "Organ", "level", 20.0, 90, True, 64.0],
            [None] * 8,
            [8, "Bass", "level", None, "", False, True, ""],
        ]
    )
    assert found.surface.knob_names == ("7", "8")
    assert found.travels == (KnobTravel("7", Travel(20, 90)),)
    assert [each.destinations[0].must_place for each in found.voices] == [True, False]
    assert found.snapshots == (Snapshot("Solo", ("Bass",), positions=(KnobPosition("7", 64),)),)


def test_a_little_table_typed_by_hand_will_do() -> None:
    text = "sep=;\r\nvoice;destination;knob;snapshot:Solo\r\nOrgan;level;K1;x\r\nOrgan;tone;;\r\n"
    for given_text in (text, text.encode("utf-16"), text.encode("utf-8-sig")):
        found = tables.loads(given_text, name="Mine")
        assert found == Setup(
            "Mine",
            Surface.row(1),
            (Voice("Organ", (Destination("level"), Destination("tone"))),),
            routes=(Route("Organ/level", "K1"),),
            snapshots=(Snapshot("Solo", ("Organ/level",)),),
        )


def test_text_that_a_spreadsheet_would_run_begins_with_an_apostrophe() -> None:
    names = ("=a", "+a", "-a", "@a", "1-2", "007", "May 5", "x", "12", "Mayfly 2", "'12")
    setup = Setup("Set", Surface.row(0), tuple(Voice(name) for name in names))
    at = tables.to_rows(setup)[0].index("voice")
    cells = [row[at] for row in tables.to_rows(setup)[1:]]
    assert cells == [
        *("'=a", "'+a", "'-a", "'@a", "'1-2", "'007", "'May 5", "x", "12", "Mayfly 2", "'12")
    ]
    assert tables.from_rows(tables.to_rows(setup)) == setup


def test_controller_0_is_a_number_and_not_nothing() -> None:
    setup = Setup("Set", Surface.row(1), sending=(KnobSending("K1", 0),))
    assert tables.from_rows(tables.to_rows(setup)) == setup
