"""Answers as files: whole, and the same as the values; none but a show laid out is read back."""

from __future__ import annotations

import json
import pickle
from collections.abc import Callable, Iterator
from importlib import import_module
from pathlib import Path
from pkgutil import walk_packages
from typing import Any

import attrs
import pytest

import knobpack
from knobpack.errors import FileError, InputError
from knobpack.files import dumps, from_plain, load, loads, save, to_plain
from knobpack.files.written import answer_to_plain
from knobpack.reasons.answer_graph import Reasoned
from knobpack.simulation import jump_sentences
from knobpack.text.shown import Told
from knobpack.words import Travel
from tests.files.answers import allocation, answers, differences


def below(kind: type[object]) -> Iterator[type[object]]:
    """A class and all that are made of it."""
    yield kind
    for each in kind.__subclasses__():
        yield from below(each)


for module in walk_packages(knobpack.__path__, "knobpack."):
    if not module.name.endswith("__main__"):
        import_module(module.name)
ANSWERS = {each for kind in (Told, Reasoned) for each in below(kind) if "question" in vars(each)}
QUESTIONS = (*sorted({vars(each)["question"] for each in ANSWERS}), "jumps")
"""Every question that something answers."""

FRACTIONS = {"received", "from_received", "to_received", "share"}
"""All that may have one: what a destination receives, and how far it jumps."""


def body(plain: dict[str, Any]) -> dict[str, Any]:
    """The fields alone."""
    known = ("knobpack", "version", "question", "sentences")
    # Among answers ``asked`` is what they answer.
    own = {"otherwise": "asked"} if plain["question"] == "show difference" else {}
    return {own.get(key, key): value for key, value in plain.items() if key not in known}


def fractions(plain: Any, key: str = "") -> set[str]:
    """The keys of all that is no whole number."""
    if isinstance(plain, dict):
        return {each for name, value in plain.items() for each in fractions(value, name)}
    if isinstance(plain, list):
        return {each for value in plain for each in fractions(value, key)}
    return {key} if isinstance(plain, float) else set()


@pytest.mark.parametrize("question", QUESTIONS)
def test_an_answer_is_written_whole(question: str) -> None:
    answer = answers()[question]
    plain = to_plain(answer)
    assert list(plain)[:3] == ["knobpack", "version", "question"]
    assert list(plain)[-1] == "sentences"
    kind = "show_allocation" if question == "show" else "answer"  # that one is read back
    assert (plain["knobpack"], plain["version"], plain["question"]) == (kind, 1, question)
    assert all(plain["sentences"])
    told = jump_sentences(answer) if question == "jumps" else answer.sentences
    assert tuple(plain["sentences"]) == told
    # As text a clash is one line, what an exception says; a sheet is laid out.
    one_by_one = question not in {"clash", "patch sheet", "jumps"}
    assert not one_by_one or "\n".join(plain["sentences"]) == str(answer)
    held = body(answer_to_plain(answer))
    held = held["jumps"] if question == "jumps" else held
    assert differences(answer, held) == []
    assert json.loads(dumps(answer)) == plain
    # JSON has no NaN (RFC 8259 section 6).
    json.loads(dumps(answer), parse_constant=pytest.fail)
    assert fractions(plain) <= FRACTIONS
    assert bool(fractions(plain)) == (question in {"sweep", "jumps"})


def test_every_question_is_asked() -> None:
    assert sorted(answers()) == sorted(QUESTIONS)


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


def test_the_arrays_of_a_sweep_are_lists_of_whole_numbers() -> None:
    plain = to_plain(answers()["sweep"])
    assert plain["master"] == list(range(128))
    assert all(type(each) is int for row in plain["positions"] for each in row)
    # K1 goes from 100 to 0, and what it drives makes less of that the further up K1 is.
    assert (plain["positions"][0][0], plain["positions"][0][-1]) == (100, 0)
    (received,) = plain["received"]
    assert -1000 < received[0] < -900
    assert received[-1] == 0


def test_what_is_asked_is_not_lost_among_the_fields() -> None:
    named = {str(number): answer for number, answer in enumerate(answers().values())}
    plain = to_plain(named)["answers"]
    assert [each["asked"] for each in plain] == list(named)
    assert [each["question"] for each in plain] == list(answers())


