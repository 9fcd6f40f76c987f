"""Paths: the files that were named, looked at before anything is read or worked out.

Nothing here takes time to import: what cannot be read or written is refused at once.
"""

from __future__ import annotations

import argparse
import os
import stat
import sys
from collections.abc import Iterator
from itertools import pairwise
from typing import Any

from knobpack.command.streams import Refused, one_line
from knobpack.command.verbs import told_elsewhere
from knobpack.errors import InputError, Reason
from knobpack.file_shapes import check_file
from knobpack.storage import strict_json

ENDINGS = {
    "sheet": (".html", ".md", ".txt"),
    "picture": (".svg", ".png", ".pdf"),
    "graph": (".graphml", ".json"),
    "page": (".html",),
    "table": (".csv",),
}
"""How the name of a file ends that this can be written to."""

OUTPUTS = ("json", "setup", "sheet", "table", "picture", "midi", "graph", "page")
"""What can be written, as the options are called."""

REPLACING = frozenset({"edit", "move", "combine", "listen"})
"""The verbs that can write the result over the setup that was given first."""

STREAMED = ("json", "setup", "sheet", "table")
"""What can go to standard output."""


def check_paths(options: argparse.Namespace) -> None:
    """Refuse what cannot be read, and what cannot be written or must not be replaced.

    Raises:
        Refused: there is such a file.
        InputError: one that is read is not strict JSON, or no table.
    """
    read = list(inputs(options))
    if read.count("-") > 1:
        raise Refused("-: standard input can be read once; give a file for the other")
    if options.in_place:
        _take_place(options)
    _check_together(options)
    options.plain = {}
    lists = options.verb == "lists"
    recording = getattr(options, "recording", None)
    for path in read:
        if path != recording or path in options.files:
            options.plain[path] = _plain(
                path, "list" if lists and path != options.panel else "words"
            )
    if recording is not None:
        options.recorded = _plain(recording, "recording")
    taken = set() if options.in_place else {place(path) for path in read if path != "-"}
    for kind, path in targets(options):
        if path == "-":
            continue
        _check_ending(kind, path)
        if place(path) in taken:
            why = "this file is given for something else too; give another name"
            own = kind == "setup" and place(path) == place(options.files[0])
            if own and options.verb in REPLACING:
                why = "it is the file that is read; to write over it give --in-place instead"
            raise Refused(f"--{kind}: {one_line(repr(path))} will not do; {why}")
        taken.add(place(path))
        _check_target(kind, path, force=options.force or (options.in_place and kind == "setup"))


def _check_together(options: argparse.Namespace) -> None:
    """Refuse outputs that do not go together, or that something is missing for."""
    streamed = [kind for kind, path in targets(options) if path == "-"]
    for kind in streamed:
        if kind not in STREAMED:
            raise Refused(f"--{kind}: '-' will not do; give a file")
    if len(streamed) > 1:
        told = f"give --{streamed[1]} a file"
        raise Refused(f"-: one thing at a time goes to standard output; {told}")
    if options.midi is None and options.verb != "midi":
        for word, given in (("--notes", options.notes), ("--channel", options.channel)):
            if given:
                raise Refused(f"{word}: nothing is sent; use it with --midi FOLDER")
    for kind, (module, extra) in EXTRAS.items():
        if getattr(options, kind) is not None and not _installed(module):
            told = f"{module} is not installed; install it: pip install 'knobpack[{extra}]'"
            raise Refused(f"--{kind}: {told}")


def _installed(module: str) -> bool:
    from importlib.util import find_spec

    return find_spec(module) is not None


EXTRAS = {"midi": ("mido", "midi"), "picture": ("matplotlib", "pictures")}
"""What is written with which library, and the extra that brings it."""


def inputs(options: argparse.Namespace) -> Iterator[str]:
    """The files that are read."""
    yield from options.files
    for name in ("panel", "after", "recording"):
        if getattr(options, name, None) is not None:
            yield getattr(options, name)
    words = getattr(options, "words", ())
    for word, other in pairwise(words):
        if word == "what-if":
            yield other


def targets(options: argparse.Namespace) -> Iterator[tuple[str, str]]:
    """What is to be written, and where to."""
    for kind in OUTPUTS:
        path = getattr(options, kind)
        if path is not None:
            yield kind, path


def in_file(path: str) -> str:
    """Where something stands, as is said behind what is wrong with it."""
    return "on standard input" if path == "-" else f"in the file {path!r}"


def _content(path: str) -> bytes:
    """What a file holds, no more than a byte more than it may; ``-``: standard input."""
    if path == "-" and sys.stdin is None:
        raise Refused("-: standard input is closed; give a file that can be read")
    try:
        if path == "-":
            return sys.stdin.buffer.read(strict_json.MOST_BYTES + 1)
        with open(path, "rb") as file:  # noqa: PTH123 - pathlib takes its time to import
            return file.read(strict_json.MOST_BYTES + 1)
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        near = _close(path) if isinstance(error, FileNotFoundError) else ""
        told = one_line(path) or "''"
        raise Refused(f"{told}: {why}; give a file that can be read{near}") from None


