"""Entry: one controller of a list, every key checked (M2-117-UM, sections 2.1 and 3.1)."""

from __future__ import annotations

import re
from collections.abc import Collection, Mapping
from typing import Any, Final

import attrs

from knobpack.controllers.listening import check_channel
from knobpack.errors import InputError
from knobpack.exchange.index import index_of
from knobpack.exchange.keys import chosen, known_keys, required, text, whole
from knobpack.exchange.naming import name_of, path_of
from knobpack.exchange.remarks import Remarks
from knobpack.phrases import PRIORITIES
from knobpack.words import fields
from knobpack.words.travel import HIGHEST_POSITION

KEYS: Final = (
    "title",
    "description",
    "channel",
    "ctrlType",
    "ctrlIndex",
    "priority",
    "default",
    "transmit",
    "recognize",
    "numSigBits",
    "paramPath",
    "typeHint",
    "ctrlMapId",
    "stepCount",
    "minMax",
    "defaultCCMap",
)
TYPES: Final = ("cc", "chPress", "pPress", "nrpn", "rpn", "pBend", "pnrc", "pnac", "pnp")
PER_NOTE: Final = frozenset({"pPress", "pnrc", "pnac", "pnp"})
SENT: Final = ("absolute", "relative", "both", "none")
HINTS: Final = ("continuous", "momentary", "toggle", "relative", "valueSelect")
MEDIUM: Final = 3
"""The priority of a controller that has none, as of any Destination."""

MAP_ID: Final = re.compile(r"[A-Za-z0-9_]{1,36}", re.ASCII)


@attrs.frozen
class Entry:
    """One controller as it is listed, checked.

    Args:
        place: where it stands in its list: ``[3]``.
        name: its title, as a name.
        channel: 1 to 256.
        ctrl_type: one of ``TYPES``.
        index: its ctrlIndex; empty for a type without.
        priority: 1 to 5.
        default: of 32 bits; None: none.
        transmit: one of ``SENT``.
        recognize: one of ``SENT``.
        significant_bits: 1 to 32.
        path: the parts of its paramPath, in words.
        hint: one of ``HINTS``; None: none.
        map_id: the id of its CtrlMapList; None: none.
        steps: its stepCount; None: none.
        span: its minMax, of 32 bits each; None: none.
        default_cc_map: whether it is marked as one of the default controller map.
    """

    place: str
    name: str
    channel: int
    ctrl_type: str
    index: tuple[int, ...]
    priority: int
    default: int | None
    transmit: str
    recognize: str
    significant_bits: int
    path: tuple[str, ...]
    hint: str | None
    map_id: str | None
    steps: int | None
    span: tuple[int, int] | None
    default_cc_map: bool

    @property
    def called(self) -> str:
        """The controller in short: ``cc 7 39``, ``nrpn 0 55``, ``pBend``."""
        return " ".join((self.ctrl_type, *map(str, self.index)))

    @property
    def driven(self) -> bool:
        """Whether anything that is sent to it does anything."""
        return self.recognize != "none"


def entry_of(place: str, given: Mapping[Any, Any], channel: int | None, remarks: Remarks) -> Entry:
    """Check one object of a list.

    Args:
        place: where it stands: ``[3]``.
        given: the object.
        channel: that of a ChCtrlList; None: each entry says its own (AllCtrlList).
        remarks: told what is tolerated.

    Raises:
        InputError: a key is missing or holds a value it cannot hold.
    """
    found = known_keys(place, given, KEYS, remarks)
    title = text(place, found, "title", needed=True) or ""
    name = name_of(f"{place}.title", title, remarks)
    text(place, found, "description")
    ctrl_type = chosen(place, found, "ctrlType", TYPES, remarks)
    transmit = chosen(place, found, "transmit", SENT, remarks, default="absolute")
    recognize = chosen(place, found, "recognize", SENT, remarks, default="absolute")
    steps = whole(place, found, "stepCount", 2, HIGHEST_POSITION + 1)
    span = _span(place, found)
    if steps is not None and span is not None:
        right = "give stepCount or minMax, not both (M2-117-UM)"
        raise InputError(f"{place}.stepCount", steps, right)
    hint = _hint(place, found, remarks)
    path = text(place, found, "paramPath")
    return Entry(
        place=place,
        name=name,
        channel=_channel(place, found, channel, remarks),
        ctrl_type=ctrl_type,
        index=index_of(place, found, ctrl_type, recognize != "none", remarks),
        priority=_priority(place, found, remarks),
        default=_default(place, found, remarks),
        transmit=transmit,
        recognize=recognize,
        significant_bits=whole(place, found, "numSigBits", 1, 32) or 32,
        path=() if path is None else path_of(f"{place}.paramPath", path, remarks),
        hint=hint,
        map_id=_map_id(place, found, hint, remarks),
        steps=steps,
        span=span,
        default_cc_map=_default_cc_map(place, found, ctrl_type, channel, remarks),
    )


