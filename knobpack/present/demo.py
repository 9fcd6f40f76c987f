"""Demo: a request of six invented voices, and setups to combine, all of them invented too."""

from __future__ import annotations

from importlib import resources

from knobpack.files import loads
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


def demo_list() -> bytes:
    """The controller list of an invented instrument, which is shipped beside this file."""
    return resources.files(__package__).joinpath("demo_list.json").read_bytes()
