"""Maps: CtrlMapLists, which name the values that a controller chooses from (M2-117-UM, 4)."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from knobpack.errors import InputError
from knobpack.exchange.entry import check_map_id
from knobpack.exchange.given import noted, plain_list
from knobpack.exchange.keys import known_keys, required, text
from knobpack.exchange.remarks import Remarks
from knobpack.words import fields
from knobpack.words.travel import HIGHEST_POSITION

KEYS: Final = ("value", "title")


def maps_of(given: object, remarks: Remarks) -> dict[str, tuple[int, ...]]:
    """The values of each map that was given, under its id.

    Args:
        given: a mapping from ctrlMapId to a CtrlMapList, each as text, bytes, path or list; None:
            none.
        remarks: told what is tolerated.

    Returns:
        For each id its values, of 32 bits, ascending, each once.

    Raises:
        InputError: it is no such mapping, or an entry holds a value it cannot hold.
    """
    if given is None:
        return {}
    if not isinstance(given, Mapping):
        raise InputError("maps", given, "give a mapping from ctrlMapId to CtrlMapList, or None")
    found = {}
    for map_id, listed in given.items():
        check_map_id("maps", map_id)
        where = f'maps["{map_id}"]'
        with noted(where, listed):
            found[map_id] = _values(where, listed, remarks)
    return found


def _values(where: str, given: object, remarks: Remarks) -> tuple[int, ...]:
    values = []
    for position, entry in enumerate(plain_list(where, given)):
        place = f"{where}[{position}]"
        found = known_keys(place, entry, KEYS, remarks)
        value = required(place, found, "value", "this key must be there")
        fields.check_whole(f"{place}.value", value, 0, HIGHEST_POSITION)
        text(place, found, "title", needed=True)
        values.append(value)
    if len(set(values)) < len(values):
        remarks.add(where, "a value is in it twice, and counts once")
    return tuple(sorted(set(values)))
