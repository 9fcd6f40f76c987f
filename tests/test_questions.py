"""Every question and its answer are named wherever they are to be found.

A new one fails here until it is: what is to be done for it is in DEVELOPERS.md.
"""

from __future__ import annotations

import copy
import pickle
import random
import re
from pathlib import Path
from typing import get_args, get_type_hints

import pytest

from knobpack import (
    Destination,
    OutOfUse,
    Route,
    Setup,
    Surface,
    Voice,
    combine,
    edit,
    questions,
)
from knobpack.command.verbs import QUESTIONS
from knobpack.reasons.answer_graph import Reasoned
from tests.explanation.test_reasons import allocations, every_answer
from tests.test_wrong_kinds import BOUND

README = (Path(__file__).parents[1] / "README.md").read_text("utf-8")
NAMES = {name for _, name in BOUND}


def test_every_question_is_a_function_too() -> None:
    assert set(questions.__all__) >= NAMES


def test_the_readme_has_every_question_and_its_words_at_the_terminal() -> None:
    told = README.partition("\n## Why?")[2].partition("\n## ")[0]
    named = set(re.findall(r"[`. ]([\w-]+)(?=[ `(])", " ".join(re.findall(r"`[^`\n]+`", told))))
    assert named >= NAMES
    words = {each.name for each in QUESTIONS}
    assert words - named <= {name.replace("_", "-") for name in NAMES}
    # But for why, which tells of what is left out too, and is shorter.
    assert {name.replace("_", "-") for name in NAMES} - words == {"why-unplaced"}


def test_the_readme_tells_what_each_answer_holds() -> None:
    told = README.partition("| the answer holds |")[2].partition("\n\n")[0]
    rows = re.findall(r"^\|[^|]*\| `\w+\.(\w+)\([^|]*\| (.*) \|$", told, re.MULTILINE)
    assert {name for name, _ in rows} | {"explain"} == NAMES
    parts = {"knob_budget": questions.Entry, "price_of_demands": questions.DemandPrice}
    for name, holds in rows:
        made = get_type_hints(getattr(questions, name))["return"]
        kinds = {*(get_args(made) or (made,)), parts.get(name)}
        for field in {*re.findall("`([a-z_]+)`", holds)} - NAMES:
            assert any(hasattr(kind, field) for kind in kinds), (name, field)


def test_what_is_asked_of_something_else_is_told_where() -> None:
    organ = Voice("Organ", [Destination("level")])
    setup = Setup("Set", Surface.row(2), [organ], routes=[Route("Organ/level", "K1")])
    combined = combine(setup)
    for asked in (setup, combined, combined.request, edit(setup, OutOfUse("K1"))):
        for name in NAMES - {"least_knobs", "every_clash"}:
            with pytest.raises(AttributeError, match=f"no attribute '{name}'; .* an Allocation"):
                getattr(asked, name)
        assert not hasattr(asked, "whyy")
        assert pickle.loads(pickle.dumps(asked)) == copy.deepcopy(asked) == asked  # noqa: S301
    for request_alone in ("least_knobs", "every_clash"):
        with pytest.raises(AttributeError, match="asked of the request of an Allocation"):
            getattr(combined.allocation, request_alone)
    for about, name, holder in (
        (combined.allocation, "surface", "request"),
        (combined, "routes", "setup"),
        (edit(setup, OutOfUse("K1")), "tiers", "allocation"),
    ):
        with pytest.raises(AttributeError, match=f"no attribute '{name}'; its {holder} has it"):
            getattr(about, name)


def test_what_is_asked_to_be_read_back_is_every_answer_about_a_layout() -> None:
    draw = random.Random(4)  # noqa: S311 (no secret)
    named = (getattr(questions, name) for name in questions.__all__)
    offered = {each for each in named if isinstance(each, type) and hasattr(each, "question")}
    found = {type(answer) for each in allocations() for answer in every_answer(each, draw)}
    assert {each for each in offered if issubclass(each, Reasoned)} <= found
    assert len(found) > 10
