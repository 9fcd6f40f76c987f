"""The page as a browser shows it, where there is a Chromium (or KNOBPACK_CHROMIUM names one)."""

from __future__ import annotations

import base64
import shutil
import subprocess
import time
from collections.abc import Iterator
from pathlib import Path

import pytest

from knobpack.combination.combiner import combine
from knobpack.sheets import PatchSheet, patch_sheet
from tests.combination.cases import BASE, GUEST
from tests.sheets.browser import CHROMIUM, PATIENCE, Tab, browser
from tests.sheets.pairs import HOSTILE, hostile_pair

pytestmark = pytest.mark.skipif(CHROMIUM is None, reason="there is no chromium on this machine")

TICKED = "[...document.querySelectorAll('input:checked')].map(box => box.id)"
COUNT = "document.getElementById('count').textContent"


@pytest.fixture(scope="module")
def tab(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Tab]:
    with browser(tmp_path_factory.mktemp("kept")) as found:
        yield found


@pytest.fixture(scope="module")
def sheet() -> PatchSheet:
    return patch_sheet(BASE, combine(BASE, GUEST).setup)


def written(folder: Path, sheet: PatchSheet, name: str = "sheet.html") -> Path:
    path = folder / name
    path.write_text(sheet.page(), encoding="utf-8")
    return path


def tap(tab: Tab, label: str) -> None:
    """Touch the middle of a label, as a finger does."""
    tab.value(f"document.querySelector('label[for={label}]').scrollIntoView({{block: 'center'}})")
    box = tab.value(
        f"(() => {{ const r = document.querySelector('label[for={label}]')"
        ".getBoundingClientRect(); return [r.x + r.width / 2, r.y + r.height / 2]; })()"
    )
    for kind in ("mousePressed", "mouseReleased"):
        tab.call(
            "Input.dispatchMouseEvent", type=kind, x=box[0], y=box[1], button="left", clickCount=1
        )


def reloaded(tab: Tab, ticked: list[str]) -> None:
    """Load a page again until it shows these ticks.

    A browser keeps what a page stores in a process of its own, so that on a busy machine a page may
    be there again before what it stored is.
    """
    until = time.monotonic() + PATIENCE
    tab.reload()
    while tab.value(TICKED) != ticked and time.monotonic() < until:
        time.sleep(0.1)
        tab.reload()
    assert tab.value(TICKED) == ticked


def test_ticks_survive_a_reload_and_belong_to_their_sheet(
    tab: Tab, sheet: PatchSheet, tmp_path: Path
) -> None:
    page = written(tmp_path, sheet)
    tab.size(820, 1180)
    tab.open(page)
    assert tab.value(TICKED) == []
    assert tab.value(COUNT) == f"0 of {len(sheet.steps)} done"
    tap(tab, "step-1")
    tap(tab, "step-3")
    assert tab.value(TICKED) == ["step-1", "step-3"]
    reloaded(tab, ["step-1", "step-3"])
    assert tab.value(COUNT) == f"2 of {len(sheet.steps)} done"
    tap(tab, "step-3")
    reloaded(tab, ["step-1"])
    tab.open(written(tmp_path, patch_sheet(sheet.after, sheet.before), "back.html"))
    assert tab.value(TICKED) == []


def test_boxes_can_be_ticked_without_a_script(tab: Tab, sheet: PatchSheet, tmp_path: Path) -> None:
    tab.call("Emulation.setScriptExecutionDisabled", value=True)
    try:
        tab.open(written(tmp_path, patch_sheet(sheet.after, sheet.before)))
        tap(tab, "step-2")
        assert tab.value(TICKED) == ["step-2"]
        assert tab.value("document.getElementById('bar').hidden") is True
    finally:
        tab.call("Emulation.setScriptExecutionDisabled", value=False)


def test_nothing_is_fetched_and_nothing_refused(
    tab: Tab, sheet: PatchSheet, tmp_path: Path
) -> None:
    page = written(tmp_path, sheet)
    tab.open(page)
    assert tab.fetched == [page.as_uri()]
    assert tab.complaints == []
    # The policy holds: what another hand writes into the page neither loads nor runs.
    harm = "<img src='x.png'><script>document.title = 'harm'</script></main>"
    page.write_text(sheet.page().replace("</main>", harm), encoding="utf-8")
    tab.open(page)
    assert tab.value("document.title") == "Patch sheet: Evening set"
    assert any("Content Security Policy" in each for each in tab.complaints)


