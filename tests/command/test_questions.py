"""Questions on the command line: each is answered as the library answers it."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from functools import partial
from pathlib import Path
from typing import Any

import pytest

from knobpack.allocation import Allocation
from knobpack.command.main import main
from knobpack.command.verbs import QUESTIONS
from knobpack.explanation.best_layouts import best_layouts
from knobpack.explanation.budget import knob_budget
from knobpack.explanation.not_there import why_not
from knobpack.explanation.shared import why_shared
from knobpack.explanation.what_if import what_if
from knobpack.explanation.whole import explain
from knobpack.files import load
from knobpack.words import Request
from knobpack.words.edits import (
    only,
    with_knobs,
    without_knob,
    without_rule,
    without_snapshot,
    without_voice,
)
from tests.present.read_answers import DEMO, fits, joined, solved, told


def changed(request: Request) -> Callable[[Allocation], Any]:
    return lambda made: what_if(made, request)


def plainly(word: str, made: Allocation) -> Any:
    """The answer to a question about nothing in particular."""
    about = made.request if hasattr(made.request, method := word.replace("-", "_")) else made
    return getattr(about, method)()


ELSEWHERE = {"what-if", "explain", "every-clash"}
"""These have tests of their own."""

ASKED: list[tuple[list[str], str, Callable[[Allocation], Any]]] = [
    (["why", "Strings/level"], "WHY  Strings/level", lambda a: a.why("Strings/level")),
    (
        ["why-not", "Strings/level", "K4"],
        "WHY NOT  Strings/level on K4",
        lambda a: why_not(a, "Strings/level", "K4", solve=False),
    ),
    (
        ["why-not", "Strings/level", "K4", "--solve"],
        "WHY NOT  Strings/level on K4",
        lambda a: why_not(a, "Strings/level", "K4"),
    ),
    (["why-shared", "K7"], "WHY SHARED  K7", lambda a: why_shared(a, "K7", solve=False)),
    (["--solve", "why-shared", "K7"], "WHY SHARED  K7", lambda a: why_shared(a, "K7")),
    (["knob-budget"], "KNOB BUDGET", knob_budget),
    (["best-layouts", "--solve"], "BEST LAYOUTS", lambda a: best_layouts(a, places=True)),
    (["without", "K3"], "WHAT IF  without the knob K3", changed(without_knob(DEMO, "K3"))),
    (
        ["without", "1"],
        "WHAT IF  without the rule apart(Oboe/level; Strings/level)",
        changed(without_rule(DEMO, DEMO.rules[0])),
    ),
    (
        ["without", str(DEMO.rules[2])],
        "WHAT IF  without the rule alone(Oboe/level), weight 250",
        changed(without_rule(DEMO, DEMO.rules[2])),
    ),
    (
        ["without", "Top alone"],
        "WHAT IF  without the snapshot Top alone",
        changed(without_snapshot(DEMO, "Top alone")),
    ),
    (["without", "Oboe"], "WHAT IF  without the voice Oboe", changed(without_voice(DEMO, "Oboe"))),
    (
        ["without", "Organ/reverb"],
        "WHAT IF  without Organ/reverb",
        changed(only(DEMO, [name for name in DEMO.by_full_name if name != "Organ/reverb"])),
    ),
    (["more-knobs", "2"], "WHAT IF  2 more knobs", changed(with_knobs(DEMO, 2))),
    (["more-knobs", "1"], "WHAT IF  1 more knob", changed(with_knobs(DEMO, 1))),
    *(
        ([each.name], each.name.replace("-", " ").upper(), partial(plainly, each.name))
        for each in QUESTIONS
        if not each.values and each.name not in ELSEWHERE
    ),
]


@pytest.mark.usefixtures("once")
@pytest.mark.parametrize(
    ("arguments", "heading", "answer"),
    ASKED,
    ids=lambda each: "" if callable(each) else str(each)[:40],
)
def test_a_question_about_the_demo_is_answered(
    arguments: list[str],
    heading: str,
    answer: Callable[[Allocation], Any],
    demo: str,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
) -> None:
    target = tmp_path / "answers.json"
    assert main(["ask", demo, *arguments, "--json", str(target)]) == 0
    out, err = capsys.readouterr()
    expected = answer(solved(DEMO))
    assert told(out) == {joined([heading]): joined(expected.sentences)}
    assert out.endswith("\n")
    assert out.isascii()
    assert fits(out)
    assert err == f"All that is told is in {target}.\n"
    asked = " ".join(each for each in arguments if not each.startswith("--"))
    assert load(target) == {asked: expected}


def test_every_question_is_asked_about_the_demo() -> None:
    asked = {each for arguments, _, _ in ASKED for each in arguments}
    assert {each.name for each in QUESTIONS} - asked == ELSEWHERE


def test_a_question_is_answered_without_help_from_the_tests(
    demo: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["ask", demo, "why", "Strings/level", "--effort", "9"]) == 0
    assert joined(solved(DEMO).why("Strings/level").sentences) in joined(
        capsys.readouterr().out.split("\n")
    )


@pytest.mark.usefixtures("once")
def test_everything_about_the_demo(
    demo: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["ask", demo, "explain"]) == 0
    plain = capsys.readouterr().out
    whole = explain(solved(DEMO))
    parts = told(plain)
    assert list(parts)[:2] == ["KNOB BUDGET", "LEAST KNOBS"]
    assert joined(tuple(parts.values())) == joined(whole.sentences)
    assert fits(plain)
    assert [f"WHY {name}" for name in DEMO.by_full_name] == [
        heading for heading in parts if re.match(r"WHY (?!SHARED)", heading)
    ]
    shared = [each.knob for each in whole.shared]
    assert [h for h in parts if "SHARED" in h] == [f"WHY SHARED {knob}" for knob in shared]
    target = tmp_path / "answers.json"
    assert main(["ask", demo, "explain", "--solve", "--json", str(target)]) == 0
    solved_again = explain(solved(DEMO), solve=True)
    assert load(target) == {"explain": solved_again}
    parts = told(capsys.readouterr().out)
    assert list(parts)[:4] == [
        "KNOB BUDGET",
        "LEAST KNOBS",
        "PRICE OF DEMANDS",
        "BEST LAYOUTS",
    ]
    assert joined(tuple(parts.values())) == joined(solved_again.sentences)


@pytest.mark.usefixtures("once")
def test_answers_stand_in_the_order_of_the_questions(
    demo: str, capsys: pytest.CaptureFixture[str]
) -> None:
    asked = [
        "without",
        "K3",
        "then",
        "best-layouts",
        "then",
        "why",
        "Strings/level",
        "then",
        "best-layouts",
        "then",
        "without",
        "K4",
    ]
    assert main(["ask", demo, *asked, "then", "least-knobs"]) == 0
    out = capsys.readouterr().out
    assert list(told(out)) == [
        *("WHAT IF without the knob K3", "BEST LAYOUTS", "WHY Strings/level"),
        *("WHAT IF without the knob K4", "LEAST KNOBS"),
    ]
    assert "\nLAYOUT" not in out
    # One line is left free between them.
    assert [at for at, line in enumerate(out.split("\n")) if not line][:-1] == [
        at - 1 for at, line in enumerate(out.split("\n")) if line[:1].isupper() and at
    ]


@pytest.mark.usefixtures("once")
def test_a_time_limit_stops_questions_too_and_that_is_said(
    demo: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["ask", demo, "price-of-demands", "--time-limit", "0", "--json", "-"]) == 0
    (found,) = json.loads(capsys.readouterr().out)["answers"].values()
    assert found["stopped"] == "time limit"
    assert any("stopped (time limit)" in sentence for sentence in found["sentences"])
