"""Answers show in a notebook as what they print, and nothing in a name becomes markup."""

from __future__ import annotations

import inspect
import pydoc
from html.parser import HTMLParser
from inspect import isclass, ismodule
from typing import Any

import attrs
import pytest
from hypothesis import given
from hypothesis import strategies as st

import knobpack
from knobpack import (
    Barred,
    Fixed,
    Knob,
    KnobTravel,
    Layout,
    OnKnob,
    Request,
    Route,
    Setup,
    Snapshot,
    Surface,
    Swap,
    Together,
    Travel,
    Voice,
    allocate_request,
    edit,
    patch_sheet,
)
from knobpack.checker import check
from knobpack.present.demo import demo_request
from knobpack.show import ShowAllocation
from knobpack.text.columns import sentence
from knobpack.text.shown import Shown, Told, figure, html_list, html_table
from knobpack.words import Destination

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


MARKED = "<b>Set & so [b]"
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
    assert '<li class="below"><bdi>  Another.' in answer._repr_html_()


def test_something_without_sentences_is_no_answer() -> None:
    with pytest.raises(NotImplementedError):
        str(Told())


@given(st.lists(st.text(), min_size=1, max_size=4))
def test_no_text_becomes_markup(texts: list[str]) -> None:
    """The tags are those of the parts, whatever the texts are."""
    plain = read(
        figure("a", html_list("b" for _ in texts), html_table("c", ("d", "e"), [("f", "g")]))
    )
    for nasty in (texts, [NASTY for _ in texts]):
        made = figure(
            nasty[0],
            html_list(nasty),
            html_table(nasty[0], (nasty[0], "e"), [(nasty[0], nasty[-1])]),
        )
        assert read(made).tags == plain.tags


def test_a_table_names_its_rows_and_columns() -> None:
    """WCAG 2.2, technique H63: header cells say with scope what they are the header of."""
    html = html_table("Routes", ("knob", "drives"), [("K1", "Pad/cutoff")])
    assert html.count('<th scope="col">') == 2
    assert html.count('<th scope="row">') == 1
    assert "<caption>Routes</caption>" in html


def cells(reader: Reader) -> set[str]:
    return {text for text in reader.texts if text.strip()}


def test_an_allocation_shows_its_knobs_tiers_and_layers() -> None:
    found = allocate_request(demo_request())
    shown = cells(read(found._repr_html_()))
    for setting in found.travels:
        assert setting.knob in shown
        assert ", ".join(found.on(setting.knob)) in shown
        assert any(each.startswith(f"{setting.knob}, {setting.travel}") for each in found.sentences)
    for tier in found.tiers:
        assert f"{tier.value:,}" in shown
    for place in found.layers:
        assert {place.voice, str(place.new)} <= shown
    assert "23 of 23 destinations on 8 knobs, proven best." in found.sentences
    assert found.tiers[3].value > 1000
    assert len(repr(found)) < 500


def test_what_is_left_out_and_not_proven_is_said() -> None:
    found = allocate_request(demo_request())
    cut = attrs.evolve(
        found,
        unplaced=("Strings/cutoff",),
        tiers=(attrs.evolve(found.tiers[0], value=9, bound=1, proven=False), *found.tiers[1:]),
        stopped="time limit",
    )
    assert "but that is not proven, stopped by the time limit." in str(cut)
    assert "proven best" not in str(cut)
    assert "Strings/cutoff (essential) is left out." in cut.sentences
    assert {"at least 1", "9"} <= cells(read(cut._repr_html_()))


def test_a_setup_shows_all_that_stands_in_it_however_faulty() -> None:
    setup = Setup(
        MARKED,
        Surface.row(2),
        (Voice("Pad [b]", (Destination("cutoff"),), layer=3, source="Old <i>set"),),
        routes=(Route("Pad [b]/cutoff", "K2"), Route("Gone/level", "K9")),
        travels=(KnobTravel("K2", Travel(5, 500)),),
        snapshots=(Snapshot("All", ("Pad [b]",)),),
    )
    plain = str(setup)
    assert "K9, 0 to 127 (full): drives Gone/level (not there)." in plain
    assert "K2, 5 to 500 (390 %): drives Pad [b]/cutoff." in plain
    assert "K1, 0 to 127 (full): drives nothing." in plain
    shown = read(setup._repr_html_())
    assert {"Gone/level (not there)", "5 to 500 (390 %)", "Old <i>set", "All", "3"} <= cells(shown)
    assert not {"i", "b"} & set(shown.tags)


