"""Stored: what has a file of its own, which words a key tells apart, and the head of each file."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping
from typing import Any, Final, TypeAlias

from knobpack.allocation import Allocation
from knobpack.file_shapes import DEFINED, VERSION
from knobpack.words import BrokenKnob, KnobTravel, Layout, Request, Setup
from knobpack.words.rules import RULES
from knobpack.words.setup_edits import EDITS

Word: TypeAlias = Setup | Request | Layout
"""What can be written and read back, of the words."""

STORED: Final[Mapping[str, type[Word]]] = {"setup": Setup, "request": Request, "layout": Layout}
"""What each of them is called in files."""

_SORTS: Final = {kind.title().replace("_", ""): kind for kind in DEFINED}


def sort_in_file(value: object) -> str | None:
    """What a file of its own says that it holds, of a word or what is laid out; None: no such file.

    It goes by the name of its class: nothing is imported to know it.
    """
    kind = type(value)
    return _SORTS.get(kind.__name__) if kind.__module__.startswith("knobpack.") else None


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

TAGS: Final[Mapping[type[Any], tuple[str, str]]] = {
    kind: (key, tag)
    for key, kinds in TAGGED.items()
    if key != PLAYED
    for tag, kind in kinds.items()
}
"""The key of each of them, and what it says."""


FORMER: Final[Mapping[type[Any], tuple[str, ...]]] = {
    BrokenKnob: ("before", "after", "gave_way")  # the edit that took it out of use holds all that
}
"""Keys of words that files of earlier versions have, and that are passed over."""


def head(kind: str) -> dict[str, Any]:
    """What stands first in a file that holds such a thing."""
    return {"knobpack": kind, "version": VERSION}
