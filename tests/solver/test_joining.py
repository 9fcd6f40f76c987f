"""Ways put together, by joining, by choice and by trails: those that all partitions hold."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
import pytest

from knobpack.solver import trails as following
from knobpack.solver.bounding import Line, found_at
from knobpack.solver.closures import QUANTUM, centres_of
from knobpack.solver.costs import FAR
from knobpack.solver.merging import merged
from knobpack.solver.partition import partition
from knobpack.solver.programme import Programme
from knobpack.solver.terms import Terms
from knobpack.solver.trails import Trails
from knobpack.solver.variants import TooManyVariantsError
from knobpack.solver.within import within
from tests.oracles.family_terms import frontier, given, valid_sets
from tests.oracles.problems import partitions, watch


def every_way(terms: Terms, knobs: int) -> dict[tuple[int, ...], int]:
    """Every way on exactly so many knobs, and its cost."""
    sets = valid_sets(terms)
    price = dict(zip(sets.tolist(), terms.costs(sets).tolist(), strict=True))
    found = {}
    for parts in partitions(tuple(range(terms.count))):
        free = sum(1 for part in parts if not part & terms.pinned)
        if free == knobs and all(part in price for part in parts):
            key = tuple(sorted(parts, key=lambda part: part & -part))
            found[key] = sum(price[part] for part in parts)
    return found


def a_line(terms: Terms, knobs: int) -> Line:
    """A bound at the prices of the linear programme over a few sets."""
    duals = Programme(terms, merged(terms)[1]).duals(knobs)
    return found_at([centres_of(terms, apart=False)], [duals.atoms], watch())[0].line


def ways_of(trails: Trails, knobs: int, atoms: int) -> Iterator[tuple[int, ...]]:
    """Every way that a walk from a state comes by."""
    if not atoms:
        yield ()
        return
    for chosen, rest, left in trails.steps[knobs, atoms]:
        for way in ways_of(trails, left, rest):
            yield (chosen, *way)


def test_both_find_the_cheapest_ways() -> None:
    seen = several = 0
    for problem, terms in given(range(18)):
        if terms.count > 7:
            continue
        costs = frontier(problem, terms).costs
        for knobs, cost in enumerate(costs):
            if cost >= FAR or knobs + len(terms.pins) == 0:
                continue
            ways = every_way(terms, knobs)
            assert min(ways.values()) == cost
            line = a_line(terms, knobs)
            slack = QUANTUM * cost - line.at(knobs)
            centres = centres_of(terms, apart=True)
            best = {way for way, price in ways.items() if price == cost}
            sets = valid_sets(terms)
            parted = partition(terms, sets, terms.costs(sets), knobs, watch())
            assert parted.done
            assert parted.way is not None
            assert parted.way.cost == parted.bound == cost
            trails = Trails(terms, watch())
            trails.follow(within(centres, line, slack, watch()), knobs, slack)
            assert set(ways_of(trails, knobs, terms.full)) == best
            assert trails.sets(knobs, terms.full) == {part for way in best for part in way}
            seen += 1
            several += len(best) > 1
    assert seen > 40
    assert several > 5


def test_too_many_ways_are_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    _, terms = next(pair for pair in given(range(1, 9)) if pair[1].count > 5)
    knobs = 3
    line = a_line(terms, knobs)
    slack = 3_000 * QUANTUM
    near = within(centres_of(terms, apart=True), line, slack, watch())
    monkeypatch.setattr(following, "MOST_LOOKED_AT", 0)
    with pytest.raises(TooManyVariantsError):
        Trails(terms, watch()).follow(near, knobs, slack)


def test_what_cannot_be_put_together_is_said_to_be_impossible() -> None:
    _, terms = next(given(range(1, 9)))
    lone = np.left_shift(np.int64(1), np.arange(terms.count))
    parted = partition(terms, lone, terms.costs(lone), 1, watch())
    assert parted.way is None
    assert parted.done
