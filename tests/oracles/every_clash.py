"""All clashing sets and all ways out of a small request, by trying every part of its demands.

Shares nothing with knobpack.clash: a part of the demands is written as a request of its own, here,
and brute force says whether any layout is valid for it.
"""

from __future__ import annotations

import itertools
from collections.abc import Collection, Iterable, Iterator

import attrs

from knobpack.clash import Clash
from knobpack.clash.every import EveryClash
from knobpack.words import Barred, Request
from knobpack.words.demand import Demand, demands_of
from tests.oracles import brute, masks
from tests.oracles.reading import bits, read

Demands = frozenset[Demand]
MOST_DEMANDS = 10


@attrs.frozen
class Everything:
    """All minimal clashing sets and all minimal ways out."""

    sets: frozenset[Demands]
    ways: frozenset[Demands]


def everything(request: Request) -> Everything:
    """Try every part of the demands.

    Raises:
        ValueError: there are more than ten.
    """
    demands = demands_of(request)
    if len(demands) > MOST_DEMANDS:
        raise ValueError(f"{len(demands)} demands are too many to try every part of them")
    parts = [frozenset(part) for part in _parts(demands)]
    met = {part for part in parts if may_be_met(request, part)}
    clashing = {part for part in parts if part not in met}
    gone = {frozenset(demands) - part for part in met}
    return Everything(
        frozenset(part for part in clashing if not any(part - {each} in clashing for each in part)),
        frozenset(part for part in gone if not any(part - {each} in gone for each in part)),
    )


def may_be_met(request: Request, wanted: Collection[Demand]) -> bool:
    """Whether some layout meets all of ``wanted``, a part of the demands of ``request``."""
    # Where no knob is open to anything, nothing is contradicted.
    closed = set(request.surface.knob_names) <= set(request.surface.reserved)
    return brute.least(_asking(request, wanted), short=closed) is not None


def contradicted(request: Request, wanted: Collection[Demand]) -> set[tuple[str, ...]]:
    """What ``wanted`` leave no knob, all else left out, and with it what is bound to it."""
    if set(request.surface.knob_names) <= set(request.surface.reserved):
        return set()
    reading = read(_asking(request, wanted))
    found = masks.contradicted(reading)
    return {tuple(reading.names[bit] for bit in bits(unit)) for unit in found}


def wrong_in(request: Request, answer: EveryClash) -> list[str]:
    """All that is wrong in an answer, of any number of demands; nothing if it is right.

    Families of which each member is truly minimal are complete if, and only if, the one holds
    just the smallest sets that hit all of the other (C. Berge, "Hypergraphs", 1989, chapter 2; R.
    Reiter, "A theory of diagnosis from first principles", 1987; both cited from memory).
    """
    demands = demands_of(request)
    if answer.possible is None:
        told = answer.sets or answer.ways_out or answer.proven
        return ["something is told though nothing is known"] if told else []
    if answer.possible != may_be_met(request, demands):
        return [f"possible is {answer.possible}"]
    if answer.possible:
        right = not answer.sets and not answer.ways_out and answer.proven
        return [] if right else ["a request that is possible has clashes"]
    closed = set() < set(request.surface.knob_names) <= set(request.surface.reserved)
    return [
        *([] if answer.closed == closed else [f"closed is {answer.closed}"]),
        *_wrong_sets(request, demands, answer),
        *_wrong_ways(request, demands, answer),
        *_wrong_together(answer),
    ]


def wrong_in_clash(request: Request, clash: Clash) -> list[str]:
    """What is wrong with a clash: that it can be met, is not minimal, or a way out leads nowhere.

    Whether the ways out are the cheapest is not looked at; ``clashes.faults`` does that.
    """
    every, found = set(demands_of(request)), []
    if not every.issuperset(clash.demands):
        found.append("the clash names a demand that is not made")
    if may_be_met(request, clash.demands):
        found.append("the clash can be met")
    if not clash.minimal:
        found.append("the clash is not said to be minimal")
    found += [
        f"it clashes without this too: {demand}"
        for demand in clash.demands
        if not may_be_met(request, set(clash.demands) - {demand})
    ]
    if not clash.ways_out:
        found.append("there is no way out")
    found += [
        f"this is no way out: {way}"
        for way in clash.ways_out
        if not may_be_met(request, every.difference(way.demands))
    ]
    return found


def smallest_hitting(family: Iterable[Demands]) -> set[Demands]:
    """The smallest sets that hold something of each member of ``family``, member by member."""
    hitting: set[Demands] = {frozenset()}
    for member in family:
        larger = {each if each & member else each | {one} for each in hitting for one in member}
        hitting = {each for each in larger if not any(other < each for other in larger)}
    return hitting


