"""Meanings: what kind of thing a listed controller controls."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from knobpack.controllers.table import TABLE
from knobpack.exchange.naming import worded
from knobpack.phrases import level_like

_LEVEL: Final = "level"

_LOUDNESS: Final = frozenset({7, 11})
"""Channel volume and expression: the decibels of both are added up (GM2 3.3.4 and 3.3.6)."""

_NO_MEANING: Final = frozenset({12, 13, 79})
"""Effect controls and the tenth sound controller: defined, with a meaning each device chooses."""

_WITHOUT_INDEX: Final = {
    "chPress": "channel pressure",
    "pPress": "key pressure",
    "pBend": "pitch bend",
    "pnp": "pitch",
}

_PARAMETERS: Final = {
    (0, 0): "pitch bend sensitivity",
    (0, 1): "fine tuning",
    (0, 2): "coarse tuning",
    (0, 3): "tuning program",
    (0, 4): "tuning bank",
    (0, 5): "modulation depth range",
}
"""Registered parameters, MSB and LSB (association table of RPNs; GM2)."""


def _by_number() -> Mapping[int, str]:
    kinds = {}
    for row in TABLE:
        own = row.kind in ("high half", "single") and row.number not in _NO_MEANING
        if own and not row.undefined and not row.general:
            kinds[row.number] = _LEVEL if row.number in _LOUDNESS else worded(row.name)
    return kinds


_NUMBERS: Final = _by_number()


def standard_kind(ctrl_type: str, index: tuple[int, ...]) -> str:
    """What the standards say that a controller controls; empty where they leave it open.

    Args:
        ctrl_type: ``cc``, ``rpn`` and so on.
        index: its ctrlIndex; of a pair the high half goes first.
    """
    if ctrl_type == "cc":
        return _NUMBERS.get(index[0], "")
    if ctrl_type == "rpn":
        return _PARAMETERS.get((index[0], index[1]), "")
    # Registered per-note controllers keep the numbers 7 and 11 (M2-104-UM; from memory).
    if ctrl_type == "pnrc" and index[0] in _LOUDNESS:
        return _LEVEL
    return _WITHOUT_INDEX.get(ctrl_type, "")


def kind_of(name: str, path: tuple[str, ...], ctrl_type: str, index: tuple[int, ...]) -> str:
    """The kind of a destination.

    The last part of its path that is more than a number says it, else the standard meaning of its
    controller, else its name. But if one of these can change how loud a voice is, that one: a
    caution too many is better than one too few.

    Args:
        name: its name.
        path: the parts of its path, in words.
        ctrl_type: ``cc``, ``rpn`` and so on.
        index: its ctrlIndex.
    """
    last = next((part for part in reversed(path) if not part.isdecimal()), "")
    said = [each for each in (last, standard_kind(ctrl_type, index), worded(name)) if each]
    return next(filter(level_like, said), said[0] if said else name)
