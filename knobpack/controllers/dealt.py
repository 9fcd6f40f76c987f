"""Dealt: a solution of the channel's model, which counts by class, as a choice for each knob.

Which knobs of a class get what does not matter but for the tier *order*, so the numbers are dealt
out in ascending order, in panel order.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from ortools.sat.python import cp_model

from knobpack.controllers.model import ChannelModel, Class, class_of, was_left
from knobpack.controllers.table import HALF
from knobpack.controllers.wanted import PARAMETER, Choice, Want

Read = Callable[[cp_model.LinearExprT], int]


def dealt(model: ChannelModel, read: Read) -> Choice:
    """The choice for each knob, in order.

    Args:
        model: the model of the channel.
        read: reads an expression in a solution of it.
    """
    chosen: dict[str, int | None] = {}
    for want in model.free:
        if want.who in model.keeps and read(model.keeps[want.who]) and want.before is not None:
            chosen[want.who] = want.before.number
    for kind in model.got:
        members = [w for w in model.free if class_of(w) == kind and w.who not in chosen]
        chosen |= _without(model, read, kind, members)
    takers = [want for want in model.free if want.who not in chosen]
    chosen |= _with_numbers(model, read, takers)
    chosen |= {want.who: number for number, want in model.asked.items()}
    return tuple(chosen[want.who] for want in model.wants)


def _without(
    model: ChannelModel, read: Read, kind: Class, members: Sequence[Want]
) -> dict[str, int | None]:
    """Those of a class that get a parameter, or nothing; the last ones, where none is kept."""
    got = model.got[kind]
    kept = [
        want.who
        for want in members
        if want.who in model.keeps_parameter and read(model.keeps_parameter[want.who])
    ]
    again = [want.who for want in members if was_left(want)]
    again = again[: read(model.stays_left[kind])] if again else []
    rest = [want.who for want in members if want.who not in {*kept, *again}]
    parameters, left = read(got.parameters) - len(kept), read(got.left) - len(again)
    more = rest[len(rest) - parameters - left :]
    return {
        **dict.fromkeys([*kept, *more[:parameters]], PARAMETER),
        **dict.fromkeys([*again, *more[parameters:]], None),
    }


def _with_numbers(model: ChannelModel, read: Read, takers: Sequence[Want]) -> dict[str, int | None]:
    """Numbers not kept, ascending, pairs to as many of each class as the model says."""
    numbers: dict[bool, list[int]] = {True: [], False: []}
    with_pair: set[str] = set()
    for fine, on in model.on.items():
        mine = [number for number, variable in on.items() if read(variable)]
        pairs = sum(number < HALF for number in mine)
        with_pair |= {want.who for want in [w for w in takers if w.fine == fine][:pairs]}
        for number in mine:
            numbers[number < HALF].append(number)
    found: dict[str, int | None] = {}
    for low in (True, False):
        here = [want.who for want in takers if (want.who in with_pair) == low]
        found |= dict(zip(here, sorted(numbers[low]), strict=True))
    return found
