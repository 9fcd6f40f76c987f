"""Ways: what could be tried to place what found no knob, or so that less is joined or alarming.

A way is a change of what is wanted: added snapshots given up, so that a knob of the base can be
shared, also where all of a source is on one knob; something of the base freed, so that it joins its
like; a knob that does nothing cleared; or something else left out instead. Where what matters was
joined, or goes over another travel, while something that matters less has a knob, leaving that out
is a way too; and where something is alarming, or a snapshot gave way, leaving out what is on that
knob, or freeing what is the base's.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator

import attrs

from knobpack.combination import offer as kinds
from knobpack.combination.answer import Combination
from knobpack.combination.offer import Offer
from knobpack.combination.report import CROWDED_OUT, NOT_ALONE, Carried
from knobpack.combination.wanted import Wanted
from knobpack.definition.phrases import MATTERS
from knobpack.grouped import grouped
from knobpack.setups.as_read import read
from knobpack.words import Request
from knobpack.words.names import voice_part
from knobpack.words.snapshot import ONLY

MOST_KNOBS = 16
"""Knobs of a panel, at most, where all ways of a sort are tried, as far as so many go."""

MOST_TRIED = 24
"""Ways of one sort that are worked out on such a panel, at most."""

FEW_TRIED = 3
"""Ways of one sort that are worked out on a larger panel, or where snapshots gave way, at most."""

Way = tuple[str, tuple[str, ...]]
"""One thing to try: a sort of an offer, and the names that it is about."""


def taken(wanted: Wanted, offer: Offer) -> Wanted:
    """What is wanted once an offer is taken.

    Args:
        wanted: what is wanted without it.
        offer: the offer, or one of which only what it gives up or frees is known.
    """
    wanted = attrs.evolve(wanted, leave=(*wanted.leave, *offer.leave)) if offer.leave else wanted
    match offer.what:
        case kinds.SHARE:
            insist = tuple(name for name in wanted.insist if name not in offer.names)
            return attrs.evolve(wanted, give_up=(*wanted.give_up, *offer.names), insist=insist)
        case kinds.FREE:
            return attrs.evolve(wanted, free=(*wanted.free, *offer.names))
        case kinds.CLEAR:
            return attrs.evolve(wanted, clear=(*wanted.clear, *offer.names))
        case kinds.INSIST:
            return attrs.evolve(wanted, insist=(*wanted.insist, *offer.names))
    return attrs.evolve(wanted, leave=(*wanted.leave, *offer.names))


def troubled(found: Combination) -> dict[str, int]:
    """What of the sources matters and shares a knob or goes over a travel as it did not there.

    Args:
        found: a combination.

    Returns:
        The priority of each, by full names.
    """
    inner = found.request.by_full_name
    of = found.request.bundle_of
    return {
        name: inner[name].priority
        for each in found.carried
        if each.source != found.base
        and each.new_knob is not None
        and inner[name := each.full_name].priority <= MATTERS
        and (
            each.new_travel != each.wanted
            or any(of.get(other) != of.get(name, name) for other in each.beside)
        )
    }


def ways_to_place(found: Combination) -> list[Way]:
    """What could be tried to place what found no knob, of each sort what promises most first.

    Args:
        found: a combination.

    Returns:
        Each way as one of the sorts of an offer, and its names; where all has a knob, only what
        could be left out so that something that matters more is as it was in its setup; and where
        something is alarming or gave way, what could be left out or freed so that it is not;
        where all of a source is on one knob, what could be given up so that it is not; where no
        knob is free, what could be cleared; and where the base can no longer be played alone,
        that it is.
    """
    small = len(found.setup.surface.knob_names) <= MOST_KNOBS
    most = MOST_TRIED if small else FEW_TRIED
    sorts: dict[str, list[tuple[str, ...]]]
    if found.without_knob:
        sorts = {
            kinds.CLEAR: _to_clear(found),
            kinds.SHARE: _to_give_up(
                found, _bundles(found, (e for e in found.carried if not e.new_knob))
            ),
            kinds.FREE: _to_free(found),
            kinds.LEAVE: _to_leave(found),
        }
    else:
        worst = min(troubled(found).values(), default=0)
        sorts = {kinds.LEAVE: _alone(found, worst) if worst else []}
        crowded = _crowded(found)
        if crowded or found.gave_way:
            more = [names for names in _to_leave(found) if not crowded.isdisjoint(names)]
            leave = tuple(dict.fromkeys((*more, *sorts[kinds.LEAVE])))
            sorts = {kinds.FREE: _to_free(found), kinds.LEAVE: [*leave]}
        panel = found.request.surface
        if {*panel.knob_names} <= {*panel.reserved, *(r.knob for r in found.allocation.routes)}:
            sorts = {kinds.CLEAR: _to_clear(found), **sorts}
        sorts[kinds.SHARE] = _to_give_up(found, _heaped(found))
    gave_way = found.gave_way
    if gave_way is not None:  # each is worked out with more and fewer snapshots
        most = min(most, FEW_TRIED)
    if gave_way is not None and gave_way.of_base is not None:
        sorts[kinds.INSIST] = [(gave_way.of_base,)]
    return [(what, names) for what, ways in sorts.items() for names in ways[:most]]


def _crowded(found: Combination) -> set[str]:
    """What is on a knob that does something alarming, or of which a snapshot gave way."""
    knobs = {each.knob for each in found.alarming}
    if any(each.why.startswith((CROWDED_OUT, NOT_ALONE)) for each in found.gone):
        knobs |= {each.knob for each in found.allocation.joined}
    return {name for knob in knobs for name in found.allocation.on(knob)}


def _bundles(found: Combination, carried: Iterable[Carried]) -> list[tuple[Carried, ...]]:
    """What came from one knob each, in order."""
    of = found.request.bundle_of
    bundles = grouped((of.get(each.full_name, each.full_name), each) for each in carried)
    return [tuple(bundle) for bundle in bundles.values()]


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


def _heaped(found: Combination) -> list[tuple[Carried, ...]]:
    """What came from several knobs of a source, all of which is on one knob."""
    sources = grouped((each.source, each) for each in found.carried if each.new_knob)
    theirs = (those for source, those in sources.items() if source != found.base)
    one = (
        _bundles(found, those) for those in theirs if len({each.new_knob for each in those}) == 1
    )
    return [bundle for bundles in one if len(bundles) > 1 for bundle in bundles]


def _to_give_up(
    found: Combination, bundles: Iterable[tuple[Carried, ...]]
) -> list[tuple[str, ...]]:
    """Added snapshots without which one of some bundles could share another knob, the fewest."""
    theirs = {each.name for each in found.wanted.base.snapshots} - _of_one_source(found)
    # What comes to nothing gives way by itself, once something could share a knob without it.
    request, stay = found.request, {each.name for each in found.setup.snapshots}
    ours = {name for voice in found.wanted.base.voices for name in voice.by_full_name}
    stay |= {each.name for each in request.played if not ours.isdisjoint(request.moved(each))}
    smallest: list[tuple[str, ...]] = []
    sets: list[tuple[str, ...]] = []
    for bundle in bundles:
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
    further = _further(found) if found.without_knob else ()
    ways = (*smallest[:1], *further, *smallest, every, *sorted(sets, key=len))
    return [each for each in dict.fromkeys(ways) if each]


def _further(found: Combination) -> Iterator[tuple[str, ...]]:
    """For each source its snapshots besides the one that plays it alone, and those that gave way.

    Without the first alone one of the second comes in its place, and keeps as much off a knob.
    """
    alone = {each.snapshot for each in found.played}
    came = [each for each in found.brought if each.kind == "snapshot" and each.new not in alone]
    for source, those in grouped((each.source, each.new) for each in came).items():
        yield (*those, *(name for one, name in found.crowded if one == source))


def _of_one_source(found: Combination) -> set[str]:
    """The snapshots of the base that play one source alone, as those that were added with it do."""
    base = found.wanted.base
    source = {voice.name: voice.source for voice in base.voices}
    moved = {each.name: found.request.moved(each) for each in found.request.played}
    sources = {
        each.name: {source.get(voice_part(name)) for name in moved.get(each.name, ())}
        for each in base.snapshots
    }
    alone = {base.name, ONLY + base.name}
    return {
        name
        for name, those in sources.items()
        if len(those) == 1 and (None not in those or name in alone)
    }


def _to_clear(found: Combination) -> list[tuple[str, ...]]:
    """Knobs of the base that do nothing, those first that hold nothing either; then all of them."""
    carries = read(found.wanted.base).carries
    knobs = sorted((each.knob for each in found.room), key=lambda knob: bool(carries.get(knob)))
    return [*((knob,) for knob in knobs), *([tuple(knobs)] if len(knobs) > 1 else [])]


def _to_free(found: Combination) -> list[tuple[str, ...]]:
    """What of the base could join what it is always moved with: the least important, all at once.

    Then knob by knob or voice by voice.
    """
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
    inner = found.request.by_full_name
    ways.sort(key=lambda names: (len(names), -min(inner[n].priority for n in names)))
    # All that matters least at once can make room that none of it makes alone.
    by = grouped((inner[name].priority, name) for names in ways for name in names)
    every = tuple(dict.fromkeys(by[max(by)])) if len(by) > 1 else ()
    return [every, *ways] if every[1:] and every not in ways else ways


def _alone(found: Combination, priority: int) -> list[tuple[str, ...]]:
    """Bundles of the sources that matter less and have a knob to themselves, those least first."""
    inner = found.request.by_full_name
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
    inner, weights = found.request.by_full_name, (*found.request.weights.unplaced, 0)
    ways = []
    for bundle in _bundles(found, (e for e in found.carried if e.source != found.base)):
        names = tuple(each.full_name for each in bundle)
        if any(each.new_knob for each in bundle):
            ways.append(names)
    return sorted(ways, key=lambda names: sum(weights[inner[n].priority - 1] for n in names))
