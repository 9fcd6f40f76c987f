"""Answers as files: read back the same, and refused where they were altered."""

from __future__ import annotations

import copy
import gc
import json
import pickle
from collections.abc import Callable, Iterator
from importlib import import_module
from itertools import count
from pathlib import Path
from pkgutil import walk_packages
from typing import Any

import attrs
import networkx as nx
import pytest

import knobpack
from knobpack.errors import InputError
from knobpack.files import Answers, dumps, from_plain, load, loads, save, to_plain
from knobpack.files.answers import kinds
from knobpack.files.written import digest_of, value_to_plain
from knobpack.limits import Limits
from knobpack.reasons.answer_graph import Reasoned
from knobpack.text.shown import Told
from tests.files.answers import allocation, answers
from tests.files.test_allocations import at, leaves


def below(kind: type[object]) -> Iterator[type[object]]:
    """A class and all that are made of it."""
    yield kind
    for each in kind.__subclasses__():
        yield from below(each)


for module in walk_packages(knobpack.__path__, "knobpack."):
    if not module.name.endswith("__main__"):
        import_module(module.name)
gc.collect()  # attrs makes each class anew, with slots; what it was made of is none to be asked for
ANSWERS = {each for kind in (Told, Reasoned) for each in below(kind) if "question" in vars(each)}
QUESTIONS = sorted({vars(each)["question"] for each in ANSWERS})
"""Every question that something answers."""


@pytest.mark.parametrize("question", QUESTIONS)
def test_an_answer_is_read_back_the_same(question: str) -> None:
    answer = answers()[question]
    plain = to_plain(answer)
    assert plain["question"] == question
    assert all(plain["sentences"])
    # JSON has no NaN (RFC 8259 section 6).
    assert json.loads(dumps(answer), parse_constant=pytest.fail) == plain
    again = loads(dumps(answer))
    assert again == answer
    assert type(again) is type(answer)
    assert to_plain(again) == plain  # what is passed over in comparing, too
    if isinstance(answer, Reasoned):
        assert isinstance(again, Reasoned)
        assert nx.utils.graphs_equal(again.graph, answer.graph)
    elif question != "jumps":
        assert str(again) == str(answer)


def test_what_answers_a_question_is_offered_and_so_read_back() -> None:
    assert set(kinds()) >= set(QUESTIONS)
    assert {*kinds().values()} >= ANSWERS


def inside(value: Any, found: dict[type[Any], Any]) -> None:
    """One value of each kind that is offered, of all that a value holds."""
    for each in value if isinstance(value, tuple) else ():
        inside(each, found)
    if attrs.has(type(value)):
        if type(value) in kinds().values():
            found[type(value)] = value
        for field in attrs.fields(type(value)):
            inside(getattr(value, field.name), found)


def test_whatever_is_offered_is_read_back_by_itself_or_as_one_of_several() -> None:
    found: dict[type[Any], Any] = {}
    inside((*answers().values(), allocation().missed, allocation().joined), found)
    assert len(found) > 70
    for each in found.values():
        assert loads(dumps(each)) == each
    several = [*found.values()]
    session = {"all": several, "some": {"first": several[0], "rest": [several[1:3], {}]}}
    assert loads(dumps(session)) == session  # type: ignore[arg-type]


def test_every_question_is_asked() -> None:
    assert sorted(answers()) == sorted(QUESTIONS)


@pytest.mark.parametrize("question", QUESTIONS)
def test_an_answer_is_a_value_that_can_be_pickled(question: str) -> None:
    answer = answers()[question]
    assert pickle.loads(pickle.dumps(answer)) == answer  # noqa: S301 - our own


def test_what_holds_too_many_values_is_refused_before_all_are_made() -> None:
    class Endless(tuple[int, ...]):
        def __iter__(self) -> Iterator[int]:
            return count()

    with pytest.raises(InputError, match="at most 400,000 values; save less of it"):
        value_to_plain(Endless(), whole=True)


def test_the_arrays_of_a_sweep_are_lists_of_whole_numbers() -> None:
    plain = to_plain(answers()["sweep"])
    assert plain["master"] == list(range(128))
    assert all(type(each) is int for row in plain["positions"] for each in row)
    # K1 goes from 100 to 0, and what it drives makes less of that the further up K1 is.
    assert (plain["positions"][0][0], plain["positions"][0][-1]) == (100, 0)
    (received,) = plain["received"]
    assert -1000 < received[0] < -900
    assert received[-1] == 0


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
    assert all(type(each["price"]) is int for each in found.values())


