"""Choosing for each family what a knob carries of it: the choices worth most together.

A song goes to the family that is worth most there. In the Lagrangian relaxation each song pays what
it likes itself, and each family takes its best choice; by what another choice is worth less than
that is its loss. Choices that are worth more together than any that are known lose no more, added
up, than there is from the bound to those. So two families after the other are made one, whose
choices are the pairs that lose less than that, until one is left: its best choice is the best.
"""

from __future__ import annotations

from itertools import pairwise
from typing import TypeAlias

import attrs
import numpy as np
from numpy.typing import NDArray

from knobpack.show.trajectory_families import Worth
from knobpack.solver.watch import Watch

STARTS = 5
"""Choices of each family from which good trajectories are looked for."""

ROUNDS, SHORTER = 100, 0.95
"""Rounds of the subgradient, at most, and by what its step shrinks where the bound does not."""

MOST_TOLD = 16
"""Pairs that are told each time two families are made one, at most."""

MOST_ENTRIES = 5_000_000
"""Pairs that are kept, at most, times songs: some 200 MB."""

EFFORT_PER_VALUE, EFFORT_PER_PAIR = 2e-9, 2e-9
"""Effort that a pair of choices counts as in each song, about what it takes in seconds; and where
it is only looked at roughly what it loses."""

SIDE, MOST_BLOCKS = 64, 64
"""Choices of one family that are looked at beside as many of another at once: a product so small
that it takes one thread; and how many such there are at once, at most."""

SAMPLE = 500
"""Choices of a family, or some more, by which it is chosen what they are roughly told by."""

STEPS = 0.5 ** np.arange(0, 6, 0.5)
"""Parts of a gap, by one of which, for each song, it is roughly told what pairs lose."""

ROUNDED = 1.00001
"""By how much rough numbers are less exact at most."""

Rough: TypeAlias = NDArray[np.float32]


@attrs.frozen(eq=False)
class Choices:
    """What can be chosen of each family at some prices.

    Args:
        rows: (C,) the number of each choice in its family.
        family_of: (C,) the family that it is of, in ascending order.
        values: (C, S) what it is worth in each song, 0 at least; much more in a song that has to be
            its.
        costs: (C,) what it counts, and as much more for each of these songs: so a song is not two
            choices' that both have to have it.
    """

    rows: NDArray[np.intp]
    family_of: NDArray[np.intp]
    values: Worth
    costs: Worth

    def gains(self, own: slice | NDArray[np.intp], have: Worth) -> Worth:
        """(C,) what some choices add, each alone, to what songs are worth without them."""
        found: Worth = np.maximum(self.values[own] - have, 0).sum(axis=1) - self.costs[own]
        return found

    def undominated(self) -> Choices:
        """Those that are of use: none of its family adds, in place of it, as much to any others.

        What another is worth less, in all songs together, is no more than it costs less.
        """
        kept: list[int] = []
        alone = self.gains(slice(None), np.zeros(self.values.shape[1]))
        left = np.flatnonzero(alone > 0)
        left = left[np.argsort(-alone[left], kind="stable")]
        while len(left):
            first, left = left[0], left[1:]
            kept.append(int(first))
            better = self.gains(left, self.values[first]) > -self.costs[first]
            left = left[better | (self.family_of[left] != self.family_of[first])]
        own = np.array(sorted(kept), dtype=np.intp)
        return Choices(self.rows[own], self.family_of[own], self.values[own], self.costs[own])


@attrs.frozen(eq=False)
class _Family:
    """One family, or some made one, and what can be chosen of it, what loses least first.

    Args:
        values: (P, S) what it is worth in each song.
        costs: (P,) what it counts.
        chosen: (P, F) the choice of each of the families; -1: none.
        over: (P, S) what it is worth more than songs pay themselves.
        losses: (P,) by what it is worth less than the best beside that.
    """

    values: Worth
    costs: Worth
    chosen: NDArray[np.intp]
    over: Worth
    losses: Worth

    @classmethod
    def beside(
        cls, levels: Worth, gap: float, values: Worth, costs: Worth, chosen: NDArray[np.intp]
    ) -> _Family:
        """Of such choices those that lose less than ``gap`` where songs pay ``levels``."""
        over = np.maximum(values - levels, 0)
        gains = over.sum(axis=1) - costs
        losses = gains.max(initial=-np.inf) - gains
        order = np.argsort(losses, kind="stable")
        order = order[: np.searchsorted(losses[order], gap)]
        return cls(values[order], costs[order], chosen[order], over[order], losses[order])

    def top(self) -> float:
        """What the best is worth beside what songs pay; 0 if there is none."""
        return float((self.over[:1].sum(axis=1) - self.costs[:1]).sum())


