"""Instead: which others could share a knob in place of those that do, and what that would cost."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

import attrs

from knobpack.checker import breaches
from knobpack.definition.phrases import travel_text
from knobpack.definition.travel_prices import chosen_travels
from knobpack.explanation.case import Case
from knobpack.explanation.comparison import Comparison
from knobpack.explanation.what_if import Moved
from knobpack.reasons.answer_graph import Reasoned
from knobpack.text.shown import Fielded
from knobpack.words import Layout, Route, Travel
from knobpack.words.names import knob_told, listed

MOST_KNOBS = 16
"""Knobs of a panel, at most, for which other ways to share are looked for."""

MOST_TOLD = 3
"""Other ways to share that are told, at most."""

MOST_TRIED = 24
"""Other ways to share that are held against all that is demanded, at most, the cheapest first."""

Places = dict[str, str]


@attrs.frozen
class Instead(Fielded, Reasoned):
    """Others that could share a knob, so that those that were joined need not.

    Args:
        names: all that would share, by full name.
        knob: the knob they would share.
        moved: what moves for it, in the order of the request.
        comparison: what that would cost beside the layout.
        travel: the travel that they would go over, in positions; None: the surface sets travels on
            routes, so nothing is missed.
        missing: those of them that want another travel.
        top: the highest position of the surface, 2**bits - 1.
    """

    names: tuple[str, ...]
    knob: str
    moved: tuple[Moved, ...]
    comparison: Comparison
    travel: Travel | None
    missing: tuple[str, ...]
    top: int

    def __str__(self) -> str:
        apart = [each for each in self.moved if each.after != self.knob]
        own = (
            f", with {listed([e.destination for e in apart])} on {_knob(apart[0])}" if apart else ""
        )
        told = f"Instead {listed(self.names)} could share {knob_told(self.knob)}{own}"
        told += f": {self.comparison.told}"
        if self.missing and self.travel is not None:
            goes = travel_text(self.travel, self.top)
            want = "want" if len(self.missing) > 1 else "wants"
            told += f"; over {goes}, not as {listed(self.missing)} {want}"
        return told


def _knob(each: Moved) -> str:
    return knob_told(each.after or "")


def instead(case: Case, knob: str) -> tuple[Instead, ...]:
    """Which others could share a knob in place of those that share one, the cheapest first.

    One of the loads that share the knob leaves it whole: for a knob where it joins what is there,
    or for one whose load makes room and joins another. All else stays where it is, and no tier
    before *sharing* gets worse.

    Args:
        case: the allocation.
        knob: a knob.

    Returns:
        Some of the cheapest ways; none where the knob carries but one load, or the panel is large.
    """
    if knob not in case.instead:
        case.instead[knob] = tuple(_cheapest(case, knob))
    return case.instead[knob]


def _cheapest(case: Case, knob: str) -> Iterator[Instead]:
    before = case.allocation.prices.order.index("sharing")
    priced = []
    for places, at in _ways(case, knob) if len(case.on) <= MOST_KNOBS else ():
        comparison = case.rearranged(places)
        if not any(more > 0 for more in comparison.rank[:before]):
            priced.append((comparison.rank, comparison, places, at))
    priced.sort(key=lambda each: each[0])
    told: set[frozenset[str]] = set()
    for _, comparison, places, at in priced[:MOST_TRIED]:
        there = case.knob_of | places
        names = tuple(name for name in case.request.by_full_name if there.get(name) == at)
        if frozenset(names) in told or breaches(case.request, _layout(case, places)):
            continue
        told.add(frozenset(names))
        yield _told(case, names, at, places, comparison)
        if len(told) == MOST_TOLD:
            return


def _layout(case: Case, places: Places) -> Layout:
    stay = (route for route in case.allocation.routes if route.destination not in places)
    return Layout((*stay, *(Route(*each) for each in places.items())))


def _told(
    case: Case, names: tuple[str, ...], at: str, places: Places, comparison: Comparison
) -> Instead:
    request = case.request
    travel = None
    if not request.surface.per_route:
        travel = chosen_travels(request, Layout(), {at: list(names)})[at]
    return Instead(
        names=names,
        knob=at,
        moved=tuple(
            Moved(name, case.knob_of[name], places[name])
            for name in request.by_full_name
            if name in places
        ),
        comparison=comparison,
        travel=travel,
        missing=tuple(name for name in names if travel not in (None, request.wanted(name))),
        top=request.surface.top,
    )


def _ways(case: Case, knob: str) -> Iterator[tuple[Places, str]]:
    """What could move, and the knob that would be shared then."""
    kept = {route.destination for route in case.request.keep.routes}
    plays = _plays(case)
    loads = {name: load for load in case.request.loads for name in load}
    parts = dict.fromkeys(
        tuple(name for name in case.on[knob] if name in loads.get(each, (each,)))
        for each in case.on[knob]
    )
    others = [other for other, names in case.on.items() if names and other != knob]
    for part in parts if len(parts) > 1 else ():
        if not kept.isdisjoint(part):
            continue
        for other in others:
            if plays[case.on[other][0]] == plays[part[0]]:
                yield dict.fromkeys(part, other), other
            if not kept.isdisjoint(case.on[other]):
                continue
            for third in (knob, *others):
                if third != other and plays[case.on[third][0]] == plays[case.on[other][0]]:
                    yield dict.fromkeys(part, other) | dict.fromkeys(case.on[other], third), third


def _plays(case: Case) -> Mapping[str, tuple[bool, ...]]:
    """For each destination, in which firm snapshots it moves: what may share moves alike."""
    request = case.request
    moved = [request.moved(each) for each in request.played if each.break_weight is None]
    return {name: tuple(name in each for each in moved) for name in request.by_full_name}
