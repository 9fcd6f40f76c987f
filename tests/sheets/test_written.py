"""What is written of a sheet: every step is there once, and a name is never more than a name."""

from __future__ import annotations

import base64
import hashlib
import html
import math
import re
from html.parser import HTMLParser

import attrs
import pytest
from hypothesis import given

from knobpack.definition.phrases import CAUTION
from knobpack.sheets import PatchSheet, patch_sheet
from knobpack.sheets.page import SCRIPT, STYLE, key_of
from knobpack.text.columns import PAGE, cells
from knobpack.words import (
    BrokenKnob,
    Destination,
    Knob,
    KnobLabel,
    KnobTravel,
    Route,
    Setup,
    Snapshot,
    Surface,
    Travel,
    Voice,
)
from tests.combination.cases import BASE, GUEST
from tests.sheets.pairs import HOSTILE, hostile_pair, pairs

VOID = {"meta", "input"}
KNOWN = {
    *("html", "head", "meta", "title", "style", "body", "main", "h1", "h2", "p", "bdi", "section"),
    *("div", "output", "button", "ol", "ul", "li", "label", "input", "span", "script"),
    *("h3", "dl", "dt", "dd", "figure", "figcaption"),
    *("svg", "rect", "text", "tspan", "path", "circle"),
}
ATTRIBUTES = {
    *("lang", "charset", "http-equiv", "content", "name", "data-key", "class", "id", "hidden"),
    *("aria-live", "aria-label", "aria-labelledby", "type", "role", "for", "autocomplete"),
    *("tabindex", "width", "height", "viewbox", "x", "y", "rx", "d", "cx", "cy", "r"),
}


class Page(HTMLParser):
    """A page read plainly; refuses what is not well nested."""

    def __init__(self, source: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, dict[str, str | None]]] = []
        self.open: list[str] = []
        self.names: list[str] = []
        self.labels: dict[str, str] = {}
        self.inner: dict[str, str] = {}
        self._label = ""
        self.feed(source)
        self.close()
        assert self.open == []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """An element, or a void one."""
        given = dict(attrs)
        assert len(given) == len(attrs)
        self.tags.append((tag, given))
        if tag == "bdi":
            self.names.append("")
        if tag == "label":
            self._label = given["for"] or ""
            self.labels[self._label] = ""
        if tag not in VOID:
            self.open.append(tag)

    def handle_endtag(self, tag: str) -> None:
        """Must close the last that was opened."""
        assert self.open.pop() == tag

    def handle_data(self, data: str) -> None:
        """Text, kept by where it stands."""
        if self.open:
            self.inner[self.open[-1]] = self.inner.get(self.open[-1], "") + data
        if "bdi" in self.open:
            self.names[-1] += data
        if "label" in self.open:
            self.labels[self._label] += data

    def all(self, tag: str) -> list[dict[str, str | None]]:
        """The attributes of every such element."""
        return [given for name, given in self.tags if name == tag]


def hostile_sheets() -> list[PatchSheet]:
    return [patch_sheet(*hostile_pair(name, BASE)) for name in HOSTILE]


def to_tick(sheet: PatchSheet) -> list[str]:
    """The steps by which something is set on the instrument; they come before all others."""
    setting = [step.sets for step in sheet.steps]
    assert sorted(setting, reverse=True) == setting
    return list(sheet.sentences[: sum(setting)])


def wrong_in_page(sheet: PatchSheet) -> list[str]:
    """What is wrong with the page of a sheet."""
    source = sheet.page()
    page = Page(source)
    wrong = [f"element {tag}" for tag, _ in page.tags if tag not in KNOWN]
    wrong += [
        f"attribute {name} of {tag}"
        for tag, given in page.tags
        for name in given
        if name not in ATTRIBUTES
    ]
    ids = [given["id"] for _, given in page.tags if "id" in given]
    if len(set(ids)) != len(ids):
        wrong.append("an id is given twice")
    boxes = [given["id"] or "" for given in page.all("input") if given["type"] == "checkbox"]
    told = [page.labels[box].split(None, 1) for box in boxes]
    ticked = to_tick(sheet)
    if [number for number, _ in told] != [str(n + 1) for n in range(len(ticked))]:
        wrong.append("the steps are not numbered from 1")
    if [sentence for _, sentence in told] != ticked:
        wrong.append("the labels are not the steps")
    if len(page.all("script")) != 1 or len(page.all("style")) != 1:
        wrong.append("more than one script or style")
    return wrong


