"""Strict JSON: what a file may hold, refused with the place where it goes wrong.

Stricter than RFC 8259, because a file may come from anywhere: UTF-8 alone (§8.1; one byte order
mark at the head is passed over, as §8.1 allows), no key twice in one object (§4), no number but
whole ones, no NaN (§6), no half of a surrogate pair (§8.2), and limits on every size (§9).
To import it takes next to no time: what is no JSON is refused at once.
"""

from __future__ import annotations

import json
import re
from math import isfinite
from typing import Any, Final

from knobpack.errors import InputError, Reason

MOST_BYTES: Final = 8_000_000
"""Bytes of UTF-8 in a file, at most."""

MOST_ITEMS: Final = 10_000
"""Entries of one list, or keys of one object, at most: more is a mistake, not a setup."""

MOST_DEPTH: Final = 32
"""Lists and objects inside one another, at most."""

MOST_VALUES: Final = 400_000
"""Values in a file, those within others too, at most: more would take seconds to look through."""

MOST_DIGITS: Final = 20
"""Digits of a number, at most."""

TOP: Final = "top level"
"""The place of the outermost value, which no key names."""

_FEWER_DIGITS: Final = f"give a number of at most {MOST_DIGITS} digits"
_NO_FRACTION: Final = "give a whole number, with no point and no exponent"
# A mark, or all that stands between two: strings, in which they mean nothing, and the rest. A
# string counts as one even where its end is missing, so that no text makes this slow.
_MARK_OR_NONE: Final = re.compile(
    r'[,\[\]{}]|(?:"[^"\\]*+(?:\\.[^"\\]*+)*+"?|[^",\[\]{}]++)++', re.DOTALL
)
HALF_PAIR: Final = re.compile("[\ud800-\udfff]")
"""Half of a surrogate pair, which is no character."""
_COMMA_LAST: Final = re.compile(r",\s*[\]}]")
_OTHER_QUOTES: Final = tuple("'`\u00b4\u00ab\u00bb\u2018\u2019\u201a\u201b\u201c\u201d\u201e\u201f")
_LOOK: Final = 200
"""Characters that are looked at before and after a mistake."""
_PLAIN_KEY: Final = re.compile(r"[A-Za-z_][A-Za-z0-9_]{0,39}", re.ASCII)


class _Misfit:
    """What JSON, or Python's reading of it, would let through: refused once its place is known."""

    def __init__(self, found: object, right: str) -> None:
        self.found, self.right = found, right


def parse(text: str | bytes) -> Any:
    """Read one JSON text.

    Args:
        text: at most 8 MB, with no more than 400,000 values, and no more than 32 lists and objects
            inside one another.

    Returns:
        Its value, made of dict, list, str, int, bool and None alone.

    Raises:
        InputError: it is not strict JSON. The field is the path of what goes wrong, or its line
            and column (both counted from 1) where the text is not JSON at all.
    """
    data = unchecked(text)
    check_strict(data)
    return data


def unchecked(text: str | bytes) -> Any:
    """As :func:`parse`, but what it holds is not looked at: :func:`check_strict` does that."""
    given = decoded(text, "write UTF-8, or give a file of JSON")
    check_marks(given)
    try:
        return json.loads(
            given,
            parse_int=_whole,
            parse_float=_fraction,
            parse_constant=_no_fraction,
            object_pairs_hook=_object,
        )
    except json.JSONDecodeError as error:
        found = given[error.pos : error.pos + 20] or Reason("the text ends here")
        where = f"line {error.lineno}, column {error.colno}"
        raise InputError(where, found, f"this is not JSON: {_mistake(error)}") from None


def _mistake(error: json.JSONDecodeError) -> str:
    """What is wrong, in words that help who wrote the text by hand."""
    told = f"{error.msg[:1].lower()}{error.msg[1:]}"
    place = error.pos
    commas = _COMMA_LAST.finditer(error.doc, max(0, place - _LOOK), place + _LOOK)
    if any(comma.start() <= place < comma.end() for comma in commas):
        return "a comma stands before the closing bracket"
    if error.doc[place : place + 1] in _OTHER_QUOTES:
        return f"{told}; names and texts stand between straight double quotes"
    if error.msg.startswith("Expecting ','") and place < len(error.doc):
        return f"{told}; perhaps a comma is missing before this"
    return told


def check_strict(data: Any, *, fractions: bool = False) -> None:
    """Refuse what strict JSON cannot hold.

    Args:
        data: a value.
        fractions: whether a number may have a fraction.

    Raises:
        InputError: it holds such a number that may not, one of too many digits, half of a surrogate
            pair, too long a list or object, a key that is not text, or what is not JSON; or it
            nests too deep.
    """
    wrong = _wrong(data, 1, fractions)
    if wrong is not None:
        path, value, right = wrong
        raise InputError(path.lstrip(".") or TOP, value, right)


