"""The knob budget by brute force: every entry recomputed over all layouts, from the words alone."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

import attrs

from knobpack.allocation import Allocation
from knobpack.explanation.budget_answer import Budget, FamilyBudget
from knobpack.explanation.budget_entry import Entry
from knobpack.words import Barred, Fixed, Request
from tests.oracles import masks
from tests.oracles.cut_down import NEW, Costs, TooManyError, costs, cut, families, free_knobs
from tests.oracles.reading import bits, read
from tests.oracles.reasons_terms import order_of


def with_the_rest(
    request: Request, allocation: Allocation, names: Sequence[str], knobs: Sequence[str], more: int
) -> Costs | None:
    """The least of the whole surface if these change on these knobs, all else as it is."""
    wide = cut(request, request.by_full_name, request.surface.knob_names, more=more)
    assert wide is not None
    others = tuple(route for route in allocation.routes if route.destination not in names)
    routed = {route.destination for route in others}
    lost = tuple(n for n in request.by_full_name if n not in names and n not in routed)
    panel = wide.surface.knob_names
    mine = tuple(k for k in panel if k not in knobs and not k.startswith(NEW))
    rules = [*wide.rules]
    rules += [Barred(lost, panel)] if lost and panel else []
    rules += [Barred(tuple(names), mine)] if mine else []
    # Held by rules: what the base keeps together is no loss, and this is not the base's.
    rules += [Fixed((route.destination,), route.knob) for route in others]
    held = attrs.evolve(wide, rules=tuple(rules))
    return costs(held, first_tiers(request))


def first_tiers(request: Request) -> int:
    """How many tiers a budget tells: those before *change*, or of an edit those before *layout*."""
    return 5 if request.in_use else 4


def wrong_in(request: Request, allocation: Allocation, answer: Budget) -> list[str]:
    """All that is wrong in a budget, in words; what takes too many layouts is passed over."""
    return [
        *_wrong_families(request, allocation, answer),
        *_wrong_whole(request, allocation, answer),
    ]


def spans(request: Request, names: Iterable[str]) -> bool:
    """Whether a bundle or preferred rule holds some of these and some others."""
    reading = read(request)
    inside = sum(1 << reading.names.index(name) for name in names)
    return any(mask & inside and mask & ~inside for mask, _ in masks.spreads(reading))


def _wrong_families(request: Request, allocation: Allocation, answer: Budget) -> Iterator[str]:
    told = [family.destinations for family in answer.families]
    panel = request.surface.knob_names
    place = {each.destination: panel.index(each.knob) for each in allocation.routes}
    right = families(request)
    right.sort(key=lambda own: min(place.get(name, len(panel)) for name in own))
    if told != right:
        yield f"families {told}, not {right}"
        return
    if len({family.name for family in answer.families}) < len(told):
        yield "two families have one name"
    reading = read(request)
    inside = {name: at for at, names in enumerate(told) for name in names}
    placed = {route.destination for route in allocation.routes}
    between = 0
    for mask, weight in masks.spreads(reading):
        held = {inside[n] for at, n in enumerate(reading.names) if mask >> at & 1 and n in placed}
        between += weight * max(0, len(held) - 1)
    if between != answer.between_families:
        yield f"between families {answer.between_families}, not {between}"
    bundles = sum(
        len({inside[reading.names[bit]] for bit in bits(mask)}) - 1 for mask in reading.bundles
    )
    if bundles != answer.bundles_between_families:
        yield f"bundles between families {answer.bundles_between_families}, not {bundles}"
    for family in answer.families:
        own = {
            route.knob for route in allocation.routes if route.destination in family.destinations
        }
        knobs = tuple(name for name in request.surface.knob_names if name in own)
        if family.knobs != knobs:
            yield f"{family.name} on {family.knobs}, not {knobs}"
            continue
        used = len(allocation.routes) - sum(
            1 for route in allocation.routes if route.destination in family.destinations
        )
        if family.now is None or family.more is None:
            yield f"{family.name} has no cost now, or with more"
            continue
        names, now = family.destinations, family.now.values
        if request.in_use and answer.now is not None:
            yield from _wrong_held(request, allocation, family, answer.now.values)
            continue
        yield from _wrong(
            f"{family.name}, now", family.now, now, [(knobs, 0)], request, names, used
        )
        yield from _wrong(
            f"{family.name}, more", family.more, now, [(knobs, 1)], request, names, used
        )
        less = [(tuple(k for k in knobs if k != knob), 0) for knob in knobs]
        yield from _wrong(f"{family.name}, fewer", family.fewer, now, less, request, names, used)


def _wrong_held(
    request: Request, allocation: Allocation, family: FamilyBudget, now: Costs | None
) -> Iterator[str]:
    """What is wrong for a family of an edit: the whole surface, all else held where it is."""
    pinned, _ = free_knobs(request, family.destinations)
    less = [
        ([knob for knob in family.knobs if knob != other], 0)
        for other in family.knobs
        if other not in pinned
    ]
    for what, entry, choices in (
        ("now", family.now, [(family.knobs, 0)]),
        ("more", family.more, [(family.knobs, 1)]),
        ("fewer", family.fewer, less),
    ):
        try:
            every = [
                with_the_rest(request, allocation, family.destinations, knobs, more)
                for knobs, more in choices
            ]
        except TooManyError:
            continue
        yield from _wrong_entry(f"{family.name}, {what}", request, entry, now, every)


def _wrong_whole(request: Request, allocation: Allocation, answer: Budget) -> Iterator[str]:
    if answer.now is None or answer.more is None:
        yield "the whole has no cost"
        return
    panel, names = request.surface.knob_names, tuple(request.by_full_name)
    now = answer.now.values
    yield from _wrong("now", answer.now, now, [(panel, 0)], request, names, 0)
    yield from _wrong("more", answer.more, now, [(panel, 1)], request, names, 0)
    taken = {route.knob for route in request.keep.routes}
    taken |= {
        each.knob
        for each in request.rules
        if isinstance(each, Fixed) and each.weight is None and request.named(each.names)
    }
    free = [knob for knob in panel if knob not in taken and knob not in request.surface.reserved]
    less = [(tuple(name for name in panel if name != knob), 0) for knob in free]
    yield from _wrong("fewer", answer.fewer, now, less, request, names, 0)
    used = {route.knob for route in allocation.routes}
    if answer.unused != tuple(knob for knob in free if knob not in used):
        yield f"unused {answer.unused}"
    yield from _wrong_movers(request, allocation, answer, taken)


def _wrong_movers(
    request: Request, allocation: Allocation, answer: Budget, taken: set[str]
) -> Iterator[str]:
    """Whether those families that take or give a knob are those that can."""
    for at, family in enumerate(answer.families):
        if family.now is None or family.more is None:
            continue
        names, knobs = family.destinations, family.knobs
        less = [[name for name in knobs if name != knob] for knob in knobs if knob not in taken]
        try:
            wide = with_the_rest(request, allocation, names, knobs, 1)
            left = [with_the_rest(request, allocation, names, each, 0) for each in less]
        except TooManyError:
            continue
        proven = family.now.proven and family.more.proven and answer.more.proven
        told = at in answer.more.takers
        if any(answer.more.change or ()):
            if _not_so(request, names, told, [wide], answer.more.values, proven):
                yield f"{family.name} takes the knob: {told}, but it comes to {wide}"
        elif told:
            yield f"{family.name} takes a knob that saves nothing"
        if answer.fewer is not None:
            proven = family.fewer is not None and family.fewer.proven and answer.fewer.proven
            told = at in answer.fewer.givers
            if _not_so(request, names, told, left, answer.fewer.values, proven):
                yield f"{family.name} gives a knob up: {told}, but it comes to {left}"


def _not_so(
    request: Request,
    names: Sequence[str],
    told: bool,
    reached: Sequence[Costs | None],
    values: Costs | None,
    proven: bool,
) -> bool:
    """Whether it is wrongly told, or not told, that a family reaches values.

    Where some of a bundle is elsewhere, the answer may be silent. A search that was stopped may
    have missed what is better than its values.
    """
    best = min((each for each in reached if each is not None), default=None)
    if not proven:
        return told and (best is None or values is None or best > values)
    return told != (best is not None and best == values) and (told or not spans(request, names))


def _wrong(
    what: str,
    entry: Entry | None,
    now: Costs | None,
    choices: Sequence[tuple[Sequence[str], int]],
    request: Request,
    names: Sequence[str],
    used: int,
    *,
    tiers: int | None = None,
) -> Iterator[str]:
    """What is wrong in one entry: the least of some choices of knobs, each with some more."""
    try:
        every = [
            costs(
                cut(request, names, knobs, more=more, used=used),
                first_tiers(request) if tiers is None else tiers,
            )
            for knobs, more in choices
        ]
    except TooManyError:
        return
    yield from _wrong_entry(what, request, entry, now, every)


def _wrong_entry(
    what: str,
    request: Request,
    entry: Entry | None,
    now: Costs | None,
    every: Sequence[Costs | None],
) -> Iterator[str]:
    """What is wrong in one entry, of which all that some choices of knobs come to is known."""
    best = min((each for each in every if each is not None), default=None)
    if entry is not None and entry.order != order_of(request)[: len(entry.bounds)]:
        yield f"{what}: tiers {entry.order}"
    if entry is not None and (entry.values is None or now is None):
        if entry.proven or entry.change is not None:
            yield f"{what}: nothing found, and yet {entry}"
        return
    if entry is None or best is None:
        if not (entry is None and best is None):
            yield f"{what}: {entry}, not {best}"
    elif entry.values is not None and now is not None:
        yield from (f"{what}: {wrong}" for wrong in _wrong_numbers(entry, entry.values, best, now))


def _wrong_numbers(entry: Entry, values: Costs, best: Costs, now: Costs) -> Iterator[str]:
    """What is wrong in an entry of which the best is known."""
    if values < best or (entry.proven and values != best):
        yield f"{values}, not {best}"
    if entry.proven != (values == entry.bounds):
        yield f"proven {entry.proven}, from {entry.bounds} to {values}"
    for tier, bound in enumerate(entry.bounds):
        # A bound holds for what is as good in the tiers before.
        if best[:tier] == values[:tier] and bound > best[tier]:
            yield f"bound {bound} in tier {tier}, above {best[tier]}"
    if entry.change != tuple(a - b for a, b in zip(values, now, strict=True)):
        yield f"change {entry.change}"
