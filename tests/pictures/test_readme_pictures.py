"""The README's pictures show what is so today. ``KNOBPACK_DRAW=1`` draws them anew."""

from __future__ import annotations

import os
import re
from html import unescape
from pathlib import Path
from typing import Any

import matplotlib as mpl
import nbformat
import pytest
from matplotlib import pyplot
from PIL import Image

from knobpack import allocate_request, files
from knobpack.pictures import draw_show, draw_surface
from knobpack.present.demo import demo_request
from knobpack.show import ShowAllocation

ROOT = Path(__file__).parents[2]

ANEW = bool(os.environ.get("KNOBPACK_DRAW"))
"""Whether pictures are drawn anew; else the evening is laid out with little effort."""
DRAWN = {"demo_surface.svg": draw_surface}


def texts(svg: str) -> list[str]:
    """Every text, as the writer notes it beside its outlines."""
    return [unescape(each) for each in re.findall(r"<!-- (.*?) -->", svg)]


@pytest.mark.parametrize("name", DRAWN)
def test_it_shows_the_demo_as_it_is(name: str, tmp_path: Path) -> None:
    mpl.use("Agg")
    picture = DRAWN[name](allocate_request(demo_request()).setup("The demo"))
    stored = ROOT / "notebooks" / "pictures" / name
    drawn = stored if ANEW else tmp_path / name
    drawn.parent.mkdir(exist_ok=True)
    files.save(drawn, picture)
    pyplot.close("all")
    assert texts(drawn.read_text("utf-8")) == texts(stored.read_text("utf-8"))
    assert "Piano/level" in texts(stored.read_text("utf-8"))
    assert stored.stat().st_size < 400_000
    assert f"(notebooks/pictures/{name})" in (ROOT / "README.md").read_text("utf-8")


def friday() -> ShowAllocation:
    """The evening of the notebook, as its own cells make it."""
    notebook = nbformat.read(ROOT / "notebooks" / "a_show.ipynb", as_version=4)  # type: ignore[no-untyped-call]
    names: dict[str, Any] = {}
    for cell in notebook.cells:
        if cell.cell_type == "code" and "friday" not in names:
            exec(cell.source, names)  # noqa: S102 - the notebook is ours
            if not ANEW:
                names["EFFORT"] = 0.2
    found: ShowAllocation = names["friday"]
    return found


def frame(said: str) -> list[str]:
    """What stands around a show: its name, its songs, its knobs and its kinds, but no signs."""
    return [each for each in said.split(" | ") if "/" not in each and each.isascii()]


def test_the_evening_is_that_of_the_notebook() -> None:
    mpl.use("Agg")
    made = friday()
    pyplot.close("all")
    axes = draw_show(made)
    said = " | ".join(text.get_text() for text in axes.texts)
    stored = ROOT / "notebooks" / "pictures" / "a_show.png"
    if ANEW:
        pyplot.savefig(stored, dpi=90, metadata={"Description": said})
    pyplot.close("all")
    with Image.open(stored) as picture:
        told = picture.info["Description"]
    # Where things lie is not proven best, so another machine may find them elsewhere.
    assert frame(told) == frame(said)
    assert "Organ/level" in told
    assert stored.stat().st_size < 400_000
    assert "(notebooks/pictures/a_show.png)" in (ROOT / "README.md").read_text("utf-8")
