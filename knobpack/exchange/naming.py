"""Naming: titles and paths made into names that the words take."""

from __future__ import annotations

import re
from typing import Final

from knobpack.combination.naming import shortened
from knobpack.errors import InputError
from knobpack.exchange.remarks import Remarks
from knobpack.words.fields import LONGEST_NAME, check_name

LONGEST_PATH: Final = 256
"""Bytes of a ``paramPath``, at most (M2-117-UM, Table 5)."""

_POINTER: Final = re.compile(r"(?:/(?:[^/~]|~[01])*)*")  # RFC 6901, section 3
_NEW_WORD: Final = re.compile(r"(?<=[a-z0-9])(?=[A-Z])")
_BETWEEN: Final = re.compile(r"[ _/]+")  # no other white space: a control character must be seen


def name_of(where: str, title: str, remarks: Remarks) -> str:
    """The name that a title makes: no ``/``, no space at its ends, not too long.

    Raises:
        InputError: nothing is left of it, or it holds what no name may hold.
    """
    bare = title.strip(" ").replace("/", "-")
    name = shortened(bare, LONGEST_NAME)
    try:
        check_name(where, name)
    except InputError as error:
        raise InputError(where, title, error.right) from None
    if name != title:
        told = "a name is short, holds no '/' and has no space at its ends"
        remarks.add(where, f"it is called {name!r} here: {told}")
    return name


def path_of(where: str, path: str, remarks: Remarks) -> tuple[str, ...]:
    """The parts of a JSON Pointer (RFC 6901), each in words: ``/lfo/waveType`` is lfo, wave type.

    Raises:
        InputError: it is longer than 256 bytes of UTF-8, or a part holds what no name may hold.
    """
    # Half of a surrogate pair is counted here, and refused with the part that it stands in.
    if len(path.encode("utf-8", "surrogatepass")) > LONGEST_PATH:
        right = f"give a path of at most {LONGEST_PATH} bytes (M2-117-UM, Table 5)"
        raise InputError(where, path, right)
    if not _POINTER.fullmatch(path):
        remarks.add(where, "it is passed over: this is no JSON Pointer (RFC 6901)")
        return ()
    # Section 4: ~1 first, so that ~01 becomes ~1 and not a slash.
    parts = (part.replace("~1", "/").replace("~0", "~") for part in path.split("/")[1:])
    words = tuple(found for part in parts if (found := worded(part)))
    for part in words:
        try:
            check_name(where, part)
        except InputError as error:
            raise InputError(where, path, error.right) from None
    return words


def worded(text: str) -> str:
    """A text in lower case and in words, as kinds are written: ``waveType`` is wave type."""
    apart = _BETWEEN.sub(" ", _NEW_WORD.sub(" ", text)).strip(" ")
    return shortened(apart.casefold(), LONGEST_NAME)
