"""Files: words as JSON text, written so that they are read back the same, and read strictly.

A file is one JSON object: ``"knobpack"`` says what it holds (``setup``, ``request``, ``layout`` or
``allocation``), ``"version"`` is 1, and every other key is a field of that word. A rule says which
it is with ``"rule"``: ``together``, ``apart``, ``alone``, ``fixed`` or ``barred``; an edit that was
made likewise with ``"edit"``. A field that holds its default is left out on writing and may be left
out on reading. The bytes are UTF-8; one byte order mark at the head is passed over. A schema
says the same for other programs; see :func:`schema`.

Nothing is guessed on reading: a key that is not known, a value of another type or a number with a
fraction is refused, with the path of the key, such as ``voices[2].destinations[0].travel.start``.
An allocation holds its request too; what follows from that and from its routes is checked when it
is read back. What holds an ``answer`` or ``answers`` is for others to read; it is not read back.
"""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, TypeVar, cast, get_args

from knobpack import file_shapes
from knobpack.allocation import Allocation
from knobpack.errors import InputError
from knobpack.files.contents import Saved, contents
from knobpack.files.plain import from_plain, to_plain
from knobpack.files.stored import Word
from knobpack.storage import strict_json
from knobpack.storage.disk import path_of, read_json, write
from knobpack.words import Request, Setup

if TYPE_CHECKING:
    from knobpack.files.written import Answers
    from knobpack.types import Written

_Word = TypeVar("_Word", Setup, Request, Allocation)

READ = (*get_args(Word), Allocation)
"""What is read back."""

FIRST = "; what is saved comes after it"
"""What is right where the two were given in the other order."""


def schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of a setup, request or layout file.

    It cannot say all that is checked on reading: that a name is given once, or names something.

    Returns:
        The schema, as plain dicts and lists.
    """
    found: dict[str, Any] = json.loads(file_shapes.schema_text())
    return found


def dumps(word: Word | Allocation | Written | Mapping[str, Written] | Answers) -> str:
    """Write a word as JSON text: indented by two, ending in a line break.

    Args:
        word: a setup, request, layout or allocation, an answer (what was worked out about
            setups among them, and a tuple of jumps), or answers, each under what was asked.

    Returns:
        The text; as UTF-8 it takes at most 8 MB where it can be read back.

    Raises:
        InputError: it is none of these, or is to be read back and its text is too long for that.

    Example:
        >>> from knobpack import Layout
        >>> from knobpack.files import dumps
        >>> layout = Layout.of({"K1": ["Glass pad/cutoff"]})
        >>> print(dumps(layout), end="")
        {
          "knobpack": "layout",
          "version": 1,
          "routes": [
            {
              "destination": "Glass pad/cutoff",
              "knob": "K1"
            }
          ]
        }
    """
    text = json.dumps(to_plain(word), ensure_ascii=False, indent=2, allow_nan=False) + "\n"
    size = len(text.encode())
    if isinstance(word, READ) and size > strict_json.MOST_BYTES:
        right = f"a file takes at most {strict_json.MOST_BYTES:,} bytes; make it smaller"
        raise InputError("size", size, right)
    if isinstance(word, READ):
        strict_json.check_marks(text)
    return text


def loads(text: str | bytes) -> Word | Allocation:
    """Read what :func:`dumps` wrote.

    Args:
        text: at most 8 MB.

    Returns:
        The setup, request, layout or allocation: ``loads(dumps(word)) == word``.

    Raises:
        InputError: it is not strict JSON, or not a word. The field is the path of what goes
            wrong; where the text is not JSON at all, the line and column.

    Example:
        >>> from knobpack import InputError, Layout
        >>> from knobpack.files import dumps, loads
        >>> layout = Layout.of({"K1": ["Glass pad/cutoff"]})
        >>> loads(dumps(layout)) == layout
        True
        >>> try:
        ...     loads('{"knobpack": "layout", "version": 1, "routs": []}')
        ... except InputError as error:
        ...     print(error.field, "-", error.right.split("; ")[-1])
        routs - close to it: routes
    """
    return from_plain(strict_json.parse(text))


def save(path: str | os.PathLike[str], value: Saved) -> None:
    """Write anything to a file, whole or not at all: what the file held survives any failure.

    Args:
        path: the file, in a folder that is there. Its name says in which form: ``.csv`` for a setup
            as a table; ``.html``, ``.md`` or ``.txt`` for a patch sheet; ``.html`` for the page of
            an explanation or a show; ``.mid`` for a sweep; ``.svg``, ``.png`` or ``.pdf`` for a
            picture; ``.graphml`` for a graph; ``.json``, or no ending, for JSON: of a graph the
            node-link data of networkx, of a show a set list beside which each song has a file of
            its own.
        value: a setup, request, layout, allocation or show; an answer (what was worked out about
            setups among them, and a tuple of jumps), or answers, each under what was asked; a
            sweep, a graph, or the Axes or Figure of a picture.

    Raises:
        InputError: it cannot be written, or not to a file of such a name.
        FileError: the file cannot be written.

    Example:
        >>> from knobpack import Setup, Surface, files, patch_sheet
        >>> setup = Setup("Evening set", Surface.row(8))
        >>> files.save("evening.json", setup)
        >>> files.load("evening.json") == setup
        True
        >>> files.save("sheet.html", patch_sheet(None, setup))
    """
    place = path_of(path, FIRST)
    if type(value).__module__.startswith("knobpack.show."):
        from knobpack.files.shows import save_show
        from knobpack.show import Show

        if isinstance(value, Show):
            return save_show(place, value)
    return write(path, contents(place, value, lambda: dumps(cast("Word", value))))


def load(path: str | os.PathLike[str]) -> Word | Allocation:
    """Read a setup, request, layout or allocation from a file.

    Args:
        path: the file; at most 8 MB.

    Returns:
        The setup, request, layout or allocation.

    Raises:
        InputError: as :func:`loads`; its ``file`` is the path.
        FileError: the file cannot be read, or holds no JSON.

    Example:
        >>> from knobpack import Layout
        >>> from knobpack.files import load, save
        >>> layout = Layout.of({"K1": ["Glass pad/cutoff"]})
        >>> save("layout.json", layout)
        >>> load("layout.json") == layout
        True
    """
    data = read_json(path)
    try:
        return from_plain(data)
    except InputError as error:
        error.file = os.fspath(path)
        raise


def load_allocation(path: str | os.PathLike[str]) -> Allocation:
    """Read an allocation from a file.

    Args:
        path: the file; at most 8 MB.

    Returns:
        The allocation, its proofs included, once the plain checker has passed it.

    Raises:
        InputError: as :func:`load`, or the file holds something else.
        FileError: the file cannot be read.
    """
    return _only(Allocation, path)


def load_request(path: str | os.PathLike[str]) -> Request:
    """Read a request from a file.

    Args:
        path: the file; at most 8 MB.

    Returns:
        The request.

    Raises:
        InputError: as :func:`load`, or the file holds something else.
        FileError: the file cannot be read.
    """
    return _only(Request, path)


def load_setup(path: str | os.PathLike[str]) -> Setup:
    """Read a setup from a file.

    Args:
        path: the file; at most 8 MB.

    Returns:
        The setup.

    Raises:
        InputError: as :func:`load`, or the file holds something else.
        FileError: the file cannot be read.
    """
    return _only(Setup, path)


def _only(wanted: type[_Word], path: str | os.PathLike[str]) -> _Word:
    word = load(path)
    if isinstance(word, wanted):
        return word
    right = f'give a file that holds a "{wanted.__name__.lower()}"'
    error = InputError("knobpack", type(word).__name__.lower(), right)
    error.file = os.fspath(path)
    raise error
