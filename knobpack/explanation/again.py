"""Again: requests solved again on more or fewer knobs, and how many were."""

from __future__ import annotations

import attrs

from knobpack.allocator import allocate_short
from knobpack.clash import ImpossibleDemands
from knobpack.errors import NoLayoutFound
from knobpack.explanation.budget_entry import Entry, of_tiers, unknown
from knobpack.explanation.families import UPPER
from knobpack.prices import tiers_of
from knobpack.words import Request


@attrs.define
class Again:
    """Solves requests again, and counts them.

    What a knob more or fewer is worth is a matter of room: what is barred from all the knobs that
    are left counts as left out.

    Args:
        effort: deterministic effort for each.
        solved: how many were solved.
    """

    effort: float
    solved: int = 0

    def solve(self, request: Request, tiers: int = UPPER) -> Entry | None:
        """What the first tiers come to; None if no layout meets every demand."""
        self.solved += 1
        order = tiers_of(request.in_use)
        try:
            found = allocate_short(request, effort=self.effort)
        except ImpossibleDemands:
            return None
        except NoLayoutFound:
            return unknown(tiers, order)
        return of_tiers(found.tiers[:tiers], order)
