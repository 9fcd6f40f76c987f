"""The page of reasons: all that is answered stands on it, nothing else can act, names are names."""

from __future__ import annotations

import base64
import hashlib
import html
import re
from html.parser import HTMLParser

import pytest

from benchmarks.requests import sized
from knobpack.allocation import Allocation
from knobpack.allocator import allocate_request
from knobpack.combination import combine
from knobpack.explanation.page import MOST_DRAWN
from knobpack.explanation.whole import Explanation, explain
from knobpack.limits import Limits
from knobpack.present.demo import demo_request
from knobpack.words import (
    Destination,
    KnobTravel,
    Request,
    Route,
    Setup,
    Snapshot,
    Surface,
    Travel,
    Voice,
)
from tests.oracles.reasons_cases import possible
from tests.sheets.pairs import HOSTILE

VOID = {"meta", "input"}
HARMLESS = {
    *("html", "head", "meta", "title", "style", "body", "main", "h1", "h2", "h3", "p", "nav"),
    *("ul", "li", "a", "bdi", "b", "section", "fieldset", "legend", "div", "label", "input"),
    *("span", "figure", "figcaption", "details", "summary", "dl", "dt", "dd"),
    *("svg", "rect", "text", "tspan", "path", "circle"),
}


class Read(HTMLParser):
    """A page read plainly; refuses what is not well nested."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.words: list[str] = []
        self.feed(page)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.append((tag, dict(attrs)))
        if tag not in VOID and not self.get_starttag_text().endswith("/>"):  # type: ignore[union-attr]
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        if self.open and tag in {"rect", "path", "circle"} and self.open[-1] != tag:
            return
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        if "style" not in self.open:
            self.words.append(data)

    def held(self, attribute: str) -> list[str]:
        return [str(given[attribute]) for _, given in self.tags if attribute in given]


@pytest.fixture(scope="module")
def demo() -> Explanation:
    return explain(allocate_request(demo_request()), solve=True)


def hostile() -> Allocation:
    voices = tuple(
        Voice(name, (Destination(HOSTILE[-1 - at], kind="level"), Destination("b")))
        for at, name in enumerate(HOSTILE[:8])
    )
    return allocate_request(Request(Surface.row(6), voices))


def test_every_sentence_of_every_answer_stands_on_it(demo: Explanation) -> None:
    said = html.unescape(re.sub(r"<[^>]+>", "", demo.page()))
    for sentence in demo.sentences:
        assert sentence.strip() in said
    for route in demo.allocation.routes:
        assert route.destination in said


def test_every_explanation_has_a_page_with_a_part_for_each_knob_and_destination() -> None:
    for allocation in possible(range(12)):
        explanation = allocation.explain()
        read = Read(explanation.page())
        ids = read.held("id")
        assert len(set(ids)) == len(ids)
        places = [each for each in ids if re.fullmatch(r"d\d+", each)]
        assert len(places) == len(explanation.here) + len(explanation.unplaced)
        knobs = [each for each in ids if each.startswith("knob-")]
        assert len(knobs) == len(allocation.request.surface.knobs)
        # What leads somewhere leads to a part that is there.
        assert {each.removeprefix("#") for each in read.held("href")} <= set(ids)


def test_nothing_can_act_or_be_loaded(demo: Explanation) -> None:
    page = demo.page()
    read = Read(page)
    assert {tag for tag, _ in read.tags} <= HARMLESS
    attributes = {name for _, given in read.tags for name in given}
    assert not [name for name in attributes if name.startswith("on") or name in ("style", "src")]
    assert all(each.startswith("#") for each in read.held("href"))
    (style,) = re.findall(r"<style>(.*?)</style>", page, re.DOTALL)
    assert "url(" not in style
    assert "@import" not in style
    digest = base64.b64encode(hashlib.sha256(style.encode()).digest()).decode()
    (policy,) = (c for c in read.held("content") if "default-src" in c)
    assert f"default-src 'none'; style-src 'sha256-{digest}'" in policy


def test_a_name_is_never_more_than_a_name() -> None:
    allocation = hostile()
    read = Read(allocation.explain().page())
    assert {tag for tag, _ in read.tags} <= HARMLESS
    said = "".join(read.words)
    for name in allocation.request.by_full_name:
        assert name in said
    assert all(re.fullmatch(r"[\w-]*", each) for each in read.held("id"))


def test_a_large_one_tells_reasons_in_words_and_grows_no_faster_than_what_it_tells() -> None:
    small, large = (
        allocate_request(sized(0, knobs, names)).explain()
        for knobs, names in ((8, 24), (16, MOST_DRAWN + 10))
    )
    few, many = small.page(), large.page()
    assert few.count('class="reasons"') > len(small.here)
    assert 'class="reasons"' not in many
    assert len(many.encode()) / len(large.here) < 2 * len(few.encode()) / len(small.here)


def test_what_is_turned_round_is_said_first() -> None:
    inner = (Destination("level"), Destination("send", travel=Travel(127, 0)))
    request = Request(Surface.row(1), (Voice("Organ", inner, 1),))
    text = allocate_request(request).explain().page()
    turned = text.index("is turned round on K1")
    assert text.index("<h1>") < turned < text.index('id="panel"')


def test_what_no_layout_was_looked_for_is_told_with_its_knob_and_a_dead_knob_is() -> None:
    pad = Voice("Pad", (Destination("level", priority=1), Destination("tone")), 1)
    organ = Voice("Organ", (Destination("fan"),), 2)
    routes = (Route("Pad/level", "K1"), Route("Pad/tone", "K1"), Route("Organ/fan", "K2"))
    base = Setup(
        "Evening",
        Surface.row(4),
        (pad, organ),
        routes=routes,
        travels=(KnobTravel("K2", Travel(64, 64)),),
        snapshots=(Snapshot("all", ("Pad", "Organ")), Snapshot("soft", ("Pad/level",))),
    )
    bass = Voice("Bass", (Destination("level"),), 1)
    late = Setup("Late", Surface.row(1), (bass,), routes=(Route("Bass/level", "K1"),))
    found = combine(base, late)
    assert str(found.allocation.why("Pad/level").sentences[0]) == "Pad/level is on K1."
    read = "".join(Read(found.allocation.explain().page(found.setup)).words)
    assert "It drives Pad/tone too, as before; no other place was looked for." in read
    assert "All 4 destinations" in read
    assert "Pad/level is on K1, alone" not in read
    assert "K2 (dead)" in read


def test_what_was_cut_off_says_so() -> None:
    allocation = allocate_request(demo_request())
    cut = allocation.explain(limits=Limits(time_limit=0))
    assert "Not all is told: the search was stopped" in cut.page()
    Read(cut.page())


def test_an_empty_panel_has_a_page() -> None:
    voice = Voice("Organ", (Destination("level"),))
    page = allocate_request(Request(Surface.row(0), (voice,))).explain().page()
    assert "Organ/level" in "".join(Read(page).words)
