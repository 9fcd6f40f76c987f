"""Written: whatever is saved as JSON, in plain form; one way writes all of it, by its fields.

What is laid out and what was worked out about it are written with all their fields, words without
those that hold their default. Positions are whole numbers; only what a destination receives, and
the share by which it jumps, may have a fraction.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Mapping, Sequence
from itertools import count
from typing import TYPE_CHECKING, Any, Final, Protocol, TypeAlias

import attrs

from knobpack.errors import InputError
from knobpack.files.stored import BARE, TAGS, head, sort_in_file
from knobpack.storage.strict_json import HALF_PAIR, MOST_VALUES
from knobpack.text.shown import Fielded, Shown
from knobpack.words import PastEdit

if TYPE_CHECKING:
    from knobpack.allocation import Allocation
    from knobpack.files.stored import Word
    from knobpack.show import Show, ShowAllocation
    from knobpack.types import Written

_RIGHT: Final = (
    "give a Setup, Request, Layout, Allocation or Show, an answer about one or what it holds, or a "
    "graph; or several of these, in a list or in a dict, each under a name"
)

DEFINITION: Final = 6
"""Goes up when a layout comes to cost something else: 2 since what misses a travel, and what is
found elsewhere in a show, doubles with each step of importance, and since in an edit of a layout in
use a knob that gets something new may take another travel for it (:data:`OTHERWISE`); 3
since it costs more that essential destinations share; 4 since what is not essential shares before
them, a travel misses what it leaves out of reach, and of as many routes that change the more
important cost more; 5 since what an edit names is no part of a bundle that it moves."""

OTHERWISE: Final = "change"
"""The tier that counts by another rule since, where anything changed, and in an edit of a layout in
use: of a file from before nothing is proven from it on, though its value may be the same."""

_BY_ITSELF: Final = ("routes", "travels", "layers", "tiers", "stopped")
"""What is written of a song as it is alone: all else of it follows."""


class Network(Protocol):
    """A graph of networkx."""

    @property
    def add_edge(self) -> Any:
        """Adds an edge to it."""


@attrs.frozen
class Answers(Fielded):
    """Answers about one layout that leaves out what is essential.

    Args:
        answers: each under what was asked, in words of the caller's own.
        essential_out: the full names of what is essential and left out.
    """

    answers: Mapping[str, Written]
    essential_out: tuple[str, ...]


Filed: TypeAlias = "Word | Allocation | Show | Written | Shown | Network"
"""What can be saved as JSON by itself."""

InJson: TypeAlias = "Filed | Sequence[Filed] | Mapping[str, InJson] | Answers"
"""What can be saved as JSON: lists in lists too, of which type checkers would take text for one."""


def to_plain(word: InJson) -> dict[str, Any]:
    """Whatever can be saved as JSON, in plain form: :func:`from_plain` gives it back.

    Of a setup, request, layout or show a field that holds its default is left out. An answer is
    written with which ``question`` it answers, all its fields and its sentences; what it holds that
    has a file of its own stands in it as in that. A digest tells if any of it was altered.

    Args:
        word: a setup, request, layout, allocation or show, an answer (what was worked out about
            setups among them, and a tuple of jumps) or any other value that is offered but limits,
            replies and sweep files, a graph of networkx; or several of these, in a list or tuple,
            or in a dict, each under a name.

    Returns:
        A new dict of dict, list, str, int, float, bool and None alone.

    Raises:
        InputError: it is none of these.
    """
    return plain_of(word, "to_plain.word")


def plain_of(word: InJson, where: str) -> dict[str, Any]:
    """As :func:`to_plain`; what will not do is named from ``where`` on."""
    given: Any = word.answers if isinstance(word, Answers) else word
    if not isinstance(given, Mapping | list) and not _is_several(given):
        return _one(given, where)
    lost = {"essential_out": [*word.essential_out]} if isinstance(word, Answers) else {}
    made: Any
    if isinstance(given, Mapping):
        for name in given:
            if not isinstance(name, str) or HALF_PAIR.search(name):
                raise InputError(where, name, "give each under a name, as text of whole characters")
        made = {name: plain_of(each, f"{where}[{name!r}]") for name, each in given.items()}
    else:
        made = [plain_of(each, f"{where}[{place}]") for place, each in enumerate(given)]
    return _sealed("answers", {**lost, "answers": made})


def _is_several(given: object) -> bool:
    """Whether it is a tuple of answers: one of jumps, or of nothing, is an answer itself."""
    if not isinstance(given, tuple):
        return False
    from knobpack.simulation import Jump

    return not all(isinstance(each, Jump) for each in given)


def _one(value: Any, where: str) -> dict[str, Any]:
    """What is saved by itself, or as one of several, which is as in a file of its own."""
    sort = sort_in_file(value)
    if sort is not None:
        return _filed(value, sort)
    if hasattr(value, "add_edge"):
        try:
            plain = _node_link(value)
            json.dumps(plain, ensure_ascii=False, allow_nan=False).encode()
            return _sealed("graph", plain)
        except (TypeError, ValueError):  # NaN, half of a surrogate pair, what is none of JSON's
            right = "give a graph of names and values that JSON takes: text, numbers, lists of them"
            raise InputError(where, value, right) from None
    from knobpack.files.answers import Jumps, kinds

    if isinstance(value, tuple) and not _is_several(value):
        value = Jumps(value)
    question = question_of(type(value))
    if kinds().get(question) is not type(value):
        raise InputError(where, value, _RIGHT)
    try:
        fields = fields_to_plain(value, whole=True)
    except InputError as error:
        raise InputError(where, error.value, error.right) from None
    body = {"question": question, **fields, "sentences": [*getattr(value, "sentences", ())]}
    return _sealed("answer", body)


def question_of(kind: type[Any]) -> str:
    """The question that a kind of value answers; of what answers none, what it is called."""
    return str(getattr(kind, "question", kind.__name__))


def _node_link(graph: Any) -> dict[str, Any]:
    import networkx as nx

    found: dict[str, Any] = nx.node_link_data(graph, edges="edges")
    return found


def digest_of(plain: Mapping[str, Any]) -> str:
    """The SHA-256 (FIPS 180-4) of what stands in a file beside its digest, however it is spaced.

    It tells what was altered since it was written, and not who wrote it.
    """
    from hashlib import sha256

    body = {key: each for key, each in plain.items() if key != "digest"}
    return sha256(json.dumps(body, sort_keys=True).encode()).hexdigest()


def _sealed(kind: str, body: dict[str, Any]) -> dict[str, Any]:
    made = {**head(kind), **body, "definition": DEFINITION}
    return {**made, "digest": digest_of(made)}


def _filed(value: Any, sort: str) -> dict[str, Any]:
    """What has a file of its own, as in that."""
    if sort == "show_allocation":
        return _show_allocation(value)
    if sort != "allocation":
        return {**head(sort), **fields_to_plain(value, whole=False)}
    last = {"definition": DEFINITION, "request": to_plain(value.request)}
    return {**head(sort), **_laid_out(value), **last}


def _laid_out(allocation: Allocation) -> dict[str, Any]:
    """An allocation without its request; what is essential and left out stands first."""
    made = fields_to_plain(allocation, whole=True)
    del made["request"]
    return {"essential_out": [*allocation.essential_out], **made}


def _show_allocation(found: ShowAllocation) -> dict[str, Any]:
    """A show laid out, as the answer that it is, with all that it is read back from."""
    songs = [_laid_out(each) for each in found.songs]
    alone = [_laid_out(each) for each in found.alone]
    by_itself = [{key: each[key] for key in _BY_ITSELF} for each in alone]
    fields = fields_to_plain(attrs.evolve(found, songs=(), alone=()), whole=True)
    del fields["alone"]
    first = {**head("show_allocation"), "question": found.question, **fields, "songs": songs}
    last = {"definition": DEFINITION, "alone": by_itself, "sentences": [*found.sentences]}
    return {**first, **last}


def too_large(size: int, most: int, what: str) -> InputError:
    """The refusal of what would be too large a file to be read back."""
    right = f"a file takes at most {most:,} {what}; save less of it, or a page"
    return InputError("size", size, right)


def value_to_plain(value: Any, *, whole: bool, made_so_far: Iterator[int] | None = None) -> Any:
    """Any value of words and answers as dicts, lists, texts and numbers.

    What has a file of its own stands there as in that, but for a layout.

    Args:
        value: an attrs value, a tuple, an array, text, a number or None.
        whole: whether fields that hold their default are written too, but those of rules, edits,
            and of what has a file.
        made_so_far: counts the values, so that what holds too many is refused before all are made.

    Raises:
        InputError: it holds more than can be read back.
    """
    made_so_far = made_so_far or count(1)
    if (number := next(made_so_far)) > MOST_VALUES:
        raise too_large(number, MOST_VALUES, "values")
    sort = sort_in_file(value)
    made: Any = value
    if sort is not None and sort != "layout":
        made = _filed(value, sort)
    elif isinstance(value, tuple | list):
        made = [value_to_plain(each, whole=whole, made_so_far=made_so_far) for each in value]
    elif attrs.has(type(value)):
        made = fields_to_plain(value, whole=whole, made_so_far=made_so_far)
    elif hasattr(value, "tolist"):  # an array
        made = value.tolist()
    return made


def fields_to_plain(
    word: Any, *, whole: bool, made_so_far: Iterator[int] | None = None
) -> dict[str, Any]:
    """The fields of an attrs value, as :func:`value_to_plain`; its tag first, if it has one."""
    kind, made_so_far = type(word), made_so_far or count(1)
    tagged = kind in TAGS and kind is not BARE
    made: dict[str, Any] = dict([TAGS[kind]]) if tagged else {}
    for field in attrs.fields(kind):
        value = getattr(word, field.name)
        if field.init and ((whole and not tagged) or value != _default_of(field, word)):
            made[field.name] = value_to_plain(value, whole=whole, made_so_far=made_so_far)
            if kind is PastEdit and type(value) is BARE:
                made[field.name] = {**dict([TAGS[BARE]]), **made[field.name]}
    return made


def _default_of(field: attrs.Attribute[Any], word: Any) -> Any:
    """What a field of a word holds that is not given; ``attrs.NOTHING``: it must be."""
    default: Any = field.default
    if not isinstance(default, attrs.Factory):  # type: ignore[arg-type]
        return default
    return default.factory(word) if default.takes_self else default.factory()
