"""Given: a list as text, bytes, a file or plain values, brought to plain values."""

from __future__ import annotations

import os
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, TypeAlias

from knobpack import strict_json
from knobpack.errors import FileError, InputError
from knobpack.words.fields import MOST_ITEMS

Given: TypeAlias = str | bytes | os.PathLike[str] | list[Any]
"""JSON text, the path of a file of it, or the list that it holds."""


@contextmanager
def noted(where: str, given: object) -> Iterator[None]:
    """Note on an InputError in which map and which file it is, where its field does not say so.

    Args:
        where: what names the list; empty for the controller list itself.
        given: the list as it was given.
    """
    try:
        yield
    except InputError as error:
        if not error.field.startswith(where):
            error.add_note(f"in {where}")
        if isinstance(given, os.PathLike) and error.field != os.fspath(given):
            error.add_note(f"in the file {os.fspath(given)!r}")
        raise


def plain_list(where: str, given: object) -> list[dict[str, Any]]:
    """The entries of a list.

    Args:
        where: what names the list in an error; empty for the controller list itself.
        given: JSON text of at most 8 MB, the path of a file of it, or a list of dicts.

    Raises:
        InputError: it is none of these, is no strict JSON, or the file cannot be read.
    """
    entries = given if isinstance(given, list) else _parsed(given)
    top = where or strict_json.TOP
    if not isinstance(entries, list):
        raise InputError(top, entries, "give a list, JSON text, bytes, or a path")
    if len(entries) > MOST_ITEMS:
        raise InputError(top, len(entries), f"give at most {MOST_ITEMS} entries")
    for position, entry in enumerate(entries):
        if not isinstance(entry, dict):
            raise InputError(f"{where}[{position}]", entry, "give an object")
    return entries


def _parsed(given: object) -> object:
    content = _read(given) if isinstance(given, os.PathLike) else given
    return strict_json.parse(content) if isinstance(content, str | bytes) else content


def _read(path: os.PathLike[str]) -> bytes:
    try:
        with Path(path).open("rb") as file:
            return file.read(strict_json.MOST_BYTES + 1)
    except (OSError, ValueError) as error:
        raise FileError.of(path, error, "give a file that can be read") from error
