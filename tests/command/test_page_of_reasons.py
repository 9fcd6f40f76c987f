"""``--page``: the layout with the reasons for it, of every verb that lays out."""

from __future__ import annotations

from pathlib import Path

import attrs
import pytest

from knobpack import Destination, Voice, combine
from knobpack.command.main import main
from knobpack.files import load_request, load_setup, save
from knobpack.present.demo import demo_request
from tests.explanation.test_page import Read


@pytest.fixture
def demo(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    save("demo.json", demo_request())
    assert main(["demo", "setups", "--quiet"]) == 0
    return tmp_path


@pytest.mark.parametrize(
    ("words", "title"),
    [
        ("allocate demo.json", "demo"),
        ("ask demo.json least-knobs", "demo"),
        ("ask demo.json explain", "demo"),
        ("combine setups/base.json setups/organ.json", "Evening set"),
        ("edit setups/base.json swap K1 K2", "Evening set"),
    ],
)
def test_it_is_written_of_what_is_laid_out(
    demo: Path, words: str, title: str, capsys: pytest.CaptureFixture[str]
) -> None:
    capsys.readouterr()
    assert main([*words.split(), "--page", "why.html"]) == 0
    assert "The page of reasons is in why.html." in capsys.readouterr().err
    read = Read((demo / "why.html").read_text(encoding="utf-8"))
    said = "".join(read.words)
    assert f"Why the knobs of {title} are as they are" in said
    assert "The panel" in said
    if "demo.json" in words:
        for name in load_request("demo.json").by_full_name:
            assert name in said


def test_the_page_begins_with_what_the_answer_does(demo: Path) -> None:
    base = load_setup("setups/base.json")
    sub = Voice("Sub", [Destination("level", priority=1)], 9)
    save("sub.json", attrs.evolve(base, voices=(*base.voices, sub)))
    assert main(["combine", "sub.json", "setups/organ.json", "--page", "why.html"]) == 0
    read = Read((demo / "why.html").read_text(encoding="utf-8"))
    said = "".join(read.words).split("Contents")[0]
    found = combine(load_setup("sub.json"), load_setup("setups/organ.json"))
    assert found.headlines[0] == "Essential, and driven by no knob: Sub/level."
    assert all(each in said for each in found.headlines)


def test_what_has_no_layout_has_no_page(demo: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["audit", "setups/base.json", "--page", "why.html"]) == 2
    assert "--page: nothing is laid out" in capsys.readouterr().err
    assert main(["allocate", "demo.json", "--page", "why.pdf"]) == 2
    assert "ends in .html" in capsys.readouterr().err
    assert not (demo / "why.html").exists()
