"""Keys: the values of an object, each of the type it must be of."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from typing import Any

import attrs

from knobpack.errors import InputError
from knobpack.exchange.remarks import Remarks
from knobpack.strict_json import key_path
from knobpack.words import fields
from knobpack.words.names import listed


def known_keys(
    place: str, given: Mapping[Any, Any], keys: Collection[str], remarks: Remarks
) -> dict[str, Any]:
    """What an object holds under the keys that are known, written as the standard writes them.

    A key in other case is taken for the one it resembles, and null for nothing at all.

    Raises:
        InputError: a key is no text, or two are the same but for their case.
    """
    folded = {key.casefold(): key for key in keys}
    found: dict[str, Any] = {}
    unknown = []
    for key, value in given.items():
        if not isinstance(key, str):
            raise InputError(place, key, "a key is text")
        known = folded.get(key.casefold())
        if known is None:
            unknown.append(key_path(key))
            continue
        if known in found:
            right = f"this key stands for {known}, which is there already; keep one"
            raise InputError(place + key_path(key), value, right)
        found[known] = value
        if key != known:
            remarks.add(place + key_path(key), f"it is taken for {known}")
    for key in [key for key, value in found.items() if value is None]:
        remarks.add(f"{place}.{key}", "null is taken for no value")
        del found[key]
    if unknown:
        which = "these keys are" if len(unknown) > 1 else "this key is"
        remarks.add(place, f"{listed(unknown)}: {which} not known and passed over")
    return found


def required(place: str, found: Mapping[str, Any], key: str, right: str) -> Any:
    """The value of a key that must be there.

    Raises:
        InputError: it is not.
    """
    if key not in found:
        raise InputError(f"{place}.{key}", attrs.NOTHING, right)
    return found[key]


def text(place: str, found: Mapping[str, Any], key: str, *, needed: bool = False) -> str | None:
    """The text of a key; None where it is not there and need not be.

    Raises:
        InputError: it is no text, or is missing.
    """
    value = required(place, found, key, "this key must be there") if needed else found.get(key)
    if value is not None and not isinstance(value, str):
        raise InputError(f"{place}.{key}", value, "give text")
    return value


def whole(place: str, found: Mapping[str, Any], key: str, low: int, high: int) -> int | None:
    """The whole number of a key; None where it is not there.

    Raises:
        InputError: it is no whole number from ``low`` to ``high``.
    """
    value = found.get(key)
    if value is None:
        return None
    fields.check_whole(f"{place}.{key}", value, low, high)
    return int(value)


def chosen(
    place: str,
    found: Mapping[str, Any],
    key: str,
    choices: Collection[str],
    remarks: Remarks,
    *,
    default: str | None = None,
) -> str:
    """Which of some choices a key holds, in whatever case; a default where it is not there.

    Raises:
        InputError: it holds none of them, or is missing and has no default.
    """
    right = f"give one of {', '.join(choices)}"
    if default is not None and key not in found:
        return default
    value = required(place, found, key, right)
    for choice in choices:
        if isinstance(value, str) and value.casefold() == choice.casefold():
            if value != choice:
                remarks.add(f"{place}.{key}", f"it is taken for {choice}")
            return choice
    raise InputError(f"{place}.{key}", value, right)
