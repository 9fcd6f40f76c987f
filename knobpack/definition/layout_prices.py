"""Layout prices: what a layout costs, from the words alone, as they define it.

**A player's practice is the default**, and where that is silent it was decided so:

* A bundle comes before breakable snapshots: who lets a snapshot be broken has said that its price
  is worth less than what was put together on purpose.
* *Hidden is never worth joining anything.* A price alone does not see to that: one destination
  more on a knob can offer a travel that suits the others better. So it counts in *bundles*, where
  it is always worse than to leave it out, and the solver need not look at it
  (``numbered/request.py`` lets what is expendable clash with all but its bundle). A hidden
  destination that came with a better one stays with it.
* *While a knob is free, nothing that had a knob shares one.* Kinds and voices are counted once
  for each knob, so two bundles of the same kinds would cost less on one knob than on two.
  ``join`` outweighs that (up to five kinds and five voices in common). Where knobs run out it is
  the same for all ways that use every knob and part nothing, and decides nothing.
* *What is joined is spread, not heaped.* Kinds and voices are counted once for each knob, so
  without more the cheapest way to put seven bundles on four knobs is to heap four on one: of 14
  random pairs of sources on 8 knobs 13 had three to five bundles on one knob beside knobs with
  one, up to ten destinations. A player joins two here and two there: of n that cannot be moved
  apart any more the next one costs more than the last. So the third load on a knob costs ``heap``
  more than the second, the fourth twice that more.
* *What is essential is joined with what is essential last.* A level that shares with a timbre of
  its voice can still be played; of two voices whose levels share the balance is gone. So each load
  more than one with something essential there costs ``essential``. And where what is not essential
  can as well share among itself, or with its own voice, ``company`` keeps it from them.
* Snapshots made by default part no bundle: voices that a bundle or a required ``Together`` joins
  count as one, and a group takes in the rest of what it holds a part of (``words/played.py``).
* "Directly after" is beside it in the row: a source rather begins on the next row than it is cut
  in two.
* Knobs that could be filled by parting bundles stay free. What the first of them could be used
  for is told (``explanation/free_knob.py``), with the rule that asks for it.
* A key range is about the keys that are pressed, whatever the transposition. Programs are counted
  from 1, as on most panels (common practice, no source); sheets say what is sent as well.
* What is noted as *idle* follows on the instrument and drives nothing; it is noted to be switched
  off and changes nothing in what a snapshot moves.
* *Travels on routes.* There a knob goes all the way and each destination over its own travel, so
  its position is that of the master; a kept route keeps its travel, and one that is there in a
  layout in use. Between the two sorts of panel a stored position is taken over so that the
  destination stays where it stood; what lies beyond the travel of a route is not known there.

**An edit of a layout in use** (``Request.in_use``) has another order: unplaced, independence,
change, bundles, sharing, layout. What is there already counts for nothing, unless ``edited``
names it (``words/bundle.py``): what ``previous`` does not route is no loss; two destinations that
one knob drives there go on sharing whatever snapshots move, and only those that are up against
something new are wronged; a bundle is what one knob drives in ``previous``, less what is named,
and of what is new, what came on one knob; the travel that a knob has there is one that it may
take, and it keeps its travel where it keeps a route and gets nothing new, as *change* comes before
what is missed; where something new comes *sharing* decides, so that a level need not take a
reversed travel that is there. Required rules are never waived. Nothing is expendable.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence, Set
from typing import Any

from knobpack.definition.importance_prices import hidden_price, omission_price, route_importance
from knobpack.definition.phrases import ESSENTIAL
from knobpack.definition.prices import (
    Break,
    BundlePrice,
    Change,
    KnobPrice,
    MovedBundle,
    Omission,
    PlacePrice,
    Price,
    Prices,
    Reset,
    SpreadPrice,
    tiers_of,
)
from knobpack.definition.rule_prices import rule_places, rules_on_knob, spreads
from knobpack.definition.travel_prices import (
    routes_before,
    travel_price,
    travels_before,
    wished_travels,
)
from knobpack.grouped import grouped
from knobpack.words import Request, Travel


def prices_of(
    request: Request,
    knob_of: dict[str, str],
    on: dict[str, list[str]],
    travels: dict[str, Travel],
) -> Prices:
    """The price of a layout, tier by tier and term by term.

    Args:
        request: what was asked.
        knob_of: the knob of each destination that is placed.
        on: what each used knob drives, knobs in panel order, destinations in that of the request.
        travels: the travel of each knob in ``on``.
    """
    by_place = place_prices(request, knob_of, request.by_full_name.keys())
    by_knob = (
        price
        for knob, names in on.items()
        for price in knob_prices(request, knob, names, travels[knob])
    )
    found: dict[type[Any], list[Any]] = {}
    for each in (*by_place, *by_knob):
        found.setdefault(type(each), []).append(each)

    def of(kind: type[Any]) -> tuple[Any, ...]:
        return tuple(found.get(kind, ()))

    return Prices(
        omissions=of(Omission),
        bundles=of(BundlePrice),
        breaks=of(Break),
        knobs=of(KnobPrice),
        spreads=of(SpreadPrice),
        changes=of(Change),
        moved=of(MovedBundle),
        resets=of(Reset),
        places=of(PlacePrice),
        order=tiers_of(request.in_use),
    )


def knob_prices(
    request: Request, knob: str, names: Sequence[str], travel: Travel
) -> Iterator[Price]:
    """What is due to what is on one knob.

    Args:
        request: what was asked.
        knob: the knob.
        names: what it drives, in the order of the request.
        travel: its travel.
    """
    yield from _intruding(request, knob, names)
    yield from _breaks(request, knob, names)
    yield knob_price(request, knob, names, travel)
    before = travels_before(request).get(knob)
    had = {each.destination for each in routes_before(request) if each.knob == knob}
    stays = had.issuperset(names) if request.in_use else True
    if before is not None and before != travel and stays and had.intersection(names):
        yield Reset(knob, before, travel)


def place_prices(request: Request, knob_of: dict[str, str], about: Set[str]) -> Iterator[Price]:
    """What is due to where some destinations are: their own places, and what names them.

    Args:
        request: what was asked.
        knob_of: the knob of each destination that is placed.
        about: those destinations.
    """
    for name in about:
        if name not in knob_of:
            yield Omission(name, omission_price(request, name), hidden_price(request, name))
    yield from _parted(request, knob_of, about)
    yield from spreads(request, knob_of, about)
    yield from _changes(request, knob_of, about)
    for term, what, price in _every_place(request, knob_of, about):
        if price:
            yield PlacePrice(term, what, price)


def _parted(request: Request, knob_of: dict[str, str], about: Set[str]) -> Iterator[BundlePrice]:
    for bundle in request.bundles:
        if about.isdisjoint(bundle.names):
            continue
        used = {knob_of[name] for name in bundle.names if name in knob_of}
        left_out = tuple(name for name in bundle.names if name not in knob_of)
        price = len(used) + len(left_out) - 1
        if price:
            knobs = tuple(knob for knob in request.surface.knob_names if knob in used)
            yield BundlePrice("parted", str(bundle), knobs, left_out, price)


def _intruding(request: Request, knob: str, names: Sequence[str]) -> Iterator[BundlePrice]:
    for name in filter(request.expendable.__contains__, names):
        bundle = request.bundle_of.get(name)
        if not {name, *(bundle.names if bundle else ())}.issuperset(names):
            yield BundlePrice("intruding", name, (knob,), (), 1)


def _breaks(request: Request, knob: str, names: Sequence[str]) -> Iterator[Break]:
    for snapshot in request.played:
        if snapshot.break_weight is None:
            continue
        moved = request.moved(snapshot)
        moving = tuple(name for name in names if name in moved)
        held = tuple(name for name in names if name not in moved)
        follows = len(moving) > len(held)
        wronged = new_breaks(request, *((held, moving) if follows else (moving, held)))
        if wronged:
            yield Break(snapshot.name, knob, follows, wronged, snapshot.break_weight * len(wronged))


def new_breaks(request: Request, names: Iterable[str], others: Iterable[str]) -> tuple[str, ...]:
    """Those of ``names`` that share with one of ``others`` with which they did not before.

    Where no layout is in use, that is all of them, if there are others.
    """
    use, others = request.use, tuple(others)
    if use is None:
        return tuple(names) if others else ()
    return tuple(name for name in names if not all(use.joined(name, other) for other in others))


def knob_price(request: Request, knob: str, names: Sequence[str], travel: Travel) -> KnobPrice:
    """What it costs that some destinations share a knob, at its travel, term by term."""
    weights = request.weights
    kinds = {request.by_full_name[name].kind for name in names}
    voices = {request.voice_of[name].name for name in names}
    more = _loads(request, names) - 1
    essential = [n for n in names if request.by_full_name[n].priority == ESSENTIAL]
    visited = {request.voice_of[name].name for name in essential} if len(voices) > 1 else ()
    return KnobPrice(
        knob,
        mix_kinds=weights.mix_kinds * (len(kinds) - 1),
        mix_voices=weights.mix_voices * (len(voices) - 1),
        join=weights.join * more + weights.heap * (more * (more - 1) // 2),
        essential=weights.essential * max(0, _loads(request, essential) - 1),
        company=weights.company * (0 < len(essential) < len(names))
        + weights.company * len(visited),
        held=weights.held * max(0, sum(not each.isdisjoint(names) for each in request.stances) - 1),
        crowd=weights.crowd * (len(names) - 1),
        travel=travel_price(request, wished_travels(request, names), travel),
        **rules_on_knob(request, names),
    )


def _loads(request: Request, names: Iterable[str]) -> int:
    """Of how many loads some destinations are."""
    here = set(names)
    loads = [load for load in request.loads if not here.isdisjoint(load)]
    return len(loads) + len(here.difference(*loads))


def _changes(
    request: Request, knob_of: dict[str, str], about: Set[str]
) -> Iterator[Change | MovedBundle]:
    """What is not where it was: a route counts more than all importance and travels, then that."""
    routes = routes_before(request)
    drove = grouped((route.knob, route.destination) for route in routes)
    counts = {each.destination: route_importance(request, each.destination) for each in routes}
    a_route = 1 + sum(counts.values()) + len(drove)
    edited = frozenset[str]() if request.use is None else request.use.edited
    for knob, names in drove.items():
        gone = [name for name in names if knob_of.get(name) != knob]
        for name in gone:
            if name in about:
                yield Change(name, knob, knob_of.get(name), a_route + counts[name])
        bundle = tuple(name for name in names if name not in edited)
        if not about.isdisjoint(bundle) and not edited.issuperset(gone):
            yield MovedBundle(knob, bundle, a_route * (len(routes) + 1))


def _every_place(
    request: Request, knob_of: dict[str, str], about: Set[str]
) -> Iterator[tuple[str, str, int]]:
    weights, surface = request.weights, request.surface
    for term, each, words in (
        ("voice_runs", weights.voice_runs, request.voices),
        ("group_runs", weights.group_runs, request.groups),
    ):
        for word in words:
            names = request.members[word.name]
            used = () if about.isdisjoint(names) else {knob_of.get(name) for name in names}
            yield term, word.name, each * max(0, _runs(request, used) - 1)
    yield from _out_of_sequence(request, knob_of, about)
    for name in about:
        if name not in knob_of:
            continue
        destination, knob = request.by_full_name[name], knob_of[name]
        steps = surface.reach_order.index(knob)
        yield "favour", name, weights.favour * steps * (5 - destination.priority)
        usual = surface.usual_of.get(destination.kind, (knob,))
        yield "habit", name, 0 if knob in usual else weights.habit
    yield from rule_places(request, knob_of, about)


def _out_of_sequence(
    request: Request, knob_of: dict[str, str], about: Set[str]
) -> Iterator[tuple[str, str, int]]:
    """What came later in a source and does not lie directly after what came before it there."""
    at, beside = request.surface.knob_names.index, request.surface.beside_before
    for earlier, later in request.sequence:
        if about.isdisjoint((earlier, later)) or earlier not in knob_of or later not in knob_of:
            continue
        one, other = knob_of[earlier], knob_of[later]
        steps = 2 if at(other) < at(one) else int(one not in (other, beside[other]))
        yield "sequence", later, steps * request.weights.sequence


def _runs(request: Request, used: Collection[str | None]) -> int:
    """How many runs of knobs side by side ``used`` falls into."""
    before = request.surface.beside_before
    return sum([1 for knob in used if knob and before[knob] not in used])