def test_a_setup_in_an_answer_can_be_cut_out_and_read() -> None:
    combination = answers()["combination"]
    plain = to_plain(combination)
    assert from_plain(plain["setup"]) == combination.setup
    assert from_plain(plain["request"]) == combination.request
    sheet = to_plain(answers()["patch sheet"])
    assert from_plain(sheet["after"]) == combination.setup
    whats = {step["what"]: step["after"] for step in sheet["steps"]}
    assert set(whats["travel"]) == {"start", "end"}
    assert isinstance(whats["route"], str)
    assert whats["voice"]["name"]


def test_no_jumps_are_an_answer_too() -> None:
    head = {"knobpack": "answer", "version": 1, "question": "jumps"}
    assert to_plain(()) == head | {"jumps": [], "sentences": []}


def test_demands_can_be_read_by_people_and_programs() -> None:
    found = {each["kind"]: each for each in to_plain(answers()["clash"])["demands"]}
    assert found["keep"]["subject"] == {
        "destination": "Pad №1/level",
        "knob": "K2",
        "travel": None,
    }
    assert found["rule"]["subject"] == {"rule": "fixed", "names": ["Bass/cutoff"], "knob": "K1"}
    assert found["reserved"]["subject"] == "K3"
    assert found["destinations per knob"]["subject"] == 2
    assert found["reserved"]["sentence"] == "K3 takes no new route"
    assert all(type(each["price"]) is int for each in found.values())


def test_a_nested_allocation_is_as_it_is_alone_but_for_its_head() -> None:
    answer = answers()["what if"]
    alone = to_plain(answer.allocation)
    assert alone["request"] == to_plain(answer.allocation.request)
    nested = to_plain(answer)["allocation"]
    del alone["request"], alone["definition"]
    assert {"knobpack": "allocation", "version": 1, **nested} == alone


def test_several_answers_are_written_in_order_with_what_was_asked(tmp_path: Path) -> None:
    asked = {"second": answers()["best layouts"], "first": answers()["why"]}
    save(tmp_path / "answers.json", asked)
    found = json.loads((tmp_path / "answers.json").read_text("utf-8"))
    assert found == to_plain(asked)
    assert (found["knobpack"], found["version"]) == ("answers", 1)
    assert [each.pop("asked") for each in found["answers"]] == ["second", "first"]
    assert found["answers"] == [to_plain(each) for each in asked.values()]
    twice = [asked["first"], asked["first"]]
    in_a_row = to_plain(twice)["answers"]
    assert in_a_row == [{"asked": "why", **to_plain(each)} for each in twice]
    assert to_plain([]) == to_plain({}) == {"knobpack": "answers", "version": 1, "answers": []}


WRITTEN: tuple[tuple[Callable[[], Any], str], ...] = (
    (lambda: answers()["price of demands"], "an answer is not read back"),
    (lambda: {"one": answers()["price of demands"]}, "answers are not read back"),
    (lambda: [answers()["price of demands"]], "answers are not read back"),
)


@pytest.mark.parametrize(("made", "right"), WRITTEN)
def test_what_is_written_for_others_is_not_read_back(
    made: Callable[[], Any], right: str, tmp_path: Path
) -> None:
    save(tmp_path / "made.json", made())
    with pytest.raises(FileError, match=right) as told:
        load(tmp_path / "made.json")
    assert (told.value.field, told.value.file) == (str(tmp_path / "made.json"), None)
    assert told.value.strerror.startswith("holds an")
    with pytest.raises(InputError, match=right) as caught:
        loads(dumps(made()))
    assert caught.value.field == "knobpack"
    with pytest.raises(InputError, match=right):
        from_plain(to_plain(made()))


@pytest.mark.parametrize(
    "wrong",
    [None, Travel(0, 1), {"asked": Travel(0, 1)}, [Travel(0, 1)], {"asked": None}, (Travel(0, 1),)],
)
def test_what_is_no_answer_is_refused(wrong: Any, tmp_path: Path) -> None:
    with pytest.raises(InputError, match="an answer about one"):
        to_plain(wrong)
    with pytest.raises(InputError, match="an answer about one"):
        save(tmp_path / "wrong.json", wrong)
    assert list(tmp_path.iterdir()) == []


def test_an_allocation_is_an_answer_to_no_question() -> None:
    with pytest.raises(InputError, match="an answer about one"):
        to_plain({"asked": allocation()})  # type: ignore[dict-item]
