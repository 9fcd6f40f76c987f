"""Index: which controller an entry means."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any, Final

from knobpack.controllers.table import low_half
from knobpack.errors import InputError
from knobpack.exchange.keys import required
from knobpack.exchange.remarks import Remarks
from knobpack.words import fields
from knobpack.words.knob_settings import RESERVED

_RIGHT: Final = {
    "cc": "give [number], or [high half, low half] with the low half 32 above",
    "nrpn": "give [MSB, LSB]",
    "rpn": "give [MSB, LSB]",
    "pnrc": "give [number]",
    "pnac": "give [number]",
}
_LENGTHS: Final = {"cc": (1, 2), "nrpn": (2,), "rpn": (2,), "pnrc": (1,), "pnac": (1,)}
_HIGHEST: Final = {"pnrc": 255, "pnac": 255}  # M2-104-UM, per-note messages; from memory
_NULL: Final = (127, 127)


def index_of(
    place: str, found: Mapping[str, Any], ctrl_type: str, driven: bool, remarks: Remarks
) -> tuple[int, ...]:
    """The ctrlIndex of an entry; empty for a type that has none.

    Args:
        place: where the entry stands.
        found: what it holds.
        ctrl_type: its ctrlType.
        driven: whether it is recognized: if not, nothing is ever sent to it, and a reserved number
            does no harm.
        remarks: told what is tolerated.

    Raises:
        InputError: it is missing, or is none for this type.
    """
    where = f"{place}.ctrlIndex"
    if ctrl_type not in _LENGTHS:
        if "ctrlIndex" in found:
            remarks.add(where, f"it is passed over: {ctrl_type} has none")
        return ()
    right = _RIGHT[ctrl_type]
    given = required(place, found, "ctrlIndex", right)
    if not isinstance(given, list) or len(given) not in _LENGTHS[ctrl_type]:
        raise InputError(where, given, right)
    for position, number in enumerate(given):
        fields.check_whole(f"{where}[{position}]", number, 0, _HIGHEST.get(ctrl_type, 127))
    index = tuple(given)
    if ctrl_type == "cc" and len(index) == 2 and index[1] != low_half(index[0]):
        raise InputError(where, given, right)
    if driven:
        _check_use(where, ctrl_type, given)
    return index


def _check_use(where: str, ctrl_type: str, given: list[int]) -> None:
    """Refuse what must not be driven: it would choose a sound or a parameter, or silence all."""
    if ctrl_type == "cc" and not set(RESERVED).isdisjoint(given):
        right = (
            "0, 6, 32, 38, 96 to 101 and 120 to 127 are reserved; give another number, "
            "or recognize none"
        )
        raise InputError(where, given, right)
    if ctrl_type in ("rpn", "nrpn") and tuple(given) == _NULL:
        right = "127, 127 is the null parameter; give another number, or recognize none"
        raise InputError(where, given, right)
