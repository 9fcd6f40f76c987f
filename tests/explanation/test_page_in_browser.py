"""The page of reasons as a browser shows it, where there is a Chromium."""

from __future__ import annotations

import base64
import shutil
import subprocess
from collections.abc import Iterator
from pathlib import Path

import pytest

from benchmarks.requests import sized
from knobpack.allocator import allocate_request
from knobpack.explanation.whole import Explanation, explain
from knobpack.present.demo import demo_request
from tests.explanation.test_page import hostile
from tests.sheets.browser import CHROMIUM, Tab, browser

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="there is no chromium on this machine")

SHOWN = "[...document.querySelectorAll('.knobs > li')].filter(e => e.offsetParent).map(e => e.id)"
WIDER = """
[...document.querySelectorAll('body *')].filter(e => !e.closest('figure') && e.offsetParent &&
  (e.getBoundingClientRect().right > innerWidth || e.scrollWidth > e.clientWidth + 1 &&
   e.clientWidth && getComputedStyle(e).display != 'inline')).map(e => e.outerHTML.slice(0, 80))
"""
CONTRASTS = """
(() => {
  const parts = c => c.match(/[\\d.]+/g).map(Number);
  const light = c => {
    const [r, g, b] = parts(c).map(v => v / 255)
      .map(v => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const ground = e => {
    for (; e; e = e.parentElement) {
      const c = getComputedStyle(e).backgroundColor;
      if (parts(c)[3] !== 0) return c;
    }
    return 'rgb(255, 255, 255)';
  };
  const under = e => {
    const box = e.closest('svg.knob') || e.closest('svg.reasons');
    return box ? getComputedStyle(box.querySelector('rect')).fill : ground(e);
  };
  const found = [];
  for (const e of document.querySelectorAll('body *')) {
    const own = [...e.childNodes].some(n => n.nodeType === 3 && n.textContent.trim());
    if (!own) continue;
    const text = e.closest('svg') ? getComputedStyle(e).fill : getComputedStyle(e).color;
    const [one, other] = [light(text), light(under(e))].sort((a, b) => b - a);
    found.push([(one + 0.05) / (other + 0.05), e.outerHTML.slice(0, 80)]);
  }
  return found.sort((a, b) => a[0] - b[0])[0];
})()
"""


@pytest.fixture(scope="module")
def tab(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Tab]:
    with browser(tmp_path_factory.mktemp("kept")) as found:
        yield found


@pytest.fixture(scope="module")
def demo() -> Explanation:
    return explain(allocate_request(demo_request()), solve=True)


def opened(tab: Tab, folder: Path, explanation: Explanation) -> None:
    path = folder / "why.html"
    path.write_text(explanation.page(), encoding="utf-8")
    tab.open(path)
    assert tab.complaints == []
    assert tab.fetched == [path.as_uri()]


def press(tab: Tab, key: str, code: int, text: str = "") -> None:
    for kind in ("keyDown", "keyUp"):
        more = {"text": text} if text and kind == "keyDown" else {}
        tab.call(
            "Input.dispatchKeyEvent",
            type=kind,
            key=key,
            code=key,
            windowsVirtualKeyCode=code,
            **more,
        )


def unfold(tab: Tab) -> None:
    tab.value("document.querySelectorAll('details').forEach(e => { e.open = true; })")


def test_keys_alone_lead_from_the_panel_to_a_reason_and_back(
    tab: Tab, demo: Explanation, tmp_path: Path
) -> None:
    tab.size(1280, 1000)
    opened(tab, tmp_path, demo)
    seen: list[str] = []
    for _ in range(15):
        press(tab, "Tab", 9)
        seen.append(
            tab.value("(e => e.getAttribute('href') || e.id || e.tagName)(document.activeElement)")
        )
    knobs = [f"#knob-{at}" for at in range(1, 9)]
    assert seen == ["#panel", "#knobs", "#whole", "s0", "FIGURE", *knobs, "SUMMARY", "SUMMARY"]
    tab.value("document.querySelector('a[href=\"#knob-3\"]').focus()")
    press(tab, "Enter", 13, "\r")
    assert tab.value("location.hash") == "#knob-3"
    assert tab.value(SHOWN) == ["knob-3"]
    press(tab, "Tab", 9)
    assert tab.value("document.activeElement.closest('li').id") == "knob-3"
    assert tab.value("document.activeElement.tagName") == "SUMMARY"
    press(tab, "Enter", 13, "\r")
    assert tab.value("document.activeElement.parentElement.open") is True
    tab.value("document.querySelector('.every a').focus()")
    press(tab, "Enter", 13, "\r")
    assert tab.value(SHOWN) == [f"knob-{at}" for at in range(1, 9)]


