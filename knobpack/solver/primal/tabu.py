"""What must be placed, placed by a tabu search: list colouring, clashes mended one by one.

Everything is put somewhere, whatever it clashes with; then what clashes goes, one atom after the
other, to where it clashes least, and not back for a while (Hertz and de Werra 1987, "Using tabu
search techniques for graph coloring", from memory). Where a few demands leave hardly a placement
that is found at once, and what is complete needs a second or never ends; it proves nothing.
"""

from __future__ import annotations

import random
from collections.abc import Iterator

from knobpack.numbered.problem import Problem, bits
from knobpack.solver.watch import Watch

MOVES = 100
"""Moves for each atom, at most."""

TENURE, EACH = 10, 0.6
"""Moves for which an atom does not go back: up to so many by chance, and so many for each atom that
clashes (Galinier and Hao 1999, from memory)."""

EFFORT_PER_PLACE = 1e-7
"""Effort that looking at an atom and a knob counts as: about what it takes in seconds."""


def needed_by_tabu(problem: Problem, watch: Watch) -> dict[int, int] | None:
    """The knob of each item of what may not be left out; None where none were found.

    Args:
        problem: the problem.
        watch: says when to give up.
    """
    search = _Search(problem)
    places = sum(map(len, search.open_to.values()))
    for move in range(MOVES * len(search.open_to)):
        if not search.clashing or watch.over():
            break
        watch.spend(EFFORT_PER_PLACE * places)
        search.move(move)
    return search.knobs


class _Search:
    """A knob for each atom that is needed, and for each knob how many it clashes with there."""

    def __init__(self, problem: Problem) -> None:
        self._problem = problem
        self._draw = random.Random(1).random  # noqa: S311 (no secret)
        atoms = problem.atoms
        self.open_to = {n: list(bits(atom.knobs)) for n, atom in enumerate(atoms) if atom.needed}
        self._rivals = {
            number: [other for other in bits(problem.clashes[number]) if other in self.open_to]
            for number in self.open_to
        }
        self._met = {number: [0] * problem.knobs for number in self.open_to}
        self._on: dict[int, int] = {}
        self._barred: dict[tuple[int, int], int] = {}
        for number in sorted(self.open_to, key=lambda n: (len(self.open_to[n]), n)):
            self._put(number, min(self.open_to[number], key=self._met[number].__getitem__))
        self._least = self._clashes

    def _put(self, number: int, knob: int) -> None:
        for other in self._rivals[number]:
            met = self._met[other]
            if number in self._on:
                met[self._on[number]] -= 1
            met[knob] += 1
        self._on[number] = knob

    @property
    def clashing(self) -> list[int]:
        """The atoms that clash where they are."""
        return [number for number, knob in self._on.items() if self._met[number][knob]]

    @property
    def _clashes(self) -> int:
        return sum(self._met[number][knob] for number, knob in self._on.items()) // 2

    def move(self, now: int) -> None:
        """Put an atom where it clashes least, of those that may go there again.

        Args:
            now: the number of the move.
        """
        clashing, clashes = self.clashing, self._clashes
        ways = list(self._ways(clashing, now, self._least - clashes))
        if ways:
            _, _, number, knob = min(ways)
            stays = int(TENURE * self._draw() + EACH * len(clashing))
            self._barred[number, self._on[number]] = now + stays
            self._put(number, knob)
            self._least = min(self._least, self._clashes)

    def _ways(
        self, clashing: list[int], now: int, enough: int
    ) -> Iterator[tuple[int, float, int, int]]:
        """What each move comes to, a number drawn for it, the atom and the knob."""
        for number in clashing:
            met, here = self._met[number], self._on[number]
            for knob in self.open_to[number]:
                more = met[knob] - met[here]
                # What was barred is allowed where it leads to what was never there.
                if knob != here and (more < enough or self._barred.get((number, knob), -1) < now):
                    yield more, self._draw(), number, knob

    @property
    def knobs(self) -> dict[int, int] | None:
        """The knob of each item, if nothing clashes and all limits are kept."""
        items = [0] * self._problem.knobs
        for number, knob in self._on.items():
            items[knob] |= self._problem.atoms[number].items
        sizes = [own.bit_count() for own in items]
        full = max(sizes) > self._problem.per_knob or sum(sizes) > self._problem.routes
        if full or self.clashing:
            return None
        return {item: knob for knob, own in enumerate(items) for item in bits(own)}
