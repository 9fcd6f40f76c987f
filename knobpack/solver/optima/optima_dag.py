"""All cheapest ways of a large family, set by set: what can follow in each state.

Every set wastes some reduced cost, and a cheapest way wastes as much as it is above the bound, no
more. So few sets can follow in any state.
"""

from __future__ import annotations

import numpy as np

from knobpack.solver.column_generation.reduced_cost_enumeration import NearSets
from knobpack.solver.column_generation.terms import Terms
from knobpack.solver.optima.dominance import TooManyVariantsError
from knobpack.solver.watch import Watch

MOST_LOOKED_AT = 100_000
"""States of one family, at most."""

_NEVER = 1 << 62


class OptimaDag:
    """For each state, what the lowest atom left can do in a cheapest way.

    A state is how many knobs are left that no atom is pinned to, and the atoms that are left.

    Args:
        terms: the family.
        watch: what may stop the search.
    """

    def __init__(self, terms: Terms, watch: Watch) -> None:
        self._terms = terms
        self._watch = watch
        self.steps: dict[tuple[int, int], list[tuple[int, int, int]]] = {}

    def follow(self, near: NearSets, knobs: int, slack: int) -> None:
        """Find all that can follow from having all atoms and so many knobs.

        Args:
            near: every set that a cheapest way can hold.
            knobs: how many knobs there are.
            slack: what the sets of a cheapest way waste together.

        Raises:
            TooManyVariantsError: there is too much to go through, or the watch stopped it.
        """
        search = _Search(self._terms, near, self._watch)
        search.least(knobs, self._terms.full, slack)
        waiting = [(knobs, self._terms.full, slack)]
        found: dict[tuple[int, int], list[tuple[int, int, int]]] = {}
        while waiting:
            left, atoms, room = waiting.pop()
            if not atoms or (left, atoms) in self.steps or (left, atoms) in found:
                continue
            steps = []
            for chosen, waste in search.fitting(left, atoms, room):
                rest, still = atoms ^ chosen, left - (not chosen & self._terms.pinned)
                if waste + search.least(still, rest, room - waste) == room:
                    steps.append((chosen, rest, still))
                    waiting.append((still, rest, room - waste))
            found[left, atoms] = steps
        self.steps |= found  # all of it or nothing, should it be stopped


class _Search:
    """The least that the sets of a state must waste, as far as it is within a limit."""

    def __init__(self, terms: Terms, near: NearSets, watch: Watch) -> None:
        self._terms = terms
        self._watch = watch
        lowest = near.sets & -near.sets
        order = np.argsort(near.waste, kind="stable")
        self._by_low = {}
        for place in range(terms.count):
            rows = order[lowest[order] == 1 << place]
            self._by_low[1 << place] = near.sets[rows], near.waste[rows]
        self._known: dict[tuple[int, int], tuple[int, int]] = {}

    def fitting(self, knobs: int, atoms: int, room: int) -> list[tuple[int, int]]:
        """The sets that the lowest atom can be in, and what each wastes."""
        sets, waste = self._by_low[atoms & -atoms]
        end = int(np.searchsorted(waste, room, side="right"))
        fits = sets[:end] & ~atoms == 0
        if not knobs:
            fits &= ~self._terms.free(sets[:end])
        return list(zip(sets[:end][fits].tolist(), waste[:end][fits].tolist(), strict=True))

    def least(self, knobs: int, atoms: int, room: int) -> int:
        """The least waste of a state if it is within ``room``, else anything above."""
        if not atoms:
            return 0 if not knobs else _NEVER
        if not knobs and not atoms & self._terms.pinned:
            return _NEVER
        best, tried = self._known.get((knobs, atoms), (_NEVER, -1))
        if best <= room or tried >= room:
            return best
        if len(self._known) > MOST_LOOKED_AT or self._watch.over():
            raise TooManyVariantsError
        best = _NEVER
        for chosen, waste in self.fitting(knobs, atoms, room):
            if waste >= best:
                break
            still = min(room, best) - waste
            left = knobs - (not chosen & self._terms.pinned)
            rest = self.least(left, atoms ^ chosen, still)
            if rest <= still:
                best = waste + rest
        self._known[knobs, atoms] = best, room
        return best
