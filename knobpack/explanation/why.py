"""Why: what keeps a destination on its knob, or why it is left out."""

from __future__ import annotations

import attrs

from knobpack.allocation import Allocation
from knobpack.explanation.case import Case
from knobpack.explanation.here import Here, here
from knobpack.explanation.instead import instead
from knobpack.explanation.unplaced import Unplaced, why_unplaced
from knobpack.limits import DEFAULT_EFFORT, Limits, begun
from knobpack.words.fields import check_kind


def why(
    allocation: Allocation,
    destination: str,
    *,
    solve: bool = True,
    effort: float = DEFAULT_EFFORT,
    limits: Limits | None = None,
) -> Here | Unplaced:
    """Tell why a destination is where it is: on its knob, or left out.

    Args:
        allocation: what :func:`knobpack.allocate` gave back.
        destination: the full name of the destination.
        solve: whether to look for what would place one that is left out, which is solved anew.
        effort: deterministic effort for all that is searched, 0 to 10**9; the usual 10 take half a
            minute at most.
        limits: in place of ``effort``, all that may cut it short: seconds and a cancel too.

    Returns:
        What :func:`why_here` tells of what is placed, and what else could share in place of what
        shares its knob; of what is left out what :func:`why_unplaced` tells.

    Raises:
        InputError: ``allocation`` is no Allocation, there is no such destination, ``solve`` is not
            true or false, ``effort`` no number from 0 to 10**9, or ``limits`` no Limits.

    Example:
        >>> from knobpack import Destination, Surface, Voice, allocate
        >>> organ = Voice("Organ", [Destination("level", priority=1)])
        >>> bass = Voice("Bass", [Destination("tone")])
        >>> allocation = allocate((organ, bass), Surface.row(1))
        >>> print(allocation.why("Organ/level").sentences[0])
        Organ/level is on K1, alone.
        >>> print(allocation.why("Bass/tone").sentences[0])
        Bass/tone is left out: that costs 16 points in 'destinations left out'.
    """
    check_kind("why.allocation", allocation, Allocation)
    check_kind("why.solve", solve, bool)
    run = begun("why", effort, limits)
    case = Case(allocation)
    name = case.destination("why", destination)
    if name in case.knob_of:
        found = here(case, name)
        return found if found.pins else attrs.evolve(found, instead=instead(case, found.knob))
    return why_unplaced(allocation, name, solve=solve, limits=run)
