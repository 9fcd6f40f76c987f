"""What an annealing tries: atoms, bundles and whole knobs that change places, drawn by chance.

A knob that is emptied is handed to others, which walks off plateaus (Capua, Frota, Ochi, Vidal
2018, "A study on exponential-size neighborhoods for the bin packing problem with conflicts").
"""

from __future__ import annotations

import random
from collections.abc import Sequence
from typing import TypeVar

from knobpack.numbered.problem import Problem, bits
from knobpack.solver.primal.board import NOWHERE, Board, Change

ALONE = 0.2
"""How often an atom leaves behind what it is of a bundle with."""

SMALL, SELDOM = 0.83, 0.9
"""How often what is drawn leaves knobs as they are, and how often what does not is drawn anew where
it is too dear to be taken."""

T = TypeVar("T")


class Moves:
    """Draws changes of a board.

    Args:
        board: what is changed.
    """

    def __init__(self, board: Board) -> None:
        problem = board.problem
        self._board = board
        self.random = random.Random(1).random  # noqa: S311 (no secret)
        self.loose = [n for n in range(len(problem.atoms)) if problem.movable(n)]
        self._open = [tuple(bits(atom.knobs)) for atom in problem.atoms]
        self._mates = _mates(problem, self.loose)
        self._bundle = _bundled(problem, self.loose)

    def drawn(self, *, small: bool) -> list[Change]:
        """Changes to try; none where what was drawn makes no sense.

        Args:
            small: whether whole knobs are mostly left as they are.
        """
        chance, number = self.random(), self._one_of(self.loose)
        if small and chance > SMALL and self.random() < SELDOM:
            chance *= SMALL
        if self._board.knob[number] == NOWHERE and chance < 0.7:
            return self._pushed(number)
        if chance < 0.45:
            return self._shifted(number)
        if chance < SMALL:
            return self._swapped(number)
        if chance < 0.85:
            return self._exchanged(number)
        return self._handed_over(number)

    def _one_of(self, things: Sequence[T]) -> T:
        return things[int(self.random() * len(things))]

    def _mate(self, number: int) -> int | None:
        """An atom that may share with this one and is on another knob."""
        if not self._mates[number]:
            return None
        mate = self._one_of(self._mates[number])
        knob = self._board.knob
        return None if knob[mate] in (knob[number], NOWHERE) else mate

    def _with_bundle(self, number: int) -> Sequence[int]:
        """An atom, and mostly with it what is of its bundle and where it is."""
        own = self._bundle[number]
        if len(own) == 1 or self.random() < ALONE:
            return (number,)
        knob = self._board.knob
        return [each for each in own if knob[each] == knob[number]]

    def _shifted(self, number: int) -> list[Change]:
        """An atom goes to another knob, mostly to what it may share with."""
        knob = self._board.knob
        if self.random() < 0.8:
            mate = self._mate(number)
            to = knob[number if mate is None else mate]
        else:
            to = self._one_of(self._open[number])
            if not self._board.problem.atoms[number].omission and self.random() < 0.5:
                # To leave it out costs nothing in the first tier, so that may be best.
                to = NOWHERE
        return [] if to == knob[number] else [(each, to) for each in self._with_bundle(number)]

    def _swapped(self, number: int) -> list[Change]:
        """Two atoms change places."""
        # What may not share may well change places, but seldom does any good.
        mate = self._one_of(self.loose) if self.random() < 0.1 else self._mate(number)
        if mate is None:
            return []
        here, there = self._board.knob[number], self._board.knob[mate]
        if here == there:
            return []
        changes = [(each, there) for each in self._with_bundle(number)]
        return changes + [(each, here) for each in self._with_bundle(mate)]

    def _exchanged(self, number: int) -> list[Change]:
        """All that is on one knob for all that is on another."""
        here, there = self._board.knob[number], self._one_of(self._open[number])
        if here in (there, NOWHERE):
            return []
        changes = [(each, there) for each in bits(self._board.on[here])]
        return changes + [(each, here) for each in bits(self._board.on[there])]

    def _pushed(self, number: int) -> list[Change]:
        """Place an atom that is left out; what may not be there with it is left out."""
        board, problem = self._board, self._board.problem
        knob, off = self._one_of(self._open[number]), 0
        coming = self._with_bundle(number)
        for each in coming:
            off |= problem.clashes[each] & board.on[knob]
        changes = [(each, knob) for each in coming] + [(other, NOWHERE) for other in bits(off)]
        if board.room <= 0 and not off:
            changes.append((self._one_of(self.loose), NOWHERE))
        return changes if len(dict(changes)) == len(changes) else []

    def _handed_over(self, number: int) -> list[Change]:
        """Empty the knob of an atom onto that of a mate, and split another knob onto it."""
        knob_of, on = self._board.knob, self._board.on
        mate, knob = self._mate(number), knob_of[number]
        other = knob_of[self._one_of(self.loose)]
        if mate is None or NOWHERE in (knob, other) or other in (knob, knob_of[mate]):
            return []
        inner = list(bits(on[other]))
        if len(inner) < 2:
            return []
        emptied = [(each, knob_of[mate]) for each in bits(on[knob])]
        return [*emptied, *((each, knob) for each in self._part(inner))]

    def _part(self, atoms: Sequence[int]) -> list[int]:
        """Some atoms of these: those that have a class in common with one, or any."""
        if self.random() < 1 / 3:
            return [each for each in atoms if self.random() < 0.5]
        classes = self._board.prices.classes
        own = list(bits(classes[self._one_of(atoms)]))
        like = 1 << self._one_of(own) if own else 0
        return [each for each in atoms if classes[each] & like]


def _mates(problem: Problem, loose: Sequence[int]) -> list[tuple[int, ...]]:
    """For each atom, those that it may share a knob with; none for what has one place only."""
    every = sum(1 << number for number, atom in enumerate(problem.atoms) if atom.knobs)
    found: list[tuple[int, ...]] = [()] * len(problem.atoms)
    for number in loose:
        found[number] = tuple(bits(every & ~problem.clashes[number] & ~(1 << number)))
    return found


def _bundled(problem: Problem, loose: Sequence[int]) -> list[tuple[int, ...]]:
    """For each atom, those that are of a bundle with it, itself among them."""
    found = [1 << number for number in range(len(problem.atoms))]
    for bundle in problem.bundles:
        own = [n for n in loose if problem.atoms[n].items & bundle]
        mask = sum(1 << number for number in own)
        for number in own:
            found[number] |= mask
    return [tuple(bits(mask)) for mask in found]