def test_a_link_to_a_destination_unfolds_its_reasons(
    tab: Tab, demo: Explanation, tmp_path: Path
) -> None:
    opened(tab, tmp_path, demo)
    index = "document.querySelector('.index').parentElement"
    tab.value(f"{index}.open = true")
    tab.value("document.querySelector('.index a[href=\"#d5\"]').click()")
    name = tab.value("document.querySelector('.index a[href=\"#d5\"]').textContent")
    assert tab.value("document.getElementById('d5').parentElement.open") is True
    assert name in tab.value("document.getElementById('d5').textContent")
    knob = demo.allocation.knob_of(name)
    at = demo.allocation.request.surface.knob_names.index(str(knob)) + 1
    assert tab.value(SHOWN) == [f"knob-{at}"]


def test_a_snapshot_that_is_chosen_shows_what_follows(
    tab: Tab, demo: Explanation, tmp_path: Path
) -> None:
    opened(tab, tmp_path, demo)
    shown = (
        "[...document.querySelectorAll('svg.knob')].filter(k => getComputedStyle("
        "k.querySelector('.{}')).display != 'none').map(k => k.querySelector('.head').textContent)"
    )
    assert tab.value(shown.format("mark")) == []
    for number, each in enumerate(demo.allocation.following, 1):
        tab.value(f"document.getElementById('s{number}').click()")
        assert tab.value(shown.format("mark")) == list(each.knobs)
        held = [knob for knob in demo.allocation.used if knob not in each.knobs]
        assert tab.value(shown.format("hold")) == held
        told = tab.value(
            "[...document.querySelectorAll('.told')].filter(e => e.offsetParent).map("
            "e => e.textContent)"
        )
        assert len(told) == 1
        assert each.snapshot in told[0]


@pytest.mark.parametrize("width", [320, 390, 1280])
def test_nothing_is_wider_than_a_screen(
    tab: Tab, demo: Explanation, tmp_path: Path, width: int
) -> None:
    tab.size(width, 1000)
    large = allocate_request(sized(0, 32, 140)).explain(effort=1)
    for explanation in (demo, hostile().explain(), large):
        opened(tab, tmp_path, explanation)
        unfold(tab)
        assert tab.value("document.documentElement.scrollWidth") <= width
        assert tab.value(WIDER) == []
        heights = tab.value(
            "[...document.querySelectorAll('summary, label, nav a, .index a')]"
            ".filter(e => e.offsetParent).map(e => e.getBoundingClientRect().height)"
        )
        assert min(heights) >= 44  # WCAG 2.2, 2.5.5: targets of 44 CSS pixels
        # The drawings are for wide screens: on a phone the words beside them say it all.
        drawn = tab.value("!!document.querySelector('.reasons')?.getBoundingClientRect().width")
        assert drawn == (width == 1280 and explanation is not large)


@pytest.mark.parametrize("theme", ["light", "dark"])
@pytest.mark.parametrize("media", ["screen", "print"])
def test_it_can_be_read(
    tab: Tab, demo: Explanation, tmp_path: Path, media: str, theme: str
) -> None:
    tab.size(1280, 1000)
    try:
        tab.call(
            "Emulation.setEmulatedMedia",
            media=media,
            features=[{"name": "prefers-color-scheme", "value": theme}],
        )
        opened(tab, tmp_path, demo)
        unfold(tab)
        tab.value("document.getElementById('s1').click()")
        least, where = tab.value(CONTRASTS)
        assert least >= 7, where  # WCAG 2.2, 1.4.6
    finally:
        tab.call("Emulation.setEmulatedMedia", media="", features=[])


def test_what_can_be_used_has_a_name(tab: Tab, demo: Explanation, tmp_path: Path) -> None:
    opened(tab, tmp_path, demo)
    nodes = tab.call("Accessibility.getFullAXTree")["nodes"]
    roles = {"link", "radio", "DisclosureTriangle", "figure", "group", "navigation"}
    seen: dict[str, list[str]] = {}
    for each in nodes:
        if not each.get("ignored") and each.get("role", {}).get("value") in roles:
            seen.setdefault(each["role"]["value"], []).append(each.get("name", {}).get("value", ""))
    assert all(seen["link"])
    assert all(seen["radio"])
    assert all(seen["DisclosureTriangle"])
    assert any(name.startswith("K1: drives Oboe/cutoff") for name in seen["link"])


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="there is no pdftotext")
def test_on_paper_all_that_is_folded_is_there(tab: Tab, demo: Explanation, tmp_path: Path) -> None:
    opened(tab, tmp_path, demo)
    tab.value("location.hash = '#knob-2'")
    pdf = tmp_path / "why.pdf"
    pdf.write_bytes(base64.b64decode(tab.call("Page.printToPDF")["data"]))
    told = subprocess.run(  # noqa: S603 (reads what was just written)
        ["pdftotext", str(pdf), "-"],  # noqa: S607
        capture_output=True,
        text=True,
        check=True,
    ).stdout
    said = " ".join(told.split())
    for answer in demo.here:
        assert answer.sentences[0] in said
    assert "Back to the panel" not in said
