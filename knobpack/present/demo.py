"""Demo: a request of six invented voices, and setups to combine, all of them invented too."""

from __future__ import annotations

from importlib import resources
from typing import cast

from knobpack.files import loads
from knobpack.words import Request, Setup

SETUPS = ("base.json", "organ.json", "bass.json", "late.json")
"""The files of the setups: a base that uses two of eight knobs, two sources with faults, and one
that comes late, when one knob is left."""

TONIGHT = "tonight.json"
"""The file that the base and the sources combined are written to, as the command says."""


def demo_request() -> Request:
    """The request in ``demo.json``, which is shipped beside this file."""
    return cast("Request", loads(_shipped("demo.json")))


def demo_setups() -> dict[str, Setup]:
    """The setups in ``demo_setups``, which is shipped beside this file, by the names of files."""
    return {name: cast("Setup", loads(_shipped("demo_setups", name))) for name in SETUPS}


def demo_list() -> bytes:
    """The controller list of an invented instrument, which is shipped beside this file."""
    return _shipped("demo_list.json")


def _shipped(*path: str) -> bytes:
    return resources.files(__package__).joinpath(*path).read_bytes()
