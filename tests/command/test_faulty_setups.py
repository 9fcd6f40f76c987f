"""Setups with every kind of fault, taken through every verb and asked every question."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import attrs
import pytest

from knobpack import Setup, Surface, audit, files
from knobpack.auditing import causes
from knobpack.command.main import main
from knobpack.words.names import voice_part
from tests.auditing.faulty import seeded_setup

SEEDS = (196, 140, 127, 247, 23, 62, 65, 38)
QUESTIONS = (
    *("knob-budget", "best-layouts", "price-of-demands"),
    *("explain", "least-knobs", "every-clash"),
)


def test_every_kind_of_fault_is_among_them() -> None:
    found = {each.cause for seed in SEEDS for each in audit(seeded_setup(seed)).findings}
    assert found == set(causes.CAUSES)


def every_line(setup: Setup, one: str, other: str, panel: str, into: str) -> Iterator[list[str]]:
    """What can be typed of a setup in a file, of another beside it, and of a show of both."""
    reached = [route.destination for route in setup.routes]
    names = list(dict.fromkeys((*reached, *(n for v in setup.voices for n in v.by_full_name))))
    knob, last = setup.surface.knob_names[0], setup.surface.knob_names[-1]
    names = names or ["Pad/level"]  # one that is not there
    name, voice = names[0], voice_part(names[0])
    for verb in ("audit", "show", "sweep", "jumps"):
        yield [verb, one]
    yield ["sheet", one, "--sheet", "-"]
    yield ["table", one, "--table", "-"]
    yield ["move", one, panel, "--sheet", "-"]
    yield ["combine", one, other]
    yield ["combine", panel, one]
    for edit in (
        *(["out-of-use", knob], ["own", names[-1]], ["on", knob, names[-1]], ["swap", knob, last]),
        *(["away", voice], ["travel", knob, "0", "50"], ["part", voice], ["join", knob, last]),
    ):
        yield ["edit", one, *edit]
    for asked in (
        *([each] for each in QUESTIONS),
        *(["why", each] for each in names),
        *(["why-not", name, last], ["why-shared", knob], ["without", voice], ["more-knobs", "5"]),
    ):
        yield ["ask", one, *asked]
    yield ["songs", one, other, "--panel", panel, "--page", "-"]
    yield ["songs", one, other, "--free", "Second", "--into", into, "--details"]
    show = f"{into}/show.json"
    yield ["songs", show, "--panel", panel]
    yield ["jumps", show]
    for asked in (["why-elsewhere", "Second", name], ["worth-freeing"], ["odd-songs"]):
        yield ["ask", show, *asked]


@pytest.mark.parametrize("seed", SEEDS)
def test_no_fault_of_a_setup_breaks_any_verb_or_question(
    seed: int, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    setup = seeded_setup(seed)
    of = {"one": setup, "other": attrs.evolve(setup, name="Second")}
    of["panel"] = Setup("Small", Surface.row(2, bits=10, travel_on=setup.surface.travel_on))
    for name, each in of.items():
        files.save(tmp_path / f"{name}.json", each)
    one, other, panel = (str(tmp_path / f"{name}.json") for name in of)
    for line in every_line(setup, one, other, panel, str(tmp_path / "show")):
        assert main(line) in (0, 2, 3, 5), line
        assert "Traceback" not in capsys.readouterr().err, line