class ChoiceSearch:
    """The search for the choices that are worth most together.

    Args:
        choices: what can be chosen.
        watch: how long the search may go on.
    """

    def __init__(self, choices: Choices, watch: Watch) -> None:
        self._choices, self._watch = choices, watch
        family_of = choices.family_of
        self._first = np.flatnonzero(np.diff(family_of, prepend=-1, append=family_of[-1] + 1))
        self.best = 0.0
        self.found: list[tuple[float, tuple[int, ...]]] = []
        self._climb()
        self.levels, self._root = self._lowered()

    def run(self, enough: float = np.inf) -> float:
        """Look for the best choices.

        Args:
            enough: once choices are worth so much together, no better ones are looked for.

        Returns:
            No choices are worth more together.
        """
        bound, left, families = self._root, 0.0, self._alone()
        while self.best < min(bound, enough) and len(families) > 1:
            one, other, *rest = sorted(families, key=lambda family: len(family.costs))
            made, dropped = self._joined(one, other, bound - self.best, last=not rest)
            left = max(left, bound - dropped)
            families = [made, *rest]
            bound = float(self.levels.sum()) + sum(each.top() for each in families)
            if not len(made.costs):
                break
        return max(self.best, left, bound if self.best >= enough else 0)

    def _alone(self) -> list[_Family]:
        """Each family by itself, with nothing chosen of it too."""
        choices, gap, found = self._choices, self._root - self.best, []
        nothing = np.zeros((1, choices.values.shape[1]))
        for first, end in pairwise(self._first.tolist()):
            values = np.concatenate((nothing, choices.values[first:end]))
            costs = np.concatenate(([0.0], choices.costs[first:end]))
            chosen = np.array([-1, *range(first, end)], dtype=np.intp)[:, None]
            found.append(_Family.beside(self.levels, gap, values, costs, chosen))
        return found

    def _joined(
        self, one: _Family, other: _Family, gap: float, *, last: bool
    ) -> tuple[_Family, float]:
        """Two families made one; and what those pairs lose at least that were not looked at."""
        songs, tops, dropped = one.values.shape[1], one.top() + other.top(), np.inf
        root, (mine, theirs) = self.best + gap, self._rough(one, other, gap, last=last)
        ones, others = [np.zeros(0, np.intp)], [np.zeros(0, np.intp)]
        held = 0
        for first in range(0, len(one.losses), SIDE):
            own, gap = mine[first : first + SIDE], min(gap, root - self.best)
            near = int(np.searchsorted(other.losses, gap - one.losses[first]))
            if held * songs > MOST_ENTRIES or self._watch.over():
                dropped = float(one.losses[first])
                break
            self._watch.spend(EFFORT_PER_PAIR * len(own) * near)
            for start in range(0, -(-near // SIDE), MOST_BLOCKS):
                lost = own @ theirs[start : start + MOST_BLOCKS]
                pairs = np.flatnonzero(lost.ravel() < gap * ROUNDED)
                block, pair = np.divmod(pairs, SIDE * len(own))
                at, its = first + pair // SIDE, SIDE * (start + block) + pair % SIDE
                if last:
                    worth = np.maximum(one.values[at], other.values[its]).sum(axis=1)
                else:
                    worth = np.maximum(one.over[at], other.over[its]).sum(axis=1)
                worth -= one.costs[at] + other.costs[its]
                kept = worth > (self.best if last else tops - gap)
                if last:
                    self.best = max(self.best, float(worth.max(initial=0)))
                ones.append(at[kept])
                others.append(its[kept])
                held += len(ones[-1])
                self._watch.spend(EFFORT_PER_VALUE * len(at) * songs)
        at, its = np.concatenate(ones), np.concatenate(others)
        values = np.maximum(one.values[at], other.values[its])
        costs = one.costs[at] + other.costs[its]
        chosen = np.concatenate((one.chosen[at], other.chosen[its]), axis=1)
        worth = values.sum(axis=1) - costs
        for each in np.argsort(-worth, kind="stable")[:MOST_TOLD]:
            if worth[each] > 0:
                self._tell(float(worth[each]), tuple(n for n in chosen[each].tolist() if n >= 0))
        return _Family.beside(self.levels, gap, values, costs, chosen), dropped

    def _rough(
        self, one: _Family, other: _Family, gap: float, *, last: bool
    ) -> tuple[Rough, Rough]:
        """(P, N) and (B, N, SIDE) numbers whose products are what pairs lose at least.

        A pair loses what either does, what both are worth more in a song than that pays itself,
        and, if no others are left, what it pays more than either is worth. The less of two numbers
        is no less than any step that both reach.
        """
        ones, others = [one.losses, one.losses * 0 + 1], [other.losses * 0 + 1, other.losses]
        steps = np.maximum(1, np.floor(gap * STEPS))[:, None, None]
        for sign in (1, -1)[: 1 + last]:
            pair = [sign * (family.values - self.levels) for family in (one, other)]
            often = [(each[:: 1 + len(each) // SAMPLE] >= steps).mean(axis=1) for each in pair]
            step = steps[(steps[:, 0] * often[0] * often[1]).argmax(axis=0), 0, 0]
            ones += [*((pair[0] >= step) * step).T]
            others += [*(pair[1] >= step).T]
        blocks = -(-len(other.losses) // SIDE)
        theirs = np.zeros((len(others), blocks * SIDE), dtype=np.float32)
        theirs[1], theirs[:, : len(other.losses)] = np.inf, others
        in_blocks = theirs.reshape(-1, blocks, SIDE).transpose(1, 0, 2)
        return np.array(ones, dtype=np.float32).T.copy(), in_blocks.copy()

    def _climb(self) -> None:
        """Good choices: from some of each family on, each is given its best beside the others."""
        choices, songs = self._choices, self._choices.values.shape[1]
        alone = choices.gains(slice(None), np.zeros(songs))
        families = len(self._first) - 1
        for start in range(families):
            own = np.arange(self._first[start], self._first[start + 1])
            for first in own[np.argsort(-alone[own], kind="stable")[:STARTS]]:
                chosen, value = {start: int(first)}, float(alone[first])
                since, at = 1, (start + 1) % families
                while since < families:
                    others = [n for family, n in chosen.items() if family != at]
                    have = choices.values[others].max(axis=0, initial=0)
                    base = float(have.sum() - choices.costs[others].sum())
                    mine = slice(self._first[at], self._first[at + 1])
                    gains = choices.gains(mine, have)
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
            over = np.maximum(self._choices.values - levels, 0)
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