def public() -> list[type]:
    """Every public class of attrs."""
    top: dict[str, Any] = {name: getattr(knobpack, name) for name in dir(knobpack)}
    modules = [value for value in top.values() if ismodule(value)]
    found = {getattr(module, name) for module in modules for name in module.__all__}
    return sorted((each for each in found if isclass(each) and attrs.has(each)), key=repr)


@pytest.mark.parametrize("kind", public())
def test_everything_public_shows_itself(kind: type) -> None:
    assert issubclass(kind, Shown)


def test_a_value_shows_the_fields_that_hold_something() -> None:
    html = Voice("<Pad>", [Destination("level"), Destination("air")], layer=2)._repr_html_()
    assert html.count("<tr>") == 4  # the head, name, destinations and layer
    assert "&lt;Pad&gt;" in html
    assert "Destination(name=&#x27;level&#x27;" in html


def test_a_request_a_layout_and_a_check_tell_themselves() -> None:
    pad, bass = Voice("Pad", [Destination("level")]), Voice("Bass", [Destination("drive")])
    request = Request(Surface.row(1), [pad, bass], rules=[Together("Pad")])
    assert request.sentences == (
        "2 destinations of 2 voices for 1 knob.",
        *("Pad: level.", "Bass: drive."),
        *("'everything' moves Pad, Bass.", "'only Pad' moves Pad.", "'only Bass' moves Bass."),
        "Rule: together(Pad).",
    )
    layout = Layout.of({"K1": ["Pad/level", "Bass/drive"]})
    assert str(layout) == "K1: Pad/level, Bass/drive."
    assert str(Layout()) == "Nothing is routed."
    found = check(request, layout)
    points = [("destinations left out", "0"), ("bundles parted", "0"), ("snapshots broken", "0")]
    points += [("sharing knobs", "2,600"), ("routes changed", "0"), ("places on the panel", "0")]
    apart = "has what it moves and what it holds on different knobs, but K1 carries"
    assert found.sentences == (
        f"Snapshot 'only Pad' {apart} Pad/level, to be moved, and Bass/drive, to be held.",
        f"Snapshot 'only Bass' {apart} Bass/drive, to be moved, and Pad/level, to be held.",
        f"Points, fewer are better: {', '.join(map(' '.join, points))}.",
    )
    seen = [text for text in read(found._repr_html_()).texts if text.strip()]
    table = [
        "Points, fewer are better",
        "tier",
        "points",
        *(each for row in points for each in row),
    ]
    assert seen == ["Check", *found.sentences[:2], *table]
    barred = attrs.evolve(request, rules=[Fixed("Pad", "K1"), Barred("Pad", "K1")])
    assert "No knob could take Pad/level." in check(barred, Layout()).sentences
    met = check(request, Layout.of({"K1": "Pad/level"}))
    assert met.sentences[0] == "Every demand is met."
    assert "destinations left out 16," in met.sentences[1]
    for shown in (request, layout, found, met):
        assert "<table>" in shown._repr_html_() or isinstance(shown, Layout | Request)


def test_a_sentence_begins_as_sentences_do_where_a_knob_is_but_a_number() -> None:
    route, organ = Route("Organ/level", "6"), Voice("Organ", (Destination("level"),), 1)
    surface = Surface([Knob("6", 1, 1), Knob("top", 1, 2), Knob("keys", 1, 3)])
    setup = Setup("Quay", surface, (organ,), routes=(route,))
    assert [e.split(",")[0] for e in setup.sentences[1:4]] == ["Knob 6", "top", "keys"]
    assert sentence("knobs 1 and 2 are free; so is knob 3.")[:20] == "Knobs 1 and 2 are fr"
    sheet = patch_sheet(Setup("Quay", surface, (organ,)), setup)
    assert str(sheet.steps[0]) == "Knob 6: route it to Organ/level on layer 1."
    assert "- [ ] **1.** Knob 6: route" in sheet.markdown()
    assert "- Knob 6, travel" in sheet.markdown()
    assert edit(setup, OnKnob(("Organ/level",), "keys")).sentences[0][:11] == "Organ/level"
    assert edit(setup, Swap("6", "keys")).sentences[0][:29] == "Knob 6 and keys change places"


@pytest.mark.parametrize("kind", [Request, Voice, Layout, Surface, ShowAllocation])
def test_help_tells_the_type_of_what_is_held_and_what_is_derived(kind: type) -> None:
    told = pydoc.plain(pydoc.render_doc(kind))
    assert "cached_properties" not in told
    for name, descriptor in inspect.getmembers(kind, inspect.ismemberdescriptor):
        types = kind.__annotations__
        if not name.startswith("_"):
            doc = inspect.getdoc(descriptor) or ""
            assert doc.startswith(str(types[name])), name
            assert name in {each.name for each in attrs.fields(kind)} or ": " in doc, name
