"""What is known so far of the costs of a large family: ways to share, and bounds."""

from __future__ import annotations

from knobpack.solver.bounding import Line
from knobpack.solver.closures import QUANTUM
from knobpack.solver.costs import FAR
from knobpack.solver.merging import Way, knobs_of
from knobpack.solver.terms import Terms


class Entries:
    """For each number of knobs that no atom is pinned to, the best way and the best bound.

    Args:
        terms: the family's costs.
        most: no more knobs than these are looked at.
    """

    def __init__(self, terms: Terms, most: int) -> None:
        self.table = terms
        self.most = most
        self.ways: dict[int, Way] = {}
        self._lines: dict[int, Line] = {}
        self._floors: dict[int, int] = {}
        self._proven: set[int] = set()

    def upper(self, knobs: int) -> int:
        """What the best way known costs on exactly so many knobs; FAR: none is known."""
        return self.ways[knobs].cost if knobs in self.ways else FAR

    def lower(self, knobs: int) -> int:
        """No way costs less on exactly so many knobs; FAR: there is none."""
        terms = self.table
        loose = terms.count - len(terms.pins)
        room = (knobs + len(terms.pins)) * terms.per_knob
        if knobs > loose or room < terms.sizes.sum() or (not knobs and not terms.pins):
            return FAR
        if knobs in self._proven:
            return self.upper(knobs)
        line, floor = self.line(knobs), self._floors.get(knobs, 0)
        return floor if line is None else max(floor, -(-line.at(knobs) // QUANTUM))

    def exact(self, knobs: int) -> bool:
        """Whether the best way known is proven best."""
        return self.lower(knobs) >= self.upper(knobs)

    @property
    def lowers(self) -> list[int]:
        """The bound for 0, 1, 2, … knobs."""
        return [min(self.lower(knobs), self.upper(knobs)) for knobs in range(self.most + 1)]

    @property
    def uppers(self) -> list[int]:
        """The best cost known for 0, 1, 2, … knobs."""
        return [self.upper(knobs) for knobs in range(self.most + 1)]

    def line(self, knobs: int) -> Line | None:
        """The best bound of those known, for so many knobs."""
        return self._lines.get(knobs)

    def offer(self, way: Way | None) -> None:
        """Take a way, if it is better."""
        if way is not None:
            knobs = knobs_of(self.table, way)
            if way.cost < self.upper(knobs):
                self.ways[knobs] = way

    def bound(self, line: Line) -> None:
        """Take a bound."""
        for knobs in range(self.most + 1):
            if knobs not in self._lines or self._lines[knobs].at(knobs) < line.at(knobs):
                self._lines[knobs] = line

    def raise_to(self, knobs: int, cost: int) -> None:
        """Take that no way costs less than ``cost`` on exactly so many knobs."""
        self._floors[knobs] = max(cost, self._floors.get(knobs, 0))

    def prove(self, knobs: int) -> None:
        """From now on the best way known on so many knobs counts as proven best."""
        self._proven.add(knobs)
