"""knobpack itself, run as its peers are."""

from __future__ import annotations

from benchmarks.peers.answer import Answer, Tell
from knobpack import NoLayoutFound, Request, allocate_request

EFFORT = 10**6
"""So much that only the clock stops the search."""


def solve(request: Request, seconds: float, tell: Tell) -> Answer:
    """Allocate with a time limit."""
    try:
        found = allocate_request(request, time_limit=seconds, effort=EFFORT)
    except NoLayoutFound:
        return Answer(None)
    tell(found.layout)
    proven = [tier.proven for tier in found.tiers]
    first = proven.index(False) if False in proven else len(proven)
    # A bound speaks of what is best in every earlier tier, so it ends with the first open one.
    bounds = tuple(tier.bound for tier in found.tiers[: first + 1])
    return Answer(found.layout, bounds, first)
