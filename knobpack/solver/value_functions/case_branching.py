"""Spreads over several families that may be left out whole: all that can become of them, in cases.

A family sees whether a spread within it is left out. Of a spread over several families each sees
its part alone, so the cases are told apart: all of it is left out, or a first part of it is not.
In each case the value functions are exact again, and only what may be best is parted further.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

import attrs

from knobpack.solver.costs import FAR
from knobpack.solver.outcome import Upper
from knobpack.solver.value_functions.division import Division, divide
from knobpack.solver.value_functions.offsets import Offsets, Split
from knobpack.solver.value_functions.subset_dp import SubsetTable, ValueFunction
from knobpack.solver.watch import Watch

MOST_STEPS = 1_000_000
"""Entries of value functions that are gone through to look for hidden spreads, at most."""

EFFORT_PER_STEP = 3e-6
"""Effort to go through one."""


@attrs.frozen(eq=False)
class Branch:
    """What becomes of the spreads that are over several families.

    Args:
        families: the value functions, of what agrees with it.
        division: how the knobs are best divided then.
        lost: what the spreads cost that are left out whole.
        unsettled: spreads of which nothing is settled.
    """

    families: tuple[SubsetTable, ...]
    division: Division
    lost: int
    unsettled: tuple[Split, ...]

    @classmethod
    def of(
        cls,
        families: Sequence[SubsetTable],
        knobs: int,
        lost: int = 0,
        unsettled: tuple[Split, ...] = (),
    ) -> Branch:
        """The case of these value functions."""
        division = divide([each.costs for each in families], knobs)
        return cls(tuple(families), division, lost, unsettled)

    @property
    def cost(self) -> int:
        """The least that anything costs in it; exact where no spread need be told apart."""
        return min(FAR, self.division.cost + self.lost)

    def parted(self, spread: Split, knobs: int, weight: int) -> Iterator[Branch]:
        """The cases of one spread: all of it is left out, or a first part of it is not."""
        unsettled = tuple(each for each in self.unsettled if each is not spread)
        families = list(self.families)
        for at, family in enumerate(self.families):
            part = spread.atoms & sum(1 << number for number in family.table.atoms)
            if part:
                kept = [*families[:at], family.restricted(0, part), *families[at + 1 :]]
                yield Branch.of(kept, knobs, self.lost, unsettled)
                families[at] = family.restricted(part)
        yield Branch.of(families, knobs, self.lost + weight, unsettled)


def hidden(
    families: Sequence[ValueFunction], knobs: int, spreads: Iterable[Split], cost: int
) -> Split | None:
    """A spread all of which may be left out at some cost or less, and no family sees it."""
    for each in spreads:
        without = [family.lowers_without(each.atoms) for family in families]
        if divide(without, knobs).cost <= cost:
            return each
    return None


def best_cases(
    families: Sequence[SubsetTable], knobs: int, offsets: Offsets, values: Upper, watch: Watch
) -> list[Branch]:
    """The cases in which the families come to the least cost, which is exact in each.

    No placement is of two of them.

    Args:
        families: their value functions.
        knobs: how many there are to divide.
        offsets: those of all families.
        values: those that they come to while nothing is told apart.
        watch: what may cut the work short.

    Returns:
        None of them where there are too many to look at, or the watch stopped it.
    """
    entries, steps = sum(len(family.costs) for family in families), 0
    waiting = [Branch.of(families, knobs, unsettled=offsets.losable(values))]
    best: list[Branch] = []
    while waiting:
        case = waiting.pop()
        steps += entries * (1 + len(case.unsettled))
        watch.spend(EFFORT_PER_STEP * entries * (1 + len(case.unsettled)))
        if steps > MOST_STEPS or watch.over():
            return []
        if case.cost >= FAR or (best and case.cost > best[0].cost):
            continue
        spread = hidden(case.families, knobs, case.unsettled, case.division.cost)
        if spread is None:
            best = [each for each in best if each.cost == case.cost] + [case]
        else:
            weight = offsets.scale.cost(0, 0, 0, spread.weight)
            waiting.extend(case.parted(spread, knobs, weight))
    return best
