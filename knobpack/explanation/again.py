"""Again: requests solved again on more or fewer knobs, and how many were."""

from __future__ import annotations

from collections.abc import Collection

import attrs

from knobpack.allocator import allocate_short
from knobpack.definition.prices import tiers_of
from knobpack.errors import NoLayoutFound
from knobpack.explanation.budget_entry import Entry, of_tiers, unknown
from knobpack.explanation.families import UPPER
from knobpack.limits import QUARTER, Run
from knobpack.words import Request


@attrs.define
class Again:
    """Solves requests again, each with a part of what effort is left, and counts them.

    What a knob more or fewer is worth is a matter of room: what is barred from all the knobs that
    are left counts as left out.

    Args:
        run: the question that they are solved for; once it is cut off, nothing more is known.
        solved: how many were solved.
    """

    run: Run
    solved: int = 0

    def solve(
        self, request: Request, tiers: int = UPPER, one_empty: Collection[str] = ()
    ) -> Entry | None:
        """What the first tiers come to; None if no layout meets every demand.

        Args:
            request: what is asked.
            tiers: how many tiers are told.
            one_empty: for an edit, knobs of which one at least is to carry nothing.
        """
        order = tiers_of(request.in_use)
        if self.run.stopped:
            return unknown(tiers, order)
        self.solved += 1
        try:
            with self.run.share(QUARTER) as own:
                found = allocate_short(request, own, one_empty=one_empty)
        except NoLayoutFound:
            return unknown(tiers, order)
        return None if found is None else of_tiers(found.tiers[:tiers], order)
