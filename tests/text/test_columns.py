"""Columns: nothing is lost, nothing runs over the page, everything stands in line."""

from __future__ import annotations

from hypothesis import given
from hypothesis import strategies as st

from knobpack.text.columns import PAGE, cells, paragraph, table, wrapped

TEXTS = st.text(alphabet="ab -/é\u0301日\uff21한✓", max_size=150)
ROWS = st.integers(1, 6).flatmap(
    lambda width: st.lists(st.lists(TEXTS, min_size=width, max_size=width), max_size=5)
)


def test_wide_letters_take_two_cells_and_marks_none() -> None:
    # Unicode Standard Annex 11: 日 and 한 are W, U+FF21 is F, ✓ is N, é is A (narrow here).
    # The category of U+0301, combining acute accent, is Mn (Unicode Character Database).
    assert [cells(mark) for mark in "日한\uff21✓é\u0301a"] == [2, 2, 2, 1, 1, 0, 1]
    assert cells("日本 ok") == 7


def test_lines_are_broken_at_spaces_and_long_words_where_they_must() -> None:
    assert wrapped("one two three", 7) == ["one two", "three"]
    assert wrapped("one two", 100) == ["one two"]
    assert wrapped("a  b", 4) == ["a  b"]
    assert wrapped("abcdefgh ij", 3) == ["abc", "def", "gh", "ij"]
    assert wrapped("日本語", 5) == ["日本", "語"]
    # A letter keeps its mark even where the line is full.
    assert wrapped("abe\u0301c", 3) == ["abe\u0301", "c"]
    assert wrapped("", 5) == [""]
    # A number and its per cent sign are one word, the marks around them too.
    assert wrapped("travel (79 %), missed", 10) == ["travel", "(79 %),", "missed"]
    assert wrapped("half of it", 7) == ["half of", "it"]


@given(TEXTS, st.integers(2, 30))
def test_wrapping_loses_nothing_but_spaces_at_breaks(text: str, most: int) -> None:
    lines = wrapped(text, most)
    assert all(cells(line) <= most for line in lines)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")


@given(TEXTS, st.integers(0, 20), st.integers(0, 20))
def test_a_paragraph_keeps_to_the_page_and_its_indent(text: str, indent: int, hang: int) -> None:
    first, *rest = paragraph(text, indent, hang)
    assert cells(first) <= PAGE
    assert first.startswith(" " * indent)
    for line in rest:
        assert cells(line) <= PAGE
        assert line.startswith(" " * (indent + hang))


@given(ROWS)
def test_a_table_keeps_to_the_page_and_loses_nothing(rows: list[list[str]]) -> None:
    blocks = table(rows)
    assert len(blocks) == len(rows)
    for row, lines in zip(rows, blocks, strict=True):
        assert all(cells(line) <= PAGE for line in lines)
        assert all(line == line.rstrip(" ") for line in lines)
        # Cells that go on in the next line are interleaved, so only what there is can be counted.
        assert sorted("".join(lines).replace(" ", "")) == sorted("".join(row).replace(" ", ""))


def test_columns_are_aligned_left_or_right() -> None:
    rows = [("K1", "5", "日本"), ("Knob", "1,200", "x"), ("K", "", "yy")]
    assert table(rows, indent=2, right={1}) == [
        ["  K1        5  日本"],
        ["  Knob  1,200  x"],
        ["  K            yy"],
    ]


def test_an_empty_column_takes_no_space() -> None:
    assert table([("a", "", "b"), ("c", "", "d")], indent=0) == [["a  b"], ["c  d"]]


def test_a_cell_of_marks_alone_is_not_lost() -> None:
    assert table([("\u0301", "b")], indent=0) == [["\u0301   b"]]


def test_a_cell_that_does_not_fit_goes_on_below() -> None:
    name = "x" * 120
    (lines,) = table([(name, "1", "note")], right={1})
    assert len(lines) == 2
    assert lines[0].endswith("x  1  note")
    assert (lines[0] + lines[1]).count("x") == 120
