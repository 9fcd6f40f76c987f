"""Free knobs: what a knob that carries nothing could be used for, and what that would change."""

from __future__ import annotations

import attrs

from knobpack.allocation import Allocation
from knobpack.explanation.case import Case
from knobpack.explanation.comparison import Comparison
from knobpack.explanation.not_there import not_there
from knobpack.reasons.answer_graph import Reasoned
from knobpack.text.shown import Fielded
from knobpack.words import Alone
from knobpack.words.fields import check_kind
from knobpack.words.names import knob_told, listed

MOST_OFFERS = 3
"""Uses of a free knob that are told, at most."""


@attrs.frozen
class KnobOffer(Fielded, Reasoned):
    """A destination that could have a knob of its own.

    Args:
        knob: the free knob.
        names: the destination, with all that required rules bind it to, by full name.
        now: the knob that it shares.
        comparison: what the layout would cost beside the present one, all else staying where it is.
        rule: what asks for it, as a rule of a request.
    """

    knob: str
    names: tuple[str, ...]
    now: str
    comparison: Comparison
    rule: Alone

    @property
    def saved(self) -> int:
        """How much less sharing costs, in points of that tier."""
        return -self.comparison.rank[self.comparison.order.index("sharing")]

    @property
    def before_sharing(self) -> tuple[int, ...]:
        """What each tier before sharing costs more."""
        return self.comparison.rank[: self.comparison.order.index("sharing")]

    def __str__(self) -> str:
        parts = ", which parts a bundle" if self.comparison.tier == "bundles" else ""
        return (
            f"{listed(self.names)} could have {knob_told(self.knob)} instead of sharing "
            f"{knob_told(self.now)}{parts}"
        )


def free_knob_offers(allocation: Allocation) -> tuple[KnobOffer, ...]:
    """What a knob that carries nothing could be used for: destinations to part from a bundle.

    Knobs stay free unless something is gained that is worth more than a bundle: the next source
    needs one. What a caller wants all the same is asked for by the rule of an offer.

    Args:
        allocation: what :func:`knobpack.allocate` gave back.

    Returns:
        The offers for the first such knob, those that save the most first; none where no knob
        is free, or nothing would share less.

    Raises:
        InputError: ``allocation`` is no Allocation.

    Example:
        >>> from knobpack import Destination, Surface, Voice, allocate
        >>> from knobpack.explanation.free_knob import free_knob_offers
        >>> strings = Voice(
        ...     "Strings",
        ...     (Destination("level", source_knob="K1"), Destination("cutoff", source_knob="K1")),
        ... )
        >>> allocation = allocate((strings,), Surface.row(2))
        >>> print(free_knob_offers(allocation)[0].names)
        ('Strings/level',)
    """
    check_kind("free_knob_offers.allocation", allocation, Allocation)
    return offers(Case(allocation))


def offers(case: Case) -> tuple[KnobOffer, ...]:
    """As :func:`free_knob_offers`, for a case."""
    reserved = case.request.surface.reserved
    free = next((k for k, names in case.on.items() if not names and k not in reserved), None)
    found: dict[tuple[str, ...], KnobOffer] = {}
    if free is None:
        return ()
    for name, now in case.knob_of.items():
        if len(case.on[now]) == len(case.ground.unit(name)):
            continue
        there = not_there(case, name, free)
        if there.comparison is not None and there.unit not in found:
            found[there.unit] = KnobOffer(
                free, there.unit, now, there.comparison, Alone(there.unit)
            )
    saving = (each for each in found.values() if each.saved > 0)
    return tuple(sorted(saving, key=lambda each: (each.before_sharing, -each.saved)))
