"""The best placement so far, whoever found it."""

from __future__ import annotations

from collections.abc import Mapping

from knobpack.problem import Problem, bits
from knobpack.solver.catalogue import Column, columns_of
from knobpack.solver.cpsat import Answer
from knobpack.solver.evaluate import values_of
from knobpack.solver.outcome import Values
from knobpack.solver.selection import Selection


class Best:
    """The best placement so far."""

    def __init__(self, problem: Problem) -> None:
        self.problem = problem
        self.knobs: dict[int, int] = {}
        self.values: Values | None = None

    def offer(self, knobs: Mapping[int, int] | None) -> None:
        """Take a placement, if it is better."""
        if knobs is None:
            return
        values = values_of(self.problem, knobs)
        if self.values is None or values < self.values:
            self.knobs, self.values = dict(knobs), values

    def offer_choice(self, selection: Selection, answer: Answer) -> None:
        """Take what a selection found, if anything, on any knobs of its slots."""
        if not answer.found:
            return
        chosen = selection.chosen(answer)
        left = {slot: list(bits(slot)) for _, slot in chosen}
        placed = [(column, left[slot].pop(0)) for column, slot in chosen]
        self.offer({item: knob for column, knob in placed for item in bits(column.items)})

    @property
    def columns(self) -> tuple[Column, ...]:
        """The sets it has on its knobs."""
        atoms: dict[int, int] = {}
        for number, atom in enumerate(self.problem.atoms):
            knob = self.knobs.get(next(bits(atom.items)))
            if knob is not None:
                atoms[knob] = atoms.get(knob, 0) | 1 << number
        return columns_of(self.problem, atoms.values())
