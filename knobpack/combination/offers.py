"""Offers: the cheapest ways to place what found no knob or was joined, each worked out to the end.

A way is a change of what is wanted: added snapshots given up, so that a knob of the base can be
shared; something of the base freed, so that it joins its like; a knob that does nothing cleared; or
something else left out instead. Each is combined anew: what it places, moves and costs is what came
of that, and it is proven as far as that is. Where what matters was joined, or goes over another
travel, while something that matters less has a knob, leaving that out is a way too.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable

import attrs

from knobpack.combination import offer as kinds
from knobpack.combination.answer import Combination
from knobpack.combination.offer import Offer
from knobpack.combination.report import CROWDED_OUT, GIVEN_UP, Carried
from knobpack.combination.wanted import Wanted
from knobpack.definition.phrases import ESSENTIAL
from knobpack.grouped import grouped
from knobpack.setups.missed_travels import MissedTravel
from knobpack.words import Request, Route
from knobpack.words.names import voice_part
from knobpack.words.voice import HIDDEN

MOST_KNOBS = 16
"""Knobs of a panel, at most, where all ways of a sort are tried, as far as so many go."""

MOST_TRIED = 24
"""Ways of one sort that are worked out on such a panel, at most."""

FEW_TRIED = 3
"""Ways of one sort that are worked out on a larger panel, at most."""

MATTERS = 2
"""The lowest priority of what is worth leaving something else out for, though it has a knob."""

MOST_SHOWN = 3
"""Offers that are made, at most."""


Way = tuple[str, tuple[str, ...]]
"""One thing to try: a sort of an offer, and the names that it is about."""


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


def cheapest_offers(
    found: Combination, ways: Iterable[Way], attempt: Callable[[Wanted], Combination | None]
) -> tuple[Offer, ...]:
    """Ways to place what found no knob, or to ease what was joined.

    Args:
        found: a combination.
        ways: what is to be tried, as :func:`ways_to_place` gives it.
        attempt: combines what is wanted; None where that cannot be, or was stopped.

    Returns:
        The best that place or ease more than was, the least harm first; of one sort and price the
        first, and more only where there are few.
    """
    good: list[Offer] = []
    for what, names in ways:
        blank = Offer(what, names, (), (), (), (), (), ())
        then = attempt(taken(found.wanted, blank))
        made = None if then is None else _made(found, then, blank)
        if made is not None:
            good.append(made)
    good.sort(key=lambda each: (*_rank(each), len(each.names)))
    good = [each for each in good if not any(_needless(each, other) for other in good)]
    # Of each sort the best first; of those that cost the same one, while others are to be had.
    sorts = {each.what: each for each in reversed(good)}
    prices = {(each.what, _rank(each)): each for each in reversed(good)}
    best = [each for each in good if sorts[each.what] is each]
    other = [each for each in good if prices[each.what, _rank(each)] is each]
    shown = {id(each): each for each in (*best, *other, *good)}
    return tuple(sorted([*shown.values()][:MOST_SHOWN], key=_harm))


def _needless(offer: Offer, other: Offer) -> bool:
    """Whether another offer comes to the same, and frees or gives up less for it."""
    same = (offer.what, offer.places, offer.moves) == (other.what, other.places, other.moves)
    return same and set(other.names) < set(offer.names)


def _harm(offer: Offer) -> tuple[int, ...]:
    """How much is moved or given up, what the base has before all; then what it comes to."""
    return offer.lost, len(offer.moves), *_rank(offer)


def _rank(offer: Offer) -> tuple[int, ...]:
    """What is left out and parted counts first, what is alarming, what is given up; then all else.

    What it does to the layout is no price.
    """
    unplaced, bundles, *rest = (tier.value for tier in offer.tiers if tier.name != "layout")
    alarms = _alarm_count(offer.missed) - _alarm_count(offer.mends)
    return unplaced, bundles, alarms, offer.lost, *rest


def _made(found: Combination, then: Combination, blank: Offer) -> Offer | None:
    """The offer, with what comes of it; None where it places no more, and eases nothing."""
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
    now = {each.travels for each in then.missed}
    mends = tuple(each for each in found.missed if each.alarming and each.travels not in now)
    comes = _snapshots_gone(found, then)
    eased = () if placed or not (left or blank.what == kinds.FREE) else _eased(found, then, left)
    if placed:
        gains = first.value < before[0] or blank.what == kinds.LEAVE
    else:
        gains = (eased or _helped(found, then, mends, comes, left)) and _no_worse(found, then, left)
    if not gains:
        return None
    at = {each.destination: each.knob for each in found.allocation.routes}
    others = [e for e in then.carried if e.full_name not in out and e.new_knob]
    others = [e for e in others if e.new_knob != at.get(e.full_name, e.old_knob)]
    moved = [each for each in others if each.source == found.base]
    others = [each for each in others if each.source != found.base]
    already = {each.travels for each in found.missed}
    return attrs.evolve(
        blank,
        places=_routes(placed),
        beside=tuple(each.beside for each in placed),
        moves=_routes(moved),
        joins=tuple(each.beside for each in moved),
        tiers=(first, *rest),
        before=before,
        missed=tuple(each for each in then.missed if each.travels not in already),
        eases=eased,
        elsewhere=_routes(others),
        among=tuple(each.beside for each in others),
        whole=_whole(then),
        mends=mends,
        comes=comes,
        goes=_snapshots_gone(then, found),
        out=then.without_knob,
    )


def _routes(carried: Iterable[Carried]) -> tuple[Route, ...]:
    return tuple(Route(each.full_name, each.new_knob or "") for each in carried)


def _whole(then: Combination) -> tuple[tuple[str, ...], ...]:
    """For each voice that is on one knob what of it has a knob."""
    voices = grouped((voice_part(each.destination), each) for each in then.allocation.routes)
    return tuple(
        tuple(each.destination for each in routes)
        for routes in voices.values()
        if len(routes) > 1 and len({each.knob for each in routes}) == 1
    )


def _helped(
    found: Combination,
    then: Combination,
    mends: Iterable[MissedTravel],
    comes: Collection[str],
    left: Collection[str],
) -> bool:
    """Whether less is alarming, or a snapshot comes, and nothing that matters more is left out.

    What is turned round or stands still is no use so, and may be left out itself.
    """
    inner = found.request.destinations
    least = min((inner[name].priority for name in left), default=HIDDEN + 1)
    fewer = _alarm_count(then.missed) < _alarm_count(found.missed)
    return least > ESSENTIAL and (
        bool(comes)
        or (
            fewer
            and any(
                m.reversed or m.still
                if m.destination in left
                else inner[m.destination].priority <= least
                for m in mends
            )
        )
    )


def _snapshots_gone(one: Combination, other: Combination) -> tuple[str, ...]:
    """The snapshots that do not come in one combination, and do in the other."""
    there = {(each.setup, each.name) for each in other.gone}
    gone = (each for each in one.gone if not each.why.startswith(GIVEN_UP))
    return tuple(
        f"'{each.name}'" + ("" if each.setup == one.base else f" of {each.setup}")
        for each in gone
        if (each.setup, each.name) not in there
    )


def _no_worse(found: Combination, then: Combination, left: Collection[str]) -> bool:
    """Whether no more is left out, given up, alarming or, of what matters, not as it was.

    Where something is ``left`` out for it, nothing else of what matters at all.
    """
    before, after = _troubled(found), _troubled(then)
    more = set(after) - set(before) if left else len(after) > len(before)
    lost = set(then.without_knob) - set(found.without_knob) or _snapshots_gone(then, found)
    return not (more or lost) and _alarm_count(then.missed) <= _alarm_count(found.missed)


def _alarm_count(missed: Iterable[MissedTravel]) -> int:
    """In how many ways travels are alarming."""
    return sum(sum(each.alarms) for each in missed)


def _eased(found: Combination, then: Combination, left: Collection[str]) -> tuple[str, ...]:
    """What matters and is as it was in its setup without what matters less."""
    before, after = _troubled(found), _troubled(then)
    least = min((found.request.destinations[name].priority for name in left), default=HIDDEN + 1)
    return tuple(name for name, at in before.items() if name not in after and at < least)


def _troubled(found: Combination) -> dict[str, int]:
    """What of the sources matters and shares a knob or goes over a travel as it did not there.

    With the priority of each.
    """
    inner = found.request.destinations
    bundle = {each.full_name: (each.source, each.old_knob) for each in found.carried}
    return {
        name: inner[name].priority
        for each in found.carried
        if each.source != found.base
        and each.new_knob is not None
        and inner[name := each.full_name].priority <= MATTERS
        and (
            each.new_travel != each.wanted
            or any(bundle.get(other) != bundle[name] for other in each.beside)
        )
    }


def ways_to_place(found: Combination) -> list[Way]:
    """What could be tried to place what found no knob, of each sort what promises most first.

    Args:
        found: a combination.

    Returns:
        Each way as one of the sorts of an offer, and its names; where all has a knob, only what
        could be left out so that something that matters more is as it was in its setup; and where
        something is alarming or gave way, what could be left out or freed so that it is not.
    """
    small = len(found.setup.surface.knob_names) <= MOST_KNOBS
    most = MOST_TRIED if small else FEW_TRIED
    sorts: dict[str, list[tuple[str, ...]]]
    if found.without_knob:
        sorts = {
            kinds.CLEAR: [(each.knob,) for each in found.room],
            kinds.SHARE: _to_give_up(found),
            kinds.FREE: _to_free(found),
            kinds.LEAVE: _to_leave(found),
        }
    else:
        troubled = min(_troubled(found).values(), default=0)
        sorts = {kinds.LEAVE: _alone(found, troubled) if troubled else []}
        crowded = _crowded(found)
        if crowded:
            more = [names for names in _to_leave(found) if not crowded.isdisjoint(names)]
            leave = tuple(dict.fromkeys((*more, *sorts[kinds.LEAVE])))
            room: list[tuple[str, ...]] = [(each.knob,) for each in found.room]
            sorts = {kinds.CLEAR: room, kinds.FREE: _to_free(found), kinds.LEAVE: [*leave]}
    return [(what, names) for what, ways in sorts.items() for names in ways[:most]]


def _crowded(found: Combination) -> set[str]:
    """What is on a knob that does something alarming, or of which a snapshot gave way."""
    knobs = {each.knob for each in found.missed if each.alarming}
    if any(each.why.startswith(CROWDED_OUT) for each in found.gone):
        knobs |= {each.knob for each in found.allocation.joined}
    return {name for knob in knobs for name in found.allocation.on(knob)}


def _bundles(carried: Iterable[Carried]) -> list[tuple[Carried, ...]]:
    """What came from one knob each, in order."""
    found = grouped(((each.source, each.old_knob or each.full_name), each) for each in carried)
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
    # What comes to nothing gives way by itself, once something could share a knob without it.
    request, stay = found.request, {each.name for each in found.setup.snapshots}
    ours = {name for voice in found.wanted.base.voices for name in voice.by_full_name}
    stay |= {each.name for each in request.played if not ours.isdisjoint(request.moved(each))}
    smallest: list[tuple[str, ...]] = []
    sets: list[tuple[str, ...]] = []
    for bundle in _bundles(each for each in found.carried if each.new_knob is None):
        names = [each.full_name for each in bundle]
        mine = []
        for driven in _on(found).values():
            between = _separators(request, names, driven)
            if theirs.isdisjoint(between):
                mine.append(tuple(name for name in between if name in stay))
        mine = sorted(filter(None, mine), key=len)
        smallest += mine[:1]
        sets += mine
    every = tuple(dict.fromkeys(name for names in smallest for name in names))
    return [each for each in dict.fromkeys((*smallest, every, *sorted(sets, key=len))) if each]


def _to_free(found: Combination) -> list[tuple[str, ...]]:
    """What of the base could join what it is always moved with, knob by knob or voice by voice."""
    kept = grouped((route.knob, route.destination) for route in found.request.keep.routes)
    on = _on(found)
    ways = []
    for knob, names in kept.items():
        if knob in on and any(
            not _separators(found.request, names, driven)
            for other, driven in on.items()
            if other != knob
        ):
            ways.append(tuple(names))
    of = found.request.voice_of
    voices = grouped((of[name].name, name) for names in ways for name in names)
    ways = list(dict.fromkeys((*ways, *map(tuple, voices.values()))))
    inner = found.request.destinations
    return sorted(ways, key=lambda names: (len(names), -min(inner[n].priority for n in names)))


def _alone(found: Combination, priority: int) -> list[tuple[str, ...]]:
    """Bundles of the sources that matter less and have a knob to themselves, those least first."""
    inner = found.request.destinations
    knob = {each.full_name: each.new_knob for each in found.carried}
    return [
        names
        for names in _to_leave(found)
        if min(inner[name].priority for name in names) > priority
        and len({knob[name] for name in names} - {None}) == 1
        and set(found.allocation.on(knob[names[0]] or "")) == set(names)
    ]


def _to_leave(found: Combination) -> list[tuple[str, ...]]:
    """Bundles of the sources that have a knob, the least important first."""
    inner, weights = found.request.destinations, (*found.request.weights.unplaced, 0)
    ways = []
    for bundle in _bundles(each for each in found.carried if each.source != found.base):
        names = tuple(each.full_name for each in bundle)
        if any(each.new_knob for each in bundle):
            ways.append(names)
    return sorted(ways, key=lambda names: sum(weights[inner[n].priority - 1] for n in names))
