"""Answers show in a notebook as what they print, and nothing in a name becomes markup."""

from __future__ import annotations

from html.parser import HTMLParser

import attrs
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobpack.markup import figure, listing, table
from knobpack.telling import Told

VOID = {"br", "hr", "img", "input", "link", "meta"}


class Reader(HTMLParser):
    """Reads HTML back with the parser of the standard library: its tags must nest."""

    def __init__(self) -> None:
        super().__init__()
        self.open: list[str] = []
        self.tags: list[str] = []
        self.texts: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:  # noqa: ARG002
        self.tags.append(tag)
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if "style" not in self.open:
            self.texts.append(data)


def read(html: str) -> Reader:
    reader = Reader()
    reader.feed(html)
    reader.close()
    assert reader.open == []
    return reader


@attrs.frozen
class LoudAnswer(Told):
    told: tuple[str, ...]

    @property
    def sentences(self) -> tuple[str, ...]:
        return self.told


NASTY = "<script>alert('x')</script> & \"quoted\" </li></ul>"


def test_an_answer_prints_and_shows_the_same_sentences() -> None:
    answer = LoudAnswer(("One thing.", "  Another."))
    assert str(answer) == "One thing.\n  Another."
    bundle = answer._repr_mimebundle_()
    assert bundle["text/plain"] == str(answer)
    assert bundle["text/html"] == answer._repr_html_()
    shown = read(answer._repr_html_())
    assert shown.tags.count("li") == 2
    assert "  Another." in shown.texts
    assert "Loud answer" in shown.texts


def test_something_without_sentences_is_no_answer() -> None:
    with pytest.raises(NotImplementedError):
        str(Told())


@given(st.lists(st.text(), min_size=1, max_size=4))
def test_no_text_becomes_markup(texts: list[str]) -> None:
    """The tags are those of the parts, whatever the texts are."""
    plain = read(figure("a", listing("b" for _ in texts), table("c", ("d", "e"), [("f", "g")])))
    for nasty in (texts, [NASTY for _ in texts]):
        made = figure(
            nasty[0], listing(nasty), table(nasty[0], (nasty[0], "e"), [(nasty[0], nasty[-1])])
        )
        assert read(made).tags == plain.tags


def test_a_table_names_its_rows_and_columns() -> None:
    """WCAG 2.2, technique H63: header cells say with scope what they are the header of."""
    html = table("Routes", ("knob", "drives"), [("K1", "Pad/cutoff")])
    assert html.count('<th scope="col">') == 2
    assert html.count('<th scope="row">') == 1
    assert "<caption>Routes</caption>" in html