@given(pairs())
def test_page_text_and_markdown_hold_every_step_and_nothing_foreign(
    pair: tuple[Setup, Setup],
) -> None:
    sheet = patch_sheet(*pair)
    assert wrong_in_page(sheet) == []
    assert_text(sheet)
    assert_markdown(sheet)


@pytest.mark.parametrize("sheet", hostile_sheets(), ids=range(len(HOSTILE)))
def test_hostile_names_are_only_names(sheet: PatchSheet) -> None:
    assert wrong_in_page(sheet) == []
    page = Page(sheet.page())
    plain = Page(patch_sheet(*hostile_pair("Plain", BASE)).page())
    # The very elements and attributes of a page with plain names, but for the key.
    bare = [(tag, {k: v for k, v in given.items() if k != "data-key"}) for tag, given in page.tags]
    assert bare == [
        (tag, {k: v for k, v in given.items() if k != "data-key"}) for tag, given in plain.tags
    ]
    assert sheet.after.name in page.names
    assert not any("/" in name for name in page.names)  # a voice and its destination apart
    assert page.inner["title"] == f"Patch sheet: {sheet.after.name}"
    assert page.inner["script"] == SCRIPT
    assert page.inner["style"] == STYLE


def test_a_page_needs_nothing_else_and_lets_nothing_in() -> None:
    page = Page(patch_sheet(BASE, attrs.evolve(GUEST, surface=BASE.surface)).page())
    policy = next(g["content"] for g in page.all("meta") if g.get("http-equiv")) or ""
    rules = dict(rule.split(" ", 1) for rule in policy.split("; "))
    # CSP Level 3: a hash in base64 of what stands between the tags, byte for byte.
    for kind in ("style", "script"):
        digest = hashlib.sha256(page.inner[kind].encode()).digest()
        assert rules[f"{kind}-src"] == f"'sha256-{base64.b64encode(digest).decode()}'"
    assert rules["default-src"] == "'none'"
    assert page.all("html") == [{"lang": "en"}]
    assert not re.search(r"https?:|//|url\(|@import|\bfetch\b|XMLHttp", STYLE + SCRIPT)
    assert "prefers-color-scheme: dark" in STYLE
    assert "@media print" in STYLE
    assert "break-inside: avoid" in STYLE


def _luminance(colour: str) -> float:
    if len(colour) == 4:
        colour = "#" + "".join(2 * digit for digit in colour[1:])
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    linear = [p / 12.92 if p <= 0.04045 else ((p + 0.055) / 1.055) ** 2.4 for p in parts]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_colours_are_in_high_contrast() -> None:
    """WCAG 2.2, 1.4.6 (text: 7 to 1) and 1.4.11 (borders: 3 to 1); luminance as defined there."""
    schemes = [
        dict(re.findall(r"--([\w-]+): (#\w+)", s))
        for s in re.findall(r":root {(.*?)}", STYLE, re.DOTALL)
    ]
    assert len(schemes) == 3  # light, dark, paper
    for scheme in schemes:
        for paper in ("ground", "card", "done", "warn"):
            for ink, least in (("ink", 7), ("quiet", 7), ("mark", 7), ("line", 3)):
                one, two = sorted((_luminance(scheme[ink]), _luminance(scheme[paper])))
                if ink in {"ink", "quiet"} or paper in {"ground", "card"}:
                    assert (two + 0.05) / (one + 0.05) >= least, (ink, paper, scheme)


def _key(sheet: PatchSheet) -> str:
    return key_of(sheet.before, sheet.after, sheet.steps)


def test_ticks_are_kept_by_what_the_steps_are() -> None:
    one, other = (patch_sheet(*hostile_pair(name, BASE)) for name in HOSTILE[:2])
    assert _key(one) == _key(patch_sheet(one.before, one.after))
    assert _key(one) != _key(other)
    assert _key(one) != _key(attrs.evolve(one, steps=one.steps[1:]))
    turned = attrs.evolve(one.steps[1], after=Travel(0, 6))
    assert _key(one) != _key(attrs.evolve(one, steps=(one.steps[0], turned, *one.steps[2:])))
    assert re.fullmatch(r"patch-sheet-[0-9a-f]{32}", _key(one))


