"""Two apart: what can be parted with nothing left out, where an edit parts more than there is room.

Two destinations at a time are parted in place of all, each pair as an edit of its own.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations, product

from knobpack.clash import ImpossibleDemands
from knobpack.definition.phrases import many
from knobpack.edits.answer import Edited
from knobpack.edits.made import knob_of
from knobpack.edits.parted import parted_told
from knobpack.edits.solution import solved
from knobpack.edits.wishes import wish_of
from knobpack.errors import NoLayoutFound
from knobpack.limits import Run
from knobpack.setups.as_read import Reading
from knobpack.words.setup_edits import Part

MOST_PAIRS = 28
"""Pairs that are tried, at most: all that eight destinations on one knob make."""

MOST_TOLD = 3
"""Pairs that are told, at most."""


def two_apart_told(reading: Reading, edit: Part, run: Run) -> Iterator[str]:
    """What two of what was to be parted can be parted with nothing left out.

    Args:
        reading: the setup.
        edit: what was asked for: it parts more than two.
        run: what may cut it short.

    Yields:
        A sentence with those that part the fewest bundles and move the least; or that there are
        none, where all were tried. Nothing where two were to be parted and no more.
    """
    pairs = _pairs(reading, edit)
    if len(pairs) < 2:
        return
    found: dict[tuple[str, str], Edited] = {}
    tried = 0
    for pair, own in run.in_turn(pairs[:MOST_PAIRS], told=False):
        try:
            done = solved(reading.setup, reading.setup, wish_of(reading, Part(pair)), own)
        except NoLayoutFound:
            continue
        except ImpossibleDemands:
            tried += 1
            continue
        tried += not done.left_out or done.allocation.tiers[0].proven
        if not done.left_out and not done.gave_way:
            found[pair] = done
    prices = {
        pair: (len(tuple(parted_told(done.before, done.setup))), len(done.moved))
        for pair, done in found.items()
    }
    least = sorted(found, key=prices.__getitem__)
    told = [
        f"{one} from {other} ({many(len(found[one, other].moved), 'route')} to move)"
        for one, other in least[:MOST_TOLD]
    ]
    if told:
        which = " or ".join(filter(None, (", ".join(told[:-1]), told[-1])))
        yield f"Instead, with nothing left out, two can be parted: {which}."
    elif tried == len(pairs):
        yield "No two of them can be parted with nothing left out."


def _pairs(reading: Reading, edit: Part) -> list[tuple[str, str]]:
    """All that is to be parted and is on one knob now, two by two."""
    at = knob_of(reading)
    sides = (rule.effect(tuple, ()).parted for rule in wish_of(reading, edit).rules)
    apart = {frozenset(pair) for parted in sides if parted for pair in product(*parted)}
    return [pair for pair in combinations(at, 2) if {*pair} in apart and at[pair[0]] == at[pair[1]]]
