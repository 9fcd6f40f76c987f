"""Written: allocations and answers in plain form. Answers are for others; they are not read back.

What was worked out about setups is an answer too: an audit, a combination, a sweep, jumps, a patch
sheet, controller numbers. Positions are whole numbers; only what a destination receives, and the
share by which it jumps, may have a fraction.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, Final

import attrs

from knobpack.allocation import Allocation
from knobpack.errors import InputError
from knobpack.files.stored import head, value_to_plain
from knobpack.text.shown import Fielded
from knobpack.words.fields import check_kind

if TYPE_CHECKING:
    from knobpack.simulation import Jump
    from knobpack.types import Written

_RIGHT: Final = (
    "give a Setup, Request, Layout, Allocation or Show, an answer about one, or answers in a list "
    "or in a dict, each under what was asked"
)


DEFINITION: Final = 2
"""Goes up when a layout comes to cost something else: 2 since what misses a travel, and what is
found elsewhere in a show, doubles with each step of importance, and since in an edit of a layout in
use a knob that gets something new may take another travel for it (:data:`OTHERWISE_IN_USE`)."""

OTHERWISE_IN_USE: Final = "change"
"""The tier that counts by another rule in an edit of a layout in use since: of a file from before,
nothing is proven from it on, though its value may be the same."""


def allocation_to_plain(allocation: Allocation) -> dict[str, Any]:
    """An allocation in plain form, its request last. Defaults are not left out but of that.

    What is essential and left out stands first.

    Args:
        allocation: what :func:`knobpack.allocate` gave back.

    Returns:
        A new dict.

    Raises:
        InputError: it is no Allocation.
    """
    check_kind("allocation_to_plain.allocation", allocation, Allocation)
    last = {"definition": DEFINITION, "request": _plain(allocation.request)}
    return {**head("allocation"), **_plain(allocation), **last}


_ASKED = {"sweep": "asked_to_move", "show difference": "otherwise"}
"""What the field ``asked`` of an answer is called, by its question."""


def answer_to_plain(answer: Written) -> dict[str, Any]:
    """An answer in plain form: which ``question`` its class answers, its fields, its sentences.

    An allocation in it stands there as in a file, without its request; a setup or request as in a
    file of its own. Defaults are not left out but in those. Jumps stand in a list called ``jumps``.

    Args:
        answer: an answer, or a tuple of jumps.

    Returns:
        A new dict.

    Raises:
        InputError: it is no answer.
    """
    from knobpack.combination.answer import Combination

    if isinstance(answer, tuple):
        return _jumps_to_plain(answer)
    question = getattr(type(answer), "question", None)
    if not isinstance(question, str):
        raise InputError("word", answer, _RIGHT)
    body = _plain(answer)
    if "asked" in body:  # among answers that is what they answer
        body = {(_ASKED[question] if key == "asked" else key): body[key] for key in body}
    if isinstance(answer, Combination):  # snapshots that came to nothing are not in the result
        body["allocation"]["following"] = _plain(answer.following)
    return _answer(question, body, answer.sentences)


def _jumps_to_plain(jumps: tuple[Jump, ...]) -> dict[str, Any]:
    from knobpack.simulation import Jump, jump_sentences

    for each in jumps:
        if not isinstance(each, Jump):
            raise InputError("word", jumps, _RIGHT)
    return _answer("jumps", {"jumps": _plain(jumps)}, jump_sentences(jumps))


def _answer(question: str, body: dict[str, Any], sentences: Sequence[str]) -> dict[str, Any]:
    return {**head("answer"), "question": question, **body, "sentences": list(sentences)}


@attrs.frozen
class Answers(Fielded):
    """Answers about one layout that leaves out what is essential.

    Args:
        answers: each under what was asked, in words of the caller's own.
        essential_out: the full names of what is essential and left out.
    """

    answers: Mapping[str, Written]
    essential_out: tuple[str, ...]


def answers_to_plain(
    answers: Mapping[str, Written] | Sequence[Written] | Answers,
) -> dict[str, Any]:
    """Answers in plain form, in order, each with what was asked.

    Args:
        answers: each under what was asked, in words of the caller's own; or in a list, and what
            was asked is the ``question`` of each. If they are about a layout that leaves out
            what is essential, that stands first.

    Returns:
        A new dict.

    Raises:
        InputError: one of them is no answer, or they do not stand under what was asked.
    """
    first = head("answers")
    if isinstance(answers, Answers):
        first["essential_out"] = list(answers.essential_out)
        answers = answers.answers
    if not isinstance(answers, Mapping | list):
        right = "give answers, in a list or each under what was asked"
        raise InputError("answers_to_plain.answers", answers, right)
    named = answers.items() if isinstance(answers, Mapping) else ((None, each) for each in answers)
    plain = []
    for at, (asked, each) in enumerate(named):
        try:
            made = answer_to_plain(each)
        except InputError as error:
            where = f"answers[{at if asked is None else asked!r}]"
            raise InputError(where, error.value, _RIGHT) from None
        plain.append({"asked": made["question"] if asked is None else asked, **made})
    return {**first, "answers": plain}


def _plain(value: object) -> Any:
    return value_to_plain(value, whole=True)
