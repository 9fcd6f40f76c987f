"""A first placement made better by the compact model, where little may move.

Where demands leave hardly a placement, single changes lead nowhere; one 0/1 variable for each atom
and knob is a model that CP-SAT finds its way in, and small enough to begin with.
"""

from __future__ import annotations

from knobpack.solver.cp_sat.atoms_on_knobs import CutShortError
from knobpack.solver.cp_sat.compact_model import CompactModel
from knobpack.solver.outcome import UPPER
from knobpack.solver.store import Store
from knobpack.solver.watch import Watch

EACH = 0.5
"""The share of what is left for one tier."""


def improve_compactly(store: Store, watch: Watch) -> None:
    """Make one of the first four tiers after the other better, and bound it.

    Args:
        store: what is known, a placement among it; takes what is better.
        watch: what may cut it short.
    """
    try:
        model = CompactModel(store.problem, watch=watch)
        for tier, name in enumerate(store.problem.order[:UPPER]):
            held, value = store.upper[:tier], store.upper[tier]
            if value and not watch.over():
                model.start_from(store.knobs)
                with watch.share(EACH) as own:
                    answer = model.best(name, own)
                store.offer(model.placed(answer))
                store.raise_to(tier, min(answer.bound or 0, value), held)
            model.hold(name, store.upper[tier])
    except CutShortError:
        return
