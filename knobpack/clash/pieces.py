"""Pieces: what some demands leave to be put on knobs.

What must be together is one piece; two are rivals if something demands that they share no knob.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from knobpack.clash.effects import Effect, Effects
from knobpack.problem import bits
from knobpack.solver.rivals import Piece, Pieces


def pieces_under(effects: Effects, wanted: Iterable[Effect], among: int | None = None) -> Pieces:
    """The pieces that ``wanted`` leave to be put on knobs, in the order of the request.

    Args:
        effects: what each demand of the request asks.
        wanted: the effects of some of the demands.
        among: the destinations that pieces are made of; None: those that must be placed.
    """
    wanted = tuple(wanted)
    if among is None:
        among = 0
        for effect in wanted:
            among |= effect.placed
    limits = [limit for effect in wanted for limit in effect.limits]
    split = [pair for effect in wanted for pair in effect.split]
    return Pieces(
        tuple(
            Piece(mask, _allowed(mask, limits, effects.every_knob), _against(mask, split))
            for mask in _joined(wanted, among)
        )
    )


def _joined(wanted: Sequence[Effect], among: int) -> list[int]:
    """The masks of the pieces: of some destinations, with all that must be together with them."""
    groups: list[int] = []
    for effect in wanted:
        merged, apart = effect.joined, []
        for group in groups:
            if group & merged:
                merged |= group
            else:
                apart.append(group)
        groups = [*apart, merged] if merged else groups
    pieces = [group for group in groups if group & among]
    for group in pieces:
        among &= ~group
    pieces += [1 << bit for bit in bits(among)]
    return sorted(pieces, key=lambda mask: mask & -mask)


def _allowed(mask: int, limits: Sequence[tuple[int, int]], every_knob: int) -> int:
    allowed = every_knob
    for destinations, knobs in limits:
        if destinations & mask:
            allowed &= knobs
    return allowed


def _against(mask: int, split: Sequence[tuple[int, int]]) -> int:
    """What shares no knob with ``mask``; some of ``mask`` itself if two of its members cannot."""
    against = 0
    for a, b in split:
        in_a, in_b = mask & a, mask & b
        # One destination alone on both sides is no rival of itself.
        alone = mask if (in_a | in_b).bit_count() == 1 else 0
        if in_a:
            against |= b & ~alone
        if in_b:
            against |= a & ~alone
    return against
