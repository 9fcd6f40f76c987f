"""A request cut down to some destinations and knobs, and which destinations are a family.

Both are written anew from the request's reading as bits: nothing of ``knobpack.words.edits`` or of
the solver is used.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable
from functools import lru_cache
from itertools import combinations

import attrs

from knobpack.words import (
    Alone,
    Apart,
    Barred,
    Fixed,
    Group,
    Knob,
    Layout,
    Request,
    Rule,
    Snapshot,
    Together,
)
from tests.oracles import masks
from tests.oracles.brute import least
from tests.oracles.reading import Reading, bits, read

MOST = 60_000
"""Layouts to try for one request, at most."""

NEW = "One more"
"""What the names of added knobs start with."""

Costs = tuple[int, ...]


class TooManyError(Exception):
    """There are too many layouts to try."""


# Who may share with whom -------------------------------------------------------------------------


def families(request: Request) -> list[tuple[str, ...]]:
    """The families, by the definition: what may share a knob, directly or through others.

    What is hidden and better left out than joined shares with its bundle alone.
    """
    reading = read(request)
    units = _units(reading)
    joined = list(units)
    for one, other in combinations(range(len(units)), 2):
        both = units[one] | units[other]
        worth = not masks.intruding(reading, both)
        if worth and allowed(reading, both):
            old, new = joined[one], joined[one] | joined[other]
            joined = [new if each in (old, joined[other]) else each for each in joined]
    return [
        tuple(reading.names[bit] for bit in bits(mask)) for mask in sorted(set(joined), key=_low)
    ]


def _low(mask: int) -> int:
    return mask & -mask


def _units(reading: Reading) -> list[int]:
    """What is on one knob or on none: bound together, or kept or fixed on the same knob."""
    bound = [each.first for each in reading.rules if isinstance(_firm(each.rule), Together)]
    for number, knob in enumerate(reading.knobs):
        bound.append(reading.kept[number] | _fixed(reading, knob.name))
    units = [1 << bit for bit in range(len(reading.names))]
    for mask in bound:
        inside = [unit for unit in units if unit & mask]
        units = [unit for unit in units if not unit & mask] + ([sum(inside)] if inside else [])
    # What is fixed twice joins what was joined before, so once more over all of them.
    for mask in bound:
        inside = [unit for unit in units if unit & mask]
        units = [unit for unit in units if not unit & mask] + ([sum(inside)] if inside else [])
    return sorted(units, key=_low)


def _firm(rule: Rule) -> Rule | None:
    return rule if rule.weight is None else None


def _fixed(reading: Reading, knob: str) -> int:
    mask = 0
    for each in reading.rules:
        rule = _firm(each.rule)
        mask |= each.first if isinstance(rule, Fixed) and rule.knob == knob else 0
    return mask


def allowed(reading: Reading, unit: int) -> frozenset[int]:
    """The knobs that a unit may be on."""
    knobs = range(len(reading.knobs))
    return frozenset(knob for knob in knobs if masks.open_to(reading, knob, unit))


# A request cut down ------------------------------------------------------------------------------


def cut(
    request: Request, names: Iterable[str], knobs: Iterable[str], *, more: int = 0, used: int = 0
) -> Request | None:
    """The request for some destinations on some knobs; None if something is kept or fixed off them.

    Args:
        request: what is asked.
        names: the full names of those that stay.
        knobs: the knobs that stay.
        more: knobs of which nothing is said, added.
        used: routes that are used up by others.
    """
    stay, left, reading = set(names), set(knobs), read(request)

    def named(mask: int) -> tuple[str, ...]:
        return tuple(n for at, n in enumerate(reading.names) if mask >> at & 1 and n in stay)

    # What may be joined in the whole may be joined here: with itself alone it must be together.
    rules: list[Rule] = [
        Together((name,))
        for at, name in enumerate(reading.names)
        if name in stay and reading.destinations[at].priority == 5
        if not reading.expendable >> at & 1
    ]
    for each in reading.rules:
        rule, first, second = each.rule, named(each.first), named(each.second)
        if not first or (isinstance(rule, Apart) and not second):
            continue
        if isinstance(rule, Apart):
            rules.append(Apart(first, second, rule.weight))
        elif isinstance(rule, Fixed) and rule.knob not in left:
            if rule.weight is None:
                return None
        elif isinstance(rule, Barred):
            barred = tuple(knob for knob in rule.knobs if knob in left)
            rules += [Barred(first, barred, rule.weight)] if barred else []
        elif isinstance(rule, Together | Alone | Fixed):
            rules.append(attrs.evolve(rule, names=first))
    kept = tuple(route for route in request.keep.routes if route.destination in stay)
    if any(route.knob not in left for route in kept):
        return None
    bases = {route.knob for route in kept}
    surface = request.surface
    row = 1 + max((knob.row for knob in surface.knobs), default=0)
    panel = [knob for knob in surface.knobs if knob.name in left]
    panel += [Knob(f"{NEW} {number}", row, number + 1) for number in range(more)]
    voices = tuple(
        attrs.evolve(
            v, destinations=tuple(d for d in v.destinations if f"{v.name}/{d.name}" in stay)
        )
        for v in request.voices
    )
    groups = [
        Group(group.name, named(mask))
        for group, mask in zip(request.groups, reading.groups, strict=True)
        if named(mask)
    ]
    moves = [*reading.firm, *(mask for mask, _ in reading.soft)]
    played = sorted(request.played, key=lambda each: each.break_weight is not None)
    _check_stances(request, stay, left)
    return Request(
        attrs.evolve(
            surface,
            knobs=tuple(panel),
            reserved=tuple(name for name in surface.reserved if name in left),
            favoured=tuple(name for name in surface.favoured if name in left),
            routes=None if surface.routes is None else surface.routes - used,
            layers=None,
            snapshots=None,
        ),
        tuple(attrs.evolve(voice, layer=None) for voice in voices),
        groups=tuple(groups),
        snapshots=tuple(
            Snapshot(
                f"S{number}",
                named(mask),
                each.break_weight,
                [place for place in each.positions if place.knob in left],
            )
            for number, (mask, each) in enumerate(zip(moves, played, strict=True))
        ),
        rules=tuple(rules),
        keep=Layout(kept, tuple(each for each in request.keep.travels if each.knob in bases)),
        previous=request.previous,
        weights=request.weights,
        in_use=request.in_use,
        edited=tuple(name for name in request.named(request.edited) if name in stay),
    )


def _check_stances(request: Request, stay: Collection[str], left: Collection[str]) -> None:
    """How something stood on a knob that is not on a smaller panel cannot be told there.

    Raises:
        TooManyError: something stood on one.
    """
    before = (*request.keep.routes, *(request.previous.routes if request.previous else ()))
    if request.stances and any(e.destination in stay and e.knob not in left for e in before):
        raise TooManyError


def free_knobs(request: Request, names: Iterable[str]) -> tuple[list[str], list[str]]:
    """The knobs for some destinations: those they are kept or fixed on, and others open to them."""
    reading, inside = read(request), set(names)
    pins = {
        knob.name: reading.kept[number] | _fixed(reading, knob.name)
        for number, knob in enumerate(reading.knobs)
    }
    usable = set()
    for unit in _units(reading):
        if any(reading.names[bit] in inside for bit in bits(unit)):
            usable |= {reading.knobs[number].name for number in allowed(reading, unit)}
    own = [k for k, mask in pins.items() if any(reading.names[bit] in inside for bit in bits(mask))]
    return own, [knob for knob, mask in pins.items() if knob in usable and not mask]


@lru_cache(maxsize=4096)
def _least(request: Request) -> Costs | None:
    if (len(request.surface.knobs) + 1) ** len(request.by_full_name) > MOST:
        raise TooManyError
    # A knob that is taken away is lost to others: what finds none then is left out.
    found = least(request, short=True)
    return None if found is None else found.totals


def costs(request: Request | None, tiers: int = 4) -> Costs | None:
    """The least first tiers of all layouts; None if none is valid, or there is no such request."""
    found = None if request is None else _least(request)
    return None if found is None else found[:tiers]