@pytest.mark.parametrize("width", [390, 820, 1280])
def test_it_fits_a_screen_and_a_finger(
    tab: Tab, sheet: PatchSheet, tmp_path: Path, width: int
) -> None:
    tab.size(width, 1180)
    for each in (sheet, *(patch_sheet(*hostile_pair(name, BASE)) for name in HOSTILE)):
        tab.open(written(tmp_path, each))
        assert tab.value("document.documentElement.scrollWidth") <= width
        assert tab.complaints == []
        heights = tab.value(
            "[...document.querySelectorAll('label')].map(l => l.getBoundingClientRect().height)"
        )
        # Cards, one below the other on a phone; the panel alone may be moved sideways.
        sides = tab.value(
            "[...document.querySelectorAll('.cards *')].map(e => e.getBoundingClientRect())"
            ".map(r => [r.left, r.right])"
        )
        assert all(0 <= left <= right <= width for left, right in sides)
        starts = tab.value("[...document.querySelectorAll('.cards li')].map(e => e.offsetLeft)")
        assert len(set(starts)) == 1 or width > 390
        assert min(heights) >= 44  # WCAG 2.2, 2.5.5: targets of 44 CSS pixels
        shown = tab.value("[...document.querySelectorAll('label')].map(l => l.textContent)")
        assert [text.split(None, 1)[1] for text in shown] == list(each.sentences)


def test_it_is_black_on_white_on_paper(tab: Tab, sheet: PatchSheet, tmp_path: Path) -> None:
    dark = [{"name": "prefers-color-scheme", "value": "dark"}]
    tab.open(written(tmp_path, sheet))
    colours = "(s => [s.color, s.backgroundColor])(getComputedStyle(document.body))"
    try:
        tab.call("Emulation.setEmulatedMedia", media="screen", features=dark)
        assert tab.value(colours) == ["rgb(243, 241, 234)", "rgb(16, 19, 23)"]
        tab.call("Emulation.setEmulatedMedia", media="print", features=dark)
        assert tab.value(colours) == ["rgb(0, 0, 0)", "rgb(255, 255, 255)"]
        bar = "getComputedStyle(document.getElementById('bar')).display"
        assert tab.value(bar) == "none"
        item = "getComputedStyle(document.querySelector('.steps li')).breakInside"
        assert tab.value(item) == "avoid"
        box = "getComputedStyle(document.querySelector('input')).borderTopColor"
        assert tab.value(box) == "rgb(0, 0, 0)"
    finally:
        tab.call("Emulation.setEmulatedMedia", media="", features=[])
    assert base64.b64decode(tab.call("Page.printToPDF")["data"]).startswith(b"%PDF")


@pytest.mark.skipif(shutil.which("pdftotext") is None, reason="there is no pdftotext")
def test_no_row_is_stranded_on_paper(tab: Tab, sheet: PatchSheet, tmp_path: Path) -> None:
    """Wherever a page ends, no heading ends it and no last step of several begins the next."""
    tab.open(written(tmp_path, sheet))
    headings = tab.value("[...document.querySelectorAll('h2')].map(e => e.textContent)")
    last = tab.value(
        "[...document.querySelectorAll('.steps li:last-child:not(:first-child) .number')]"
        ".map(e => e.textContent)"
    )
    assert len(last) > 1
    ends = set()
    for height in range(50, 120, 7):
        paper = {"paperWidth": 8.3, "paperHeight": height / 10}
        pdf = tmp_path / "sheet.pdf"
        pdf.write_bytes(base64.b64decode(tab.call("Page.printToPDF", **paper)["data"]))
        told = subprocess.run(  # noqa: S603 (reads what was just written)
            ["pdftotext", "-layout", str(pdf), "-"],  # noqa: S607
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        pages = [
            [line.strip() for line in page.splitlines() if line.strip()]
            for page in told.split("\f")
        ]
        for page in filter(None, pages):
            ends.add(page[0])
            assert page[-1] not in headings
            assert page[0].split()[0] not in last
    assert len(ends) > 5
