"""What is essential and left out is told before all else, and by the exit status of the command."""

from __future__ import annotations

import json
from pathlib import Path

import attrs
import pytest

from knobpack import allocate_request, files
from knobpack.command.main import main
from knobpack.command.streams import ESSENTIAL_OUT, EXIT_STATUSES
from knobpack.present.text import layout_text
from knobpack.questions import explain, what_if
from knobpack.words import Destination, Request, Snapshot, Surface, Voice, Weights
from knobpack.words.edits import with_knobs, without_knob
from tests.oracles.problems import possible

ORGAN = Voice("Organ", (Destination("level", priority=1), Destination("tone", priority=2)))
BASS = Voice("Bass", (Destination("level", priority=1), Destination("tone", priority=4)))
SHORT = Request(Surface.row(1), (ORGAN, BASS))
TOLD = "Essential, and left out: Bass/level."


def test_it_is_the_first_sentence() -> None:
    found = allocate_request(SHORT)
    assert found.essential_out == ("Bass/level",)
    assert found.sentences[0] == TOLD
    assert layout_text(found).splitlines()[0] == TOLD
    assert str(found).splitlines()[0] == TOLD
    assert explain(found).sentences[0] == TOLD


def test_it_is_the_first_sentence_of_what_another_request_comes_to() -> None:
    enough = allocate_request(with_knobs(SHORT))
    assert what_if(enough, SHORT).sentences[0] == TOLD
    assert "Essential" not in str(what_if(allocate_request(SHORT), with_knobs(SHORT)))
    none = what_if(enough, without_knob(SHORT, "K1"))
    assert none.sentences[0] == "Essential, and left out: Organ/level and Bass/level."


def test_it_is_said_of_essential_destinations_that_are_left_out_and_of_nothing_else() -> None:
    lost = kept = 0
    for case in possible(range(80)):
        found = allocate_request(case.request)
        on = {route.destination for route in found.routes}
        inner = case.request.by_full_name
        gone = [name for name in inner if name not in on and inner[name].priority == 1]
        assert list(found.essential_out) == gone
        assert found.sentences[0].startswith("Essential, and left out: ") == bool(gone)
        assert layout_text(found).startswith("Essential, and left out: ") == bool(gone)
        assert files.to_plain(found)["essential_out"] == gone
        lost, kept = lost + bool(gone), kept + (not gone)
    assert min(lost, kept) > 2


@pytest.fixture
def path(tmp_path: Path) -> str:
    file = str(tmp_path / "short.json")
    files.save(file, SHORT)
    return file


@pytest.mark.parametrize(
    "asked",
    [
        "allocate {}",
        "ask {} knob-budget",
        "ask {} best-layouts then price-of-demands",
        "ask {} explain",
    ],
)
def test_the_command_says_it_first_and_by_its_exit_status(
    path: str, asked: str, capsys: pytest.CaptureFixture[str]
) -> None:
    words = asked.format(path).split()
    assert main([*words, "--quiet", "--json", "-"]) == 5
    plain = json.loads(capsys.readouterr().out)
    assert list(plain)[:3] == ["knobpack", "version", "essential_out"]
    assert plain["essential_out"] == ["Bass/level"]
    assert main(words) == 5
    assert capsys.readouterr().out.startswith(TOLD + "\n\n")


def test_the_command_writes_it_into_files(path: str, tmp_path: Path) -> None:
    answers = tmp_path / "answers.json"
    assert main(["ask", path, "knob-budget", "--quiet", "--json", str(answers)]) == 5
    assert json.loads(answers.read_text())["essential_out"] == ["Bass/level"]


def test_where_nothing_essential_is_lost_there_is_no_word_of_it(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = str(tmp_path / "enough.json")
    files.save(file, with_knobs(SHORT))
    assert main(["ask", file, "knob-budget"]) == 0
    assert "Essential" not in capsys.readouterr().out
    assert main(["ask", file, "knob-budget", "--json", "-"]) == 0
    assert "essential_out" not in json.loads(capsys.readouterr().out)


def test_what_no_knob_could_take_is_no_loss_but_an_error(path: str) -> None:
    barred = json.loads(Path(path).read_text())
    barred["rules"] = [{"rule": "barred", "names": ["Bass/level"], "knobs": ["K1"]}]
    Path(path).write_text(json.dumps(barred))
    assert main(["allocate", path, "--quiet"]) == 3


def test_the_exit_status_is_documented() -> None:
    assert "essential" in dict(EXIT_STATUSES)[ESSENTIAL_OUT]


def test_where_knobs_run_out_levels_are_joined_last() -> None:
    bass = Voice("Bass", (Destination("level", priority=1), Destination("drive", priority=3)))
    everything = Snapshot("all", ("Organ", "Bass"))
    request = Request(Surface.row(3), (ORGAN, bass), snapshots=(everything,))
    levels = ("Organ/level", "Bass/level")

    def shared(weight: int) -> set[tuple[str, ...]]:
        found = allocate_request(
            attrs.evolve(request, weights=Weights(essential=weight, company=0))
        )
        return {found.on(knob) for knob in found.used if len(found.on(knob)) > 1}

    # Of one kind, two voices cost 200 and not 300 as two kinds do.
    assert shared(0) == {levels}
    assert shared(Weights().essential).isdisjoint({levels})
    one = allocate_request(attrs.evolve(request, surface=Surface.row(1)))
    assert one.why_shared("K1").sharing.essential == 1_000
