"""Pieces: what some demands leave to be put on knobs, each piece on one of its own."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import reduce
from operator import or_

from knobpack.clash.effects import Effect, Effects
from knobpack.numbered.problem import bits
from knobpack.solver.rivals import Piece, Pieces
from knobpack.words.demand import Demand


def pieces_under(effects: Effects, wanted: Iterable[Demand], among: int | None = None) -> Pieces:
    """The pieces that ``wanted`` leave to be put on knobs, in the order of the request.

    Args:
        effects: what each demand of the request asks.
        wanted: some of the demands.
        among: the mask of the destinations that pieces are made of; None: what must be placed.
    """
    asked = [effects.of[demand] for demand in wanted]
    among = placed_by(asked) if among is None else among
    limits = [limit for effect in asked for limit in effect.limits]
    split = [pair for effect in asked for pair in effect.split]
    return Pieces(
        tuple(
            Piece(mask, _allowed(mask, limits, effects.every_knob), against(mask, split))
            for mask in _joined(asked, among)
        )
    )


def limit_of(wanted: Iterable[Demand], kind: str) -> int | None:
    """The limit of this kind that ``wanted`` sets; None: none."""
    return next((demand.subject for demand in wanted if demand.kind == kind), None)


def placed_by(asked: Iterable[Effect]) -> int:
    """The mask of the destinations that some demands want to be placed."""
    return reduce(or_, (effect.placed for effect in asked), 0)


def against(mask: int, split: Iterable[tuple[int, int]]) -> int:
    """What shares no knob with ``mask``; some of ``mask`` itself if two of its members cannot."""
    found = 0
    for a, b in split:
        in_a, in_b = mask & a, mask & b
        if in_a and in_b:
            # One destination alone on both sides is no rival of itself.
            found |= (a | b) & ~mask if (in_a | in_b).bit_count() == 1 else a | b
        elif in_a:
            found |= b
        elif in_b:
            found |= a
    return found


def _joined(asked: Iterable[Effect], among: int) -> list[int]:
    """The masks of the pieces: of some destinations, with all that must be together with them."""
    groups: list[int] = []
    for own in (effect.joined for effect in asked if effect.joined):
        meeting = [group for group in groups if group & own]
        groups = [group for group in groups if not group & own]
        groups.append(reduce(or_, meeting, own))
    pieces = [group for group in groups if group & among]
    alone = bits(among & ~reduce(or_, pieces, 0))
    return sorted((*pieces, *(1 << bit for bit in alone)), key=lambda mask: mask & -mask)


def _allowed(mask: int, limits: Sequence[tuple[int, int]], every_knob: int) -> int:
    allowed = every_knob
    for destinations, knobs in limits:
        if destinations & mask:
            allowed &= knobs
    return allowed
