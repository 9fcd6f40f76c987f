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

import io
import json
import os
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any, TypeVar, get_args

from knobpack import file_shapes
from knobpack.allocation import Allocation
from knobpack.errors import InputError
from knobpack.files.plain import from_plain, to_plain
from knobpack.files.stored import Word
from knobpack.storage import strict_json
from knobpack.storage.disk import file_note, path_of, read_bytes, write
from knobpack.words import Request, Setup, fields

if TYPE_CHECKING:
    import networkx as nx

    from knobpack.files.written import Answers
    from knobpack.sheets import PatchSheet
    from knobpack.types import Written

_Word = TypeVar("_Word", Setup, Request)

GRAPH_ENDINGS = (".graphml", ".json")
"""How the name of a file ends that a graph is written to."""

READ = (*get_args(Word), Allocation)
"""What is read back."""

FIRST = "; what is saved comes after it"
"""What is right where the two were given in the other order."""

SHEET_ENDINGS = (".html", ".md", ".txt")
"""How the name of a file ends that a patch sheet is written to: a page, Markdown, plain text."""


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


def save(
    path: str | os.PathLike[str],
    word: Word | Allocation | Written | Mapping[str, Written] | Answers,
) -> None:
    """Write a word to a file, whole or not at all: what the file held survives any failure.

    Args:
        path: the file. Its folder must be there.
        word: a setup, request, layout or allocation, an answer (what was worked out about
            setups among them, and a tuple of jumps), or answers, each under what was asked.

    Raises:
        InputError: the word cannot be written (see :func:`dumps`).
        FileError: the file cannot be written.

    Example:
        >>> from knobpack import Layout
        >>> from knobpack.files import load, save
        >>> layout = Layout.of({"K1": ["Glass pad/cutoff"]})
        >>> save("layout.json", layout)
        >>> load("layout.json") == layout
        True
    """
    path_of(path, FIRST)
    write(path, dumps(word).encode())


def graph_ending(path: str | os.PathLike[str]) -> str:
    """How the name of a file ends that a graph may be written to.

    Args:
        path: the name of the file.

    Returns:
        ``.graphml`` or ``.json``.

    Raises:
        InputError: it ends otherwise.
    """
    return _ending("graph", path, GRAPH_ENDINGS)


def sheet_ending(path: str | os.PathLike[str]) -> str:
    """How the name of a file ends that a patch sheet may be written to.

    Args:
        path: the name of the file.

    Returns:
        ``.html``, ``.md`` or ``.txt``.

    Raises:
        InputError: it ends otherwise.
    """
    return _ending("patch sheet", path, SHEET_ENDINGS)


def save_graph(path: str | os.PathLike[str], graph: nx.MultiDiGraph[str]) -> None:
    """Write a graph to a file, whole or not at all, for networkx or another program to read.

    Args:
        path: the file. Its folder must be there. Its name says in which form: ``.graphml`` or
            ``.json`` (node-link data as of networkx: ``nodes`` and ``edges``).
        graph: such as ``allocation.graph``.

    Raises:
        InputError: it is no graph, or the name ends otherwise.
        FileError: the file cannot be written.
    """
    import networkx as nx

    path_of(path, FIRST)
    fields.check_kind("save_graph.graph", graph, nx.Graph)
    write(path, graph_bytes(graph, path))


def graph_bytes(graph: nx.MultiDiGraph[str], path: str | os.PathLike[str]) -> bytes:
    """What stands in the file that :func:`save_graph` writes."""
    import networkx as nx

    if graph_ending(path) == ".json":
        data = nx.node_link_data(graph, edges="edges")
        return f"{json.dumps(data, ensure_ascii=False, indent=2, allow_nan=False)}\n".encode()
    buffer = io.BytesIO()
    # This one does not look whether lxml is there, so it writes the same on every machine.
    nx.write_graphml_xml(graph, buffer)
    return buffer.getvalue()


def save_sheet(path: str | os.PathLike[str], sheet: PatchSheet) -> None:
    """Write a patch sheet to a file, whole or not at all, as UTF-8.

    Args:
        path: the file. Its folder must be there. Its name says in which form: ``.html`` for the
            page, ``.md`` for Markdown, ``.txt`` for plain text.
        sheet: what :func:`knobpack.patch_sheet` gave back.

    Raises:
        InputError: it is no PatchSheet, or the name ends otherwise.
        FileError: the file cannot be written.
    """
    from knobpack.sheets import PatchSheet

    path_of(path, FIRST)
    fields.check_kind("save_sheet.sheet", sheet, PatchSheet)
    write(path, sheet_bytes(sheet, path))


def sheet_bytes(sheet: PatchSheet, path: str | os.PathLike[str]) -> bytes:
    """What stands in the file that :func:`save_sheet` writes."""
    form = {".html": sheet.page, ".md": sheet.markdown, ".txt": sheet.text}[sheet_ending(path)]
    return form().encode()


def load(path: str | os.PathLike[str]) -> Word | Allocation:
    """Read a setup, request, layout or allocation from a file.

    Args:
        path: the file; at most 8 MB.

    Returns:
        The setup, request, layout or allocation.

    Raises:
        InputError: as :func:`loads`, with a note that names the file.
        FileError: the file cannot be read.

    Example:
        >>> from knobpack import Layout
        >>> from knobpack.files import load, save
        >>> layout = Layout.of({"K1": ["Glass pad/cutoff"]})
        >>> save("layout.json", layout)
        >>> load("layout.json") == layout
        True
    """
    content = read_bytes(path)
    try:
        return loads(content)
    except InputError as error:
        error.add_note(file_note(path))
        raise


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
    error.add_note(file_note(path))
    raise error


def _ending(what: str, path: str | os.PathLike[str], endings: Sequence[str]) -> str:
    ending = path_of(path).suffix.lower()
    if ending not in endings:
        *others, last = endings
        right = f"a {what} is written to a file that ends in {', '.join(others)} or {last}"
        raise InputError(what, os.fspath(path), right)
    return ending
