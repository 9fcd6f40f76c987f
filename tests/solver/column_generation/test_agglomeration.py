"""Merged ways: real ways for their number of knobs."""

from __future__ import annotations

import numpy as np

from knobpack.solver.column_generation.agglomeration import Way, knobs_of, merged
from tests.solver.column_generation.family_terms import given, value_function


def test_ways_are_ways_and_good_ones() -> None:
    best = seen = 0
    for problem, terms in given(range(32)):
        ways, sets = merged(terms)
        exact = value_function(problem, terms).costs
        assert terms.valid(np.array(sets, dtype=np.int64)).all()
        for knobs, way in ways.items():
            own = np.array(way.sets, dtype=np.int64)
            assert terms.valid(own).all()
            assert sum(way.sets) == terms.full
            assert np.bitwise_or.reduce(own) == terms.full
            assert way == Way.of(terms, own)
            assert knobs_of(terms, way) == knobs
            if knobs < len(exact):
                assert way.cost >= exact[knobs]
                best += way.cost == exact[knobs]
                seen += 1
    assert best > seen / 2 > 20
