"""The README's pictures show the demo as it is. ``KNOBPACK_DRAW=1`` draws them anew."""

from __future__ import annotations

import os
import re
from html import unescape
from pathlib import Path

import matplotlib as mpl
import pytest
from matplotlib import pyplot

from knobpack import allocate_request
from knobpack.pictures import draw_routes, draw_surface
from knobpack.present.demo import demo_request

ROOT = Path(__file__).parents[2]
DRAWN = {"demo_surface.svg": draw_surface, "demo_routes.svg": draw_routes}


def texts(svg: str) -> list[str]:
    """Every text, as the writer notes it beside its outlines."""
    return [unescape(each) for each in re.findall(r"<!-- (.*?) -->", svg)]


@pytest.mark.parametrize("name", DRAWN)
def test_it_shows_the_demo_as_it_is(name: str, tmp_path: Path) -> None:
    mpl.use("Agg")
    DRAWN[name](allocate_request(demo_request()).setup("The demo"))
    stored = ROOT / "notebooks" / "pictures" / name
    drawn = stored if os.environ.get("KNOBPACK_DRAW") else tmp_path / name
    drawn.parent.mkdir(exist_ok=True)
    with mpl.rc_context({"svg.hashsalt": "knobpack"}):
        pyplot.savefig(drawn, metadata={"Date": None})
    pyplot.close("all")
    assert texts(drawn.read_text("utf-8")) == texts(stored.read_text("utf-8"))
    assert "Piano/level" in texts(stored.read_text("utf-8"))
    assert stored.stat().st_size < 400_000
    assert f"(notebooks/pictures/{name})" in (ROOT / "README.md").read_text("utf-8")
