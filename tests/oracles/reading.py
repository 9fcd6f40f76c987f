"""A request read as bits: destination ``i`` is bit ``i``, so what a knob carries is one *mask*."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from fractions import Fraction
from math import floor
from typing import Any

import attrs

from knobpack.words import (
    Apart,
    Destination,
    Fixed,
    Knob,
    Request,
    Rule,
    Together,
    Travel,
    Voice,
    Weights,
)


@attrs.frozen
class ReadRule:
    """A rule with the masks of what it names; ``second`` is 0 for all rules but Apart."""

    rule: Rule
    first: int
    second: int


@attrs.frozen(eq=False)
class Reading:
    """A request as bits.

    Args:
        names: the full name of each bit.
        destinations: the destination of each bit.
        knobs: the knobs in panel order; elsewhere a knob is its position here.
        weights: those of the request.
        per_knob: destinations that one knob may carry; None: any number.
        routes: routes in all that there may be; None: any number.
        voices: the mask of each voice; so for ``groups``, ``kinds`` and ``bundles``.
        loads: a mask for each bundle, those that are kept on one knob or that a preferred
            ``together`` names as one, and for each other destination.
        stances: the masks of what stands alike in the snapshots that hold it.
        firm: what moves in each snapshot that may not be broken.
        soft: what moves in each snapshot that may, with its weight.
        rules: every rule.
        kept: what is kept on each knob.
        kept_travel: the travel that holds on each knob that keeps a route; None: free.
        reserved: whether each knob is.
        drawn: for each source what each of its knobs carried, as masks, in its order.
        expendable: what is hidden, came with nothing better, and nothing demands.
        previous: what was on each knob before.
        previous_travel: the travel that it had, if that is known.
        edited: what the edit of a layout in use names.
        previous_bundles: what each knob drove before, gone ones among them, of what is still there.
        steps: how far down the order of reach each knob is.
        wanted: the travel that each bit wants.
        on_routes: whether each route has a travel of its own, and a knob none.
        misses: ``misses[i][j]`` is what bit ``i`` pays under the travel that bit ``j`` wants.
        top: the highest position.
        in_use: whether the previous layout is in use and this is an edit of it.
        joined: for each bit the mask of those that it shared a knob with in a layout in use, the
            edit naming neither.
        lost: what a layout in use left out already, and the edit does not name.
        standing: what the importance of each bit counts where it moves; none if the edit names it.
    """

    names: tuple[str, ...]
    destinations: tuple[Destination, ...]
    knobs: tuple[Knob, ...]
    weights: Weights
    per_knob: int | None
    routes: int | None
    voices: tuple[int, ...]
    groups: tuple[int, ...]
    kinds: tuple[int, ...]
    bundles: tuple[int, ...]
    loads: tuple[int, ...]
    stances: tuple[int, ...]
    firm: tuple[int, ...]
    soft: tuple[tuple[int, int], ...]
    rules: tuple[ReadRule, ...]
    kept: tuple[int, ...]
    kept_travel: tuple[Travel | None, ...]
    reserved: tuple[bool, ...]
    drawn: tuple[tuple[int, ...], ...]
    expendable: int
    previous: tuple[int, ...]
    previous_travel: tuple[Travel | None, ...]
    edited: int
    previous_bundles: tuple[int, ...]
    steps: tuple[int, ...]
    wanted: tuple[Travel, ...]
    misses: tuple[tuple[int, ...], ...]
    top: int
    on_routes: bool
    in_use: bool
    joined: tuple[int, ...]
    lost: int
    standing: tuple[int, ...]

    @property
    def everything(self) -> int:
        """The mask of all destinations."""
        return (1 << len(self.names)) - 1


def read(request: Request) -> Reading:
    """Read a request as bits."""
    inner = [(voice, each) for voice in request.voices for each in voice.destinations]
    names = tuple(f"{voice.name}/{each.name}" for voice, each in inner)
    bit = {name: 1 << position for position, name in enumerate(names)}
    masks = _masks_by_name(request, bit)
    movable = sum(bit[name] for name, (_, each) in zip(names, inner, strict=True) if each.movable)
    kinds: dict[str, int] = {}
    for name, (_, each) in zip(names, inner, strict=True):
        kinds[each.kind] = kinds.get(each.kind, 0) | bit[name]
    drawn = _drawn(inner, bit)
    surface = request.surface
    top = 2**surface.bits - 1
    wanted = tuple(each.travel or Travel(0, top) for _, each in inner)
    order = [*surface.favoured, *(k.name for k in surface.knobs if k.name not in surface.favoured)]
    kept = {knob.name: 0 for knob in surface.knobs}
    for route in request.keep.routes:
        kept[route.knob] |= bit[route.destination]
    travels = {setting.knob: setting.travel for setting in request.keep.travels}
    previous: dict[str, int] = {}
    for route in request.previous.routes if request.previous else ():
        if route.destination in bit:
            previous[route.knob] = previous.get(route.knob, 0) | bit[route.destination]
    had = {each.knob: each.travel for each in request.previous.travels} if request.previous else {}
    if surface.travel_on == "route":
        had = {}  # a knob has no travel of its own
    moves = [(s, _union(masks, s.moves) & movable) for s in request.played]
    bundles = [mask for own in drawn for mask in own]
    everything, edited = (1 << len(names)) - 1, _union(masks, request.edited)
    routed = sum(previous.values())
    if request.in_use:
        # What one knob drives now is a bundle; of what it drove not, what came on one knob.
        bundles = [mask & ~edited for mask in previous.values()]
        bundles += [mask & ~routed for own in drawn for mask in own]
    stay = [mask & ~edited for mask in previous.values()] if request.in_use else []
    draft = Reading(
        names=names,
        destinations=tuple(each for _, each in inner),
        knobs=surface.knobs,
        weights=request.weights,
        per_knob=surface.destinations_per_knob,
        routes=surface.routes,
        voices=tuple(masks[voice.name] for voice in request.voices),
        groups=tuple(masks[group.name] for group in request.groups),
        kinds=tuple(kinds.values()),
        bundles=tuple(mask for mask in bundles if mask.bit_count() > 1),
        loads=(),
        stances=_stances(request, masks, [each for _, each in inner]),
        firm=tuple(mask for snapshot, mask in moves if snapshot.break_weight is None),
        soft=tuple((mask, s.break_weight) for s, mask in moves if s.break_weight is not None),
        rules=tuple(_read_rule(rule, masks) for rule in request.rules),
        kept=tuple(kept.values()),
        kept_travel=tuple(travels.get(name) if mask else None for name, mask in kept.items()),
        reserved=tuple(knob.name in surface.reserved for knob in surface.knobs),
        drawn=drawn,
        expendable=0,
        previous=tuple(previous.get(knob.name, 0) for knob in surface.knobs),
        previous_travel=tuple(had.get(knob.name) for knob in surface.knobs),
        edited=edited if request.in_use else 0,
        previous_bundles=tuple(previous.values()),
        steps=tuple(order.index(knob.name) for knob in surface.knobs),
        wanted=wanted,
        misses=(),
        top=top,
        on_routes=surface.travel_on == "route",
        in_use=request.in_use,
        joined=tuple(
            sum(mask & ~(1 << i) for mask in stay if mask >> i & 1) for i in range(len(names))
        ),
        lost=everything & ~routed & ~edited if request.in_use else 0,
        standing=tuple(
            0 if request.in_use and bit[name] & edited else (8, 4, 2, 1, 0)[each.priority - 1]
            for name, (_, each) in zip(names, inner, strict=True)
        ),
    )
    misses = tuple(tuple(miss(draft, i, other) for other in wanted) for i in range(len(names)))
    return attrs.evolve(
        draft, misses=misses, expendable=_expendable(draft), loads=tuple(_loads(draft))
    )


def _drawn(
    inner: Sequence[tuple[Voice, Destination]], bit: dict[str, int]
) -> tuple[tuple[int, ...], ...]:
    """What each knob of each source carried; those whose place is told first, in its order."""
    sources: dict[tuple[str, str], dict[str, tuple[int, list[int]]]] = {}
    for voice, each in inner:
        if each.source_knob is None:
            continue
        source = ("source", voice.source) if voice.source is not None else ("voice", voice.name)
        mask, places = sources.setdefault(source, {}).get(each.source_knob, (0, []))
        if each.source_place is not None:
            places.append(each.source_place)
        full = bit[f"{voice.name}/{each.name}"]
        sources[source][each.source_knob] = (mask | full, places)
    return tuple(
        tuple(mask for mask, places in sorted(knobs.values(), key=_told_place))
        for knobs in sources.values()
    )


def _told_place(knob: tuple[int, list[int]]) -> tuple[bool, int]:
    return (not knob[1], knob[1][0] if knob[1] else 0)


def _expendable(reading: Reading) -> int:
    held = sum(reading.kept)
    for each in reading.rules:
        if each.rule.weight is None and isinstance(each.rule, Fixed | Together):
            held |= each.first
    found = 0
    if reading.in_use:
        return 0
    for bit in range(len(reading.destinations)):
        bundle = next((each for each in reading.bundles if each >> bit & 1), 1 << bit)
        if not bundle & held and all(
            reading.destinations[other].priority == 5 and not reading.destinations[other].must_place
            for other in bits(bundle)
        ):
            found |= 1 << bit
    return found


def _stances(
    request: Request, masks: dict[str, int], destinations: Sequence[Destination]
) -> tuple[int, ...]:
    """What stands alike where it is held, a mask for each way.

    Of what a knob drove already it is known by the position of that knob. It stands so as well in
    the other snapshots, if there is one position; a level of which none is known, at 0.
    """
    if request.surface.travel_on == "route":
        return ()
    knobs = {each.destination: each.knob for each in request.keep.routes}
    knobs |= {r.destination: r.knob for r in (request.previous.routes if request.previous else ())}
    storing = [each for each in request.played if each.positions]
    movable = sum(1 << bit for bit, each in enumerate(destinations) if each.movable)
    found: dict[str, int] = {}
    for bit, (name, each) in enumerate(zip(request.by_full_name, destinations, strict=True)):
        row: list[int | str] = []
        for snapshot in storing:
            places = {place.knob: place.position for place in snapshot.positions}
            moves = _union(masks, snapshot.moves) & movable
            row.append("moves" if moves >> bit & 1 else places.get(knobs.get(name, ""), "unknown"))
        told = {at for at in row if isinstance(at, int)}
        level = {"amplitude", "level", "loudness", "volume"} & set(
            each.kind.lower().replace("-", " ").split()
        )
        if not storing or not (told or level):
            continue
        if len(told) < 2:
            row = [(told or {0}).copy().pop() if at == "unknown" else at for at in row]
        # Where it is not known to stand anywhere it stands no otherwise than what moves.
        way = repr(["moves" if at == "unknown" else at for at in row])
        found[way] = found.get(way, 0) | 1 << bit
    return tuple(found.values())


def _loads(reading: Reading) -> list[int]:
    """Bundles, and what is kept or preferred together, grown into each other until none overlap."""
    found = [1 << bit for bit in range(len(reading.names))]
    preferred = [each for each in reading.rules if each.rule.weight is not None]
    wished = [each.first for each in preferred if isinstance(each.rule, Together)]
    for mask in (*reading.bundles, *reading.kept, *wished):
        if mask:
            # They do not overlap, so that their sum is their union.
            one = sum(each for each in found if each & mask)
            found = [each for each in found if not each & mask] + [one]
    return found


def bits(mask: int) -> list[int]:
    """The positions of the bits of a mask, lowest first."""
    return [position for position in range(mask.bit_length()) if mask >> position & 1]


def miss(reading: Reading, bit: int, travel: Travel) -> int:
    """What a destination pays on a knob of this travel: hundredths of full travel, weighted.

    Nothing where it has its own travel on its route, whatever its knob does.
    """
    if reading.on_routes:
        return 0
    rate = reading.weights.travel[reading.destinations[bit].priority - 1]
    return rate * missed(reading.wanted[bit], travel, reading.top)


def missed(wanted: Travel, given: Travel, top: int) -> int:
    """How far the ends are off, and as much of what is wanted as lies outside, in hundredths."""
    off = abs(wanted.start - given.start) + abs(wanted.end - given.end)
    low, high = min(wanted.start, wanted.end), max(wanted.start, wanted.end)
    least, most = min(given.start, given.end), max(given.start, given.end)
    # Of the wanted positions, those below all that is given and those above it.
    off += max(0, min(high, least) - low) + max(0, high - max(low, most))
    return floor(Fraction(100 * off, top) + Fraction(1, 2))


def _read_rule(rule: Any, masks: dict[str, int]) -> ReadRule:
    if isinstance(rule, Apart):
        return ReadRule(rule, _union(masks, rule.first), _union(masks, rule.second))
    return ReadRule(rule, _union(masks, rule.names), 0)


def _union(masks: dict[str, int], names: Iterable[str]) -> int:
    union = 0
    for name in names:
        union |= masks[name]
    return union


def _masks_by_name(request: Request, bit: dict[str, int]) -> dict[str, int]:
    """The mask of each destination, voice and group."""
    masks = dict(bit)
    for voice in request.voices:
        masks[voice.name] = _union(
            bit, (f"{voice.name}/{each.name}" for each in voice.destinations)
        )
    members = {group.name: group.members for group in request.groups}

    def mask_of(name: str) -> int:
        if name not in masks:
            masks[name] = sum(
                1 << b for b in set().union(*(bits(mask_of(m)) for m in members[name]))
            )
        return masks[name]

    for name in members:
        mask_of(name)
    return masks