def _wrong(data: Any, depth: int, fractions: bool) -> tuple[str, object, str] | None:
    """What strict JSON cannot hold: its path in the data, itself, and what would be right.

    Args:
        data: a value.
        depth: how many lists and objects it stands in, itself among them.
        fractions: whether a number may have a fraction.
    """
    if not isinstance(data, list | dict):
        right = _right(data, fractions)
        return ("", data.found if isinstance(data, _Misfit) else data, right) if right else None
    if depth > MOST_DEPTH:
        return "", data, f"nest at most {MOST_DEPTH} lists and objects"
    if len(data) > MOST_ITEMS:
        return "", len(data), f"give at most {MOST_ITEMS} items or keys"
    named = isinstance(data, dict)
    for key, item in data.items() if isinstance(data, dict) else enumerate(data):
        if named and (not isinstance(key, str) or HALF_PAIR.search(key)):
            return key_path(key), key, "a key is text"
        if wrong := _wrong(item, depth + 1, fractions):
            return (key_path(key) if named else f"[{key}]") + wrong[0], *wrong[1:]
    return None


def _right(value: object, fractions: bool) -> str:
    """What would be right in place of a value that holds no others; empty: it is."""
    match value:
        case None | bool():
            return ""
        case int():
            return _FEWER_DIGITS if abs(value) >= 10**MOST_DIGITS else ""
        case str():
            return "half of a surrogate pair is no character" if HALF_PAIR.search(value) else ""
        case float():
            return "" if fractions and isfinite(value) else _NO_FRACTION
        case _Misfit():
            return value.right
    return "give an object, a list, text, a whole number, true, false or null"


def key_path(key: object) -> str:
    """How a key continues a path: ``.name``, or ``["two words"]``, cut short."""
    if isinstance(key, str) and _PLAIN_KEY.fullmatch(key):
        return f".{key}"
    return f"[{json.dumps(str(key)[:40])}]"


def decoded(text: object, right: str, encoding: str = "utf-8") -> str:
    """Text that was given as text or bytes, without a byte order mark.

    Raises:
        InputError: it is neither, is too long, or is of another encoding; ``right`` says what to do
            then.
    """
    if not isinstance(text, str | bytes):
        raise InputError("text", text, "give text or bytes")
    # Characters are counted first: what is far too long is not even turned into bytes.
    size = len(text)
    if isinstance(text, str) and size <= MOST_BYTES:
        size = len(text.encode("utf-8", "surrogatepass"))
    if size > MOST_BYTES:
        raise InputError("size", size, f"give at most {MOST_BYTES:,} bytes")
    if isinstance(text, str):
        return text.removeprefix("\ufeff")
    try:
        return text.decode(encoding).removeprefix("\ufeff")
    except UnicodeDecodeError as error:
        where = f"byte {error.start + 1}"
        raise InputError(where, text[error.start : error.end], right) from None


def check_marks(text: str) -> None:
    """Refuse deep nesting and too many values before the parser sees them.

    The parser calls itself at each level, and makes every value there is.

    Raises:
        InputError: the text nests too deep, or holds too many values.
    """
    depth, values = 0, 1
    for token in _MARK_OR_NONE.finditer(text):
        mark = token[0]
        if mark in "[{,":
            values += 1
            if values > MOST_VALUES:
                raise InputError(TOP, values, f"give at most {MOST_VALUES:,} values in all")
        if mark in "[{":
            depth += 1
            if depth > MOST_DEPTH:
                line = text.count("\n", 0, token.start()) + 1
                column = token.start() - text.rfind("\n", 0, token.start())
                right = f"nest at most {MOST_DEPTH} lists and objects"
                raise InputError(f"line {line}, column {column}", mark, right)
        elif mark in "]}":
            depth -= 1
            if depth < 0:
                return  # whatever follows, the parser goes no further


def _whole(digits: str) -> int | _Misfit:
    if len(digits.lstrip("-")) > MOST_DIGITS:
        return _Misfit(digits, _FEWER_DIGITS)
    return int(digits)


def _fraction(digits: str) -> float | _Misfit:
    # Python need not work out a number of a million digits that is refused anyway.
    return float(digits) if len(digits) <= 40 else _no_fraction(digits)


def _no_fraction(digits: str) -> _Misfit:
    return _Misfit(digits, _NO_FRACTION)


def _object(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    made: dict[str, Any] = {}
    for key, value in pairs:
        twice = key in made
        made[key] = (
            _Misfit(key, "this key stands twice in one object; keep one") if twice else value
        )
    return made
