"""Hostile text: files that are spoiled in every way there is, from a seed."""

from __future__ import annotations

import json
import random
import re
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any, Final

import knobpack
from knobpack.files import Word, dumps
from knobpack.words import Layout
from tests.oracles.strategies import seeded_request
from tests.samples import REQUEST, SETUP

NAMES: Final = (
    "<script>alert(1)</script>",
    "</style><svg onload=alert(1)>",
    '"><img src=x onerror=alert(1)>',
    "&lt;b&gt; &amp; &#60;",
    "a'b\"c`d",
    "[bold red]K1[/] \\[x]",
    "*_**`x`** [y](javascript:z) ~~w~~ | # !",
    "$\\frac{1}{0}$ %s %(x)s {0} {x.__class__} ${HOME}",
    "../../etc/passwd",
    "C:\\CON",
    "-rf",
    "__class__",
    "e\u0301\u0323" * 30,
    "\U0001f39b\ufe0f",
    "\u0645\u0641\u062a\u0627\u062d",
)
"""Names that mean something to a page, a shell, a template or a disk, and are names here."""

NO_NAMES: Final = (
    "\u202ecba",
    "a\u2066b",
    "\x1b[2J",
    "a\x00b",
    "a\nb",
    "\u2028",
    "\ud800",
    "\udfff\ud800",
    "",
    " ",
    "x" * 121,
    "\ufeff",
    "\u200b",
    "\ue000",
)
"""Text that no name may be: bidirectional, control, format, unassigned, half a character."""

VALUES: Final[tuple[Any, ...]] = (
    None,
    True,
    False,
    0,
    -1,
    1,
    127,
    128,
    2**31,
    2**32,
    2**53 + 1,
    2**63,
    2**64,
    10**19,
    10**20,
    -(10**19),
    10**400,
    0.5,
    -0.0,
    1e308,
    [],
    {},
    [[]],
    [None],
    {"": ""},
    {"__class__": "x"},
    {"\x1b[31m": 1, "\ud800": 2},
    ["x"] * 10_001,
    *NAMES,
    *NO_NAMES,
)

_RAW: Final = (
    b"\x00",
    b"\xff",
    b"\xed\xa0\x80",
    b"\xf4\x90\x80\x80",
    b"\xc0\xaf",
    b"\xef\xbb\xbf",
    b"\\ud800",
    b"\\u202e",
    b"1e999999999",
    b"-",
    b"NaN",
    b"-Infinity",
    b"9" * 5000,
    b"0." + b"1" * 5000,
    b"[" * 100,
    b'{"a":' * 40,
    b"]" * 40,
    b'"',
    b"\\",
    b",",
    b":",
    b"//",
    b"/**/",
    b"'",
    b"\r\n",
    b"\x0b",
)

LIST: Final = json.dumps(
    [
        {
            "title": "Filter",
            "ctrlType": "cc",
            "ctrlIndex": [74],
            "channel": 1,
            "priority": 1,
            "default": 2**31,
            "paramPath": "/tone/filter",
            "minMax": [0, 2**32 - 1],
        },
        {
            "title": "Wave",
            "ctrlType": "nrpn",
            "ctrlIndex": [1, 5],
            "channel": 2,
            "numSigBits": 14,
            "ctrlMapId": "wave",
            "transmit": "none",
            "typeHint": "valueSelect",
        },
        {"title": "Pressure", "ctrlType": "chPress", "channel": 3, "stepCount": 9},
        {"title": "Pitch", "ctrlType": "pBend", "channel": 1, "recognize": "relative"},
    ]
)
"""A controller list (M2-117-UM v1.0, sections 2 and 3) to spoil."""

ONE: Final = re.sub('"channel": [0-9]', '"channel": 1', LIST)
"""The same of one channel."""

MAP: Final = json.dumps([{"value": 0, "title": "Sine"}, {"value": 2**31, "title": "Saw"}])
"""A map (M2-117-UM v1.0, section 4) to spoil."""


@cache
def originals() -> tuple[bytes, ...]:
    """Files of words that can be read, to spoil."""
    words: list[Word] = [REQUEST, SETUP, REQUEST.keep, Layout(), *map(seeded_request, range(12))]
    demo = sorted(Path(knobpack.__file__).parent.glob("present/**/*.json"))
    texts = [*(dumps(word) for word in words), *(path.read_text("utf-8") for path in demo)]
    return tuple(text.encode() for text in texts)


