"""Again: requests solved again on more or fewer knobs, and how many were."""

from __future__ import annotations

from collections.abc import Callable, Collection

import attrs

from knobpack.checked_search import allocate_short
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
        order: the names of the tiers, the most important first.
        solved: how many were solved.
    """

    run: Run
    order: tuple[str, ...]
    solved: int = 0

    def solve(
        self, asked: Callable[[], Request], tiers: int = UPPER, one_empty: Collection[str] = ()
    ) -> Entry | None:
        """What the first tiers come to; None if no layout meets every demand.

        Args:
            asked: what is asked; it is not put together once the question is cut off.
            tiers: how many tiers are told.
            one_empty: for an edit, knobs of which one at least is to carry nothing.
        """
        if self.run.stopped:
            return unknown(tiers, self.order)
        self.solved += 1
        try:
            with self.run.share(QUARTER) as own:
                found = allocate_short(asked(), own, one_empty=one_empty)
        except NoLayoutFound:
            return unknown(tiers, self.order)
        return None if found is None else of_tiers(found.tiers[:tiers], self.order)
