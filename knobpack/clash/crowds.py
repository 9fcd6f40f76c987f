"""Crowds: destinations that take more knobs than there are for them.

A crowd is seen among what some demands place, and widened to all that it could be: then one
inequality says what otherwise each choice of a few of its members would have to say by itself.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from functools import reduce
from operator import or_

import attrs

from knobpack.clash.effects import Effects, against, pieces_under, placed_by
from knobpack.grouped import grouped
from knobpack.solver.rivals import Piece
from knobpack.words import demand as words
from knobpack.words.demand import Demand


@attrs.frozen
class Class:
    """Destinations of a crowd that may share knobs with each other, and with no other class.

    Args:
        placing: demands that each place some of them.
        needed: while all of these are met, none of it shares with another class, or leaves the
            knobs of the crowd for one that is not opened.
    """

    placing: tuple[Demand, ...]
    needed: tuple[Demand, ...]


@attrs.frozen
class CrowdLimit:
    """Classes of which no two share a knob, and the knobs for them.

    Args:
        classes: the classes.
        room: how many knobs there are for all of them.
        closing: demands that keep one more knob each from them.
    """

    classes: tuple[Class, ...]
    room: int
    closing: tuple[Demand, ...]


def crowd_of(effects: Effects, wanted: Sequence[Demand], seen: Sequence[Piece]) -> CrowdLimit:
    """A crowd, widened to all that may be placed and is separated from all of it.

    Args:
        effects: what each demand of the request asks.
        wanted: demands that no layout meets.
        seen: pieces that they place, and that show it.
    """
    room = reduce(or_, (piece.knobs for piece in seen))
    members = reduce(or_, (piece.members for piece in seen))
    among = pieces_under(effects, wanted, placed_by(effects.of.values()))
    alike = grouped(
        ((among.rivals[number], piece.knobs), number)
        for number, piece in enumerate(among.pieces)
        if piece.knobs and not piece.knobs & ~room
    )
    # What is seen comes first, so that all of it is in.
    order = sorted(alike.values(), key=lambda each: not among.pieces[each[0]].members & members)
    chosen: list[list[int]] = []
    firsts = 0
    for numbers in order:
        if not firsts & ~among.rivals[numbers[0]]:
            chosen.append(numbers)
            firsts |= 1 << numbers[0]
    classes = [[among.pieces[number] for number in numbers] for numbers in chosen]
    return CrowdLimit(
        tuple(
            _class(
                effects,
                wanted,
                pieces,
                [piece.members for other in classes if other is not pieces for piece in other],
                effects.every_knob & ~room,
            )
            for pieces in classes
        ),
        room.bit_count(),
        tuple(
            each
            for each in wanted
            if each.kind == words.RESERVED and not room >> effects.knobs.index(each.subject) & 1
        ),
    )


def _class(
    effects: Effects, wanted: Sequence[Demand], own: Sequence[Piece], others: list[int], shut: int
) -> Class:
    needed: dict[Demand, None] = {}
    for piece in own:
        if piece.size > 1:
            needed |= dict.fromkeys(d for d in wanted if effects.of[d].joined & piece.members)
        needed |= dict.fromkeys(_parting(effects, wanted, piece.members, others))
        needed |= dict.fromkeys(_shutting(effects, wanted, piece.members, shut))
    members = reduce(or_, (piece.members for piece in own))
    placing = (demand for demand, effect in effects.of.items() if effect.placed & members)
    return Class(tuple(placing), tuple(needed))


def _parting(
    effects: Effects, wanted: Sequence[Demand], one: int, others: Iterable[int]
) -> Iterator[Demand]:
    """Few demands that part one piece from all of some others."""
    parted = {each: against(one, effects.of[each].split) for each in wanted}
    left = list(others)
    while left:
        mask = reduce(or_, left)
        best = max(parted, key=lambda each: (parted[each] & mask).bit_count())
        yield best
        left = [other for other in left if not other & parted[best]]


def _shutting(effects: Effects, wanted: Sequence[Demand], one: int, shut: int) -> Iterator[Demand]:
    """Demands that keep a piece off some knobs, those that reserve a knob aside."""
    for demand in sorted(wanted, key=lambda each: each.kind != words.RESERVED):
        for limited, knobs in effects.of[demand].limits:
            if one & limited and shut & ~knobs:
                shut &= knobs
                if demand.kind != words.RESERVED:
                    yield demand
