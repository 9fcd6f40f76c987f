"""Files: words as JSON text, written so that they are read back the same, and read strictly.

A file is one JSON object: ``"knobpack"`` says what it holds (``setup``, ``request``, ``layout``,
``allocation``, ``show``, ``show_allocation``, ``answer``, ``answers`` or ``graph``), ``"version"``
is 1, every other key a field of that. A rule says which it is with ``"rule"``: ``together``,
``apart``, ``alone``, ``fixed`` or ``barred``; an edit that was made likewise with ``"edit"``. A
field that holds its default is left out on writing and may be left out on reading. The bytes are
UTF-8; one byte order mark at the head is passed over. A schema says the same for other programs;
see :func:`schema`.

Nothing is guessed on reading: a key that is not known, a value of another type or a number with a
fraction is refused, with the path of the key, such as ``voices[2].destinations[0].travel.start``.
What is laid out holds what was asked too, in answers as well; what follows from that and from the
routes is checked when it is read back. All else in an answer is taken as it stands, if its digest
says that nothing was altered and nothing costs otherwise since; nobody writes one by hand, so they
are not indented. Tables of setups are read by :mod:`knobpack.tables`. Sheets, pages, sweeps
as MIDI and pictures are for people and other programs, and not read back.
"""

from __future__ import annotations

import json
import os
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar, cast

from knobpack import file_shapes
from knobpack.allocation import Allocation
from knobpack.errors import MISSING, FileError, InputError
from knobpack.files.contents import Saved, contents
from knobpack.files.plain import Loaded, from_plain, within
from knobpack.files.stored import PLAYED
from knobpack.files.written import InJson, plain_of, too_large
from knobpack.storage import strict_json
from knobpack.storage.disk import path_of, read_json, write
from knobpack.words import Request, Setup

if TYPE_CHECKING:
    from knobpack.show import Show

_Kind = TypeVar("_Kind")

FIRST = "; what is saved comes after it"
"""What is right where the two were given in the other order."""


def schema() -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of a file that is read back.

    It cannot say all that is checked on reading: that a name is given once, or names something;
    of an allocation no more than the request in it, of answers and graphs only their outside.

    Returns:
        The schema, as plain dicts and lists.
    """
    found: dict[str, Any] = json.loads(file_shapes.schema_text())
    return found


def dumps(word: InJson) -> str:
    """Write a word as JSON text: ending in a line break; words indented by two, answers not.

    Args:
        word: as :func:`to_plain` takes it.

    Returns:
        The text; as UTF-8 it takes at most 8 MB, so that it can be read back, but for a graph.

    Raises:
        InputError: it is none of these, or its text is too long for that.

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
    return text_of(plain_of(word, "dumps.word"))


def text_of(plain: Mapping[str, Any]) -> str:
    """What is in plain form, as the text of a file; other programs read graphs of any size.

    Raises:
        InputError: it is too long to be read back.
    """
    indent = None if plain["knobpack"] in ("answer", "answers") else 2
    text = json.dumps(plain, ensure_ascii=False, indent=indent, allow_nan=False) + "\n"
    if plain["knobpack"] == "graph":
        return text
    size = len(text.encode())
    if size > strict_json.MOST_BYTES:
        raise too_large(size, strict_json.MOST_BYTES, "bytes")
    strict_json.check_marks(text)
    return text


def loads(text: str | bytes) -> Loaded:
    """Read what :func:`dumps` wrote.

    Args:
        text: at most 8 MB.

    Returns:
        What was written: ``loads(dumps(word)) == word``, but that several in a tuple are a list.

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
    return from_plain(strict_json.unchecked(text))


def save(path: str | os.PathLike[str], value: Saved) -> None:
    """Write anything to a file, whole or not at all: what the file held survives any failure.

    Args:
        path: the file, in a folder that is there. Its name says in which form: ``.csv`` for a setup
            as a table; ``.html``, ``.md`` or ``.txt`` for a patch sheet; ``.html`` for the page of
            an explanation or a show; ``.mid`` for a sweep; ``.svg``, ``.png`` or ``.pdf`` for a
            picture; ``.graphml`` for a graph; ``.json``, or no ending, for JSON: of a graph the
            node-link data of networkx.
        value: a setup, request, layout, allocation or show; an answer (what was worked out about
            setups among them, and a tuple of jumps) or any other value that is offered but limits
            and replies; a graph; several of these, in a list or tuple, or in a dict, each under a
            name; a sweep, or the Axes or Figure of a picture; or the text of a page or sheet.

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
    place = path_of(path, FIRST, "save.path")
    write(
        path, contents(place, value, lambda: text_of(plain_of(cast("InJson", value), "save.value")))
    )


