"""Offers: the cheapest ways to place what found no knob or to ease what was joined.

Each is combined anew: what it places, moves and costs is what came of that, and it is proven as far
as that is. Where something essential would not be heard so, it is combined once more without the
least important of what comes to that knob: that is an offer of its own.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Iterator

import attrs

from knobpack.combination import offer as kinds
from knobpack.combination.answer import Combination
from knobpack.combination.offer import Offer
from knobpack.combination.report import GIVEN_UP, LIVED_WITHOUT
from knobpack.combination.wanted import Wanted
from knobpack.combination.ways import Way, taken, troubled
from knobpack.definition.phrases import ESSENTIAL
from knobpack.grouped import grouped
from knobpack.setups.as_read import read
from knobpack.setups.missed_travels import MissedTravel
from knobpack.setups.sounding import sounding_told
from knobpack.words import Setup
from knobpack.words.names import knob_told, listed, quoted, voice_part
from knobpack.words.voice import HIDDEN

MOST_SHOWN = 3
"""Offers that are made, at most."""


def cheapest_offers(
    found: Combination, ways: Iterable[Way], attempt: Callable[[Wanted], Combination | None]
) -> tuple[Offer, ...]:
    """Ways to place what found no knob, or to ease what was joined.

    Args:
        found: a combination.
        ways: what is to be tried, as :func:`~knobpack.combination.ways.ways_to_place` gives it.
        attempt: combines what is wanted; None where that cannot be, or was stopped.

    Returns:
        The best that place or ease more than was, what wins most first; of one sort and price the
        first, and more only where there are few.
    """

    def worked_out(blank: Offer) -> list[Offer]:
        then = attempt(taken(found.wanted, blank))
        made = None if then is None else _made(found, then, blank)
        return [] if made is None else [made]

    blanks = (Offer(what, names, (), (), (), ()) for what, names in ways)
    good = [made for blank in blanks for made in worked_out(blank)]
    good.sort(key=lambda each: (*_rank(each), len(each.names)))
    for each in [each for each in good if each.halved][:MOST_SHOWN]:
        extra = _least_beside(found, each)
        fewer = worked_out(attrs.evolve(each, leave=extra)) if extra else []
        good += (one for one in fewer if len(one.halved) < len(each.halved))
    good.sort(key=lambda each: (*_rank(each), len(each.names)))
    good = [each for each in good if not any(_needless(each, other) for other in good)]
    # Of each sort the best first; of those that cost the same one, while others are to be had.
    sorts = {(each.what, each.leave != ()): each for each in reversed(good)}
    prices = {(each.what, _rank(each)): each for each in reversed(good)}
    best = [each for each in good if sorts[each.what, each.leave != ()] is each]
    other = [each for each in good if prices[each.what, _rank(each)] is each]
    asked = [each for each in good if each.what == kinds.INSIST]
    shown = {id(each): each for each in (*asked, *best, *other, *good)}
    inner = found.request.by_full_name

    def harm(each: Offer) -> tuple[int, ...]:
        # That what is essential gets company weighs more than that all else does.
        moved = (inner[it.full_name].priority for it in each.moves if it.beside)
        essential = sum(at == ESSENTIAL for at in moved)
        return each.what == kinds.INSIST, len(each.halved), essential, *_rank(each)

    return tuple(sorted([*shown.values()][:MOST_SHOWN], key=harm))


def _least_beside(found: Combination, offer: Offer) -> tuple[str, ...]:
    """The least important of what an offer places where something essential is halved."""
    knobs = {each.new_knob for each in offer.places if each.full_name in offer.halved}
    inner = found.request.by_full_name
    of = {e.full_name: inner[e.full_name].priority for e in offer.places if e.new_knob in knobs}
    least = max(of.values(), default=ESSENTIAL)
    return tuple(name for name, at in of.items() if at == least > ESSENTIAL)


def _needless(offer: Offer, other: Offer) -> bool:
    """Whether another offer comes to the same, and frees or gives up less for it."""
    one, two = (
        (each.what, [(it.full_name, it.new_knob) for it in (*each.places, *each.moves)])
        for each in (offer, other)
    )
    return one == two and set(other.names) < set(offer.names)


def _rank(offer: Offer) -> tuple[int, ...]:
    """What is essential and not heard, what is left out and parted count first, in this order.

    Then what is alarming, what is given up, and all else; what it does to the layout is no price.
    """
    unplaced, bundles, *rest = (tier.value for tier in offer.tiers if tier.name != "layout")
    alarms = _alarm_count(offer.missed) - _alarm_count(offer.mends)
    return len(offer.halved), unplaced, bundles, alarms, offer.lost, *rest


def _made(found: Combination, then: Combination, blank: Offer) -> Offer | None:
    """The offer, with what comes of it; None where it places no more, and eases nothing."""
    out = set(found.without_knob)
    placed = tuple(each for each in then.carried if each.full_name in out and each.new_knob)
    left = {each.full_name: each for each in found.carried if each.full_name in blank.names}
    inner, weights = found.request.by_full_name, found.request.weights.unplaced
    given = blank.leave + blank.names * (blank.what == kinds.LEAVE)
    more = sum(
        weights[inner[name].priority - 1]
        for name in given
        if name in inner and inner[name].priority <= len(weights)
    )
    first, *rest = then.allocation.tiers
    first = attrs.evolve(first, value=first.value + more, bound=first.bound + more)
    before = tuple(tier.value for tier in found.allocation.tiers)
    now = {each.travels for each in then.missed}
    mends = tuple(each for each in found.alarming if each.travels not in now)
    comes = _more_snapshots(found, then)
    may = left or blank.what in (kinds.FREE, kinds.SHARE)
    eased = _eased(found, then, left) if may and not placed else ()
    if blank.what == kinds.INSIST:
        # That nothing comes at all is no way to bring it.
        gains, mends, comes = then.came[0] > 0, (), ()
    elif placed:
        gains = first.value < before[0] or blank.what == kinds.LEAVE
    else:
        shared, then_shared = (each.allocation.tier("sharing").value for each in (found, then))
        parted = blank.what in (kinds.SHARE, kinds.CLEAR) and then_shared < shared
        parted = parted and not any(_joined_anew(found, then))
        helped = eased or parted or _helped(found, then, mends, comes, left)
        gains = helped and _no_worse(found, then, left, free=blank.what == kinds.CLEAR)
    if not gains:
        return None
    at = {each.destination: each.knob for each in found.allocation.routes}
    others = [e for e in then.carried if e.full_name not in out and e.new_knob]
    others = [e for e in others if e.new_knob != at.get(e.full_name, e.old_knob)]
    already = {each.travels for each in found.missed}
    missed = tuple(each for each in then.missed if each.travels not in already)
    return attrs.evolve(
        blank,
        places=placed,
        moves=tuple(each for each in others if each.source == found.base),
        tiers=(first, *rest),
        before=before,
        missed=missed,
        halved=tuple(m.destination for m in missed if _essential_and_faint(m, found)),
        eases=eased,
        elsewhere=tuple(each for each in others if each.source != found.base),
        whole=_whole(then),
        mends=mends,
        comes=comes,
        goes=_more_snapshots(then, found),
        out=then.without_knob,
        first=tuple(_told_first(found, then)),
    )


def _told_first(found: Combination, then: Combination) -> Iterator[str]:
    """What is held where it sounds or by ear, or moves as one, unlike before: no full stops."""
    base = found.wanted.base
    known = {*sounding_told(base, found.setup)}
    held = sounding_told(base, then.setup, than=found.setup)
    yield from (told[0].lower() + told[1:-1] for told in held if told not in known)
    now = {*_by_ear(found.setup)}
    ear = grouped((knob, name) for knob, name in _by_ear(then.setup) if (knob, name) not in now)
    alike = grouped((tuple(names), knob_told(knob)) for knob, names in ear.items())
    for names, knobs in alike.items():
        yield f"to be set by ear in {quoted(names)}: {listed(knobs)}"
    yield from _joined_anew(found, then)


def _by_ear(setup: Setup) -> Iterator[tuple[str, str]]:
    """Each knob that a snapshot holds where no one knows, and the snapshot."""
    reading = read(setup)
    for play in reading.stored_plays:
        yield from ((knob, play.snapshot.name) for knob in reading.by_ear(play))


def _joined_anew(found: Combination, then: Combination) -> Iterator[str]:
    was = found.allocation.joined
    for each in then.allocation.joined:
        if each.levels and not each.asked and not any({*each.levels} <= {*e.levels} for e in was):
            yield each.short


def _essential_and_faint(missed: MissedTravel, found: Combination) -> bool:
    inner = found.request.by_full_name.get(missed.destination)
    return missed.faint and inner is not None and inner.priority == ESSENTIAL


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
    inner = found.request.by_full_name
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


def _more_snapshots(one: Combination, other: Combination) -> tuple[str, ...]:
    """The snapshots that do not come in one combination, and do in the other."""
    there = {(each.source, each.old) for each in other.brought if each.kind == "snapshot"}
    there |= {(other.base, each.name) for each in other.setup.snapshots}
    gone = (each for each in one.gone if not each.why.startswith((GIVEN_UP, LIVED_WITHOUT)))
    return tuple(
        f"'{each.name}'" + ("" if each.setup == one.base else f" of {each.setup}")
        for each in gone
        if (each.setup, each.name) in there
    )


def _no_worse(found: Combination, then: Combination, left: Collection[str], *, free: bool) -> bool:
    """Whether no more is left out, given up, alarming or, of what matters, not as it was.

    Where something is ``left`` out for it, nothing else of what matters at all; where it is free,
    what is alarming and not as it was is the player's to weigh.
    """
    before, after = troubled(found), troubled(then)
    more = set(after) - set(before) if left else len(after) > len(before)
    lost = set(then.without_knob) - set(found.without_knob) or _more_snapshots(then, found)
    alarming = _alarm_count(then.missed) > _alarm_count(found.missed)
    return not lost and (free or not (more or alarming))


def _alarm_count(missed: Iterable[MissedTravel]) -> int:
    """In how many ways travels are alarming."""
    return sum(sum(each.alarms) for each in missed)


def _eased(found: Combination, then: Combination, left: Collection[str]) -> tuple[str, ...]:
    """What matters and is as it was in its setup without what matters less."""
    before, after = troubled(found), troubled(then)
    least = min((found.request.by_full_name[name].priority for name in left), default=HIDDEN + 1)
    return tuple(name for name, at in before.items() if name not in after and at < least)
