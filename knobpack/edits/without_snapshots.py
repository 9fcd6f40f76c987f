"""Without snapshots: which would give what is essential and left out a knob, were they given up.

One is tried at a time, then two: all else is asked for as it was, and laid out once more.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import chain, combinations, islice

import attrs

from knobpack.allocation import Allocation
from knobpack.checked_search import allocate_during
from knobpack.clash import ImpossibleDemands
from knobpack.edits.impossible import TABLE_TOLD
from knobpack.errors import NoLayoutFound
from knobpack.limits import Run
from knobpack.words import Request
from knobpack.words.names import listed, quoted

MOST_LOOKED_AT = 5050
"""Snapshots, or two of them, that are looked at, at most: all that a hundred snapshots make."""

MOST_LAID_OUT = 36
"""Those of them that are laid out without, at most: all that eight snapshots make."""

FEW_LAID_OUT = 3
"""The same on a large panel, where each takes long."""

MOST_KNOBS = 16
"""Knobs of a panel that is not large, at most."""


_OF_A_SETUP = f"before that, take {{}} out of the table of the setup ({TABLE_TOLD})"


def placed_without_told(found: Allocation, run: Run, how: str = _OF_A_SETUP) -> Iterator[str]:
    """Without which of the snapshots something essential that is left out would have a knob.

    Args:
        found: the layout of a request, or of a setup in use.
        run: what may cut it short.
        how: how what stands in the place of ``{}`` is given up.

    Yields:
        A sentence with the snapshots that place the most of it, the fewest, and of so many those
        without which the rest is best; and how they are given up. Nothing where none do.
    """
    out = found.essential_out
    if not out or run.stopped:
        return
    best: tuple[tuple[int, ...], tuple[str, ...], tuple[str, ...]] = ((len(out),), (), out)
    small = len(found.request.surface.knobs) <= MOST_KNOBS
    ways = islice(_ways(found.request, run), MOST_LAID_OUT if small else FEW_LAID_OUT)
    for (names, request), own in run.in_turn(ways, told=False):
        if run.stopped or (not best[2] and len(names) > len(best[1])):
            break
        try:
            then = allocate_during(request, own)
        except (ImpossibleDemands, NoLayoutFound):
            continue
        left = then.essential_out
        harm = (len(left), len(names), *(tier.value for tier in then.tiers))
        if {*left} < {*out}:
            best = min(best, (harm, names, left), key=lambda each: each[0])
    _, names, left = best
    if names:
        placed = [name for name in out if name not in left]
        snapshots, them = ("snapshot", "it") if len(names) == 1 else ("snapshots", "them")
        knobs = "a knob" if len(placed) == 1 else "knobs"
        without = f"{listed(placed)} would have {knobs} without the {snapshots} {quoted(names)}"
        yield f"{without}: {how.format(them)}."


def _ways(request: Request, run: Run) -> Iterator[tuple[tuple[str, ...], Request]]:
    """One snapshot, then two, each with the request without: those without which more may share.

    What something is moved in stays in one snapshot at least.
    """
    snapshots = request.snapshots or ()
    bit = {each.name: 1 << at for at, each in enumerate(snapshots)}
    firm = [each.name for each in snapshots if each.break_weight is None]
    moved = [(bit[each.name], request.moved(each)) for each in snapshots]
    # How destinations move, each way once: the snapshots that move them, as bits.
    ways = {sum(own for own, names in moved if name in names) for name in request.by_full_name}
    parting = sum(map(bit.__getitem__, firm))
    now = len({way & parting for way in ways})
    several = chain(combinations(firm, 1), combinations(firm, 2))
    for names in islice(several, MOST_LOOKED_AT):
        if run.stopped:
            return
        left = ~sum(map(bit.__getitem__, names))
        moves = all(way & left for way in ways if way)
        if moves and len({way & parting & left for way in ways}) < now:
            rest = tuple(each for each in snapshots if each.name not in names)
            yield names, attrs.evolve(request, snapshots=rest)
