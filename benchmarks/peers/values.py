"""What a layout costs in all tiers, by the peers' own tables, and the best layout so far."""

from __future__ import annotations

from collections.abc import Sequence

from benchmarks.peers.answer import Tell
from benchmarks.peers.costs import Costs
from benchmarks.peers.insertion import insert_all
from benchmarks.peers.state import NOWHERE, State
from knobpack.words import Layout


class Best:
    """The best layout so far; each that is better is told.

    Args:
        costs: the request and its tables.
        tell: whom to tell.
    """

    def __init__(self, costs: Costs, tell: Tell) -> None:
        self.costs, self._tell = costs, tell
        self._state = State(costs)
        self.knob_of: list[int] = []
        self.values: tuple[int, ...] | None = None

    @property
    def layout(self) -> Layout | None:
        """The layout; None while there is none."""
        return None if self.values is None else self.costs.shape.layout(self.knob_of)

    def start(self) -> None:
        """Take the layout that insertion makes, where it places all that must be placed."""
        insert_all(self._state)
        required = self.costs.shape.required
        placed = zip(self._state.knob, required, strict=True)
        if not any(knob == NOWHERE and must for knob, must in placed):
            self.take(list(self._state.knob))

    def take(self, knob_of: list[int]) -> None:
        """Keep and tell a layout that meets every demand, if it is better."""
        first_four = self._state.parted(self._state.set_to(knob_of))
        values = (*first_four, _change(self.costs, knob_of), _layout(self.costs, knob_of))
        if self.values is None or values < self.values:
            self.knob_of, self.values = knob_of, values
            self._tell(self.layout)


def _change(costs: Costs, knob_of: Sequence[int]) -> int:
    on: dict[int, list[int]] = {}
    for each, unit in enumerate(costs.shape.unit_of):
        on.setdefault(knob_of[unit], []).append(each)
    kept = sum(costs.changed(knob, inner) for knob, inner in on.items() if knob != NOWHERE)
    return costs.all_changed + kept


def _layout(costs: Costs, knob_of: Sequence[int]) -> int:
    at = [knob_of[unit] for unit in costs.shape.unit_of]
    value = sum(row[knob] for row, knob in zip(costs.places, at, strict=True) if knob != NOWHERE)
    for word in costs.words:
        used = {at[each] for each in word.members} - {NOWHERE}
        runs = sum(not (costs.beside[knob] and knob - 1 in used) for knob in used)
        value += word.weight * max(0, runs - 1)
    for one, other in costs.sequence:
        if NOWHERE not in (at[one], at[other]):
            value += costs.shape.request.weights.sequence * out_of_sequence(
                costs, at[one], at[other]
            )
    return value


def out_of_sequence(costs: Costs, one: int, other: int) -> int:
    """How far a knob is from coming directly after another: nothing, 1, or 2 where it is before."""
    if one == other or (other == one + 1 and costs.beside[other]):
        return 0
    return 2 if other < one else 1
