"""Terms: every set costs and may do what it does where sets are priced one by one."""

from __future__ import annotations

import numpy as np

from knobpack.solver.column_generation.terms import terms_of
from knobpack.solver.families import families
from knobpack.solver.value_functions.scale import scale_of
from knobpack.solver.value_functions.table import sets_of
from tests.oracles.family_terms import problems
from tests.oracles.problems import possible


def test_sets_cost_what_they_cost_priced_one_by_one() -> None:
    seen = pinned = kept = paired = bundled = 0
    small = [case.problem.unbroken() for case in possible(range(300))]
    for problem in [*small, *problems(range(24))]:
        plain = problem.unbroken()
        for part in families(plain):
            if len(part) > 9:
                continue
            bundle = (1, 250, scale_of(plain).bundles)[seen % 3]
            known, terms = sets_of(plain, part), terms_of(plain, part, bundle)
            sets = np.arange(1, terms.full + 1, dtype=np.int64)
            may = (known.free | known.pinned)[1:]
            assert (terms.valid(sets) == may).all()
            assert (terms.costs(sets) == bundle * known.bundles[1:] + known.sharing[1:])[may].all()
            assert (terms.free(sets)[may] == known.free[1:][may]).all()
            seen += int(may.sum())
            pinned += bool(terms.pins)
            kept += bool(terms.kept)
            paired += bool(terms.pairs)
            bundled += int(known.bundles.max()) > 1
    assert seen > 3_000
    assert min(pinned, kept, paired, bundled) > 5
