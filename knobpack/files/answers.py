"""Answers read back: by the types of their own fields, whichever question they answer.

What is laid out in one is checked by the plain checker, and words refuse what they cannot hold. Of
the rest no checker could find again what a search found: it is taken as it stands, once the digest
says that nothing was altered since it was written.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from importlib import import_module
from typing import Any, ClassVar, Final

import attrs

from knobpack.errors import InputError
from knobpack.file_shapes import check_shape
from knobpack.files.forms import defined, form_of
from knobpack.files.stored import head
from knobpack.files.written import DEFINITION, Answers, digest_of, question_of
from knobpack.simulation import Jump, jump_sentences
from knobpack.text.shown import Told
from knobpack.words import fields

_ROOMS: Final = (
    "questions auditing combination edits sheets show simulation midi allocation checker limits "
    "many positions words types"
)
"""The modules that offer values."""

_UNREAD: Final = "Limits", "Reply", "RuleEffect", "SweepFile"
"""Those that hold functions, errors or bytes."""

_TOLD: Final = (*head("answer"), "definition", "digest", "question", "sentences")
"""What is written beside the fields."""


@attrs.frozen
class Jumps(Told):
    """Jumps as one answer.

    Args:
        jumps: they.
    """

    question: ClassVar[str] = "jumps"

    jumps: tuple[Jump, ...] = attrs.field(validator=fields.several(Jump))

    @property
    def sentences(self) -> tuple[str, ...]:
        """They, in sentences."""
        return tuple(jump_sentences(self.jumps))


@cache
def kinds() -> Mapping[str, type[Any]]:
    """What answers each question, of all that is offered, and what else has values."""
    offered = (import_module(f"knobpack.{room}") for room in _ROOMS.split())
    values = (getattr(module, name) for module in offered for name in module.__all__)
    classes = (each for each in (Jumps, *values) if isinstance(each, type) and attrs.has(each))
    return {question_of(each): each for each in classes if each.__name__ not in _UNREAD}


def sealed_of_plain(data: Mapping[str, Any]) -> Any:
    """The answer, the answers or the graph that a file holds.

    Args:
        data: what stands in the file, in the shape that the schema says.

    Raises:
        InputError: a value will not do, something was altered, or it was worked out when something
            cost otherwise.
    """
    # What stands beside others says for itself what it rests on.
    if data["knobpack"] != "answers" and data["definition"] != DEFINITION:
        right = f"it rests on what costs how much, of which {DEFINITION} is known; ask anew"
        raise InputError("definition", data["definition"], right)
    made = _READ[data["knobpack"]](data)
    if data["digest"] != digest_of(data):
        raise InputError("digest", data["digest"], "something was altered since; ask anew")
    return made


def _graph(data: Mapping[str, Any]) -> Any:
    import networkx as nx

    try:
        return nx.node_link_graph({**data}, edges="edges")
    except (LookupError, TypeError, nx.NetworkXException) as error:
        raise InputError("edges", data["edges"], f"give node-link data: {error}") from None


def _answer(data: Mapping[str, Any]) -> Any:
    right = "say what this is, as it was saved"
    kind: Any = kinds()[fields.check_named("question", data["question"], kinds(), right)]
    form = form_of(kind)
    body = {key: each for key, each in data.items() if key not in _TOLD}
    check_shape(body, form.schema({}), defined(form))
    try:
        made = form.read(body)
    except InputError as error:
        raise error.under("") from None
    return made.jumps if isinstance(made, Jumps) else made


def _answers(data: Mapping[str, Any]) -> Any:
    from knobpack.files.plain import from_plain

    given, made = data["answers"], list[Any]()
    named = given.items() if isinstance(given, dict) else enumerate(given)
    for place, each in named:
        try:
            made.append(from_plain(each))
        except InputError as error:
            raise InputError(
                f"answers[{place!r}].{error.field}", error.value, error.right
            ) from None
    if not isinstance(given, dict):
        return made
    asked = dict(zip(given, made, strict=True))
    return Answers(asked, tuple(data["essential_out"])) if "essential_out" in data else asked


_READ: Final = {"answer": _answer, "answers": _answers, "graph": _graph}
