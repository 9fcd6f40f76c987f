"""List entry: one controller of a list, every key checked (M2-117-UM, sections 2.1 and 3.1)."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Any, Final

import attrs

from knobpack.definition.phrases import PRIORITIES
from knobpack.errors import InputError
from knobpack.midi.control_change_table import NULL_PARAMETER, low_half
from knobpack.midi.imported import ListedController
from knobpack.midi.list_keys import Keys
from knobpack.midi.sent import check_channel
from knobpack.words import fields
from knobpack.words.fields import LONGEST_NAME, check_name
from knobpack.words.free_names import shortened
from knobpack.words.knob_settings import RESERVED
from knobpack.words.travel import HIGHEST_POSITION

KEYS: Final = (
    *("title", "description", "channel", "ctrlType", "ctrlIndex", "priority", "default"),
    *("transmit", "recognize", "numSigBits", "paramPath", "typeHint", "ctrlMapId", "stepCount"),
    *("minMax", "defaultCCMap"),
)
TYPES: Final = ("cc", "chPress", "pPress", "nrpn", "rpn", "pBend", "pnrc", "pnac", "pnp")
PER_NOTE: Final = frozenset({"pPress", "pnrc", "pnac", "pnp"})
SENT: Final = ("absolute", "relative", "both", "none")
HINTS: Final = ("continuous", "momentary", "toggle", "relative", "valueSelect")
MEDIUM: Final = 3
"""The priority of a controller that has none, as of any Destination."""

LONGEST_PATH: Final = 256
"""Bytes of a ``paramPath``, at most (M2-117-UM, Table 5)."""

_INDICES: Final = {
    "cc": ((1, 2), 127, "give [number], or [high half, low half] with the low half 32 above"),
    "nrpn": ((2,), 127, "give [MSB, LSB]"),
    "rpn": ((2,), 127, "give [MSB, LSB]"),
    "pnrc": ((1,), 255, "give [number]"),  # M2-104-UM, per-note messages; from memory
    "pnac": ((1,), 255, "give [number]"),
}
"""How many numbers a ctrlIndex has, up to which, and what would be right; of other types: none."""

_MAP_ID: Final = re.compile(r"[A-Za-z0-9_]{1,36}", re.ASCII)
_POINTER: Final = re.compile(r"(?:/(?:[^/~]|~[01])*)*")  # RFC 6901, section 3
_NEW_WORD: Final = re.compile(r"(?<=[a-z0-9])(?=[A-Z])")
_BETWEEN: Final = re.compile(r"[ _/]+")  # no other white space: a control character must be seen


@attrs.frozen
class ListEntry:
    """One controller as it is listed, checked.

    Args:
        keys: what is listed, and where.
        listed: which controller it is; what it drives is not known yet.
        priority: 1 to 5.
        path: the parts of its paramPath, in words.
        hint: one of ``HINTS``; None: none.
        map_id: the id of its CtrlMapList; None: none.
        steps: its stepCount; None: none.
        span: its minMax, of 32 bits each; None: none.
    """

    keys: Keys
    listed: ListedController
    priority: int
    path: tuple[str, ...]
    hint: str | None
    map_id: str | None
    steps: int | None
    span: tuple[int, int] | None

    def remark(self, told: str) -> None:
        """Remark on it."""
        self.keys.remark("", told)


def entry_of(keys: Keys, channel: int | None) -> ListEntry:
    """Check one object of a list.

    Args:
        keys: the object.
        channel: that of a ChCtrlList; None: each entry says its own (AllCtrlList).

    Raises:
        InputError: a key is missing or holds a value it cannot hold.
    """
    title = _name(keys, keys.text("title", needed=True) or "")
    keys.text("description")
    ctrl_type = keys.chosen("ctrlType", TYPES)
    transmit = keys.chosen("transmit", SENT, "absolute")
    recognize = keys.chosen("recognize", SENT, "absolute")
    steps = keys.whole("stepCount", 2, HIGHEST_POSITION + 1)
    span = _span(keys)
    if steps is not None and span is not None:
        raise InputError(
            keys.at("stepCount"), steps, "give stepCount or minMax, not both (M2-117-UM)"
        )
    hint = _hint(keys)
    path = _path(keys)
    listed = ListedController(
        title=title,
        destination=None,
        channel=_channel(keys, channel),
        ctrl_type=ctrl_type,
        ctrl_index=_index(keys, ctrl_type, recognize != "none"),
        default=_default(keys),
        significant_bits=keys.whole("numSigBits", 1, 32) or 32,
        transmit=transmit,
        recognize=recognize,
        default_cc_map=_default_cc_map(keys, channel is not None and ctrl_type == "cc"),
    )
    return ListEntry(keys, listed, _priority(keys), path, hint, _map_id(keys, hint), steps, span)


def check_map_id(where: str, given: object) -> str:
    """Refuse what is no id of a CtrlMapList: capitals are let through.

    Raises:
        InputError: it is none.
    """
    if not isinstance(given, str) or not _MAP_ID.fullmatch(given):
        right = "an id is 1 to 36 of the characters a to z, 0 to 9 and _ (M2-117-UM)"
        raise InputError(where, given, right)
    return given


def worded(text: str) -> str:
    """A text in lower case and in words, as kinds are written: ``waveType`` is wave type."""
    apart = _BETWEEN.sub(" ", _NEW_WORD.sub(" ", text)).strip(" ")
    return shortened(apart.casefold(), LONGEST_NAME)


def _name(keys: Keys, title: str) -> str:
    """The name that a title makes: no ``/``, no space at its ends, not too long."""
    name = shortened(title.strip(" ").replace("/", "-"), LONGEST_NAME)
    _check_name(keys, "title", name, title)
    if name != title:
        told = "a name is short, holds no '/' and has no space at its ends"
        keys.remark("title", f"it is called {name!r} here: {told}")
    return name


def _path(keys: Keys) -> tuple[str, ...]:
    """The parts of a JSON Pointer (RFC 6901), in words: ``/lfo/waveType`` is lfo, wave type."""
    path = keys.text("paramPath") or ""
    # Half of a surrogate pair is counted here, and refused with the part that it stands in.
    if len(path.encode("utf-8", "surrogatepass")) > LONGEST_PATH:
        right = f"give a path of at most {LONGEST_PATH} bytes (M2-117-UM, Table 5)"
        raise InputError(keys.at("paramPath"), path, right)
    if not _POINTER.fullmatch(path):
        keys.remark("paramPath", "it is passed over: this is no JSON Pointer (RFC 6901)")
        return ()
    # Section 4: ~1 first, so that ~01 becomes ~1 and not a slash.
    parts = (part.replace("~1", "/").replace("~0", "~") for part in path.split("/")[1:])
    words = tuple(found for part in parts if (found := worded(part)))
    for part in words:
        _check_name(keys, "paramPath", part, path)
    return words


def _check_name(keys: Keys, key: str, name: str, given: str) -> None:
    try:
        check_name(keys.at(key), name)
    except InputError as error:
        raise InputError(keys.at(key), given, error.right) from None


def _index(keys: Keys, ctrl_type: str, driven: bool) -> tuple[int, ...]:
    """The ctrlIndex of an entry; empty for a type that has none.

    Where it is not driven nothing is ever sent to it, and a reserved number does no harm. Else it
    would choose a sound or a parameter, or silence all.
    """
    where = keys.at("ctrlIndex")
    if ctrl_type not in _INDICES:
        if "ctrlIndex" in keys.found:
            keys.remark("ctrlIndex", f"it is passed over: {ctrl_type} has none")
        return ()
    lengths, highest, right = _INDICES[ctrl_type]
    given = keys.required("ctrlIndex", right)
    if not isinstance(given, list) or len(given) not in lengths:
        raise InputError(where, given, right)
    for position, number in enumerate(given):
        fields.check_whole(f"{where}[{position}]", number, 0, highest)
    if ctrl_type == "cc" and len(given) == 2 and given[1] != low_half(given[0]):
        raise InputError(where, given, right)
    if driven and ctrl_type == "cc" and not set(RESERVED).isdisjoint(given):
        right = (
            "0, 6, 32, 38, 96 to 101 and 120 to 127 are reserved; give another number, "
            "or recognize none"
        )
        raise InputError(where, given, right)
    if driven and ctrl_type in ("rpn", "nrpn") and tuple(given) == NULL_PARAMETER:
        right = "127, 127 is the null parameter; give another number, or recognize none"
        raise InputError(where, given, right)
    return tuple(given)


def _channel(keys: Keys, of_list: int | None) -> int:
    if of_list is not None:
        return of_list
    own: int = keys.required("channel", "say its channel, 1 to 256, as others do (AllCtrlList)")
    check_channel(keys.at("channel"), own)
    return own


def _priority(keys: Keys) -> int:
    given = keys.whole("priority", 1, 5)
    if given is None:
        called = f"{PRIORITIES[MEDIUM - 1]}, {MEDIUM}"
        told = f"no priority is given, and the standard has no default; taken as {called}"
        keys.remark("", told)
    return MEDIUM if given is None else given


def _default(keys: Keys) -> int | None:
    # An example of the standard prints 214748364864. As the highest value it could be loud.
    given = keys.found.get("default")
    if isinstance(given, int) and not isinstance(given, bool) and given > HIGHEST_POSITION:
        keys.remark("default", "it is left out: it is above 2**32 - 1")
        return None
    return keys.whole("default", 0, HIGHEST_POSITION)


def _span(keys: Keys) -> tuple[int, int] | None:
    where, given = keys.at("minMax"), keys.found.get("minMax")
    if given is None:
        return None
    right = "give two whole numbers, the lower one first"
    if not isinstance(given, list) or len(given) != 2:
        raise InputError(where, given, right)
    for position, each in enumerate(given):
        fields.check_whole(f"{where}[{position}]", each, 0, HIGHEST_POSITION)
    if not given[0] < given[1]:
        raise InputError(where, given, right)
    return given[0], given[1]


def _hint(keys: Keys) -> str | None:
    given = keys.text("typeHint")
    if given is None:
        return None
    if given.casefold() not in {hint.casefold() for hint in HINTS}:
        keys.remark("typeHint", "it is passed over: the standard has no such hint")
        return None
    return keys.chosen("typeHint", HINTS)


def _map_id(keys: Keys, hint: str | None) -> str | None:
    if hint == "valueSelect":
        keys.required("ctrlMapId", "valueSelect takes the id of a CtrlMapList")
    if "ctrlMapId" not in keys.found:
        return None
    given = check_map_id(keys.at("ctrlMapId"), keys.found["ctrlMapId"])
    if given != given.lower():
        keys.remark(
            "ctrlMapId", "it has capitals, which the standard does not allow; taken as it is"
        )
    return given


def _default_cc_map(keys: Keys, fitting: bool) -> bool:
    given = keys.found.get("defaultCCMap", False)
    fields.check_kind(keys.at("defaultCCMap"), given, bool)
    if given and not fitting:
        keys.remark("defaultCCMap", "it is passed over: it belongs to a cc of a ChCtrlList")
    return given and fitting


def check_listed_once(entries: Sequence[ListEntry]) -> None:
    """Refuse a controller that is listed twice.

    It may be, once with transmit none and once with recognize none (M2-117-UM, 2.1). Controller
    numbers are looked at one by one: 7 and the pair 7, 39 are moved by the same message.

    Raises:
        InputError: one is.
    """
    seen: dict[tuple[Any, ...], list[ListEntry]] = {}
    for entry in entries:
        each = entry.listed
        index = each.ctrl_index
        for part in [(number,) for number in index] if each.ctrl_type == "cc" else [index]:
            before = seen.setdefault((each.channel, each.ctrl_type, *part), [])
            if before and (len(before) > 1 or not _two_ways(before[0].listed, each)):
                key = "ctrlIndex" if index else "ctrlType"
                ways = "list it once, or once with transmit none and once with recognize none"
                right = f"{before[0].keys.place} is this controller already; {ways}"
                value = list(index) or each.ctrl_type
                raise InputError(entry.keys.at(key), value, right)
            before.append(entry)


def _two_ways(one: ListedController, other: ListedController) -> bool:
    """Whether one of them is only received, and the other only sent."""
    return any(
        received.transmit == "none" and sent.recognize == "none"
        for received, sent in ((one, other), (other, one))
    )
