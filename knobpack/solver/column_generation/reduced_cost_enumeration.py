"""Every set of a family whose reduced cost is within a limit: those that a good way can be made of.

The costs-to-go of the knapsack that prices sets say of each set on the way what the best that can
come of it costs, so nothing over the limit is grown.
"""

from __future__ import annotations

import attrs
import numpy as np
from numpy.typing import NDArray

from knobpack.solver.column_generation.knapsack_pricing import Knapsack
from knobpack.solver.column_generation.lagrangian_bound import LagrangianBound, worth_of
from knobpack.solver.column_generation.terms import SetMasks, Terms
from knobpack.solver.costs import QUANTUM, Whole
from knobpack.solver.watch import Watch


@attrs.frozen(eq=False)
class NearSets:
    """Sets of a family.

    Args:
        sets: the sets, ascending.
        costs: what each costs.
        waste: by how much its reduced cost is above that of the cheapest, in 1024ths.
    """

    sets: SetMasks
    costs: Whole
    waste: Whole

    def only(self, rows: NDArray[np.bool_] | Whole) -> NearSets:
        """Some of the sets."""
        return NearSets(self.sets[rows], self.costs[rows], self.waste[rows])

    def up_to(self, waste: int) -> NearSets:
        """Those that waste no more than so much."""
        return self.only(self.waste <= waste)

    def cheapest(self, count: int) -> NearSets:
        """So many of those that waste least."""
        return self.only(np.sort(np.argsort(self.waste, kind="stable")[:count]))


def near_sets(
    terms: Terms, knapsack: Knapsack, line: LagrangianBound, slack: int, watch: Watch
) -> NearSets:
    """Every valid set that can be in a way whose cost is no more than ``slack`` over a bound.

    Args:
        terms: the family's costs.
        knapsack: what lists its sets.
        line: the bound.
        slack: in 1024ths.
        watch: what is told of the effort.

    Raises:
        TooManySetsError: there are too many.
    """
    sets = knapsack.lists(line, slack, watch)
    sets = sets[terms.valid(sets)]
    costs = terms.costs(sets)
    reduced = QUANTUM * costs - worth_of(terms, line.prices, sets)
    lowest = np.full(len(sets), line.knob, dtype=np.int64)
    for pin, least in line.pins.items():
        lowest[sets >> pin & 1 == 1] = least
    waste = reduced - lowest
    return NearSets(sets, costs, waste).up_to(slack)
