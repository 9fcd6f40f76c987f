"""A program of someone else: it embeds knobpack, and is checked by a strict type checker.

``.ci/run`` copies it out of the tree and checks and runs it against the installed wheel.
"""

from __future__ import annotations

import sys
from typing import assert_type

import knobpack
from knobpack import (
    Allocation,
    Destination,
    ImpossibleDemands,
    InputError,
    Request,
    Route,
    Setup,
    Snapshot,
    Surface,
    Travel,
    Voice,
    allocate,
    allocate_many,
    allocate_request,
    audit,
    combine,
    patch_sheet,
)
from knobpack.allocation import Tier
from knobpack.limits import Progress
from knobpack.many import Reply
from knobpack.questions import knob_budget, why_here, why_not
from knobpack.simulation import sweep


def voices() -> tuple[Voice, ...]:
    """Two voices with something to move on each."""
    pad = Voice("Pad", (Destination("cutoff", priority=1, travel=Travel(0, 64)),), layer=1)
    bass = Voice("Bass", (Destination("drive"), Destination("level", kind="level")), layer=2)
    return pad, bass


def tell(progress: Progress) -> None:
    """What a progress bar would show."""
    assert_type(progress.value, int | None)


def best(surface: Surface) -> Allocation | None:
    """The best layout, or none where the demands clash."""
    try:
        found = allocate(voices(), surface, progress=tell, cancel=lambda: False, effort=1)
    except ImpossibleDemands as error:
        assert_type(error.clash.instructions, tuple[str, ...])
        return None
    except InputError as error:
        assert_type(error.field, str)
        raise
    assert_type(found, Allocation)
    assert_type(found.tiers, tuple[Tier, ...])
    assert_type(found.routes, tuple[Route, ...])
    return found


def main() -> int:
    """Go through what an embedding program needs."""
    surface = Surface.row(2)
    found = best(surface)
    if found is None:
        return 1
    print(knobpack.__version__, found.proven, *(str(tier.value) for tier in found.tiers))
    print(why_here(found, "Pad/cutoff").sentences[0])
    print(why_not(found, "Bass/drive", "K2").sentences[0])
    print(len(knob_budget(found).families), "families")

    request = Request(surface, voices())
    assert_type(allocate_request(request), Allocation)
    replies = allocate_many((request, request))
    assert_type(replies, tuple[Reply, ...])

    base = Setup("Base", Surface.row(4), snapshots=(Snapshot("All", ()),))
    result = combine(base, found.setup("Guest"))
    assert_type(result.setup, Setup)
    print(len(audit(result.setup).findings), "findings")
    moved = sweep(result.setup, result.setup.snapshots[-1].name)
    print(moved.positions.shape)
    print(patch_sheet(base, result.setup).text().splitlines()[1])
    return 0


if __name__ == "__main__":
    sys.exit(main())
