"""Feasible: whether any layout meets a given part of the demands, with a layout or a reason.

Quick arguments come first, CP-SAT last. A "yes" comes with a layout, for the plain checker to
confirm; a "no" with a smaller part of the demands that cannot be met either, where one is seen.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from functools import cached_property

import attrs

from knobpack.clash.effects import Effects
from knobpack.clash.pieces import pieces_under
from knobpack.clash.soft import SoftModel
from knobpack.problem import bits
from knobpack.solver import cpsat
from knobpack.solver.packing import pack
from knobpack.solver.rivals import Piece, Pieces
from knobpack.solver.watch import Watch
from knobpack.words import Layout, Request, Route, VoiceLayer
from knobpack.words import demand as words
from knobpack.words.demand import Demand, demands_of

_EFFORT = 0.3
"""Deterministic effort for finding what clashes; all that is lost without it is time."""


@attrs.frozen
class Verdict:
    """What is known about a part of the demands.

    Args:
        possible: whether a layout meets them all; None: the watch stopped the search.
        layout: one that does, if there is one; it places only what these demands place.
        core: if there is none, those of them that are seen at once to clash: not minimal, and
            all of them where none are seen.
    """

    possible: bool | None
    layout: Layout | None = None
    core: tuple[Demand, ...] = ()


@attrs.frozen
class Feasible:
    """Answers, for any part of the demands of one request, whether a layout meets it.

    Where no knob is open to anything, nothing is contradicted. So on a panel whose knobs are all
    reserved, a part that lets one take new routes may contradict something that the whole does
    not. Ways out must reckon with that; clashing sets are those of the panel as it is, where a
    part of what can be met can always be met.

    Args:
        request: what was asked.
        watch: what may cut the answers short.
        opening: whether to reckon with knobs that are opened.
    """

    request: Request
    watch: Watch
    opening: bool = True

    @cached_property
    def demands(self) -> tuple[Demand, ...]:
        """All the demands of the request, in the order in which they were asked."""
        return demands_of(self.request)

    @cached_property
    def effects(self) -> Effects:
        """What each of them asks of knobs and destinations."""
        return Effects.read(self.request)

    @cached_property
    def _soft(self) -> SoftModel:
        return SoftModel.build(self.demands, self.effects, doubtful=self.doubtful)

    @cached_property
    def doubtful(self) -> int:
        """The mask of the destinations that some part of the demands may contradict.

        On a panel with an open knob it is what they contradict together: a part of them binds
        fewer to each other and closes fewer knobs.
        """
        every = sum(1 << bit for bit in self.effects.twins)
        if closes_all(self.demands, self.effects):
            return every if self.opening and self.effects.knobs else 0
        return sum(piece.members for piece in self._stuck(self.demands, every))

    def contradicted(self, wanted: Iterable[Demand]) -> tuple[tuple[str, ...], ...]:
        """What ``wanted`` leave no knob though all else were left out: full names.

        Those that must be on one knob together are in one tuple; twins follow one another.
        """
        names, twins, wanted = self.effects.names, self.effects.twins, tuple(wanted)
        kept = {each.subject.destination for each in wanted if each.kind == words.KEEP}
        found: list[tuple[str, ...]] = []
        for piece in self._stuck(wanted, self.doubtful):
            if not kept.isdisjoint(names[bit] for bit in bits(piece.members)):
                continue  # it is where the base has it
            if piece.size > 1:
                found.append(tuple(names[bit] for bit in bits(piece.members)))
            else:
                (leader,) = bits(piece.members)
                found += [(names[twin],) for twin in bits(twins[leader])]
        return tuple(found)

    def _stuck(self, wanted: Sequence[Demand], among: int) -> list[Piece]:
        """The pieces of some destinations that can be on no knob though there were nothing else."""
        if not among or closes_all(wanted, self.effects):
            return []
        most = _limit(wanted, words.PER_KNOB)
        of = self.effects.of
        pieces = pieces_under(self.effects, (of[demand] for demand in wanted), among).pieces
        return [piece for piece in pieces if piece.stuck(most)]

    def ask(self, wanted: Collection[Demand]) -> Verdict:
        """Whether a layout meets all of ``wanted``, a part of the demands."""
        asked = set(wanted)
        wanted = tuple(demand for demand in self.demands if demand in asked)
        if self.watch.over():
            return Verdict(None)
        for kind, member in words.COUNTS:
            limits = [demand for demand in wanted if demand.kind == kind]
            members = [demand for demand in wanted if demand.kind == member]
            if any(len(members) > limit.subject for limit in limits):
                return Verdict(False, core=(*members[: limits[0].subject + 1], *limits))
        pieces = pieces_under(self.effects, (self.effects.of[demand] for demand in wanted))
        refuted = self._refuted(wanted, pieces)
        if refuted:
            return Verdict(False, core=refuted)
        most = _limit(wanted, words.PER_KNOB)
        knobs = pieces.greedy(most)
        if knobs is None:
            crowd = pieces.crowded() or (most and pieces.overfull(most))
            if crowd:
                crowding = [pieces.pieces[number] for number in crowd]
                return Verdict(False, core=self._about(wanted, crowding))
            possible, knobs = pack(pieces, most, self.watch)
            if knobs is None:
                return Verdict(possible, core=() if possible is None else wanted)
        return Verdict(True, self._layout(wanted, pieces, knobs))

    def core(self, wanted: Collection[Demand], verdict: Verdict) -> tuple[Demand, ...]:
        """Some of ``wanted`` that most likely clash by themselves: ask about them again.

        Args:
            wanted: a part of the demands.
            verdict: what was found of them: that no layout meets them all.
        """
        if len(verdict.core) < len(wanted):
            return verdict.core
        model, met = self._soft.model.clone(), self._soft.met
        model.add_assumptions([met[demand] for demand in verdict.core])
        named = set(cpsat.solve(model, self.watch, effort=_EFFORT).core)
        return tuple(d for d in verdict.core if met[d].index in named) or verdict.core

    def crowd(self, wanted: Iterable[Demand]) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """Destinations that ``wanted`` place on different knobs each, and the fewer knobs for them.

        One destination stands for all that must be together with it. Both are empty where no
        such destinations are seen.
        """
        pieces = pieces_under(self.effects, (self.effects.of[demand] for demand in wanted))
        crowd = pieces.crowded() or ()
        firsts = [next(bits(pieces.pieces[number].members)) for number in crowd]
        return (
            tuple(self.effects.names[bit] for bit in sorted(firsts)),
            tuple(self.effects.knobs[bit] for bit in bits(pieces.room(crowd))),
        )

    def _refuted(self, wanted: Sequence[Demand], pieces: Pieces) -> tuple[Demand, ...]:
        """A part of the demands that counting alone refutes; empty where it refutes none."""
        most, routes = _limit(wanted, words.PER_KNOB), _limit(wanted, words.ROUTES)
        for piece in (*self._stuck(wanted, self.doubtful), *pieces.pieces):
            if piece.stuck(most):
                return self._about(wanted, (piece,))
        over = _first_over(pieces, routes)
        if not over and most is not None:
            everywhere = pieces.room(range(len(pieces.pieces))).bit_count()
            over = _first_over(pieces, most * everywhere)
        return self._about(wanted, over) if over else ()

    def _about(self, wanted: Iterable[Demand], pieces: Iterable[Piece]) -> tuple[Demand, ...]:
        """Those of ``wanted`` that concern these pieces, limits of the surface included."""
        members = 0
        for piece in pieces:
            members |= piece.members
        found, placed = [], 0
        for demand in wanted:
            effect = self.effects.of[demand]
            if demand.kind == words.PLACE and not effect.placed & ~placed:
                continue  # its twin is there already
            if demand.kind in (words.PER_KNOB, words.ROUTES) or effect.touches(members):
                found.append(demand)
                placed |= effect.placed
        return tuple(found)

    def _layout(self, wanted: Iterable[Demand], pieces: Pieces, knobs: Iterable[int]) -> Layout:
        placed = 0
        for demand in wanted:
            placed |= self.effects.placed[demand]
        routes = [
            Route(self.effects.names[twin], self.effects.knobs[knob])
            for piece, knob in zip(pieces.pieces, knobs, strict=True)
            for bit in bits(piece.members)
            # What must be together with something placed is placed too, and has no twins.
            for twin in bits(self.effects.twins[bit] & placed or 1 << bit)
        ]
        needs = [demand.subject for demand in wanted if demand.kind == words.LAYER]
        kept = {v: layer for v, layer in self.request.base_layers.items() if v in needs}
        free = (layer for layer in range(1, len(needs) + 1) if layer not in kept.values())
        layers = (VoiceLayer(voice, kept.get(voice) or next(free)) for voice in needs)
        return Layout(tuple(routes), layers=tuple(layers))


def closes_all(wanted: Iterable[Demand], effects: Effects) -> bool:
    """Whether ``wanted`` leave no knob open to anything new."""
    reserved = {demand.subject for demand in wanted if demand.kind == words.RESERVED}
    return reserved.issuperset(effects.knobs)


def _limit(wanted: Iterable[Demand], kind: str) -> int | None:
    """The limit of this kind that ``wanted`` sets; None: none."""
    return next((demand.subject for demand in wanted if demand.kind == kind), None)


def _first_over(pieces: Pieces, most: int | None) -> tuple[Piece, ...]:
    """The first pieces that hold more than ``most`` destinations; empty where all do not."""
    held = 0
    for number, piece in enumerate(pieces.pieces):
        held += piece.size
        if most is not None and held > most:
            return pieces.pieces[: number + 1]
    return ()