def _plain(path: str, sort: str) -> object:
    """What stands in a file: a recording, a controller list, or words or a table of them."""
    content = _content(path)
    if content.startswith(b"PK"):  # as the compressed files of spreadsheets do
        right = "save the table in it as 'CSV UTF-8'"
        raise Refused(f"{one_line(path)}: is a spreadsheet, or compressed; {right}")
    try:
        if sort == "recording":
            from knobpack.storage.midi_file import control_changes

            return control_changes(content)
        if path.lower().endswith(".csv") and sort == "words":
            from knobpack.tables.delimited_text import rows_of
            from knobpack.tables.grid import grid

            return grid(rows_of(content))
        found = strict_json.parse(content)
        if sort == "list":
            _refuse_words(found)
        else:
            check_file(found)
    except InputError as error:
        error.add_note(in_file(path))
        raise
    return found


SET_LIST_FILE = "give one set list, as a file; it names the files of its songs"
"""What is right where a set list will not do."""


def set_list_in(plain: object) -> dict[str, Any] | None:
    """The set list of a show, of one that is laid out too, in what stands in a file; None: none."""
    if not isinstance(plain, dict):
        return None
    kind = plain.get("knobpack")
    return plain if kind == "show" else plain["show"] if kind == "show_allocation" else None


def _refuse_words(data: object) -> None:
    """Refuse what is a setup or the like where a controller list must be."""
    if isinstance(data, dict) and isinstance(data.get("knobpack"), str):
        told = Reason(f"this is a {data['knobpack']}")
        right = "give a list of controllers (M2-117-UM), as an instrument sends it"
        raise InputError(strict_json.TOP, told, right)


def place(path: str) -> str | None:
    """Where a file is, whatever it is called; None: that is no path, as will be said later."""
    try:
        return os.path.realpath(path)
    except ValueError:
        return None


def _close(path: str) -> str:
    """What comes close to a file that is not there, in its folder; or what stands in its place."""
    ways = told_elsewhere(path)
    if ways:
        return f"; the file comes first: {' or '.join(ways)}"
    folder, name = os.path.split(path)
    try:
        names = os.listdir(folder or ".")  # noqa: PTH208 - pathlib takes its time to import
    except (OSError, ValueError):
        return ""
    from difflib import get_close_matches

    stems = {os.path.splitext(each)[0]: each for each in names}  # noqa: PTH122
    alike = get_close_matches(os.path.splitext(name)[0], stems, 2)  # noqa: PTH122
    near = [f"{name}.json"] if f"{name}.json" in names else [stems[each] for each in alike]
    within = f"{folder}/" if folder else ""
    return f"; close to it: {' and '.join(f'{within}{each}' for each in near)}" if near else ""


def _take_place(options: argparse.Namespace) -> None:
    if options.verb not in REPLACING:
        told = "use it with edit, move, listen or combine"
        raise Refused(f"--in-place: nothing is changed here; {told}")
    if options.setup is not None:
        raise Refused("--in-place: --setup says another place; give one of the two")
    if options.files[0] == "-":
        raise Refused("--in-place: standard input cannot be replaced; use --setup FILE")
    options.setup = options.files[0]


def _check_ending(kind: str, path: str) -> None:
    endings = ENDINGS.get(kind, ())
    if endings and not path.lower().endswith(endings):
        *others, last = endings
        told = f"{', '.join(others)} or {last}" if others else last
        right = f"give a file that ends in {told}"
        raise Refused(f"--{kind}: {one_line(repr(path))} will not do; {right}")


def _check_target(kind: str, path: str, *, force: bool) -> None:
    """Refuse a place where nothing can be written, or where something is that must stay."""
    told = f"--{kind}: {one_line(path)}"
    try:
        folder = os.path.realpath(path).rpartition(os.sep)[0] or os.sep
        os.listdir(folder)  # noqa: PTH208 - pathlib takes its time to import
        there = stat.S_IFMT(os.lstat(os.path.realpath(path)).st_mode)
    except FileNotFoundError as error:
        if not os.access(folder, os.F_OK):
            raise Refused(
                f"{told}: {error.strerror}; give a place in a folder that is there"
            ) from None
        there = 0
    except (OSError, ValueError) as error:
        why = getattr(error, "strerror", None) or str(error)
        raise Refused(f"{told}: {why}; give a place that can be written") from None
    if there and (there == stat.S_IFDIR) != (kind == "midi"):
        wrong, right = ("is a folder", "file") if kind != "midi" else ("is no folder", "folder")
        raise Refused(f"{told}: {wrong}; give a {right}")
    if not os.access(path if kind == "midi" and there else folder, os.W_OK):
        raise Refused(f"{told}: Permission denied; give a place that can be written")
    if there and kind != "midi" and not force:
        raise Refused(f"{told}: is there already; give another name, or --force to replace it")