def check_map_id(where: str, given: object) -> str:
    """Refuse what is no id of a CtrlMapList: capitals are let through.

    Raises:
        InputError: it is none.
    """
    if not isinstance(given, str) or not MAP_ID.fullmatch(given):
        right = "an id is 1 to 36 of the characters a to z, 0 to 9 and _ (M2-117-UM)"
        raise InputError(where, given, right)
    return given


def _channel(place: str, found: Mapping[str, Any], of_list: int | None, remarks: Remarks) -> int:
    where = f"{place}.channel"
    if of_list is None:
        own: int = required(place, found, "channel", "say its channel, 1 to 256 (AllCtrlList)")
        check_channel(where, own)
        return own
    if "channel" in found:
        check_channel(where, found["channel"])
        if found["channel"] != of_list:
            right = f"a ChCtrlList is of one channel, here {of_list}; this may be an AllCtrlList"
            raise InputError(where, found["channel"], right)
        remarks.add(where, "it is passed over: a ChCtrlList says no channel")
    return of_list


def _priority(place: str, found: Mapping[str, Any], remarks: Remarks) -> int:
    given = whole(place, found, "priority", 1, 5)
    if given is None:
        called = PRIORITIES[MEDIUM - 1]
        told = f"no priority is given, and the standard has no default; taken as {called}, {MEDIUM}"
        remarks.add(place, told)
    return MEDIUM if given is None else given


def _default(place: str, found: Mapping[str, Any], remarks: Remarks) -> int | None:
    # An example of the standard prints 214748364864. As the highest value it could be loud.
    given = found.get("default")
    if isinstance(given, int) and not isinstance(given, bool) and given > HIGHEST_POSITION:
        remarks.add(f"{place}.default", "it is left out: it is above 2**32 - 1")
        return None
    return whole(place, found, "default", 0, HIGHEST_POSITION)


def _span(place: str, found: Mapping[str, Any]) -> tuple[int, int] | None:
    if "minMax" not in found:
        return None
    where, given = f"{place}.minMax", found["minMax"]
    if not isinstance(given, list) or len(given) != 2:
        raise InputError(where, given, "give two whole numbers, the lower one first")
    for position, each in enumerate(given):
        fields.check_whole(f"{where}[{position}]", each, 0, HIGHEST_POSITION)
    low, high = given
    if not low < high:
        raise InputError(where, given, "give two whole numbers, the lower one first")
    return low, high


def _hint(place: str, found: Mapping[str, Any], remarks: Remarks) -> str | None:
    given = text(place, found, "typeHint")
    if given is None:
        return None
    if given.casefold() not in _folded(HINTS):
        remarks.add(f"{place}.typeHint", "it is passed over: the standard has no such hint")
        return None
    return chosen(place, found, "typeHint", HINTS, remarks)


def _map_id(place: str, found: Mapping[str, Any], hint: str | None, remarks: Remarks) -> str | None:
    where = f"{place}.ctrlMapId"
    if hint == "valueSelect":
        required(place, found, "ctrlMapId", "valueSelect takes the id of a CtrlMapList")
    if "ctrlMapId" not in found:
        return None
    given = check_map_id(where, found["ctrlMapId"])
    if given != given.lower():
        remarks.add(where, "it has capitals, which the standard does not allow; taken as it is")
    return given


def _default_cc_map(
    place: str, found: Mapping[str, Any], ctrl_type: str, channel: int | None, remarks: Remarks
) -> bool:
    where = f"{place}.defaultCCMap"
    given = found.get("defaultCCMap", False)
    if not isinstance(given, bool):
        raise InputError(where, given, "give true or false")
    if given and (channel is None or ctrl_type != "cc"):
        remarks.add(where, "it is passed over: it belongs to a cc of a ChCtrlList")
        return False
    return given


def _folded(words: Collection[str]) -> frozenset[str]:
    return frozenset(word.casefold() for word in words)