def test_cards_show_what_stands_on_each_knob() -> None:
    voice = Voice("Pad", (Destination("level"), Destination("pan")), 4)
    before = Setup("A", Surface.row(2))
    after = Setup(
        "A",
        Surface.row(2),
        (voice,),
        routes=(Route("Pad/level", "K1"), Route("Pad/pan", "K1"), Route("Pad/pan", "K9")),
        broken=(BrokenKnob("K2"),),
    )
    sheet = patch_sheet(before, after)
    cards = re.findall(r"<li>(<h3>.*?)</li>", sheet.page(), re.DOTALL)
    cut = [
        [re.sub("</?bdi>", "", part) for part in re.split(r"<(?!/?bdi)[^>]*>\n*", card) if part]
        for card in cards
    ]
    travel = ("Travel", "0 to 127 (full)", "Drives")
    follows = "Follows the master in"
    assert cut == [
        ["K1", *travel, "Pad/level on layer 4", "Pad/pan on layer 4", follows, "'everything'"],
        ["K2 (out of use)", *travel, "nothing"],
        ["K9 (not on this surface)", *travel, "Pad/pan on layer 4", follows, "no snapshot"],
    ]
    text = sheet.text()
    # What no one can set is told, and is no step.
    assert {step.where for step in sheet.steps} == {"Pad", "K1"}
    assert "CAUTION\n  Amiss: Pad/pan is routed from 'K9', which is no knob of the surface." in text
    assert "K9 (not on this surface), travel 0 to 127 (full): drives Pad/pan on layer 4" in text
    assert "K2 (out of use), travel 0 to 127 (full): drives nothing" in text


def _turned(x: str, y: str) -> float:
    """How far a knob in a picture is turned, from 0 to 1: three quarters of all round."""
    angle = math.degrees(math.atan2(float(y) - 56, float(x) - 58))
    return round((angle - 135) % 360 / 270, 2)


def test_a_picture_of_the_panel_shows_each_travel_and_what_is_driven() -> None:
    ends = tuple(Destination(name) for name in ("level", "pan", "a very long name", "fan", "air"))
    names = [f"Pad/{end.name}" for end in ends]
    setup = Setup(
        "A",
        Surface((Knob("K1"), Knob("K2", column=2), Knob("low", row=2), Knob("off", 2, 2))),
        (Voice("Pad", ends, 1),),
        routes=(
            *(Route(name, "K1") for name in names),
            Route(names[0], "K2"),
            Route(names[0], "off"),
        ),
        travels=(KnobTravel("K1", Travel(127, 0)), KnobTravel("K2", Travel(32, 95))),
        labels=(KnobLabel("K2", "Wide"),),
        broken=(BrokenKnob("off"),),
    )
    page = patch_sheet(attrs.evolve(setup, routes=()), setup).page()
    knobs = re.findall(r'<svg x="(\d+)" y="(\d+)"(.*?)</svg>', page, re.DOTALL)
    where = [(int(x), int(y)) for x, y, _ in knobs]
    wide, high = where[1][0], where[2][1]
    assert where == [(0, 0), (wide, 0), (0, high), (wide, high)]  # as they lie
    assert wide > 0 < high
    told = [
        [re.sub("<[^>]*>", "", line) for line in re.findall(r"<text.*?</text>", knob)]
        for _, _, knob in knobs
    ]
    assert told == [
        ["K1", "Pad/level", "Pad/pan", "and 3 more"],
        ["K2", "'Wide'", "Pad/level"],
        ["low", "-"],
        ["off", "out of use"],
    ]
    turns = [
        [_turned(*at) for at in re.findall(r'<circle cx="([\d.]+)" cy="([\d.]+)"', knob)]
        for _, _, knob in knobs
    ]
    assert turns == [[1.0, 0.0], [0.25, 0.75], [], [0.0, 1.0]]
    arcs = re.findall(r'd="([^"]*)" class="travel"', page)
    # Large and clockwise (SVG 1.1, 8.3.8): K1 goes three quarters round, backwards.
    assert [arc.split()[7:9] for arc in arcs] == [["1", "0"], ["0", "1"], ["1", "1"]]


