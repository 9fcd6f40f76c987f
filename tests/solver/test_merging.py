"""Merged ways: real ways for their number of knobs, and made better by moves."""

from __future__ import annotations

import numpy as np

from knobpack.solver.merging import Way, improved, knobs_of, merged
from tests.oracles.family_terms import frontier, given


def test_ways_are_ways_and_moves_never_make_them_worse() -> None:
    better = best = seen = 0
    for problem, terms in given(range(32)):
        ways, sets = merged(terms)
        exact = frontier(problem, terms).costs
        assert terms.valid(np.array(sets, dtype=np.int64)).all()
        for knobs, way in ways.items():
            after = improved(terms, way)
            for each in (way, after):
                own = np.array(each.sets, dtype=np.int64)
                assert terms.valid(own).all()
                assert sum(each.sets) == terms.full
                assert np.bitwise_or.reduce(own) == terms.full
                assert each == Way.of(terms, own)
                assert knobs_of(terms, each) == knobs
            assert after.cost <= way.cost
            better += after.cost < way.cost
            if knobs < len(exact):
                assert after.cost >= exact[knobs]
                best += after.cost == exact[knobs]
                seen += 1
    assert better > 5
    assert best > seen / 2 > 20
