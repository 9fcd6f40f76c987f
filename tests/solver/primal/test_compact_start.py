"""The compact model on a first placement: no worse, the best with effort, and bounds that hold."""

from __future__ import annotations

from knobpack.solver.outcome import UPPER
from knobpack.solver.primal.compact_start import improve_compactly
from knobpack.solver.primal.greedy import greedy
from knobpack.solver.store import Store
from knobpack.solver.watch import Watch
from tests.oracles.problems import meets, possible, watch


def test_it_comes_to_what_brute_force_finds() -> None:
    better = 0
    for case in possible(range(60)):
        for own in (watch(), Watch(0.002)):
            store = Store(case.problem)
            store.offer(greedy(case.problem, watch()))
            if store.values is None:
                continue
            begun = store.upper
            improve_compactly(store, own)
            assert meets(case.problem, store.knobs), case.seed
            assert case.values[:UPPER] <= store.upper <= begun, case.seed
            for tier in range(UPPER):
                if store.upper[:tier] == case.values[:tier]:
                    assert store.bound(tier) <= case.values[tier], case.seed
            if own.stopped is None and own.short is None:
                assert store.upper == case.values[:UPPER], case.seed
                better += store.upper < begun
    assert better > 5
