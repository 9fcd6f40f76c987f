"""Without snapshots: which would give what is essential and left out a knob, were they given up.

One is tried at a time, then two: all else is asked for as it was, and laid out once more.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import chain, combinations

import attrs

from knobpack.allocation import Allocation
from knobpack.checked_search import allocate_during
from knobpack.clash import ImpossibleDemands
from knobpack.combination.ways import FEW_TRIED, MOST_KNOBS
from knobpack.errors import NoLayoutFound
from knobpack.limits import Run
from knobpack.words import Request
from knobpack.words.names import listed, quoted

MOST_TRIED = 36
"""Snapshots, or two of them, that are tried at most: all that eight snapshots make.

On panels of more than :data:`MOST_KNOBS` they are :data:`FEW_TRIED`.
"""


def placed_without_told(found: Allocation, run: Run) -> Iterator[str]:
    """Without which of the snapshots something essential that is left out would have a knob.

    Args:
        found: the layout of a setup in use.
        run: what may cut it short.

    Yields:
        A sentence with the snapshots that place the most of it, the fewest, and of so many those
        without which the rest is best; and how they are given up. Nothing where none do.
    """
    out = found.essential_out
    if not out or run.stopped:
        return
    best: tuple[tuple[int, ...], tuple[str, ...], tuple[str, ...]] = ((len(out),), (), out)
    small = len(found.request.surface.knobs) <= MOST_KNOBS
    ways = list(_ways(found.request))[: MOST_TRIED if small else FEW_TRIED]
    for (names, request), own in run.in_turn(ways, told=False):
        if not best[2] and len(names) > len(best[1]):
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
        snapshots, columns = (
            ("snapshot", "its column") if len(names) == 1 else ("snapshots", "their columns")
        )
        yield (
            f"{listed(placed)} would have {'a knob' if len(placed) == 1 else 'knobs'} without the "
            f"{snapshots} {quoted(names)}: before that, take {columns} out of the table of the "
            "setup ('knobpack table FILE --table FILE.csv' writes it, 'knobpack table FILE "
            "FILE.csv' takes it back)."
        )


def _ways(request: Request) -> Iterator[tuple[tuple[str, ...], Request]]:
    """One snapshot, then two, each with the request without: those without which more may share.

    What something is moved in stays in one snapshot at least.
    """
    snapshots = request.snapshots or ()
    firm = [each.name for each in snapshots if each.break_weight is None]
    moved = {each.name: request.moved(each) for each in snapshots}
    every = frozenset[str]().union(*moved.values())

    def ways_to_move(without: tuple[str, ...]) -> int:
        held = [moved[name] for name in firm if name not in without]
        return len({tuple(name in some for some in held) for name in request.by_full_name})

    for names in chain(combinations(firm, 1), combinations(firm, 2)):
        rest = tuple(each for each in snapshots if each.name not in names)
        kept = frozenset[str]().union(*(moved[each.name] for each in rest))
        if kept == every and ways_to_move(names) < ways_to_move(()):
            yield names, attrs.evolve(request, snapshots=rest)
