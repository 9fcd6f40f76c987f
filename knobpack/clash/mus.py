"""MUS and MCS by deletion: a minimal part of some demands that still clashes, or still has to go.

A minimal unsatisfiable subset and a minimal correction subset, in the field's words. Both are
functions on :class:`Feasible`, which answers for any part of the demands.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from typing import TypeAlias

import attrs

from knobpack.checker import breaches
from knobpack.clash.feasible import Feasible, Verdict
from knobpack.errors import Fault
from knobpack.words import KnobTravel, Layout, Request, Travel
from knobpack.words import demand as words
from knobpack.words.demand import Demand

Demands: TypeAlias = tuple[Demand, ...]


@attrs.frozen
class Subset:
    """Some of the demands, in asking order, and whether it is proven that they are minimal."""

    demands: tuple[Demand, ...]
    proven: bool


def confirmed(feasible: Feasible, wanted: Collection[Demand]) -> Verdict:
    """Ask whether a layout meets ``wanted``, and have the plain checker confirm a yes.

    Raises:
        Fault: the checker does not: a defect of knobpack.
    """
    verdict = feasible.ask(wanted)
    if verdict.layout is not None:
        unmet = unmet_by(feasible.request, verdict.layout, wanted)
        if unmet:
            raise Fault(f"knobpack holds a layout possible that is not: {unmet[0]}")
    return verdict


def unmet_by(request: Request, layout: Layout, wanted: Collection[Demand]) -> list[Demand]:
    """The demands among ``wanted`` that ``layout`` does not meet, by the plain checker."""
    wanted = set(wanted)
    found = breaches(request, attrs.evolve(layout, travels=_any_travels(request, layout)))
    unmet = [breach.demand for breach in found if breach.demand in wanted]
    # The checker counts every snapshot that is asked for; here only those that are wanted count.
    stored = sum(1 for demand in wanted if demand.kind == words.STORE)
    return [d for d in unmet if d.kind != words.SNAPSHOTS or d.subject < stored]


def shrink(feasible: Feasible, wanted: Iterable[Demand]) -> Subset:
    """A minimal part of ``wanted`` that no layout meets; no layout meets ``wanted``.

    One demand after the other is left out: if the rest still clashes, it was not needed. A demand
    that was needed once is needed in every smaller part too, so each is looked at once. Where no
    part is seen to clash at once, halves are left out first, then halves of those.

    Args:
        feasible: answers for which a part of what can be met can be met too.
        wanted: the demands.

    Returns:
        The part, and whether each member is proven necessary: False only if the watch stopped it.
    """
    whole = tuple(wanted)
    part = clashing(feasible, whole, feasible.ask(whole))
    # The last asked go first: limits and kept routes are seldom what a clash is about.
    waiting = [part[::-1]] if len(part) == len(whole) else [(demand,) for demand in part]
    proven = True
    while waiting:
        block = [demand for demand in waiting.pop() if demand in part]
        rest = tuple(demand for demand in part if demand not in block)
        if not block:
            continue
        verdict = confirmed(feasible, rest)
        if verdict.possible is False:
            part = clashing(feasible, rest, verdict)
        elif len(block) > 1:
            half = len(block) // 2
            waiting += [tuple(block[half:]), tuple(block[:half])]
        else:
            proven = proven and verdict.possible is not None
    return Subset(tuple(demand for demand in feasible.demands if demand in part), proven)


def grow(feasible: Feasible, given_up: Iterable[Demand]) -> Subset:
    """A minimal part of ``given_up`` that must be given up; a layout meets all other demands.

    The dearest are taken back first.

    Returns:
        The part, and whether each member is proven necessary: False only if the watch stopped it.
    """
    part, proven = set(given_up), True
    for demand in sorted(feasible.demands, key=lambda each: -each.price):
        if demand in part:
            met = [each for each in feasible.demands if each not in part or each == demand]
            possible = feasible.ask(met).possible
            if possible:
                part.remove(demand)
            proven = proven and possible is not None
    return Subset(tuple(demand for demand in feasible.demands if demand in part), proven)


def clashing(feasible: Feasible, wanted: Demands, verdict: Verdict) -> Demands:
    """The part of ``wanted`` that was seen to clash, proven afresh; or else all of it, which does.

    Args:
        feasible: answers for the request.
        wanted: demands that no layout meets.
        verdict: what was found of them.
    """
    part = verdict.core
    if not 0 < len(part) < len(wanted):
        return wanted
    return part if feasible.ask(part).possible is False else wanted


def _any_travels(request: Request, layout: Layout) -> tuple[KnobTravel, ...]:
    """Travels for the used knobs, those kept where they are kept: the checker prices the best else.

    No other demand is about travels, and pricing them takes long.
    """
    if request.surface.per_route:
        return ()
    kept = {setting.knob: setting.travel for setting in request.keep.travels}
    keeps = {route.knob for route in request.keep.routes}
    full = Travel.full(request.surface.bits)
    used = dict.fromkeys(route.knob for route in layout.routes)
    return tuple(
        KnobTravel(knob, kept[knob] if knob in kept and knob in keeps else full) for knob in used
    )
