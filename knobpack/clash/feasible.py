"""Feasible: whether any layout meets a given part of the demands, with a layout or a reason.

Counting comes first, the engine's packing model last. A "yes" comes with a layout, for the plain
checker to confirm; a "no" with a smaller part of the demands that cannot be met either, where one
is seen.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence
from functools import cached_property, reduce
from operator import or_

import attrs

from knobpack.clash.effects import Effects, limit_of, pieces_under
from knobpack.numbered.problem import bits
from knobpack.solver.cp_sat.packing import pack
from knobpack.solver.rivals import Piece, Pieces
from knobpack.solver.watch import Watch
from knobpack.words import Layout, Request, Route, VoiceLayer
from knobpack.words import demand as words
from knobpack.words.demand import Demand, demands_of


@attrs.frozen
class Verdict:
    """What is known about a part of the demands.

    Args:
        possible: whether a layout meets them all; None: the watch stopped the search.
        layout: one that does, if there is one; it places only what these demands place.
        core: if there is none, those of them that are seen at once to clash: not minimal, and
            all of them where none are seen.
        crowd: the pieces that were seen to take more knobs than there are, if any were.
    """

    possible: bool | None
    layout: Layout | None = None
    core: tuple[Demand, ...] = ()
    crowd: tuple[Piece, ...] = ()


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
        return Effects(self.request)

    @cached_property
    def doubtful(self) -> int:
        """The mask of the destinations that some part of the demands may contradict.

        On a panel with an open knob it is what they contradict together: a part of them binds
        fewer to each other and closes fewer knobs.
        """
        every = (1 << len(self.effects.names)) - 1
        if closes_all(self.demands, self.effects):
            return every if self.opening and self.effects.knobs else 0
        return sum(piece.members for piece in self.stuck(self.demands, every))

    def contradicted(self, wanted: Collection[Demand]) -> tuple[tuple[str, ...], ...]:
        """What ``wanted`` leave no knob though all else were left out: full names.

        Those that must be on one knob together are in one tuple.
        """
        names = self.effects.names
        kept = {each.subject.destination for each in wanted if each.kind == words.KEEP}
        units = [tuple(names[bit] for bit in bits(piece.members)) for piece in self.stuck(wanted)]
        return tuple(unit for unit in units if kept.isdisjoint(unit))  # it is where the base has it

    def stuck(self, wanted: Collection[Demand], among: int | None = None) -> list[Piece]:
        """The pieces that can be on no knob though there were nothing else.

        Args:
            wanted: a part of the demands.
            among: the mask of the destinations to look at; None: all that are doubtful.
        """
        among = self.doubtful if among is None else among
        if not among or closes_all(wanted, self.effects):
            return []
        most = limit_of(wanted, words.PER_KNOB)
        pieces = pieces_under(self.effects, wanted, among).pieces
        return [piece for piece in pieces if piece.stuck(most)]

    def ask(self, wanted: Collection[Demand]) -> Verdict:
        """Whether a layout meets all of ``wanted``, a part of the demands."""
        asked = set(wanted)
        wanted = tuple(demand for demand in self.demands if demand in asked)
        if self.watch.over():
            return Verdict(None)
        pieces = pieces_under(self.effects, wanted)
        refuted = _over_stored(wanted) or self._refuted(wanted, pieces)
        if refuted:
            return Verdict(False, core=refuted)
        most = limit_of(wanted, words.PER_KNOB)
        possible: bool | None = True
        knobs = pieces.greedy(most)
        if knobs is None:
            numbers = pieces.crowded() or (most and pieces.overfull(most)) or ()
            crowd = tuple(pieces.pieces[number] for number in numbers)
            if crowd:
                return Verdict(False, core=self.about(wanted, crowd), crowd=crowd)
            possible, knobs = pack(pieces, most, self.watch)
        if knobs is None:
            return Verdict(possible, core=wanted)
        on = zip(pieces.pieces, knobs, strict=True)
        return Verdict(True, self._layout(wanted, on))

    def crowd(self, wanted: Iterable[Demand]) -> tuple[tuple[str, ...], tuple[str, ...]]:
        """Destinations that ``wanted`` place on different knobs each, and the fewer knobs for them.

        One destination stands for all that must be together with it. Both are empty where no
        such destinations are seen.
        """
        pieces = pieces_under(self.effects, wanted)
        crowd = pieces.crowded() or ()
        firsts = [next(bits(pieces.pieces[number].members)) for number in crowd]
        return (
            tuple(self.effects.names[bit] for bit in sorted(firsts)),
            tuple(self.effects.knobs[bit] for bit in bits(pieces.room(crowd))),
        )

    def _refuted(self, wanted: Sequence[Demand], pieces: Pieces) -> tuple[Demand, ...]:
        """A part of the demands that counting alone refutes; empty where it refutes none."""
        most, routes = limit_of(wanted, words.PER_KNOB), limit_of(wanted, words.ROUTES)
        for piece in (*self.stuck(wanted), *pieces.pieces):
            if piece.stuck(most):
                return self.about(wanted, (piece,))
        over = _first_over(pieces, routes)
        if not over and most is not None:
            everywhere = pieces.room(range(len(pieces.pieces))).bit_count()
            over = _first_over(pieces, most * everywhere)
        return self.about(wanted, over) if over else ()

    def about(self, wanted: Iterable[Demand], pieces: Iterable[Piece]) -> tuple[Demand, ...]:
        """Those of ``wanted`` that concern these pieces, limits of the surface included."""
        members = reduce(or_, (piece.members for piece in pieces), 0)
        limits = (words.PER_KNOB, words.ROUTES)
        return tuple(
            demand
            for demand in wanted
            if demand.kind in limits or self.effects.of[demand].touches(members)
        )

    def _layout(self, wanted: Iterable[Demand], on: Iterable[tuple[Piece, int]]) -> Layout:
        names, panel = self.effects.names, self.effects.knobs
        placed = sorted((bit, knob) for piece, knob in on for bit in bits(piece.members))
        routes = tuple(Route(names[bit], panel[knob]) for bit, knob in placed)
        needs = [demand.subject for demand in wanted if demand.kind == words.LAYER]
        kept = {v: layer for v, layer in self.request.base_layers.items() if v in needs}
        free = (layer for layer in range(1, len(needs) + 1) if layer not in kept.values())
        layers = (VoiceLayer(voice, kept.get(voice) or next(free)) for voice in needs)
        return Layout(routes, layers=tuple(layers))


def closes_all(wanted: Iterable[Demand], effects: Effects) -> bool:
    """Whether ``wanted`` leave no knob open to anything new."""
    reserved = {demand.subject for demand in wanted if demand.kind == words.RESERVED}
    return reserved.issuperset(effects.knobs)


def _over_stored(wanted: Collection[Demand]) -> tuple[Demand, ...]:
    """A limit on layers or snapshots with one more than it lets there be; empty where none is."""
    for kind, member in words.COUNTS:
        limits = [demand for demand in wanted if demand.kind == kind]
        members = [demand for demand in wanted if demand.kind == member]
        if any(len(members) > limit.subject for limit in limits):
            return (*members[: limits[0].subject + 1], *limits)
    return ()


def _first_over(pieces: Pieces, most: int | None) -> tuple[Piece, ...]:
    """The first pieces that hold more than ``most`` destinations; empty where all do not."""
    held = 0
    for number, piece in enumerate(pieces.pieces):
        held += piece.size
        if most is not None and held > most:
            return pieces.pieces[: number + 1]
    return ()