def test_a_caution_stands_where_levels_are_driven_and_nowhere_else() -> None:
    before = Setup("A", Surface.row(1))
    for kind, loud in (("level", True), ("resonance", True), ("pan", False)):
        voice = Voice("Pad", (Destination("x", kind=kind),), 1)
        for after in (
            Setup("A", Surface.row(1), (voice,), routes=(Route("Pad/x", "K1"),)),
            Setup("A", Surface.row(1), (voice,)),
        ):
            sheet = patch_sheet(before, after)
            said = loud and bool(after.routes)
            assert (CAUTION in sheet.page()) is said
            assert (CAUTION in sheet.markdown()) is said
            assert (CAUTION in " ".join(sheet.text().split())) is said


def assert_text(sheet: PatchSheet) -> None:
    lines = sheet.text().splitlines()
    assert max(map(cells, lines)) <= PAGE
    numbers = [int(m[1]) for line in lines if (m := re.match(r"  \[ \] +(\d+)\. ", line))]
    assert numbers == list(range(1, len(to_tick(sheet)) + 1))
    squeezed = re.sub(r"[ \n]", "", sheet.text())
    for sentence in sheet.sentences:
        assert sentence.replace(" ", "") in squeezed  # nothing is cut off


def _unescaped(markdown: str) -> str:
    return re.sub(r"\\([!-/:-@\[-`{-~])", r"\1", markdown).replace("\u00a0", " ")


def assert_markdown(sheet: PatchSheet) -> None:
    lines = sheet.markdown().splitlines()
    tasks = [m for line in lines if (m := re.fullmatch(r"- \[ \] \*\*(\d+)\.\*\* (.*)", line))]
    said = [sentence.replace("\u00a0", " ") for sentence in to_tick(sheet)]
    assert [int(m[1]) for m in tasks] == list(range(1, len(said) + 1))
    assert [_unescaped(m[2]) for m in tasks] == said
    for line in lines:
        assert re.match(r"(#{1,2} |- |> \*\*Caution|$|From '|\d+ steps?, |Nothing to set: )", line)
        body = re.sub(r"^(#+ |- \[ \] \*\*\d+\.\*\* |- |> \*\*Caution\.\*\* )", "", line)
        # What is left has no mark of Markdown that is not escaped (CommonMark 0.31.2, 2.4, 6).
        assert not re.search(r"[*_`\[\]<>|~&#!]", re.sub(r"\\[!-/:-@\[-`{-~]", "", body))
        # Nor an address that GitHub Flavored Markdown would make a link (0.29, 6.9).
        assert not re.search(r"www\.|https?:|\w@\w", body)


@pytest.mark.parametrize("sheet", hostile_sheets(), ids=range(len(HOSTILE)))
def test_hostile_names_in_text_and_markdown(sheet: PatchSheet) -> None:
    assert_text(sheet)
    assert_markdown(sheet)


def test_what_no_knob_drives_is_in_the_caution() -> None:
    """However few steps there are, and though no knob drives a level."""
    inner = tuple(
        Destination(name, priority=priority)
        for name, priority in (("level", 1), ("tone", 2), ("hiss", 5), ("air", 3))
    )
    routes = (Route("Choir/air", "K1"),)
    moved = (Snapshot("Solo", ("Choir/air",)), Snapshot("All", ("Choir",)))
    after = Setup("Late set", Surface.row(1), (Voice("Choir", inner, 1),), groups=(), routes=routes)
    after = attrs.evolve(after, snapshots=moved)
    sheet = patch_sheet(after, after)
    told = (
        "Essential, and driven by no knob: Choir/level. No knob drives Choir/tone. "
        "Snapshot 'All' is to move some of it, and nothing moves it."
    )
    assert told in " ".join(sheet.text().split("CAUTION")[1].split())
    assert told in sheet.markdown()
    page = re.sub(r"<[^>]*>", "", sheet.page().split('id="caution">Caution')[1])
    assert told in html.unescape(page)
    driven = (*routes, Route("Choir/level", "K1"), Route("Choir/tone", "K1"))
    whole = attrs.evolve(after, routes=driven)
    assert "o knob" not in patch_sheet(whole, whole).text()
