"""Peer, and where others begin: unit by unit, each on the knob where it costs least."""

from __future__ import annotations

from benchmarks.peers.answer import Answer, Tell
from benchmarks.peers.costs import Costs
from benchmarks.peers.shape import shape_of
from benchmarks.peers.state import NOWHERE, State
from knobpack.words import Request


def solve(request: Request, _: float, tell: Tell) -> Answer:
    """Place everything once."""
    state = State(Costs(shape_of(request)))
    insert_all(state)
    found = state.shape.layout(state.knob)
    tell(found)
    return Answer(found)


def insert_all(state: State) -> None:
    """Place whatever can be placed, the most held and then the most important first.

    After what has one place only comes one unit of each movement, so that none is shut out.
    """
    shape = state.shape
    first: dict[int, int] = {}
    for unit in range(len(shape.units)):
        first.setdefault(shape.movement[unit], unit)

    def rank(unit: int) -> tuple[bool, bool, bool, int, int]:
        held = len(shape.open[unit]) != 1
        leads = first[shape.movement[unit]] != unit
        return (held, not shape.required[unit], leads, -state.left_out[unit], unit)

    for unit in sorted(range(len(shape.units)), key=rank):
        if state.knob[unit] == NOWHERE:
            insert(state, unit)


def insert(state: State, unit: int) -> bool:
    """Place a unit on its cheapest knob, where it has one."""
    best: tuple[int, int] | None = None
    emptied: set[bool] = set()
    for knob in state.shape.open[unit]:
        if not state.on[knob]:
            # One empty knob costs a unit what another does, unless its travel is kept.
            kept = knob in state.costs.missed_kept
            if kept in emptied:
                continue
            emptied.add(kept)
        dearer = state.tried([(unit, knob)])
        if dearer is None:
            continue
        if best is None or dearer < best[0]:
            best = (dearer, knob)
        state.undo([(unit, NOWHERE)])
    if best is None:
        return False
    state.put(unit, best[1])
    state.value += best[0]
    return True