def load(path: str | os.PathLike[str]) -> Loaded:
    """Read whatever was saved as JSON from a file.

    Args:
        path: the file; at most 8 MB. Where a show names files, they lie in the same folder.

    Returns:
        What was saved, proofs included; what is laid out in it has passed the plain checker.

    Raises:
        InputError: as :func:`loads`; its ``file`` is the path.
        FileError: a file cannot be read, holds no JSON, or nothing that is read back.

    Example:
        >>> from knobpack import Layout
        >>> from knobpack.files import load, save
        >>> layout = Layout.of({"K1": ["Glass pad/cutoff"]})
        >>> save("layout.json", layout)
        >>> load("layout.json") == layout
        True
    """
    try:
        data = read_json(path)
    except FileError as error:
        if error.errno is None and os.fspath(path).lower().endswith(".csv"):
            right = "knobpack.tables.load reads it"
            raise FileError(os.fspath(path), "holds a table", right) from None
        raise
    try:
        return within(data, Path(path).parent)
    except InputError as error:
        if error.file is not None or isinstance(error, FileError):
            raise  # another file is meant
        if error.field in (PLAYED, strict_json.TOP):
            raise FileError(os.fspath(path), _not_read(error.value), error.right) from None
        error.file = os.fspath(path)
        raise


def load_allocation(path: str | os.PathLike[str]) -> Allocation:
    """Read an allocation from a file.

    Args:
        path: the file; at most 8 MB.

    Returns:
        The allocation, its proofs included, once the plain checker has passed it.

    Raises:
        InputError: as :func:`load`.
        FileError: the file cannot be read, or holds something else.
    """
    return _only(Allocation, path)


def load_request(path: str | os.PathLike[str]) -> Request:
    """Read a request from a file.

    Args:
        path: the file; at most 8 MB.

    Returns:
        The request.

    Raises:
        InputError: as :func:`load`.
        FileError: the file cannot be read, or holds something else.
    """
    return _only(Request, path)


def load_setup(path: str | os.PathLike[str]) -> Setup:
    """Read a setup from a file.

    Args:
        path: the file; at most 8 MB.

    Returns:
        The setup.

    Raises:
        InputError: as :func:`load`.
        FileError: the file cannot be read, or holds something else.
    """
    return _only(Setup, path)


def load_show(path: str | os.PathLike[str]) -> Show:
    """Read a show from a file, and its songs from the files that it names, if it names any.

    Args:
        path: the file; at most 8 MB.

    Returns:
        The show; of one that was laid out, the show as it is laid out.

    Raises:
        InputError: as :func:`load`.
        FileError: a file cannot be read, or the file holds something else.

    Example:
        >>> from knobpack import Destination, Request, Surface, Voice
        >>> from knobpack.files import load_show, save
        >>> from knobpack.show import Show, Song
        >>> organ = Voice("Organ", [Destination("level")])
        >>> show = Show("Friday", [Song("Opener", Request(Surface.row(4), [organ]))])
        >>> save("friday.json", show)
        >>> load_show("friday.json") == show
        True
    """
    from knobpack.show import Show, ShowAllocation

    found = load(path)
    return _of(Show, found.as_laid_out() if isinstance(found, ShowAllocation) else found, path)


def _not_read(kind: object) -> str:
    """What a file holds that is not read back, by what it says of itself."""
    if kind is MISSING:
        return f'has no key "{PLAYED}"'
    return f"holds what it calls {kind[:40]!r}" if isinstance(kind, str) else "holds no object"


def _only(wanted: type[_Kind], path: str | os.PathLike[str]) -> _Kind:
    return _of(wanted, load(path), path)


def _of(wanted: type[_Kind], word: object, path: str | os.PathLike[str]) -> _Kind:
    if isinstance(word, wanted):
        return word
    right = f"give a file that holds {_sort(wanted)}"
    raise FileError(os.fspath(path), f"holds {_sort(type(word))}", right)


def _sort(kind: type) -> str:
    """What a file is said to hold."""
    if kind.__name__ == "ShowAllocation":
        return "a show laid out"
    name = kind.__name__.lower()
    return f"{'an' if name[0] in 'aeiou' else 'a'} {name}"
