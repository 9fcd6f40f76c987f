"""Rivals: what must be placed, what may not share a knob, and quick answers to whether it can be.

Only what must be placed matters for whether a layout exists: leaving anything else out never breaks
a demand, unless it is contradicted. What must be together is one piece. Two pieces are rivals if
they may share no knob.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from functools import cached_property

import attrs

from knobpack.numbered.problem import bits
from knobpack.solver.cliques import grown_clique

_STARTS = 32
"""How many destinations a clique is grown from, at most."""


@attrs.frozen
class Piece:
    """Destinations that go on one knob as one, all of them placed.

    Args:
        members: the mask of its destinations.
        knobs: the mask of the knobs it may be on.
        against: the mask of all destinations that it shares no knob with; if that holds one of
            its own, it can be on none.
    """

    members: int
    knobs: int
    against: int

    @property
    def size(self) -> int:
        """How many destinations."""
        return self.members.bit_count()

    def stuck(self, most: int | None) -> bool:
        """Whether it could be on no knob though there were nothing else.

        Args:
            most: how many destinations a knob carries at most; None: any number.
        """
        over = most is not None and self.size > most
        return over or not self.knobs or bool(self.members & self.against)


@attrs.frozen
class Pieces:
    """The pieces, and the rivals of each by number."""

    pieces: tuple[Piece, ...]

    @cached_property
    def rivals(self) -> tuple[int, ...]:
        """For each piece the mask, by number, of the pieces that it shares no knob with."""
        members = [piece.members for piece in self.pieces]
        found = []
        for piece in self.pieces:
            against = piece.against & ~piece.members
            found.append(sum(1 << n for n, other in enumerate(members) if other & against))
        return tuple(found)

    def on(self, count: int) -> Pieces:
        """The same pieces, each of which may be on any of so many knobs."""
        knobs = (1 << count) - 1
        return Pieces(tuple(attrs.evolve(piece, knobs=knobs) for piece in self.pieces))

    def greedy(self, most: int | None) -> tuple[int, ...] | None:
        """A knob for each piece, found without looking back; None where that fails.

        The piece with the fewest knobs left goes first. A failure proves nothing.

        Args:
            most: how many destinations a knob carries at most; None: any number.
        """
        room = [piece.knobs for piece in self.pieces]
        rivals = self.rivals
        left = sorted(range(len(room)), key=lambda n: -rivals[n].bit_count())
        load: dict[int, int] = {}
        chosen = [0] * len(room)
        while left:
            number = min(left, key=lambda n: room[n].bit_count())
            left.remove(number)
            size = self.pieces[number].size
            fit = (k for k in bits(room[number]) if not most or load.get(k, 0) + size <= most)
            knob = next(fit, None)
            if knob is None:
                return None
            chosen[number] = knob
            load[knob] = load.get(knob, 0) + size
            full = most is not None and load[knob] >= most
            taken, barred = ~(1 << knob), -1 if full else rivals[number]
            for other in left:
                if barred >> other & 1:
                    room[other] &= taken
        return tuple(chosen)

    def crowded(self) -> tuple[int, ...] | None:
        """Pieces, all rivals of each other, that have fewer knobs between them than they are.

        That proves that they cannot all be placed. None where the cliques tried show none.
        """
        order = sorted(
            range(len(self.pieces)),
            key=lambda n: (self.pieces[n].knobs.bit_count(), -self.rivals[n].bit_count(), n),
        )
        for start in order[:_STARTS]:
            found = self._too_many(self.clique(start))
            if found:
                return found
        return None

    def overfull(self, most: int) -> tuple[int, ...] | None:
        """Pieces that need more knobs than they may be on, as rivals share none.

        Pieces with the same rivals are one class; classes that are all rivals of each other need
        a knob for every ``most`` destinations that each of them holds. None where the classes
        tried need no more than there are.
        """
        classes: dict[int, list[int]] = {}
        for number, rivals in enumerate(self.rivals):
            classes.setdefault(rivals, []).append(number)
        need = {
            members[0]: -(-sum(self.pieces[n].size for n in members) // most)
            for members in classes.values()
        }
        chosen: list[int] = []
        for first in sorted(need, key=lambda n: (-need[n], n)):
            if all(self.rivals[first] >> other & 1 for other in chosen):
                chosen.append(first)
        held = [number for first in chosen for number in classes[self.rivals[first]]]
        return tuple(held) if sum(need[n] for n in chosen) > self.room(held).bit_count() else None

    def clique(self, start: int) -> tuple[int, ...]:
        """Pieces that are all rivals of each other, grown from ``start`` as far as it goes."""
        rivals, pieces = self.rivals, self.pieces
        others = grown_clique(rivals, rivals[start], lambda n: pieces[n].knobs.bit_count())
        return (start, *others)

    def room(self, numbers: Iterable[int]) -> int:
        """The mask of the knobs that any of these pieces may be on."""
        room = 0
        for number in numbers:
            room |= self.pieces[number].knobs
        return room

    def _too_many(self, clique: Sequence[int]) -> tuple[int, ...] | None:
        """Give each of the clique a knob of its own; if one gets none, those that stand in its way.

        Hall's theorem (P. Hall, "On Representatives of Subsets", 1935): from the one that gets
        none, the pieces that can be reached by taking knobs away are one more than their knobs.
        """
        holder: dict[int, int] = {}
        for piece in clique:
            came, free = self._seek(piece, holder)
            if free is None:
                return tuple(sorted((piece, *(holder[knob] for knob in came))))
            _hand_over(holder, came, free)
        return None

    def _seek(self, piece: int, holder: dict[int, int]) -> tuple[dict[int, int], int | None]:
        """Look for a free knob, each piece that loses its own to another seeking in turn.

        Returns:
            For each knob seen the piece that is to have it, and the free knob, if there is one.
        """
        came: dict[int, int] = {}
        queue = [piece]
        for seeker in queue:  # grows as it goes
            for knob in bits(self.pieces[seeker].knobs):
                if knob not in came:
                    came[knob] = seeker
                    if knob not in holder:
                        return came, knob
                    queue.append(holder[knob])
        return came, None


def _hand_over(holder: dict[int, int], came: dict[int, int], knob: int) -> None:
    """Give ``knob`` to the piece that sought it, the one it held to the piece that sought that."""
    before = {piece: held for held, piece in holder.items()}
    free: int | None = knob
    while free is not None:
        seeker = came[free]
        holder[free] = seeker
        free = before.get(seeker)
