"""Terms: every set costs and may do what it does where sets are priced one by one."""

from __future__ import annotations

import attrs
import numpy as np

from knobpack.numbered.less import breaking_only
from knobpack.solver.column_generation.terms import terms_of
from knobpack.solver.costs import FAR
from knobpack.solver.families import families
from knobpack.solver.value_functions.scale import scale_of
from knobpack.solver.value_functions.subset_dp import table_of
from tests.oracles.problems import possible
from tests.solver.column_generation.family_terms import problems


def test_sets_cost_what_they_cost_priced_one_by_one() -> None:
    seen = pinned = kept = paired = bundled = 0
    small = [breaking_only(case.problem) for case in possible(range(300))]
    for problem in [*small, *problems(range(24))]:
        plain = breaking_only(problem)
        for part in families(plain):
            if len(part) > 9:
                continue
            bundle = (1, 250, scale_of(plain).bundles)[seen % 3]
            known = table_of(plain, attrs.evolve(scale_of(plain), bundles=bundle), part)
            terms = terms_of(plain, part, bundle)
            sets = np.arange(1, terms.full + 1, dtype=np.int64)
            costs = np.minimum(known.free, known.pinned)[1:]
            may = costs < FAR
            assert (terms.valid(sets) == may).all()
            assert (terms.costs(sets) == costs)[may].all()
            assert (terms.free(sets)[may] == (known.free[1:] < FAR)[may]).all()
            seen += int(may.sum())
            pinned += bool(terms.pins)
            kept += bool(terms.kept)
            paired += bool(terms.pairs)
            items = plain.items_of(sum(1 << number for number in part))
            bundled += sum(bool(own & items) for own in plain.bundles) > 1
    assert seen > 3_000
    assert min(pinned, kept, paired, bundled) > 5
