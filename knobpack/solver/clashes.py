"""Clashes: a minimal set of demands that no layout meets, and the cheapest ways out.

Each step is a function of its own on :class:`Feasible`, which answers for any part of the demands,
so that a search for every minimal set can be put on top of them.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable

import attrs

from knobpack.checker import check
from knobpack.errors import KnobpackError
from knobpack.solver.corrections import Corrections
from knobpack.solver.feasible import COUNTS, Feasible, Verdict
from knobpack.words import Knob, Layout, Request, fields
from knobpack.words import demand as words
from knobpack.words.demand import Demand


@attrs.frozen
class Found:
    """Some demands, and whether what is wanted of them is proven."""

    demands: tuple[Demand, ...]
    proven: bool


def ask(feasible: Feasible, wanted: Collection[Demand]) -> Verdict:
    """Ask whether a layout meets ``wanted``, and have the plain checker confirm a yes.

    Raises:
        KnobpackError: the checker does not: a defect of knobpack.
    """
    verdict = feasible.ask(wanted)
    if verdict.layout is not None:
        unmet = unmet_by(feasible.request, verdict.layout, wanted)
        if unmet:
            raise KnobpackError(f"knobpack holds a layout possible that is not: {unmet[0]}")
    return verdict


def unmet_by(request: Request, layout: Layout, wanted: Collection[Demand]) -> list[Demand]:
    """The demands among ``wanted`` that ``layout`` does not meet, by the plain checker."""
    wanted = set(wanted)
    unmet = [b.demand for b in check(request, layout).breaches if b.demand in wanted]
    # The checker counts every snapshot that is asked for; here only those that are wanted count.
    stored = sum(1 for demand in wanted if demand.kind == words.STORE)
    return [d for d in unmet if d.kind != words.SNAPSHOTS or d.subject < stored]


def shrink(feasible: Feasible, corrections: Corrections, wanted: Collection[Demand]) -> Found:
    """A minimal part of ``wanted`` that no layout meets; no layout meets ``wanted``.

    One demand after the other is left out: if the rest still clashes, it was not needed. A demand
    that was needed once is needed in every smaller part too, so each is looked at once.

    Returns:
        The part, and whether each member is proven necessary: False only if the watch stopped it.
    """
    part = _narrowed(feasible, corrections, tuple(wanted))
    proven = True
    # The last asked go first: limits and kept routes are seldom what a clash is about.
    for demand in reversed(part):
        if demand not in part:
            continue
        rest = tuple(each for each in part if each != demand)
        verdict = ask(feasible, rest)
        if verdict.possible is False:
            part = _smaller(feasible, rest, verdict.core)
        proven = proven and verdict.possible is not None
    return Found(tuple(demand for demand in feasible.demands if demand in part), proven)


def grow(feasible: Feasible, given_up: Collection[Demand]) -> Found:
    """A minimal part of ``given_up`` that must be given up; a layout meets all other demands.

    Returns:
        The part, and whether each member is proven necessary: False only if the watch stopped it.
    """
    part, proven = set(given_up), True
    for demand in sorted(given_up, key=lambda each: -each.price):
        verdict = ask(feasible, [d for d in feasible.demands if d not in part or d == demand])
        if verdict.possible:
            part.remove(demand)
        proven = proven and verdict.possible is not None
    return Found(tuple(demand for demand in feasible.demands if demand in part), proven)


def ways_out(feasible: Feasible, corrections: Corrections, most: int) -> list[Found]:
    """Minimal sets of demands to give up so that all others can be met, the cheapest first.

    Args:
        feasible: answers for the request.
        corrections: the model of the request.
        most: how many are wanted at most.

    Returns:
        The sets, and whether it is proven that none that comes later costs less.

    Raises:
        KnobpackError: the two models do not agree: a defect of knobpack.
    """
    found: list[Found] = []
    while len(found) < most:
        known = [each.demands for each in found]
        best = corrections.cheapest(known)
        if best is None:
            break
        rest = [demand for demand in feasible.demands if demand not in best.demands]
        verdict = ask(feasible, rest)
        if verdict.possible is False:
            raise KnobpackError(f"two models disagree on whether giving up {best.demands} helps")
        if verdict.possible is None:
            break
        if not best.proven:
            smaller = grow(feasible, best.demands)
            if smaller.demands not in known:
                found.append(Found(smaller.demands, False))
            break
        found.append(Found(best.demands, True))
    return found


def wider(request: Request) -> Request | None:
    """The request on a surface with one more knob, that nothing names; None if it can have none."""
    surface = request.surface
    row = 1 + max((knob.row for knob in surface.knobs), default=0)
    if max(row, len(surface.knobs) + 1) > fields.MOST_ITEMS:
        return None
    names = (f"one more {number}" for number in range(len(surface.knobs) + 1))
    name = next(name for name in names if name not in surface.knob_names)
    more = attrs.evolve(surface, knobs=(*surface.knobs, Knob(name, row)))
    return attrs.evolve(request, surface=more)


def _narrowed(
    feasible: Feasible, corrections: Corrections, wanted: tuple[Demand, ...]
) -> tuple[Demand, ...]:
    """A smaller part of ``wanted`` that clashes, as far as a few looks show one."""
    verdict = ask(feasible, wanted)
    if len(verdict.core) < len(wanted):
        return _smaller(feasible, wanted, verdict.core)
    if all(demand.kind not in dict(COUNTS) for demand in verdict.core):
        return _smaller(feasible, wanted, corrections.core(wanted))
    return wanted


def _smaller(
    feasible: Feasible, whole: tuple[Demand, ...], part: Iterable[Demand]
) -> tuple[Demand, ...]:
    """``part`` if it is proven afresh to clash, or else ``whole``, which is known to."""
    part = tuple(part)
    if not part or len(part) >= len(whole):
        return whole
    return part if feasible.ask(part).possible is False else whole
