"""Stored: the words that are written and read back, and what stands at the head of their files."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any, Final, TypeAlias

import attrs

from knobpack.allocation import Allocation
from knobpack.file_shapes import VERSION
from knobpack.words import KnobTravel, Layout, PastEdit, Request, Setup
from knobpack.words.demand import Demand
from knobpack.words.rules import RULES
from knobpack.words.setup_edits import EDITS

Word: TypeAlias = Setup | Request | Layout
"""What can be written and read back."""

STORED: Final[Mapping[str, type[Word]]] = {"setup": Setup, "request": Request, "layout": Layout}
"""What each of them is called in files."""


def _tags(kinds: Iterable[type[Any]]) -> dict[str, type[Any]]:
    """What each of some words is called in files: ``own_knob``."""
    return {re.sub("(?<!^)(?=[A-Z])", "_", kind.__name__).lower(): kind for kind in kinds}


PLAYED: Final = "knobpack"
"""The key that tells apart what a song is played with: it stands there as in a file of its own."""

TAGGED: Final[Mapping[str, Mapping[str, type[Any]]]] = {
    "rule": _tags(RULES),
    "edit": _tags(EDITS),
    PLAYED: _tags((Request, Setup, Allocation)),
}
"""The words that a key tells apart, under that key and what it says of each."""

BARE: Final[type[Any]] = KnobTravel
"""The one of these words that also stands where nothing is to be told apart, without a tag."""

_TAGS: Final = {
    kind: (key, tag)
    for key, kinds in TAGGED.items()
    if key != PLAYED
    for tag, kind in kinds.items()
}
_TAG_OF: Final = {kind: tag for kind, tag in _TAGS.items() if kind is not BARE}


def head(kind: str) -> dict[str, Any]:
    """What stands first in a file that holds such a thing."""
    return {"knobpack": kind, "version": VERSION}


def word_to_plain(word: Word) -> dict[str, Any]:
    """A word as dicts, lists, texts and numbers. A field that holds its default is left out."""
    kind = next(kind for kind, made in STORED.items() if type(word) is made)
    return {**head(kind), **fields_to_plain(word, whole=False)}


def value_to_plain(value: Any, *, whole: bool) -> Any:
    """Any value of words as dicts, lists, texts and numbers.

    A setup or request in it stands there as in a file of its own, an allocation without its
    request, what is essential and left out first, and a demand with its sentence.

    Args:
        value: an attrs value, a tuple or mapping, an array, text, a number or None.
        whole: whether fields that hold their default are written too, but those of rules, edits,
            setups and requests.
    """
    if value is None or isinstance(value, str | int):
        return value
    made: Any = value
    if isinstance(value, Setup | Request):
        made = word_to_plain(value)
    elif isinstance(value, tuple | list):
        made = [value_to_plain(each, whole=whole) for each in value]
    elif isinstance(value, Mapping):
        made = {key: value_to_plain(each, whole=whole) for key, each in value.items()}
    elif attrs.has(type(value)):
        made = fields_to_plain(value, whole=whole)
        if isinstance(value, Allocation):
            del made["request"]
            made = {"essential_out": [*value.essential_out], **made}
        elif isinstance(value, Demand):
            made["sentence"] = str(value)
    elif hasattr(value, "tolist"):  # an array
        made = value.tolist()
    return made


def fields_to_plain(word: Any, *, whole: bool) -> dict[str, Any]:
    """The fields of an attrs value, as :func:`value_to_plain`; its tag first, if it has one."""
    kind = type(word)
    made: dict[str, Any] = dict([_TAG_OF[kind]]) if kind in _TAG_OF else {}
    for field in attrs.fields(kind):
        value = getattr(word, field.name)
        written = field.init and field.metadata.get("written", True)  # what was asked for is not
        if written and ((whole and kind not in _TAG_OF) or value != default_of(field, word)):
            made[field.name] = value_to_plain(value, whole=whole)
            if kind is PastEdit and type(value) is BARE:
                key, tag = _TAGS[BARE]
                made[field.name] = {key: tag, **fields_to_plain(value, whole=whole)}
    return made


def default_of(field: attrs.Attribute[Any], word: Any) -> Any:
    """What a field of a word holds that is not given; ``attrs.NOTHING``: it must be."""
    default: Any = field.default
    if not isinstance(default, attrs.Factory):  # type: ignore[arg-type]
        return default
    return default.factory(word) if default.takes_self else default.factory()
