"""A panel that is filled atom by atom, within every demand."""

from __future__ import annotations

from collections.abc import Sequence

from knobpack.numbered.problem import Problem, bits


class Filling:
    """A panel that is being filled.

    Args:
        problem: what is to be placed.
        on: for each knob the mask of the atoms that are on it to begin with; empty: none are.
    """

    def __init__(self, problem: Problem, on: Sequence[int] = ()) -> None:
        self._problem = problem
        self.on = list(on) or [0] * problem.knobs
        self._sizes = [problem.items_of(atoms).bit_count() for atoms in self.on]
        self._room = problem.routes - sum(self._sizes)

    def fits(self, number: int, knob: int) -> bool:
        """Whether an atom can still go to a knob."""
        problem, atom = self._problem, self._problem.atoms[number]
        full = self._sizes[knob] + atom.size > problem.per_knob or atom.size > self._room
        clashes = problem.clashes[number] & self.on[knob]
        return not (full or clashes) and bool(atom.knobs >> knob & 1)

    def put(self, number: int, knob: int) -> None:
        """Put an atom on a knob that it fits on."""
        size = self._problem.atoms[number].size
        self.on[knob] |= 1 << number
        self._sizes[knob] += size
        self._room -= size

    @property
    def knobs(self) -> dict[int, int]:
        """The knob of each item that is placed."""
        items = map(self._problem.items_of, self.on)
        return {item: knob for knob, own in enumerate(items) for item in bits(own)}
