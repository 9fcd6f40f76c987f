"""Answers as files: whole, the same as the values, and never read back."""

from __future__ import annotations

import json
import pickle
from collections.abc import Callable
from pathlib import Path
from typing import Any

import attrs
import pytest

from knobpack.errors import InputError
from knobpack.files import dumps, from_plain, load, loads, save, to_plain
from knobpack.words import Travel
from tests.files.answers import allocation, answers, differences

QUESTIONS = (
    *("why here", "why not", "why shared", "why left out", "knob budget", "least knobs", "ties"),
    *("worth", "what if", "everything", "every clash", "clash"),
)


def body(plain: dict[str, Any]) -> dict[str, Any]:
    """The fields alone."""
    known = ("knobpack", "version", "question", "sentences")
    return {key: value for key, value in plain.items() if key not in known}


@pytest.mark.parametrize("question", QUESTIONS)
def test_an_answer_is_written_whole(question: str) -> None:
    answer = answers()[question]
    plain = to_plain(answer)
    assert list(plain)[:3] == ["knobpack", "version", "question"]
    assert list(plain)[-1] == "sentences"
    assert (plain["knobpack"], plain["version"], plain["question"]) == ("answer", 1, question)
    assert all(plain["sentences"])
    assert tuple(plain["sentences"]) == answer.sentences
    # As text a clash is one line: what an exception says.
    assert question == "clash" or "\n".join(plain["sentences"]) == str(answer)
    assert differences(answer, body(plain)) == []
    assert json.loads(dumps(answer)) == plain
    # JSON has no NaN (RFC 8259 section 6), and an answer holds whole numbers alone.
    json.loads(dumps(answer), parse_float=pytest.fail, parse_constant=pytest.fail)


def test_every_question_is_asked() -> None:
    assert tuple(answers()) == QUESTIONS


@pytest.mark.parametrize("question", QUESTIONS)
def test_an_answer_is_a_value_that_can_be_pickled(question: str) -> None:
    answer = answers()[question]
    assert pickle.loads(pickle.dumps(answer)) == answer  # noqa: S301 - our own


def test_what_is_written_wrongly_is_found() -> None:
    answer = answers()["why not"]
    for field, value in (("destination", "Bass/cutoff"), ("unit", ()), ("best", None)):
        wrong = attrs.evolve(answer, **{field: value})
        assert differences(wrong, body(to_plain(answer))) != []
    plain = body(to_plain(answer))
    assert differences(answer, plain | {"more": 1}) != []
    assert differences(answer, plain | {"unit": tuple(plain["unit"])}) != []


def test_demands_can_be_read_by_people_and_programs() -> None:
    found = {each["kind"]: each for each in to_plain(answers()["clash"])["demands"]}
    assert found["keep"]["subject"] == {"destination": "Pad №1/level", "knob": "K2"}
    assert found["rule"]["subject"] == {"rule": "fixed", "names": ["Bass/cutoff"], "knob": "K1"}
    assert found["reserved"]["subject"] == "K3"
    assert found["destinations per knob"]["subject"] == 2
    assert found["reserved"]["sentence"] == "K3 takes no new route"
    assert all(type(each["price"]) is int for each in found.values())


def test_a_nested_allocation_is_as_it_is_alone_but_for_its_head() -> None:
    answer = answers()["what if"]
    alone = to_plain(answer.allocation)
    assert "request" not in alone
    nested = to_plain(answer)["allocation"]
    assert {"knobpack": "allocation", "version": 1, **nested} == alone


def test_several_answers_are_written_in_order_with_what_was_asked(tmp_path: Path) -> None:
    asked = {"second": answers()["ties"], "first": answers()["why here"]}
    save(asked, tmp_path / "answers.json")
    found = json.loads((tmp_path / "answers.json").read_text("utf-8"))
    assert found == to_plain(asked)
    assert (found["knobpack"], found["version"]) == ("answers", 1)
    assert [each.pop("asked") for each in found["answers"]] == ["second", "first"]
    assert found["answers"] == [to_plain(each) for each in asked.values()]
    assert to_plain({}) == {"knobpack": "answers", "version": 1, "answers": []}


WRITTEN: tuple[tuple[Callable[[], Any], str], ...] = (
    (allocation, "an allocation is not read back"),
    (lambda: answers()["worth"], "an answer is not read back"),
    (lambda: {"one": answers()["worth"]}, "answers are not read back"),
)


@pytest.mark.parametrize(("made", "right"), WRITTEN)
def test_what_is_written_for_others_is_not_read_back(
    made: Callable[[], Any], right: str, tmp_path: Path
) -> None:
    save(made(), tmp_path / "made.json")
    with pytest.raises(InputError, match=right) as caught:
        load(tmp_path / "made.json")
    assert caught.value.field == "knobpack"
    with pytest.raises(InputError, match=right):
        loads(dumps(made()))
    with pytest.raises(InputError, match=right):
        from_plain(to_plain(made()))


@pytest.mark.parametrize(
    "wrong", [None, "text", Travel(0, 1), {"asked": Travel(0, 1)}, [], {"asked": None}]
)
def test_what_is_no_answer_is_refused(wrong: Any, tmp_path: Path) -> None:
    with pytest.raises(InputError, match="an answer about one"):
        to_plain(wrong)
    with pytest.raises(InputError, match="an answer about one"):
        save(wrong, tmp_path / "wrong.json")
    assert list(tmp_path.iterdir()) == []


def test_an_allocation_is_an_answer_to_no_question() -> None:
    with pytest.raises(InputError, match="an answer about one"):
        to_plain({"asked": allocation()})  # type: ignore[dict-item]
