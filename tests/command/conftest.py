"""What the tests of the command share."""

from __future__ import annotations

from pathlib import Path

import pytest

from knobpack import Request, files
from knobpack.command import inputs
from knobpack.command.main import main
from knobpack.files import save
from tests.command.samples_of_command import SMALL
from tests.command.show_of_command import BASS, ORGAN, PANEL
from tests.present.read_answers import DEMO, solved
from tests.present.samples_of_setups import written


@pytest.fixture(autouse=True)
def hundred_columns(monkeypatch: pytest.MonkeyPatch) -> None:
    """Lets lines be as wide as they may be, whatever terminal the tests run in."""
    monkeypatch.setenv("COLUMNS", "100")


@pytest.fixture
def once(monkeypatch: pytest.MonkeyPatch) -> None:
    """Lets the command find each layout but once, so that many questions are asked soon."""
    monkeypatch.setattr(inputs, "laid_out", lambda request, _: solved(request))


@pytest.fixture
def file(tmp_path: Path) -> str:
    """A file that holds a small request."""
    path = tmp_path / "small.json"
    save(path, SMALL)
    return str(path)


@pytest.fixture
def demo(tmp_path: Path) -> str:
    """A file that holds the request of the demo."""
    path = tmp_path / "demo.json"
    save(path, DEMO)
    return str(path)


@pytest.fixture
def paths(tmp_path: Path) -> list[str]:
    """The files of the demo's base and sources."""
    return written(tmp_path / "demo")


@pytest.fixture
def songs(tmp_path: Path) -> list[str]:
    """The files of two songs, both still to be laid out."""
    made = {"Opener": [ORGAN], "Ballad": [BASS, ORGAN]}
    for name, voices in made.items():
        files.save(tmp_path / f"{name}.json", Request(PANEL, voices))
    return [str(tmp_path / f"{name}.json") for name in made]


@pytest.fixture
def friday(songs: list[str], tmp_path: Path) -> str:
    """The set list of those songs, laid out."""
    into = str(tmp_path / "friday")
    assert main(["songs", *songs, "--break", "Opener", "--into", into, "--quiet"]) == 0
    return f"{into}/show.json"
