"""A bound on a tier by column generation, for families of any size, priced by minimum cuts.

For a fixed travel, what a set costs less what its atoms are worth is a sum over atoms and over the
classes that it touches, so the cheapest set with a given atom in it, its *seed*, is a maximum
closure, which a minimum cut finds (Minoux and Pinson 1987, "Lower bounds to the graph partitioning
problem through generalized linear programming and network flows"; Picard 1976, both from memory).
Each set has the seed that is the first in it to want its travel. What is broken is such a sum too
for a fixed way in which the knob follows, so where there are few breakable snapshots each seed is
looked at under each way, as far as it could be cheap there. Limits on a knob and what pairs cost
are not seen, nor is what many snapshots break, and of a heap of loads only a tangent, so sets may
look cheaper than they are: the bound holds all the same. Prices are smoothed towards those of the
best bound (Wentges 1997, from memory).
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import attrs
import numpy as np

from knobpack.numbered.problem import Problem, bits
from knobpack.solver.bounds.cheap_sets import FamilySeeds
from knobpack.solver.bounds.ways import every_way, sides
from knobpack.solver.costs import Whole
from knobpack.solver.families import families
from knobpack.solver.outcome import UPPER
from knobpack.solver.set_partitioning.column_pool import Column, columns_of
from knobpack.solver.set_partitioning.relaxation import QUANTUM, Master, Prices, bound_at
from knobpack.solver.watch import Watch

MOST_LOOKS = 400_000
"""Atoms, squared, times ways to follow up to which each way is looked at."""

MOST_ROUNDS = 400
"""Rounds of column generation, at most."""

SHARES = (15, 8, 0)
"""How many 16ths the best prices count for: fewer where no set is cheap."""


def cut_bound(
    problem: Problem, held: Sequence[int], start: Sequence[Column], most: int, watch: Watch
) -> tuple[int, tuple[int, ...]]:
    """Bound the tier after those held: *bundles* or *sharing*.

    Args:
        problem: the problem.
        held: the values of the earlier tiers.
        start: columns to begin with, those of a placement as good as ``held`` among them.
        most: a value that is reached; a bound as high ends the search.
        watch: what may cut it short.

    Returns:
        A bound, and masks of the sets that it came of.
    """
    tier = len(held)
    plain = attrs.evolve(problem, breakable=())
    sets = tuple(column.atoms for column in start)
    without = (*held[:2], *(0 for _ in held[2:]))
    bound, prices, sets = _generated(plain, without, None, _first(plain, tier), sets, most, watch)
    ways = _ways(problem, tier)
    if ways is not None and bound < most and not watch.over():
        more, _, sets = _generated(problem, held, ways, prices, sets, most, watch)
        bound = max(bound, more)
    return max(0, bound), sets


def _generated(
    problem: Problem,
    held: Sequence[int],
    ways: Whole | None,
    at: Prices,
    sets: Sequence[int],
    most: int,
    watch: Watch,
) -> tuple[int, Prices, tuple[int, ...]]:
    """Generate columns until there are none left that are cheap.

    Args:
        problem: the problem.
        held: the values of the earlier tiers.
        ways: (C, S) the ways in which a knob can follow; None: what is broken is not looked at.
        at: prices to begin with.
        sets: masks of the sets to begin with.
        most: a bound as high ends the search.
        watch: what may cut it short.

    Returns:
        The best bound, the prices that gave it, and masks of all sets.
    """
    tier, everywhere = len(held), (1 << problem.knobs) - 1
    master = Master(problem, (everywhere,), held, "CLP")
    pricing = [FamilySeeds(problem, part, tier, problem.lean, ways) for part in families(problem)]

    def columns(sets: Sequence[int]) -> Iterator[Column]:
        for column in columns_of(problem, sets):
            yield attrs.evolve(column, knobs=everywhere)

    singles = [1 << number for number, atom in enumerate(problem.atoms) if atom.knobs]
    for column in columns([*sets, *singles]):
        master.add(column)
    best: int | None = None
    bound = 0
    for _ in range(MOST_ROUNDS):
        duals, added = master.prices(), 0
        for share in SHARES:
            if added or watch.over() or bound >= most:
                break
            # The prices to begin with may be good, and are asked about as they are.
            asked = at if best is None else _between(duals, at, share)
            found = [family.cheapest(asked) for family in pricing]
            watch.spend(sum(each.effort for each in found))
            least = np.array([each.least for each in found], dtype=np.int64)
            exact = bound_at(problem, (everywhere,), held, asked, [least])
            if best is None or exact > best:
                best, at = exact, asked
                bound = -(-exact // QUANTUM) - problem.apiece[tier]
            sets = sorted({own for each in found for own in each.sets})
            cheap = [each for each in columns(sets) if _reduced(each, duals, tier) < -1]
            added = sum(master.add(column) for column in cheap)
        if not added:
            break
    return bound, at, tuple(column.atoms for column in master.columns)


def _ways(problem: Problem, tier: int) -> Whole | None:
    """(C, S) the ways in which a knob can follow; None where what is broken is not looked at."""
    columns = sides(problem)
    if not columns or tier < UPPER - 1:
        return None
    ways = every_way(len(columns), len(problem.atoms))
    many = ways is None or len(ways) * len(problem.atoms) ** 2 > MOST_LOOKS
    return None if many else ways


def _first(problem: Problem, tier: int) -> Prices:
    """Prices to begin with: each atom is worth what it costs wherever it is."""
    own = problem.each if tier == UPPER - 1 else (0,) * problem.items
    atoms = [sum(own[item] for item in bits(atom.items)) for atom in problem.atoms]
    knob = problem.first if tier == UPPER - 1 else 0
    return Prices(
        QUANTUM * np.array(atoms, dtype=np.int64),
        -QUANTUM * np.array([knob], dtype=np.int64),
        0,
        (0,) * min(tier, UPPER - 1),
    )


def _between(duals: Prices, at: Prices, share: int) -> Prices:
    """Prices that are so many 16ths from some towards others."""
    own = 16 - share
    return Prices(
        (own * duals.atoms + share * at.atoms) // 16,
        (own * duals.slots + share * at.slots) // 16,
        (own * duals.routes + share * at.routes) // 16,
        tuple((own * a + share * b) // 16 for a, b in zip(duals.held, at.held, strict=True)),
    )


def _reduced(column: Column, prices: Prices, tier: int) -> int:
    cost = QUANTUM * column.costs[tier] - prices.routes * column.items.bit_count()
    cost -= sum(price * own for price, own in zip(prices.held, column.costs, strict=False))
    worth = sum(int(prices.atoms[number]) for number in bits(column.atoms))
    return cost - worth - int(prices.slots[0])