def spoiled(draw: random.Random, original: str | None = None) -> bytes:
    """One hostile file: an original (None: any word) after one to four faults."""
    content = draw.choice(originals()) if original is None else original.encode()
    for _ in range(draw.choice((1, 1, 1, 2, 3, 4))):
        content = draw.choice(_FAULTS)(draw, content)
    return content


def _flip(draw: random.Random, content: bytes) -> bytes:
    changed = bytearray(content or b"0")
    for _ in range(draw.randint(1, 4)):
        changed[draw.randrange(len(changed))] = draw.choice((draw.randrange(256), 34, 44, 91, 125))
    return bytes(changed)


def _cut(draw: random.Random, content: bytes) -> bytes:
    start, end = sorted(draw.randint(0, len(content)) for _ in range(2))
    return content[:start] + content[end:]


def _repeat(draw: random.Random, content: bytes) -> bytes:
    start = draw.randint(0, len(content))
    part = content[start : start + draw.randint(1, 200)]
    return content[:start] + part * draw.choice((2, 3, 50)) + content[start:]


def _insert(draw: random.Random, content: bytes) -> bytes:
    at = draw.randint(0, len(content))
    return content[:at] + draw.choice(_RAW) + content[at:]


def _splice(draw: random.Random, content: bytes) -> bytes:
    other = draw.choice(originals())
    return content[: draw.randint(0, len(content))] + other[draw.randint(0, len(other)) :]


def _encode(draw: random.Random, content: bytes) -> bytes:
    text = content.decode("utf-8", "replace")
    code = draw.choice(("utf-16", "utf-16-le", "utf-32", "utf-8-sig", "latin-1", "utf-7"))
    return text.encode(code, "replace")


def _replace(draw: random.Random, content: bytes) -> bytes:
    """Put a hostile value, or a part from elsewhere in the tree, in the place of some value."""
    try:
        tree = json.loads(content)
    except (ValueError, RecursionError):
        return _insert(draw, content)
    places = list(_places(tree))
    if not places:
        return _insert(draw, content)
    for _ in range(draw.randint(1, 3)):
        holder, key = draw.choice(places)
        other, at = draw.choice(places)
        new = draw.choice(VALUES) if draw.random() < 0.7 else other[at]
        if draw.random() < 0.1 and isinstance(holder, dict):
            holder[str(new)[:200]] = new
        else:
            holder[key] = new
    try:
        return json.dumps(tree, ensure_ascii=draw.random() < 0.5).encode("utf-8", "surrogatepass")
    except (ValueError, RecursionError):  # a part within itself, or a number of 400 digits
        return content


def _nudge(draw: random.Random, content: bytes) -> bytes:
    """Put another whole number, or another text of the same file, in the place of one or two."""
    try:
        tree = json.loads(content)
    except (ValueError, RecursionError):
        return _insert(draw, content)
    places = [(part, key) for part, key in _places(tree) if type(part[key]) in (int, str)]
    for _ in range(draw.randint(1, 2) if places else 0):
        holder, key = draw.choice(places)
        like = [part[at] for part, at in places if type(part[at]) is type(holder[key])]
        holder[key] = draw.choice(like)
        if isinstance(holder[key], int):
            holder[key] += draw.choice((-1, 0, 1))
    return json.dumps(tree).encode()


def _rename(draw: random.Random, content: bytes) -> bytes:
    """Give something another name wherever it is named, one that means something elsewhere."""
    found = re.findall(rb'": ?("[^"\\\\]+")', content)
    if not found:
        return _insert(draw, content)
    return content.replace(draw.choice(found), json.dumps(draw.choice(NAMES)).encode())


def _twice(draw: random.Random, content: bytes) -> bytes:
    """Give a key twice."""
    at = content.find(b'"', draw.randint(0, len(content)))
    return content[: max(at, 0)] + b'"knobpack": "setup", ' + content[max(at, 0) :]


def _places(tree: Any) -> list[tuple[Any, Any]]:
    found: list[tuple[Any, Any]] = []
    waiting = [tree]
    while waiting:
        part = waiting.pop()
        if isinstance(part, dict | list):
            keys = list(part) if isinstance(part, dict) else range(len(part))
            found += [(part, key) for key in keys]
            waiting += [part[key] for key in keys]
    return found


_FAULTS: Final[tuple[Callable[[random.Random, bytes], bytes], ...]] = (
    _flip,
    _cut,
    _repeat,
    _insert,
    _splice,
    _encode,
    _twice,
    *(_replace,) * 6,
    *(_nudge,) * 6,
    *(_rename,) * 6,
)
