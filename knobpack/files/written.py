"""Written: allocations and answers in plain form, for other programs; they are not read back."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import TYPE_CHECKING, Any, Final, TypeAlias

from knobpack.allocation import Allocation
from knobpack.errors import InputError
from knobpack.files.tags import write_tags
from knobpack.words.demand import Demand

if TYPE_CHECKING:
    from cattrs import Converter

    from knobpack.clash import Clash
    from knobpack.clash.every import EveryClash
    from knobpack.explanation.best_layouts import BestLayouts
    from knobpack.explanation.budget_answer import Budget
    from knobpack.explanation.here import Here
    from knobpack.explanation.least import LeastKnobs
    from knobpack.explanation.not_there import NotThere
    from knobpack.explanation.shared import Shared
    from knobpack.explanation.unplaced import Unplaced
    from knobpack.explanation.what_if import Difference
    from knobpack.explanation.whole import Explanation
    from knobpack.explanation.worth import Worths

    Answer: TypeAlias = (
        Here
        | NotThere
        | Shared
        | Unplaced
        | Budget
        | LeastKnobs
        | BestLayouts
        | Worths
        | Difference
        | Explanation
        | EveryClash
        | Clash
    )

VERSION: Final = 1
"""The version of the format that is written."""

KINDS: Final = ("allocation", "answer", "answers")
"""What a file can hold that is not read back."""


def allocation_to_plain(allocation: Allocation) -> dict[str, Any]:
    """An allocation in plain form, without its request. Defaults are not left out.

    It is for other programs to read; :func:`from_plain` does not.
    """
    plain = _converter().unstructure(allocation)
    return {"knobpack": "allocation", "version": VERSION, **plain}


def answer_to_plain(answer: Answer) -> dict[str, Any]:
    """An answer in plain form: which question it answers, its fields, and its sentences.

    An allocation in it stands there as in :func:`allocation_to_plain`. Defaults are not left out.

    Raises:
        InputError: it is no answer.
    """
    question = _questions().get(type(answer))
    if question is None:
        right = "give a Setup, Request, Layout or Allocation, or an answer about one"
        raise InputError("word", answer, right)
    return {
        "knobpack": "answer",
        "version": VERSION,
        "question": question,
        **_converter().unstructure(answer),
        "sentences": list(answer.sentences),
    }


def answers_to_plain(answers: Mapping[str, Answer]) -> dict[str, Any]:
    """Answers in plain form, in order, each with what was asked.

    Args:
        answers: each under what was asked, in words of the caller's own.

    Raises:
        InputError: one of them is no answer.
    """
    plain = [{"asked": asked, **answer_to_plain(each)} for asked, each in answers.items()]
    return {"knobpack": "answers", "version": VERSION, "answers": plain}


@cache
def _questions() -> Mapping[type, str]:
    """What each answer answers. Made on first use: who lays out need not load what explains."""
    from knobpack.clash import Clash
    from knobpack.clash.every import EveryClash
    from knobpack.explanation.best_layouts import BestLayouts
    from knobpack.explanation.budget_answer import Budget
    from knobpack.explanation.here import Here
    from knobpack.explanation.least import LeastKnobs
    from knobpack.explanation.not_there import NotThere
    from knobpack.explanation.shared import Shared
    from knobpack.explanation.unplaced import Unplaced
    from knobpack.explanation.what_if import Difference
    from knobpack.explanation.whole import Explanation
    from knobpack.explanation.worth import Worths

    return {
        Here: "why here",
        NotThere: "why not",
        Shared: "why shared",
        Unplaced: "why left out",
        Budget: "knob budget",
        LeastKnobs: "least knobs",
        BestLayouts: "ties",
        Worths: "worth",
        Difference: "what if",
        Explanation: "everything",
        EveryClash: "every clash",
        Clash: "clash",
    }


@cache
def _converter() -> Converter:
    """The converter of what is not read back: it leaves no default out, but of rules."""
    from cattrs import Converter
    from cattrs.gen import make_dict_unstructure_fn, override

    converter = Converter(unstruct_collection_overrides={tuple: list})
    write_tags(converter)
    whole = make_dict_unstructure_fn(Allocation, converter, request=override(omit=True))
    converter.register_unstructure_hook(Allocation, whole)
    converter.register_unstructure_hook(Demand, lambda demand: _demand(demand, converter))
    return converter


def _demand(demand: Demand, converter: Converter) -> dict[str, Any]:
    """A demand with its sentence: its subject is a name, a number, a route or a rule."""
    return {
        "kind": demand.kind,
        "subject": converter.unstructure(demand.subject),
        "price": demand.price,
        "sentence": str(demand),
    }
