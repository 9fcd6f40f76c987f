"""Soft: the engine's compact model of some demands, of which some may be given up.

What is held firm is in the problem that the compact model is made of: what must be together is one
atom, two that may not share clash. Each demand that may be given up has a literal instead, which
says whether it is met.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Sequence

from knobpack.clash.effects import Effect, Effects
from knobpack.problem import Atom, Problem, bits
from knobpack.solver import cp_model
from knobpack.solver.compact_model import CompactModel
from knobpack.solver.packing import order_knobs
from knobpack.solver.rivals import Piece, Pieces
from knobpack.words import demand as words
from knobpack.words.demand import Demand


class SoftModel:
    """The model of some demands.

    Args:
        effects: what each demand of the request asks.
        demands: those that count; all others are as if nobody had asked for them.
        soft: those of them that may be given up.
    """

    def __init__(
        self, effects: Effects, demands: Collection[Demand], soft: Collection[Demand] = ()
    ) -> None:
        firm = [demand for demand in demands if demand not in soft]
        self._effects = effects
        self._pieces = pieces_under(effects, firm, _concerned(effects, demands))
        self._compact = CompactModel(_problem(effects, firm, self._pieces))
        self.model = self._compact.model
        self.met = {each: self.model.new_bool_var("") for each in demands if each in soft}
        for demand, met in self.met.items():
            self._soften(demand, met)
        self._count(demands)
        self._count_knobs(demands)
        self._order_alike(demands)

    def knobs(self, value: Callable[[cp_model.LiteralT], int]) -> dict[int, int]:
        """The knob of each destination that is placed in a solution."""
        return {
            bit: knob
            for (number, knob), here in self._compact.on.items()
            if value(here)
            for bit in bits(self._pieces.pieces[number].members)
        }

    def _soften(self, demand: Demand, met: cp_model.IntVar) -> None:
        """Say what ``demand`` asks, if it is met."""
        effect, model, on = self._effects.of[demand], self.model, self._compact.on
        for number in self._numbers(effect.placed):
            if number in self._compact.out:
                model.add_at_most_one(self._compact.out[number], met)
        first, *others = self._numbers(effect.joined) or [0]
        for number in others:
            for knob in range(len(self._effects.knobs)):
                one, other = (on.get((each, knob), 0) for each in (first, number))
                model.add(one == other).only_enforce_if(met)
        for limited, knobs in effect.limits:
            self._exclude(self._numbers(limited), self._effects.every_knob & ~knobs, met)
        for pair in effect.split:
            self._part(pair, met)
        if demand.kind == words.PER_KNOB:
            for knob in range(len(self._effects.knobs)):
                self._limit((place for place in on if place[1] == knob), demand, met)
        if demand.kind == words.ROUTES:
            self._limit(on, demand, met)

    def _numbers(self, destinations: int) -> list[int]:
        """The atoms that hold some of these destinations."""
        every = enumerate(self._pieces.pieces)
        return [number for number, piece in every if piece.members & destinations]

    def _exclude(self, atoms: Iterable[int], knobs: int, met: cp_model.IntVar) -> None:
        for place in ((number, knob) for number in atoms for knob in bits(knobs)):
            if place in self._compact.on:
                self.model.add_at_most_one(self._compact.on[place], met)

    def _limit(
        self, places: Iterable[tuple[int, int]], demand: Demand, met: cp_model.IntVar
    ) -> None:
        sizes = (self._pieces.pieces[at[0]].size * self._compact.on[at] for at in places)
        self.model.add(sum(sizes) <= demand.subject).only_enforce_if(met)

    def _part(self, pair: tuple[int, int], met: cp_model.IntVar) -> None:
        """Each knob takes one side; what is on both shares with no other of either."""
        pieces, model, on = self._pieces.pieces, self.model, self._compact.on
        sides = [model.new_bool_var("") for _ in self._effects.knobs]
        for number in self._numbers(pair[0] | pair[1]):
            members = pieces[number].members
            against = _against(members, [pair])
            if against & members:
                self._exclude([number], self._effects.every_knob, met)
            elif members & pair[0] and members & pair[1]:
                for other in self._numbers(against & ~members):
                    for knob in range(len(sides)):
                        if (number, knob) in on and (other, knob) in on:
                            model.add_bool_or(~on[number, knob], ~on[other, knob], ~met)
            else:
                for knob, side in enumerate(sides):
                    if (number, knob) in on:
                        here = side if members & pair[0] else ~side
                        model.add_bool_or(~on[number, knob], here, ~met)

    def _count(self, demands: Iterable[Demand]) -> None:
        """The limits on layers and snapshots."""
        for kind, member in words.COUNTS:
            for limit in (each for each in demands if each.kind == kind):
                counted = [self.met.get(each, 1) for each in demands if each.kind == member]
                if counted:
                    bound = self.model.add(sum(counted) <= limit.subject)
                    if limit in self.met:
                        bound.only_enforce_if(self.met[limit])

    def _count_knobs(self, demands: Collection[Demand]) -> None:
        """What is parted from all else counted has a knob to itself: there must be enough.

        This follows from the rest, but without it the solver would try every way of giving up
        what parts them.
        """
        effects = self._effects
        if not any(effects.of[demand].split for demand in self.met):
            return
        every = [pair for demand in demands for pair in effects.of[demand].split]
        placed = _placed(effects.of[demand] for demand in demands)
        while placed:
            lone = [
                Piece(1 << bit, effects.every_knob, _against(1 << bit, every))
                for bit in bits(placed)
            ]
            pieces = Pieces(tuple(lone))
            start = max(range(len(lone)), key=lambda n: (pieces.rivals[n].bit_count(), -n))
            chosen = sum(lone[number].members for number in pieces.clique(start))
            if chosen.bit_count() <= len(effects.knobs):
                return
            placed &= ~chosen
            closed = _closed(effects, demands, chosen)
            loose = [
                self._compact.out.get(n, 0) for bit in bits(chosen) for n in self._numbers(1 << bit)
            ]
            given_up = [
                *closed,
                *(d for bit in bits(chosen) for d in _parting(effects, demands, 1 << bit, chosen)),
            ]
            lost = sum(~self.met[demand] for demand in given_up if demand in self.met)
            self.model.add(
                chosen.bit_count() - sum(loose) <= len(effects.knobs) - len(closed) + lost
            )

    def _order_alike(self, demands: Iterable[Demand]) -> None:
        """Order the knobs that no demand tells apart: they stay alike, whatever is given up."""
        named = [knobs for each in demands for _, knobs in self._effects.of[each].limits]
        alike: dict[tuple[int, ...], list[int]] = {}
        for knob in range(len(self._effects.knobs)):
            alike.setdefault(tuple(knobs >> knob & 1 for knobs in named), []).append(knob)
        count = len(self._pieces.pieces)
        places: list[dict[int, cp_model.IntVar]] = [{} for _ in range(count)]
        for (number, knob), here in self._compact.on.items():
            places[number][knob] = here
        rivals = self._pieces.rivals
        start = max(range(count), key=lambda n: (rivals[n].bit_count(), -n), default=None)
        first = () if start is None else self._pieces.clique(start)
        order = [places[n] for n in (*first, *(n for n in range(count) if n not in first))]
        for knobs in alike.values():
            order_knobs(self.model, order, knobs)


def pieces_under(effects: Effects, wanted: Iterable[Demand], among: int | None = None) -> Pieces:
    """The pieces that ``wanted`` leave to be put on knobs, in the order of the request.

    Args:
        effects: what each demand of the request asks.
        wanted: some of the demands.
        among: the mask of the destinations that pieces are made of; None: what must be placed.
    """
    asked = [effects.of[demand] for demand in wanted]
    among = _placed(asked) if among is None else among
    limits = [limit for effect in asked for limit in effect.limits]
    split = [pair for effect in asked for pair in effect.split]
    return Pieces(
        tuple(
            Piece(mask, _allowed(mask, limits, effects.every_knob), _against(mask, split))
            for mask in _joined(asked, among)
        )
    )


def limit_of(wanted: Iterable[Demand], kind: str) -> int | None:
    """The limit of this kind that ``wanted`` sets; None: none."""
    return next((demand.subject for demand in wanted if demand.kind == kind), None)


def _problem(effects: Effects, firm: Sequence[Demand], pieces: Pieces) -> Problem:
    """The problem that ``firm`` pose: where the pieces may be, and nothing of what is better."""
    must, every = _placed(effects.of[demand] for demand in firm), len(effects.names)
    most, routes = limit_of(firm, words.PER_KNOB), limit_of(firm, words.ROUTES)
    atoms = tuple(
        Atom(
            piece.members,
            piece.size,
            0 if piece.members & piece.against else piece.knobs,
            pinned=None,
            needed=bool(piece.members & must),
            omission=0,
        )
        for piece in pieces.pieces
    )
    return Problem(
        knobs=len(effects.knobs),
        items=every,
        atoms=atoms,
        clashes=pieces.rivals,
        per_knob=every if most is None else most,
        routes=every if routes is None else routes,
        mixes=(),
        travel_prices=(),
        wanted=(),
        kept_travels={},
        bundles=(),
        spreads=(),
        pairs={},
        intrusions=(),
        breakable=(),
        before=(),
        places=(),
        steps=(),
        pulls=(),
        runs=(),
        beside=(),
        sequence=(),
        out_of_sequence=0,
    )


def _placed(asked: Iterable[Effect]) -> int:
    placed = 0
    for effect in asked:
        placed |= effect.placed
    return placed


def _concerned(effects: Effects, demands: Iterable[Demand]) -> int:
    """What may have to be placed: the rest is left out at no price, whatever is given up."""
    asked = [effects.of[demand] for demand in demands]
    return sum(_joined(asked, _placed(asked)))


def _parting(effects: Effects, demands: Iterable[Demand], one: int, others: int) -> list[Demand]:
    """Few demands that part one destination from all others of a mask."""
    found: list[Demand] = []
    against = {each: _against(one, effects.of[each].split) for each in demands}
    others &= ~one
    while others:
        found.append(max(against, key=lambda each: (against[each] & others).bit_count()))
        others &= ~against[found[-1]]
    return found


def _closed(effects: Effects, demands: Iterable[Demand], destinations: int) -> list[Demand]:
    """For each knob that none of some destinations may be on, a demand that says so."""
    closed: dict[int, Demand] = {}
    for demand in demands:
        for limited, knobs in effects.of[demand].limits:
            if not destinations & ~limited:
                for knob in bits(effects.every_knob & ~knobs):
                    closed.setdefault(knob, demand)
    return list(closed.values())


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
