"""The notebooks run, and those that measure nothing print what is stored in them."""

from __future__ import annotations

import json
import re
from pathlib import Path
from typing import Any

import nbformat
import pytest
from nbclient import NotebookClient

NOTEBOOKS = Path(__file__).parents[1] / "notebooks"
TELLING = ("first_layers", "why", "for_players", "for_tools")
SMALL = {
    "large_setups": "KNOBS, SEEDS, LIMIT, LAYERS, LAYER_KNOBS = (4, 8), 1, 2.0, (4, 8), 8",
    "a_show": "EFFORT = 0.2",
    "large_shows": "SEEDS, SONGS, KNOBS, EFFORT, LONG, LONG_KNOBS, LONG_EFFORT = "
    "2, 2, 4, 0.1, (3,), 4, 0.1",
    "against_peers": "SIZES, SEEDS, LIMITS, KINDS, KIND_LIMIT = (4,), 1, (1.0,), ('ruled',), 1.0",
}
"""What the first cell of those that measure holds in a test: all that can be chosen, small."""
MOST_BYTES = 300_000


def test_every_notebook_is_known() -> None:
    assert sorted(path.stem for path in NOTEBOOKS.glob("*.ipynb")) == sorted((*TELLING, *SMALL))


def executed(name: str) -> Any:
    """The notebook, run from its first cell to its last; an error in a cell is raised."""
    notebook = nbformat.read(NOTEBOOKS / f"{name}.ipynb", as_version=4)  # type: ignore[no-untyped-call]
    if name in SMALL:
        first = next(cell for cell in notebook.cells if cell.cell_type == "code")
        chosen = SMALL[name].partition(" = ")[0].split(", ")
        assert chosen == re.findall(r"^(\w+) = ", first.source, re.MULTILINE)
        first.source = SMALL[name]
    NotebookClient(
        notebook, timeout=600, resources={"metadata": {"path": str(NOTEBOOKS)}}
    ).execute()
    return notebook


def words(notebook: Any) -> list[str]:
    """All that each cell prints, as text: in how many pieces a kernel sends it is chance."""
    return [
        "".join(
            output.get("text") or output["data"]["text/plain"]
            for output in cell.outputs
            if "image/png" not in output.get("data", {})
        )
        for cell in notebook.cells
        if cell.cell_type == "code"
    ]


@pytest.mark.parametrize("name", TELLING)
def test_it_prints_what_is_stored(name: str) -> None:
    stored = nbformat.read(NOTEBOOKS / f"{name}.ipynb", as_version=4)  # type: ignore[no-untyped-call]
    assert words(executed(name)) == words(stored)
    assert sum(map(bool, words(stored))) > 3


@pytest.mark.long
@pytest.mark.parametrize("name", SMALL)
def test_it_runs_in_its_small_form(name: str) -> None:
    assert any(words(executed(name)))


@pytest.mark.parametrize("name", [*TELLING, *SMALL])
def test_it_is_light_and_tells_a_story(name: str) -> None:
    path = NOTEBOOKS / f"{name}.ipynb"
    assert path.stat().st_size < MOST_BYTES
    cells = json.loads(path.read_text("utf-8"))["cells"]
    assert cells[0]["cell_type"] == "markdown"
    assert cells[0]["source"][0].startswith("# ")
    assert sum(cell["cell_type"] == "markdown" for cell in cells) >= 4
    assert not any("/work" in line or "/tmp" in line for line in path.read_text().splitlines())  # noqa: S108
