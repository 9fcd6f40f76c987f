"""Demo: a request of six invented voices from three sources and a host, on eight knobs."""

from __future__ import annotations

from importlib import resources

from knobpack.files import loads
from knobpack.words import Request


def demo_request() -> Request:
    """The request in ``demo.json``, which is shipped beside this file."""
    word = loads(resources.files(__package__).joinpath("demo.json").read_bytes())
    if not isinstance(word, Request):
        raise TypeError("demo.json does not hold a request")
    return word
