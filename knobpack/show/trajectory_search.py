"""Branch and bound over families: which choice of each is worth most together on one knob.

A song goes to the family that is worth most there. What one more family adds is the less the more
there are (it is submodular), so the best of each added up is a bound (G. L. Nemhauser, L. A.
Wolsey, M. L. Fisher, "An analysis of approximations for maximizing submodular set functions",
Mathematical Programming 14, 1978, from memory), and the Lagrangian relaxation, in which each song
pays what it likes itself, is another.
"""

from __future__ import annotations

import attrs
import numpy as np
from numpy.typing import NDArray

from knobpack.show.trajectory_families import NEVER, Worth
from knobpack.solver.watch import Watch

STARTS = 5
"""Choices of each family from which good trajectories are looked for."""

ROUNDS, SHORTER = 100, 0.95
"""Rounds of the subgradient, at most, and by what its step shrinks where the bound does not."""

EFFORT_PER_NODE, LOOK = 1e-4, 256
"""Effort that a node counts as, about what it takes in seconds; and nodes between two looks at the
watch."""


@attrs.frozen(eq=False)
class Choices:
    """What can be chosen of each family at some prices.

    Args:
        rows: (C,) the number of each choice in its family.
        family_of: (C,) the family that it is of, in ascending order.
        values: (C, S) what it is worth in each song.
        least: (C, S) what it takes there at least.
        costs: (C,) what it counts.
    """

    rows: NDArray[np.intp]
    family_of: NDArray[np.intp]
    values: Worth
    least: Worth
    costs: Worth

    def gains(self, own: slice | NDArray[np.intp], have: Worth) -> Worth:
        """(C, S) what some choices add, each alone, to what songs are worth without them."""
        return np.maximum(self.values[own] - have, self.least[own])

    def with_one(self, have: Worth, choice: int) -> Worth:
        """What songs are worth with one more, without end where they have to be its."""
        more = np.maximum(have, self.values[choice])
        return np.where(self.least[choice] < 0, -NEVER, more)