def _wrong_sets(request: Request, demands: tuple[Demand, ...], answer: EveryClash) -> Iterator[str]:
    for each in answer.sets:
        if list(each) != [demand for demand in demands if demand in each]:
            yield "a set is not of this request, or not in asking order"
        elif may_be_met(request, each):
            yield "a set can be met"
        elif not all(may_be_met(request, set(each) - {one}) for one in each):
            yield "a set clashes without one of its demands too"
    order = [(len(each), [demands.index(one) for one in each]) for each in answer.sets]
    if order != sorted(order):
        yield "the sets are not in order"
    if len(set(answer.sets)) < len(answer.sets):
        yield "a set is told twice"


def _wrong_ways(request: Request, demands: tuple[Demand, ...], answer: EveryClash) -> Iterator[str]:
    for way in answer.ways_out:
        if list(way.demands) != [demand for demand in demands if demand in way.demands]:
            yield "a way out is not of this request, or not in asking order"
        elif not may_be_met(request, set(demands).difference(way.demands)):
            yield "a way leads nowhere"
        elif any(
            may_be_met(request, {*set(demands).difference(way.demands), one}) for one in way.demands
        ):
            yield "less than a way out would do"
        asked = {demand: demand.price for demand in demands}
        if way.price != sum(asked.get(one, -1) for one in way.demands):
            yield "the price of a way out is wrong"
        if answer.proven and not way.proven:
            yield "all is proven, and a way out is not"
    order = [(way.price, len(way.demands)) for way in answer.ways_out]
    if order != sorted(order):
        yield "the ways out are not in order"
    if len({way.demands for way in answer.ways_out}) < len(answer.ways_out):
        yield "a way out is told twice"
    proven = [way.proven for way in answer.ways_out]
    if proven != sorted(proven, reverse=True):
        yield "a way out that is not proven comes before one that is"


def _wrong_together(answer: EveryClash) -> Iterator[str]:
    sets = {frozenset(each) for each in answer.sets}
    ways = {frozenset(way.demands) for way in answer.ways_out}
    if any(not each & way for each in sets for way in ways):
        yield "a way out leaves a clash"
    all_there = bool(sets) and smallest_hitting(sets) == ways
    if all_there != (bool(ways) and smallest_hitting(ways) == sets):
        yield "the sets hit the ways out and not the other way round"
    if answer.proven and not all_there:
        yield "it is not complete"
    if not answer.proven and all_there and answer.stopped != "effort":
        yield "it is complete, and said to go on"


def _asking(request: Request, wanted: Collection[Demand]) -> Request:
    """A request that makes only some of the demands of ``request``, and no other."""
    dropped: dict[str, list[object]] = {}
    for demand in demands_of(request):
        subjects = dropped.setdefault(demand.kind, [])
        subjects.extend([] if demand in wanted else [demand.subject])
    gone = {kind: tuple(subjects) for kind, subjects in dropped.items()}
    surface = request.surface
    rules = [rule for rule in request.rules if rule not in gone.get("rule", ())]
    for knob in surface.reserved:
        # Said as a rule: what is kept there may stay, also where keeping it is not asked for.
        new = [
            name
            for name in request.by_full_name
            if not any(r.destination == name and r.knob == knob for r in request.keep.routes)
        ]
        if new and knob not in gone["reserved"]:
            rules.append(Barred(tuple(new), (knob,)))
    kept = [route for route in request.keep.routes if route not in gone["keep"]]
    return attrs.evolve(
        request,
        surface=attrs.evolve(
            surface,
            reserved=(),
            destinations_per_knob=None
            if gone.get("destinations per knob")
            else surface.destinations_per_knob,
            routes=None if gone.get("routes") else surface.routes,
            layers=_room(surface.layers, "layers", "layer", gone),
            snapshots=_room(surface.snapshots, "snapshots", "store", gone),
        ),
        voices=tuple(
            attrs.evolve(
                voice,
                destinations=tuple(
                    attrs.evolve(
                        each,
                        must_place=each.must_place
                        and f"{voice.name}/{each.name}" not in gone.get("place", ()),
                    )
                    for each in voice.destinations
                ),
            )
            for voice in request.voices
        ),
        snapshots=tuple(
            attrs.evolve(each, break_weight=0) if each.name in gone.get("separate", ()) else each
            for each in request.played
        ),
        rules=tuple(rules),
        keep=attrs.evolve(request.keep, routes=tuple(kept)),
    )


def _room(
    limit: int | None, kind: str, member: str, gone: dict[str, tuple[object, ...]]
) -> int | None:
    """A limit on layers or snapshots: each that need not be served makes room for another."""
    return None if limit is None or gone.get(kind) else limit + len(gone.get(member, ()))


def _parts(demands: tuple[Demand, ...]) -> Iterator[tuple[Demand, ...]]:
    for count in range(len(demands) + 1):
        yield from itertools.combinations(demands, count)
