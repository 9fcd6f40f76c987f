"""A table that will not do is refused with the row and column, and what would be right."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobpack import InputError, Setup, Surface, tables
from knobpack.tables.columns import BY_HEADING

HEAD = ["knob", "voice", "destination", "priority", "start", "end", "layer", "snapshot: Solo"]
ROW = ["K1", "Organ", "level", "1", "0", "64", "2", "moves"]


def changed(**cells: str) -> list[list[str]]:
    """A table whose second row is changed at some columns."""
    row = [*ROW]
    for heading, cell in cells.items():
        row[HEAD.index("snapshot: Solo" if heading == "solo" else heading)] = cell
    return [HEAD, [*ROW[:2], "tone", *ROW[3:]], row]


REFUSED: list[tuple[Any, str, str]] = [
    (changed(priority="hihg"), "row 3, column D (priority)", "(1 essential, 5 hidden) from 1 to 5"),
    (changed(priority="0,5"), "row 3, column D (priority)", "whole number"),
    (changed(end=""), "row 2, column F (end)", ""),
    (changed(layer="3"), "row 3, column G (layer)", "row 2 says '2' of the same voice"),
    (changed(start="9"), "row 3, column E (start)", "row 2 says '0' of the same knob"),
    (changed(start="512"), "row 3, column E (start)", "a column 'bits'"),
    (changed(solo="512"), "row 3, column H (snapshot: Solo)", "a column 'bits'"),
    (changed(start="6o"), "row 3, column E (start)", "give a whole number from 0 to 127"),
    (
        [[*HEAD[:3], "end", "bits"], ["K1", "Organ", "level", "1024", "10"]],
        "row 2, column D (end)",
        "give a whole number from 0 to 1023",
    ),
    (
        [[*HEAD[:3], "wanted end", "bits"], ["K1", "Organ", "level", "200", "7"]],
        "row 2, column D (wanted end)",
        "give a whole number from 0 to 127",
    ),
    (
        [[*HEAD[:3], "snapshot: Solo", "bits"], ["K1", "", "", "held at 300", "7"]],
        "row 2, column D (snapshot: Solo)",
        "give a whole number from 0 to 127",
    ),
    ([[*HEAD[:3], "Solo"]], "row 1, column D", "that of a snapshot is 'snapshot: Solo'; the"),
    (changed(solo="mvoes"), "row 3, column H (snapshot: Solo)", "close to it: moves"),
    (changed(solo="moves, silent"), "row 3, column H (snapshot: Solo)", "row 2 says otherwise"),
    (changed(knob=""), "row 3, column E (start)", "name the knob in this row"),
    (changed(voice=""), "row 3, column C (destination)", "name the voice in this row"),
    (changed(destination=""), "row 3, column C (destination)", "say what of Organ"),
    (changed(voice="a/b"), "row 3, column B (voice)", "no '/'"),
    ([["knob", "vioce"]], "row 1, column B", "close to it: voice"),
    ([["knob", "voice", "destination", "prioritiy"]], "row 1, column D", "close to it: priority"),
    (
        [["knob", "voice", "destination", "Voice"]],
        "row 1, column D",
        "row 1, column B is called so",
    ),
    ([["knob", "voice"]], "row 1, 'destination'", "give a column of this heading"),
    ([], "row 1", "give the headings"),
    ([HEAD[:3], ["K1", "Organ", "level", "7"]], "row 2", "the headings are 3"),
    ([[*HEAD[:3], ""], ["K1", "Organ", "level", "7"]], "row 2, column D", "a heading"),
    ([[*HEAD[:3], "knob row"], ["K1", "", "", "2"]], "row 2 (knob column)", "a row and a column"),
    (
        [[*HEAD[:3], "knob column"], ["K1", "", "", "2"], ["K2", "", "", "2"]],
        "row 3, column D (knob column)",
        "K1 lies at row 1, column 2 too",
    ),
    ([[*HEAD[:3], "fine"], ["K1", "", "", "yes"]], "row 2 (controller)", "the controller number"),
    ([[*HEAD[:3], "wanted end"], ["", "Organ", "level", "5"]], "row 2 (wanted start)", "both ends"),
    (
        [[*HEAD[:3], "favoured"], ["K1", "", "", "1"], ["K2", "", "", "1"]],
        "row 3, column D (favoured)",
        "K1 has this rank too",
    ),
    (
        [[*HEAD[:3], "travel on", "start", "end"], ["K1", "", "", "route", "1", "2"]],
        "row 2, column E (start)",
        "this row has none",
    ),
    ([[*HEAD[:3], "bits"], ["K1", "", "", "99"]], "row 2, column D (bits)", "2 to 32"),
    ([[*HEAD[:3], "snapshot: a"], ["K1", "", "", "x"]], "row 2, column D (snapshot: a)", "voice"),
    ([[*HEAD[:3], "snapshot: a"], ["", "Organ", "", "5"]], "row 2, column D (snapshot: a)", "knob"),
    ([[*HEAD[:3], "snapshot:"], ["K1", "", "", ""]], "row 1, column D (snapshot: )", "a name is"),
    ("knob", "table", "rows of a table"),
    (["knob"], "row 1", "rows of a table"),
    ([HEAD] * 10_002, "row 10002", "at most 10,000 rows"),
]


@pytest.mark.parametrize(("table", "field", "right"), REFUSED, ids=lambda each: str(each)[:40])
def test_the_row_and_column_are_told(table: Any, field: str, right: str) -> None:
    if right == "":  # one row of a knob may leave out what another says
        assert tables.from_rows(table).travels[0].travel.end == 64
        return
    with pytest.raises(InputError) as refusal:
        tables.from_rows(table)
    assert refusal.value.field == field
    assert right in refusal.value.right


def test_columns_beyond_z_have_two_letters() -> None:
    spare = [f"snapshot: {number}" for number in range(60)]
    with pytest.raises(InputError) as refusal:
        tables.from_rows([[*HEAD[:3], *spare], ["K1", "Organ", "level", *[""] * 23, "?"]])
    assert refusal.value.field == "row 2, column AA (snapshot: 23)"


@pytest.mark.parametrize(
    ("text", "field", "right"),
    [
        (b"knob,voice,destination\r\n\xff", "byte 25", "CSV UTF-8"),
        ("knob\0", "text", "CSV UTF-8"),
        (5, "text", "text or bytes"),
        (b"," * 8_000_001, "size", "8,000,000 bytes"),
        ('knob,voice,destination\r\nK1,"Organ', "row 2", "quotation mark"),
        ("knob,voice,destination,end\r\nK1,Organ,level,64,0\r\n", "row 2", "a comma within"),
    ],
)
def test_text_that_is_no_table_is_refused(text: Any, field: str, right: str) -> None:
    with pytest.raises(InputError) as refusal:
        tables.loads(text)
    assert refusal.value.field == field
    assert right in refusal.value.right


def test_a_line_break_within_a_cell_does_not_shift_the_rows() -> None:
    text = 'knob,voice,destination,"prio\nrity"\r\nK1,Organ,level,1\r\n\r\nK1,Organ,tone,9\r\n'
    with pytest.raises(InputError, match=r"row 4, column D \(priority\)"):
        tables.loads(text.replace("prio\nrity", "priority\n"))


def test_the_file_is_named(tmp_path: Path) -> None:
    path = tmp_path / "late.csv"
    path.write_text("knob;voice\r\n")
    with pytest.raises(InputError) as refusal:
        tables.load(path)
    assert refusal.value.file == str(path)
    with pytest.raises(InputError, match="give a file that can be read"):
        tables.load(tmp_path / "none.csv")
    with pytest.raises(InputError, match="a comma, a semicolon or a tab"):
        tables.dumps(Setup("Set", Surface.row(1)), "|")
    assert path.read_text() == "knob;voice\n"


CELLS = st.sampled_from(
    ["", "K1", "Organ", "1", "x", "held at 5", "yes", "300", "a/b", "'=", "7 to 9"]
)


@given(st.lists(st.sampled_from(sorted(BY_HEADING)), unique=True), st.data())
def test_any_table_is_read_or_refused(heads: list[str], data: st.DataObject) -> None:
    """Nothing but an InputError comes out, and what is read is the same when it is read again."""
    heads = list(dict.fromkeys(["knob", "voice", "destination", *heads, "snapshot: a"]))
    row = st.lists(CELLS, min_size=len(heads), max_size=len(heads))
    table = [heads, *data.draw(st.lists(row, max_size=4))]
    try:
        setup = tables.from_rows(table)
    except InputError:
        return
    assert tables.from_rows(tables.to_rows(setup)) == setup