class ChoiceSearch:
    """Branch and bound over the families: what of each a knob carries.

    Args:
        choices: what can be chosen.
        watch: how long the search may go on.
    """

    def __init__(self, choices: Choices, watch: Watch) -> None:
        self._choices, self._watch = choices, watch
        family_of = choices.family_of
        self._first = np.flatnonzero(np.diff(family_of, prepend=-1, append=family_of[-1] + 1))
        self.best, self._left = 0.0, 0.0
        self.found: list[tuple[float, tuple[int, ...]]] = []
        self._nodes, self._most_nodes = 0, 0
        self._climb()
        self.levels, self._root = self._lowered()

    @property
    def most(self) -> float:
        """No choices are worth more than this."""
        return min(self._root, max(self.best, self._left)) if self._nodes else self._root

    def run(self, most_nodes: int) -> None:
        """Search within so many nodes."""
        if self._root > self.best:
            self._most_nodes = most_nodes
            every = np.arange(len(self._choices.costs))
            self._node(np.zeros(self._choices.values.shape[1]), 0.0, every, ())

    def _climb(self) -> None:
        """Good choices: from some of each family on, each is given its best beside the others."""
        choices, songs = self._choices, self._choices.values.shape[1]
        alone = choices.gains(slice(None), np.zeros(songs)).sum(axis=1) - choices.costs
        families = len(self._first) - 1
        for start in range(families):
            own = np.arange(self._first[start], self._first[start + 1])
            for first in own[np.argsort(-alone[own], kind="stable")[:STARTS]]:
                chosen, value = {start: int(first)}, float(alone[first])
                since, at = 1, (start + 1) % families
                while since < families:
                    have, base = np.zeros(songs), 0.0
                    for each in (n for family, n in chosen.items() if family != at):
                        base += self._added(each, have)
                        have = choices.with_one(have, each)
                    mine = slice(self._first[at], self._first[at + 1])
                    gains = choices.gains(mine, have).sum(axis=1) - choices.costs[mine]
                    now = base + max(0.0, float(gains.max()))
                    since += 1
                    if now > value:
                        value, since = now, 1
                        chosen.pop(at, None)
                        if gains.max() > 0:
                            chosen[at] = int(self._first[at]) + int(gains.argmax())
                    at = (at + 1) % families
                if value > 0:
                    self._tell(value, tuple(chosen.values()))

    def _added(self, choice: int, have: Worth) -> float:
        one = slice(choice, choice + 1)
        return float(self._choices.gains(one, have).sum() - self._choices.costs[choice])

    def _tell(self, value: float, chosen: tuple[int, ...]) -> None:
        self.found.append((value, chosen))
        self.best = max(self.best, value)

    def _lowered(self) -> tuple[Worth, float]:
        """What each song pays itself, so that the bound with that is low; and the bound.

        By a subgradient, in whole numbers: so the bound is exact.
        """
        levels = np.zeros(self._choices.values.shape[1])
        kept, bound, step = levels, np.inf, 1.0
        for _ in range(ROUNDS):
            over = self._choices.gains(slice(None), levels)
            gains = over.sum(axis=1) - self._choices.costs
            tops = np.maximum(np.maximum.reduceat(gains, self._first[:-1]), 0)
            now = float(levels.sum() + tops.sum())
            if now < bound:
                kept, bound = levels, now
            else:
                step *= SHORTER
            slope = np.ones(len(levels))
            for family in np.flatnonzero(tops):
                own = slice(self._first[family], self._first[family + 1])
                slope -= over[own][int(gains[own].argmax())] != 0
            length = float(slope @ slope)
            if bound <= self.best or not length:
                break
            levels = np.maximum(0, np.rint(levels - step * (now - self.best) / length * slope))
        return kept, bound

    def _out_of_nodes(self) -> bool:
        self._nodes += 1
        if not self._nodes % LOOK:
            self._watch.spend(EFFORT_PER_NODE * LOOK)
            if self._watch.over():
                self._most_nodes = 0
        return self._nodes > self._most_nodes

    def _node(
        self, have: Worth, value: float, ids: NDArray[np.intp], chosen: tuple[int, ...]
    ) -> None:
        """Go on from choices that are worth ``have`` in the songs, by those of other families."""
        choices, family_of = self._choices, self._choices.family_of
        gains = choices.gains(ids, have).sum(axis=1) - choices.costs[ids]
        ids, gains = ids[gains > 0], gains[gains > 0]
        if not len(ids):
            return
        levels = np.maximum(have, self.levels)
        paid = value + float((levels - have).sum())
        beyond = choices.gains(ids, levels).sum(axis=1) - choices.costs[ids]
        _, starts, place = np.unique(family_of[ids], return_index=True, return_inverse=True)
        over = np.maximum(np.maximum.reduceat(beyond, starts), 0)
        # What would be below the best with all that the other families can bring is left out.
        some = paid + float(over.sum()) - over[place] + beyond > self.best
        ids, gains, beyond = ids[some], gains[some], beyond[some]
        if not len(ids):
            return
        families, starts = np.unique(family_of[ids], return_index=True)
        tops = np.maximum.reduceat(gains, starts)
        over = np.maximum(np.maximum.reduceat(beyond, starts), 0)
        most = min(value + float(tops.sum()), paid + float(over.sum()))
        if most <= self.best:
            return
        if self._out_of_nodes():
            self._left = max(self._left, most)
            return
        branch = int(tops.argmax())
        others, paid = float(tops.sum() - tops[branch]), paid + float(over.sum() - over[branch])
        own = np.flatnonzero(family_of[ids] == families[branch])
        rest = np.delete(ids, own)
        for at in own[np.argsort(-gains[own], kind="stable")]:
            reached = value + float(gains[at])
            if reached + others <= self.best:
                break
            if paid + float(beyond[at]) > self.best:
                sets = (*chosen, int(ids[at]))
                self._tell(reached, sets)
                self._node(choices.with_one(have, int(ids[at])), reached, rest, sets)
        if min(value + others, paid) > self.best:
            self._node(have, value, rest, chosen)