def test_a_nested_allocation_is_as_it_is_alone() -> None:
    answer = answers()["what if"]
    assert to_plain(answer)["allocation"] == to_plain(answer.allocation)


def test_several_answers_are_read_back_in_order_with_what_was_asked(tmp_path: Path) -> None:
    every = {
        **answers(),
        "setup": answers()["edit"].setup,
        "found": answers()["what if"].allocation,
    }
    for several in ({f"№ {name}": every[name] for name in every}, [*every.values()], {}, [], ()):
        save(tmp_path / "answers.json", several)
        again: Any = load(tmp_path / "answers.json")
        assert again == several
        assert list(again) == list(several)
    assert from_plain(to_plain((every["why"], every["setup"]))) == [every["why"], every["setup"]]
    lost = Answers({"b": every["why"], "a": every["audit"]}, ("Pad/level",))
    assert loads(dumps(lost)) == lost


@pytest.mark.parametrize("question", sorted({*QUESTIONS} - {"show"}))
def test_nothing_in_an_answer_can_be_altered(question: str) -> None:
    plain = to_plain(answers()[question])
    paths = [*leaves(plain)]
    for path in paths[:: max(1, len(paths) // 20)]:
        wrong = copy.deepcopy(plain)
        value = at(wrong, path)
        at(wrong, path[:-1])[path[-1]] = value + 1 if type(value) is int else f"{value}x"
        with pytest.raises(InputError):
            from_plain(wrong)


@pytest.mark.parametrize(
    ("question", "change", "field", "right"),
    [
        ("why", lambda it: it.update(knob=3), "knob", "give text"),
        ("why", lambda it: it.update(missed=True), "missed", "whole number"),
        ("why", lambda it: it.pop("pins"), "pins", "must be there"),
        ("why", lambda it: it.update(pin=[]), "pin", "close to it: pins"),
        ("why", lambda it: it["travel"].update(end=-1), "travel.end", "0"),
        ("why", lambda it: it.update(question="who"), "question", "as it was saved"),
        ("why", lambda it: it.update(definition=1), "definition", "ask anew"),
        ("why", lambda it: it.update(version=2), "version", "can be read are: 1"),
        ("clash", lambda it: it["demands"][0].update(subject=[1]), "demands[0].subject", "kind"),
        ("clash", lambda it: it["demands"][0].update(kind="x"), "demands[0].kind", "'place'"),
        ("sweep", lambda it: it["positions"][0].pop(), "positions", "of one length"),
        (
            "what if",
            lambda it: it["allocation"]["tiers"][3].update(value=1),
            "allocation.tiers[3].value",
            "the checker finds",
        ),
        (
            "show difference",
            lambda it: it["allocation"]["songs"][0]["routes"].pop(),
            "allocation.songs",
            "",
        ),
        ("edit", lambda it: it["setup"]["surface"].update(bits=99), "setup.surface.bits", "32"),
        ("explain", lambda it: it["allocation"]["routes"].pop(), "allocation.routes", "demand"),
    ],
)
def test_what_is_false_is_named_by_whoever_it_was_written(
    question: str, change: Callable[[Any], object], field: str, right: str, tmp_path: Path
) -> None:
    wrong = to_plain(answers()[question])
    change(wrong)
    wrong["digest"] = digest_of(wrong)
    with pytest.raises(InputError) as refused:
        from_plain(wrong)
    assert refused.value.field == field
    assert right in refused.value.right
    (tmp_path / "wrong.json").write_text(json.dumps({**to_plain([]), "answers": {"one": wrong}}))
    with pytest.raises(InputError) as told:
        load(tmp_path / "wrong.json")
    assert told.value.field == f"answers['one'].{field}"
    assert told.value.file == str(tmp_path / "wrong.json")


NONE = r"an answer about one|give a Jump"


@pytest.mark.parametrize(
    "wrong",
    [None, 3, Limits(), {"asked": Limits()}, [Limits()], {"asked": [None]}, (Limits(),)],
)
def test_what_is_no_answer_is_refused(wrong: Any, tmp_path: Path) -> None:
    with pytest.raises(InputError, match=NONE):
        to_plain(wrong)
    with pytest.raises(InputError, match=NONE):
        save(tmp_path / "wrong.json", wrong)
    assert list(tmp_path.iterdir()) == []


@pytest.mark.parametrize("name", [1, None])
def test_a_name_is_text(name: Any) -> None:
    with pytest.raises(InputError, match="under a name, as text"):
        to_plain({name: allocation(), "1": allocation()})
