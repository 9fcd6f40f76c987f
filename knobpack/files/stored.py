"""Stored: the plain form of the words that are written and read back."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import TYPE_CHECKING, Any, Final, TypeAlias

from knobpack.files.tags import write_tags
from knobpack.words import Home, Layout, Request, Setup

if TYPE_CHECKING:
    from cattrs import Converter

Word: TypeAlias = Setup | Request | Layout
"""What can be written and read back."""

VERSION: Final = 1
"""The version of the format that is written."""

STORED: Final[Mapping[str, type[Word]]] = {"setup": Setup, "request": Request, "layout": Layout}
"""What each of them is called in files."""


def word_to_plain(word: Word) -> dict[str, Any]:
    """A word as dicts, lists, texts and numbers. A field that holds its default is left out."""
    kind = next(kind for kind, made in STORED.items() if type(word) is made)
    return {"knobpack": kind, "version": VERSION, **_converter().unstructure(word)}


@cache
def _converter() -> Converter:
    """Made on first use, because cattrs takes 35 ms to import."""
    from cattrs import Converter

    converter = Converter(omit_if_default=True, unstruct_collection_overrides={tuple: list})
    write_tags(converter)
    converter.register_unstructure_hook(Home, _home_to_plain)
    return converter


def _home_to_plain(home: Home) -> dict[str, Any]:
    """A home: each of its setups as it would stand in a file of its own."""
    return {"setup": word_to_plain(home.setup), "arrived": word_to_plain(home.arrived)}
