"""Demo: a request of six invented voices, and setups to combine, all of them invented too."""

from __future__ import annotations

import shlex
from functools import partial
from importlib import resources
from pathlib import Path

from knobpack.errors import InputError, Reason
from knobpack.files import loads, save
from knobpack.present.folders import is_there, write_all
from knobpack.words import Request, Setup

SETUPS = ("base.json", "organ.json", "bass.json", "late.json")
"""The files of the setups: a base that uses two of eight knobs, two sources with faults, and one
that comes late, when one knob is left."""


TONIGHT = "tonight.json"
"""The file that the base and the sources combined are written to, as the command says."""


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


def write_demo_setups(folder: str) -> tuple[str, ...]:
    """Write the demo's setups to a folder, all of them or none; it is made if it is not there.

    Returns:
        The commands that combine them: base and sources, then what came of them with the late one.

    Raises:
        InputError: one of the files is there already, or something cannot be written.
    """
    paths = [Path(folder) / name for name in SETUPS]
    for path in paths:
        _check_new(path)
    write_all(folder, {name: partial(save, setup) for name, setup in demo_setups().items()})
    *first, late = (path.as_posix() for path in paths)
    return tuple(
        shlex.join(["python", "-m", "knobpack", "--combine", *options])
        for options in (
            [*first, "--setup", TONIGHT, "--sheet", "sheet.html"],
            [TONIGHT, late, "--sheet", "late.html"],
        )
    )


def _check_new(path: Path) -> None:
    """Refuse a file that is there: what a player made of an earlier one must not be lost."""
    if is_there(path):
        raise InputError(str(path), Reason("is there already"), "give another name")
