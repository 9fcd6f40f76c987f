"""Offer: a way to place what found no knob, or to part what matters from other things."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import attrs

from knobpack.allocation.records import Tier
from knobpack.setups.missed_travels import MissedTravel, missed_told
from knobpack.text.shown import Fielded
from knobpack.words import Route
from knobpack.words.names import knob_told, listed, many, quoted

SHARE = "share"
"""An offer to give up snapshots that are added, so that a knob can be shared."""
FREE = "free"
"""An offer to let something of the base move to another knob."""
CLEAR = "clear"
"""An offer to take knobs of the base that do nothing."""
LEAVE = "leave"
"""An offer to leave something else out instead, or something less important that has a knob."""

_WORSE = {"bundles": "more is parted", "independence": "more snapshots are broken"}


@attrs.frozen
class Offer(Fielded):
    """A way to place what found no knob, or to part what was joined, worked out to the end.

    Args:
        what: :data:`SHARE`, :data:`FREE`, :data:`CLEAR` or :data:`LEAVE`.
        names: the snapshots to give up, the destinations of the base to free, the knobs to clear,
            or the destinations to leave out.
        places: what it would place, and where; where it places nothing, what would be elsewhere.
        moves: what of the base it would move: each destination with its knob now.
        beside: for each of ``places``, what would be on that knob too.
        joins: for each of ``moves``, what would be on that knob too.
        tiers: the value of every tier then, its bound, and whether it is proven.
        before: the values of the tiers as they are without it.
        missed: the travels that would be wanted and not had, and are not missed without it.
        eases: where it places nothing, what would be as it was in its setup: with nothing else on
            its knob than there, over the travel that it wants.
    """

    what: str
    names: tuple[str, ...]
    places: tuple[Route, ...]
    moves: tuple[Route, ...]
    beside: tuple[tuple[str, ...], ...]
    joins: tuple[tuple[str, ...], ...]
    tiers: tuple[Tier, ...]
    before: tuple[int, ...]
    missed: tuple[MissedTravel, ...] = ()
    eases: tuple[str, ...] = ()

    @property
    def proven(self) -> bool:
        """Whether nothing better can be had at this price."""
        return all(tier.proven for tier in self.tiers)

    @property
    def lost(self) -> int:
        """How much is given up, moved or left out for it; a knob that does nothing is no loss."""
        if self.what == CLEAR:
            return 0
        return len(self.moves) if self.what == FREE else len(self.names)

    def __str__(self) -> str:
        if self.what == SHARE:
            snapshots = "snapshot" if len(self.names) == 1 else "snapshots"
            how = f"without the added {snapshots} {quoted(self.names)}"
        elif self.what == FREE:
            how = f"with {listed(self.names)} free to move"
        elif self.what == CLEAR:
            how = f"with {listed(self.names)} cleared"
        else:
            how = f"with {listed(self.names)} left out{'' if self.eases else ' instead'}"
        told = f"{how}, {listed([self._to(knob) for knob in self._knobs])}"
        told = "; ".join((told, *self._then(), *missed_told(self.missed)))
        return f"{told} ({', '.join(self._how_good())})"

    @property
    def _knobs(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(each.knob for each in self.places))

    def _to(self, knob: str) -> str:
        """What comes to one knob, and what is there already."""
        here, beside = _on_knob(knob, self.places, self.beside)
        comes = "comes" if len(here) == 1 else "come"
        return f"{listed(here, 6)} {comes} to {knob_told(knob)}{beside}"

    def _then(self) -> Iterator[str]:
        """What of the base each knob then drives that it did not drive before; what is eased."""
        for knob in dict.fromkeys(each.knob for each in self.moves):
            here, beside = _on_knob(knob, self.moves, self.joins)
            too = f" too,{beside}" if beside else ""
            yield f"{knob_told(knob)} then drives {listed(here, 6)}{too}"
        if self.eases:
            are, their = ("is", "its") if len(self.eases) == 1 else ("are", "their")
            yield f"{listed(self.eases)} {are} then as in {their} setup"

    def _how_good(self) -> Iterator[str]:
        """How much moves, what else gets worse, and whether there is no better way to take it."""
        if self.moves:
            move = "moves" if len(self.moves) == 1 else "move"
            yield f"{many(len(self.moves), 'route')} of the base {move}"
        for tier, was in zip(self.tiers, self.before, strict=True):
            if tier.value > was and tier.name in _WORSE:
                yield _WORSE[tier.name]
        yield "proven best that way" if self.proven else "not proven best that way"


def _on_knob(
    knob: str, routes: Sequence[Route], beside: Sequence[Sequence[str]]
) -> tuple[list[str], str]:
    """What routes bring to a knob, and in words what else is there, as told with each route."""
    here = [each.destination for each in routes if each.knob == knob]
    names = (n for each, on in zip(routes, beside, strict=True) for n in on if each.knob == knob)
    there = [name for name in dict.fromkeys(names) if name not in here]
    return here, f" beside {listed(there, 4)}" if there else ""
