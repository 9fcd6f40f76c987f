"""Places: what each knob may have in any choice that is as good in every tier but the last."""

from __future__ import annotations

from collections.abc import Sequence

from knobpack.controllers.parts import TIERS, Sent
from knobpack.controllers.table import HALF
from knobpack.controllers.wanted import Want, Wanted

Places = tuple[frozenset[int], bool]
"""The numbers that a knob may have, and whether it may have none."""


def places(wanted: Wanted, numbers: frozenset[int], spent: Sequence[int]) -> list[Places]:
    """What each knob may have; rather too much than too little.

    Args:
        wanted: what is asked on one channel alone.
        numbers: those that are used in any such choice.
        spent: the least values of the tiers.
    """
    cost = dict(zip(TIERS, spent, strict=True))
    asked = frozenset(w.deliberate for w in wanted.wants if w.deliberate is not None)
    lost = frozenset(
        want.who
        for want in wanted.wants
        if want.before is not None and not _keepable(wanted, numbers - asked, want)
    )
    # Where nothing is changed but what must be, the rest is sent on what it was sent on before.
    kept = cost["changes"] == len(lost)
    settled = {
        want.who: number
        for want in wanted.wants
        if (number := _settled(want, kept and want.who not in lost)) is not None
    }
    single = frozenset(
        want.who
        for want in wanted.wants
        if want.fine and _misses(want, settled, kept and want.who not in lost)
    )
    precise = cost["fine"] == len(single)
    parameters, left = cost["parameters"] > 0, cost["left"] > 0
    free = numbers - set(settled.values())
    found: list[Places] = []
    for want in wanted.wants:
        if want.who in settled:
            found.append((frozenset((settled[want.who],)), False))
        elif kept and want.before is not None and want.who not in lost:
            found.append((frozenset(), True))
        elif want.fine and precise and want.who not in single:
            found.append((frozenset(n for n in free if n < HALF), parameters))
        else:
            found.append((free, parameters or left))
    return found


def _settled(want: Want, keeps: bool) -> int | None:
    """The number that a knob is sure to have."""
    if want.deliberate is not None:
        return want.deliberate
    return want.before.number if keeps and want.before is not None else None


def _keepable(wanted: Wanted, numbers: frozenset[int], want: Want) -> bool:
    """Whether a knob may be sent on what it was sent on before, the others left aside.

    Args:
        wanted: what is asked.
        numbers: those that matter and are not to be had by a certain knob.
        want: the knob.
    """
    before = want.before or Sent()
    if want.deliberate is not None:
        return before.number == want.deliberate
    if before.number is not None:
        return before.number in numbers
    return before.parameter is None or before.parameter in wanted.parameters


def _misses(want: Want, settled: dict[str, int], keeps: bool) -> bool:
    """Whether a knob that is to send 14 bits is sure not to."""
    if want.who in settled:
        return settled[want.who] >= HALF
    return keeps and want.before == Sent()
