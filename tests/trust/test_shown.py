"""Shown: a name is only a name wherever it is shown: page, notebook, picture, terminal."""

from __future__ import annotations

import io
import subprocess
import sys
from html.parser import HTMLParser
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import attrs
import pytest

from knobpack import (
    Allocation,
    Apart,
    Destination,
    Group,
    ImpossibleDemands,
    Knob,
    Request,
    Setup,
    Snapshot,
    Surface,
    Together,
    Voice,
    allocate_request,
    audit,
    combine,
    patch_sheet,
)
from knobpack.files import save
from knobpack.questions import explain, knob_budget
from tests.trust.hostile import NAMES
from tests.trust.saving import ROOT

SAFE = tuple(name.replace("/", "|") for name in NAMES)


def hostile() -> Request:
    """A request in which everything that can have a name has a hostile one."""
    knobs = tuple(Knob(name, 1, at) for at, name in enumerate(SAFE[:6], 1))
    voices = tuple(
        Voice(
            name,
            (
                Destination(SAFE[at], kind=SAFE[at + 1], source_knob=SAFE[at + 2]),
                Destination(SAFE[at + 3], kind=SAFE[at + 1], must_place=True),
            ),
            source=SAFE[at + 4],
        )
        for at, name in enumerate(SAFE[:4])
    )
    groups = (Group(SAFE[9], (SAFE[0], SAFE[1])),)
    return Request(
        Surface(knobs),
        voices,
        groups=groups,
        snapshots=(Snapshot(SAFE[10], (SAFE[9],)), Snapshot(SAFE[2], (SAFE[2], SAFE[3]))),
        rules=(Apart((SAFE[0],), (SAFE[1],), 30), Together((SAFE[2], SAFE[3]), 5)),
    )


@pytest.fixture(scope="module")
def allocation() -> Allocation:
    """The allocation of the hostile request."""
    return allocate_request(hostile())


@pytest.fixture(scope="module")
def setup(allocation: Allocation) -> Setup:
    """The hostile request as a setup, under a hostile name."""
    return setup_of(allocation)


def setup_of(allocation: Allocation) -> Setup:
    request = allocation.request
    return Setup(
        SAFE[0],
        request.surface,
        request.voices,
        groups=request.groups,
        routes=allocation.routes,
        travels=allocation.layout.travels,
        snapshots=request.played,
    )


class Seen(HTMLParser):
    """What a browser makes of HTML: its tags, their attributes, and the text between them."""

    def __init__(self, html: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: set[str] = set()
        self.attributes: set[str] = set()
        self.text = ""
        self.inside: list[str] = []
        self.feed(html)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        self.tags.add(tag)
        self.attributes |= {name for name, _ in attrs}
        self.inside.append(tag)

    def handle_endtag(self, tag: str) -> None:
        while self.inside and self.inside.pop() != tag:
            pass

    def handle_data(self, data: str) -> None:
        if not {"script", "style"} & set(self.inside):
            self.text += data


def assert_only_names(html: str, *names: str, drawn: bool = False) -> None:
    """Nothing in the page is of a name but text, and the names are there.

    A page that is drawn has a script and a picture of its own.
    """
    seen = Seen(html)
    assert not seen.tags & {"img", "a", "iframe", "b", "object", "link", "base", "image"}
    assert drawn or not seen.tags & {"script", "svg"}
    assert not [name for name in seen.attributes if name.startswith("on")]
    assert not seen.attributes & {"href", "src", "style", "srcdoc"}
    for name in names:
        assert name in seen.text


def answers(allocation: Allocation, setup: Setup) -> list[Any]:
    """One answer of every sort that shows itself."""
    return [
        allocation,
        explain(allocation),
        knob_budget(allocation),
        audit(setup),
        patch_sheet(attrs.evolve(setup, routes=()), setup),
        combine(setup),
    ]


def test_notebooks_show_names_as_text(allocation: Allocation, setup: Setup) -> None:
    shown = [each for each in answers(allocation, setup) if hasattr(each, "_repr_html_")]
    assert len(shown) >= 4
    for each in shown:
        assert_only_names(each._repr_html_())
        assert_only_names(each._repr_mimebundle_()["text/html"])
    assert_only_names(allocation._repr_html_(), *SAFE[:4])


def test_terminals_show_names_as_text(allocation: Allocation, setup: Setup) -> None:
    for each in answers(allocation, setup):
        for line in str(each).split("\n"):
            assert line.isprintable()


def test_pictures_show_names_as_text(allocation: Allocation, setup: Setup) -> None:
    mpl = pytest.importorskip("matplotlib")
    from knobpack import pictures

    with mpl.rc_context({"svg.fonttype": "none"}):
        for axes in (
            pictures.draw_surface(setup),
            pictures.draw_routes(setup),
            pictures.draw_snapshots(setup),
            pictures.draw_reasons(allocation.knob_budget()),
        ):
            written = io.BytesIO()
            figure = axes.get_figure(root=True)
            assert figure is not None
            figure.savefig(written, format="svg")
            tree = ET.fromstring(written.getvalue())  # noqa: S314 (our own picture)
            tags = {each.tag.split("}")[-1] for each in tree.iter()}
            assert "text" in tags
            assert not tags & {"script", "image", "a", "img", "foreignObject"}
            names = {name for each in tree.iter() for name in each.attrib}
            assert not [name for name in names if name.startswith("on")]


def test_a_clash_of_hostile_names_can_be_shown() -> None:
    request = hostile()
    rules = (Together((SAFE[0], SAFE[1], SAFE[2])), Apart((SAFE[0],), (SAFE[1],)))
    request = attrs.evolve(request, rules=rules)
    with pytest.raises(ImpossibleDemands) as caught:
        allocate_request(request)
    assert all(line.isprintable() for line in str(caught.value).split("\n"))


@pytest.mark.parametrize(
    "name", ["\x1b[31mred.json", "a\u202eb.json", "line\nbreak.json", "\udc80.json"]
)
def test_the_command_says_what_it_says_in_one_line(name: str, tmp_path: Path) -> None:
    (tmp_path / name).write_bytes(b'{"\\u001b[2J": "\\u202e"}')
    done = command("allocate", str(tmp_path / name))
    assert done.returncode == 2
    assert done.stdout == ""
    assert done.stderr.count("\n") == 1
    assert done.stderr[:-1].isprintable()


def test_the_command_prints_hostile_names_as_text(tmp_path: Path) -> None:
    save(tmp_path / "hostile.json", hostile())
    done = command("allocate", str(tmp_path / "hostile.json"))
    assert done.returncode == 0
    assert all(mark.isprintable() or mark == "\n" for mark in done.stdout + done.stderr)
    assert SAFE[0] in done.stdout


def command(*arguments: str) -> subprocess.CompletedProcess[str]:
    """What the command says."""
    return subprocess.run(  # noqa: S603 (our own code)
        [sys.executable, "-m", "knobpack", *arguments],
        cwd=ROOT,
        capture_output=True,
        text=True,
        encoding="utf-8",
        timeout=120,
        check=False,
    )
