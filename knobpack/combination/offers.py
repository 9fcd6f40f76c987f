"""Offers: the cheapest ways to place what found no knob, each worked out to the end.

A way is a change of what is wanted: added snapshots given up, so that a knob of the base can be
shared; something of the base freed, so that it joins its like; a knob that does nothing cleared; or
something else left out instead. Each is combined anew: what it places, moves and costs is what came
of that, and it is proven as far as that is.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

import attrs

from knobpack.combination import offer as kinds
from knobpack.combination.answer import Combination
from knobpack.combination.offer import Offer
from knobpack.combination.report import Carried
from knobpack.combination.wanted import Wanted
from knobpack.words import Request, Route

MOST_TRIED = 3
"""Ways of one sort that are worked out, at most."""

MOST_SOLVED = 4 * MOST_TRIED
"""Ways that are worked out, at most."""


def taken(wanted: Wanted, offer: Offer) -> Wanted:
    """What is wanted once an offer is taken."""
    match offer.what:
        case kinds.SHARE:
            return attrs.evolve(wanted, give_up=(*wanted.give_up, *offer.names))
        case kinds.FREE:
            return attrs.evolve(wanted, free=(*wanted.free, *offer.names))
        case kinds.CLEAR:
            return attrs.evolve(wanted, clear=(*wanted.clear, *offer.names))
    return attrs.evolve(wanted, leave=(*wanted.leave, *offer.names))


def offers(
    found: Combination, attempt: Callable[[Wanted], Combination | None]
) -> tuple[Offer, ...]:
    """Ways to place what found no knob, the cheapest first.

    Args:
        found: a combination.
        attempt: combines what is wanted; None where that cannot be, or was stopped.

    Returns:
        Offers that each place more than was placed; one of each sort first, then the next.
    """
    if not any(each.new_knob is None for each in found.carried):
        return ()
    good = []
    for what, names in _ways(found):
        blank = Offer(what, names, (), (), (), (), ())
        then = attempt(taken(found.wanted, blank))
        made = None if then is None else _made(found, then, blank)
        if made is not None:
            good.append(made)
    good.sort(key=_rank)
    first = {each.what: each for each in good[::-1]}
    best = sorted(first.values(), key=good.index)
    return (*best, *(each for each in good if each not in best))


def _rank(offer: Offer) -> tuple[int, ...]:
    """What is left out and parted counts first, then what is given up for it, then all else."""
    unplaced, bundles, *rest = (tier.value for tier in offer.tiers)
    return unplaced, bundles, offer.lost, *rest


def _made(found: Combination, then: Combination, blank: Offer) -> Offer | None:
    """The offer, with what comes of it; None where it does not place more."""
    out = set(found.without_knob)
    placed = [each for each in then.carried if each.full_name in out and each.new_knob]
    left = {each.full_name: each for each in found.carried if each.full_name in blank.names}
    inner, weights = found.request.destinations, found.request.weights.unplaced
    more = sum(
        weights[inner[name].priority - 1]
        for name in left
        if blank.what == kinds.LEAVE and inner[name].priority <= len(weights)
    )
    first, *rest = then.allocation.tiers
    first = attrs.evolve(first, value=first.value + more, bound=first.bound + more)
    before = tuple(tier.value for tier in found.allocation.tiers)
    gains = first.value < before[0] or (blank.what == kinds.LEAVE and bool(placed))
    if not placed or not gains:
        return None
    return attrs.evolve(
        blank,
        places=tuple(Route(each.full_name, each.new_knob or "") for each in placed),
        beside=tuple(each.beside for each in placed),
        moves=tuple(_moved(then.carried, found.base)),
        tiers=(first, *rest),
        before=before,
    )


def _moved(carried: Iterable[Carried], base: str) -> Iterator[Route]:
    for each in carried:
        if each.source == base and each.new_knob and each.new_knob != each.old_knob:
            yield Route(each.full_name, each.new_knob)


def _ways(found: Combination) -> Iterator[tuple[str, tuple[str, ...]]]:
    """What could be tried, of each sort what promises most first."""
    for each in found.room[:MOST_TRIED]:
        yield kinds.CLEAR, (each.knob,)
    for names in _to_give_up(found)[:MOST_TRIED]:
        yield kinds.SHARE, names
    for names in _to_free(found)[:MOST_TRIED]:
        yield kinds.FREE, names
    for names in _to_leave(found)[:MOST_TRIED]:
        yield kinds.LEAVE, names


def _bundles(carried: Iterable[Carried]) -> list[tuple[Carried, ...]]:
    """What came from one knob each, in order."""
    found: dict[tuple[str, str], list[Carried]] = {}
    for each in carried:
        key = each.source, each.old_knob or each.full_name
        found.setdefault(key, []).append(each)
    return [tuple(bundle) for bundle in found.values()]


def _on(found: Combination) -> dict[str, tuple[str, ...]]:
    """What each knob drives that takes something new, of those that drive anything."""
    shut = set(found.request.surface.reserved)
    knobs = dict.fromkeys(route.knob for route in found.allocation.routes)
    return {knob: found.allocation.on(knob) for knob in knobs if knob not in shut}


def _separators(request: Request, one: Iterable[str], other: Iterable[str]) -> list[str]:
    """The snapshots that keep two sets of destinations off one knob."""
    names = {*one, *other}
    return [
        each.name
        for each in request.played
        if each.break_weight is None and 0 < len(names & request.moved(each)) < len(names)
    ]


def _to_give_up(found: Combination) -> list[tuple[str, ...]]:
    """Added snapshots without which something that is left out could share a knob, the fewest."""
    if found.wanted.snapshots is not None:
        return []
    theirs = {each.name for each in found.wanted.base.snapshots}
    smallest: list[tuple[str, ...]] = []
    sets: list[tuple[str, ...]] = []
    for bundle in _bundles(each for each in found.carried if each.new_knob is None):
        names = [each.full_name for each in bundle]
        mine = []
        for driven in _on(found).values():
            between = _separators(found.request, names, driven)
            if between and theirs.isdisjoint(between):
                mine.append(tuple(between))
        mine.sort(key=len)
        smallest += mine[:1]
        sets += mine
    every = tuple(dict.fromkeys(name for names in smallest for name in names))
    return [each for each in dict.fromkeys((*smallest, every, *sorted(sets, key=len))) if each]


def _to_free(found: Combination) -> list[tuple[str, ...]]:
    """What of the base could join what it is always moved with, knob by knob."""
    kept: dict[str, list[str]] = {}
    for route in found.request.keep.routes:
        kept.setdefault(route.knob, []).append(route.destination)
    on = _on(found)
    ways = []
    for knob, names in kept.items():
        if knob in on and any(
            not _separators(found.request, names, driven)
            for other, driven in on.items()
            if other != knob
        ):
            ways.append(tuple(names))
    inner = found.request.destinations
    return sorted(ways, key=lambda names: (len(names), -min(inner[n].priority for n in names)))


def _to_leave(found: Combination) -> list[tuple[str, ...]]:
    """Bundles of the sources that have a knob of their own, the least important first."""
    inner, weights = found.request.destinations, (*found.request.weights.unplaced, 0)
    ways = []
    for bundle in _bundles(each for each in found.carried if each.source != found.base):
        names = tuple(each.full_name for each in bundle)
        alone = all(each.new_knob and set(each.beside) <= set(names) for each in bundle)
        if alone:
            ways.append(names)
    return sorted(ways, key=lambda names: sum(weights[inner[n].priority - 1] for n in names))
