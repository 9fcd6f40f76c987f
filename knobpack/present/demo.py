"""Demo: a request of six invented voices, and setups to combine, all of them invented too."""

from __future__ import annotations

import shlex
from contextlib import suppress
from importlib import resources
from pathlib import Path

from knobpack.errors import InputError, Reason
from knobpack.files import loads, save
from knobpack.words import Request, Setup

SETUPS = ("host.json", "harbour.json", "tin-roof.json")
"""The files of the setups: a host that uses two of eight knobs, then two sources with faults."""


def demo_request() -> Request:
    """The request in ``demo.json``, which is shipped beside this file."""
    word = loads(resources.files(__package__).joinpath("demo.json").read_bytes())
    if not isinstance(word, Request):
        raise TypeError("demo.json does not hold a request")
    return word


def demo_setups() -> dict[str, Setup]:
    """The setups in ``demo_setups``, which is shipped beside this file, by the names of files."""
    folder = resources.files(__package__).joinpath("demo_setups")
    found = {}
    for name in SETUPS:
        word = loads(folder.joinpath(name).read_bytes())
        if not isinstance(word, Setup):
            raise TypeError(f"{name} does not hold a setup")
        found[name] = word
    return found


def write_demo(path: str) -> None:
    """Write the request of the demo to a file that is not there yet.

    Raises:
        InputError: it is there, or cannot be written.
    """
    _check_new(Path(path))
    save(demo_request(), path)


def write_demo_setups(folder: str) -> str:
    """Write the demo's setups to a folder, all of them or none; it is made if it is not there.

    Returns:
        The command that combines them.

    Raises:
        InputError: one of the files is there already, or something cannot be written.
    """
    place = Path(folder)
    paths = [place / name for name in SETUPS]
    for path in paths:
        _check_new(path)
    made = not _is_there(place)
    if made:
        _make(place)
    written: list[Path] = []
    try:
        for path, setup in zip(paths, demo_setups().values(), strict=True):
            save(setup, path)
            written.append(path)
    except BaseException:
        for path in written:
            path.unlink(missing_ok=True)
        if made:
            with suppress(OSError):
                place.rmdir()
        raise
    options = ["--combine", *(path.as_posix() for path in paths), "--sheet", "sheet.html"]
    return shlex.join(["python", "-m", "knobpack", *options])


def _make(folder: Path) -> None:
    try:
        folder.mkdir()
    except (OSError, ValueError) as error:
        reason = Reason(getattr(error, "strerror", None) or str(error))
        right = "give a folder that can be made, in one that is there"
        raise InputError(str(folder), reason, right) from error


def _check_new(path: Path) -> None:
    """Refuse a file that is there: what a player made of an earlier one must not be lost."""
    if _is_there(path):
        raise InputError(str(path), Reason("is there already"), "give another name")


def _is_there(path: Path) -> bool:
    try:
        return path.exists()
    except (OSError, ValueError):
        # That it cannot be written either is said when it is tried.
        return False
