"""Brute force: the best of all layouts of a small request, by trying every one.

A layout puts each destination on a knob or nowhere, so ``n`` destinations on ``k`` knobs have
``(k + 1) ** n`` of them. All are rows of one array, and what a knob costs is looked up in a table
made once for each mask: 6 destinations on 4 knobs (15,625 layouts) take some milliseconds.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache, partial

import attrs
import numpy as np
from numpy.typing import NDArray

from knobpack.words import Layout, Request, Travel
from tests.oracles import masks
from tests.oracles.reading import Reading, read

Numbers = NDArray[np.int64]
Totals = tuple[int, ...]
"""The tier values, the most important first."""

MOST_LAYOUTS = 2_000_000


@attrs.frozen
class Least:
    """The least tier values, tier by tier, and how many ways to place things reach them."""

    totals: Totals
    layouts: int


@attrs.frozen
class Price:
    """Whether one layout is valid, and its tier values."""

    valid: bool
    totals: Totals


@attrs.frozen(eq=False)
class Layouts:
    """Many layouts at once: one column each, one row a knob.

    Args:
        left_out: the mask of what each leaves out.
        on: the mask of what each puts on each knob.
        travels: the travel given for each knob; None: the kept or the cheapest.
    """

    left_out: Numbers
    on: tuple[Numbers, ...]
    travels: tuple[Travel | None, ...]

    def only(self, kept: NDArray[np.bool_]) -> Layouts:
        return Layouts(self.left_out[kept], tuple(each[kept] for each in self.on), self.travels)


def least(request: Request, *, short: bool = False) -> Least | None:
    """The best of all valid layouts; None where none is valid.

    Args:
        request: what is asked.
        short: whether what no knob could take may be left out, as where knobs are taken away.

    Raises:
        ValueError: there are more than two million layouts to try.
    """
    if not _stored(request) or not _layered(request):
        return None
    reading = read(request)
    if not short and masks.contradicted(reading):
        return None
    found = best_of(request, reading, valid_layouts(reading))
    return None if found is None else Least(found[0], len(found[1].left_out))


def valid_layouts(reading: Reading) -> Layouts:
    """All layouts of a small request that meet what knobs and routes demand.

    Raises:
        ValueError: there are more than two million layouts to try.
    """
    every = _all_layouts(len(reading.names), len(reading.knobs))
    return every.only(_valid(reading, every))


def best_of(request: Request, reading: Reading, layouts: Layouts) -> tuple[Totals, Layouts] | None:
    """The least tier values among some layouts, and those that have them; None: there are none."""
    totals = []
    for tier in _tiers(request):
        if not len(layouts.left_out):
            return None
        values = tier(reading, layouts)
        totals.append(int(values.min()))
        layouts = layouts.only(values == totals[-1])
    return tuple(totals), layouts


def upper_values(reading: Reading, layouts: Layouts) -> tuple[Numbers, ...]:
    """The values of the first four tiers of each layout."""
    return tuple(tier(reading, layouts) for tier in _TIERS[:4])


def price(request: Request, layout: Layout) -> Price:
    """The validity and the price of one layout of a request, of any size."""
    reading = read(request)
    position = {knob.name: index for index, knob in enumerate(reading.knobs)}
    on = [0] * len(position)
    for route in layout.routes:
        on[position[route.knob]] |= 1 << reading.names.index(route.destination)
    left_out = reading.everything & ~sum(on)
    travels: list[Travel | None] = [None] * len(position)
    for setting in layout.travels:
        travels[position[setting.knob]] = setting.travel
    one = Layouts(
        np.array([left_out], dtype=object),
        tuple(np.array([mask], dtype=object) for mask in on),
        tuple(travels),
    )
    valid = bool(_valid(reading, one)[0]) and _stored(request) and _layers_hold(request, layout)
    valid = valid and not masks.contradicted(reading)
    return Price(valid, tuple(int(tier(reading, one)[0]) for tier in _tiers(request)))


# Validity ---------------------------------------------------------------------------------------


def _stored(request: Request) -> bool:
    """Whether the surface can store the snapshots."""
    most = request.surface.snapshots
    return most is None or len(request.played) <= most


def _layered(request: Request) -> bool:
    """Whether each voice can have a layer. What a base keeps is refused by Request if it cannot."""
    most = request.surface.layers
    return most is None or len(request.voices) <= most


def _layers_hold(request: Request, layout: Layout) -> bool:
    """Whether the layers of a layout do, if it gives any."""
    if not layout.layers:
        return True
    given = {place.voice: place.layer for place in layout.layers}
    kept = {place.voice: place.layer for place in request.keep.layers}
    bases = {route.destination.split("/")[0] for route in request.keep.routes}
    for voice in request.voices:
        if voice.name in bases and voice.layer is not None:
            kept.setdefault(voice.name, voice.layer)
    most = request.surface.layers
    return (
        len(given) == len(request.voices)
        and len(set(given.values())) == len(given)
        and (most is None or max(given.values()) <= most)
        and all(given[voice] == layer for voice, layer in kept.items())
    )


def _valid(reading: Reading, layouts: Layouts) -> NDArray[np.bool_]:
    valid = _looked_up(partial(masks.may_be_left_out, reading), layouts.left_out).astype(bool)
    for knob, on in enumerate(layouts.on):
        valid &= _looked_up(partial(masks.fits, reading, knob), on).astype(bool)
        travel, kept = layouts.travels[knob], reading.kept_travel[knob]
        if travel is not None and kept is not None and travel != kept:
            valid &= False
    return valid


# The tiers --------------------------------------------------------------------------------------


def _unplaced(reading: Reading, layouts: Layouts) -> Numbers:
    return _looked_up(partial(masks.omission, reading), layouts.left_out)


def _bundles(reading: Reading, layouts: Layouts) -> Numbers:
    values = np.zeros(len(layouts.left_out), dtype=np.int64)
    for bundle in reading.bundles:
        values += sum(((on & bundle) != 0).astype(np.int64) for on in layouts.on)
        values += _looked_up(int.bit_count, layouts.left_out & bundle) - 1
    for on in layouts.on:
        values += _looked_up(partial(masks.intruding, reading), on)
    return values


def _independence(reading: Reading, layouts: Layouts) -> Numbers:
    values = np.zeros(len(layouts.left_out), dtype=np.int64)
    for on in layouts.on:
        values += _looked_up(partial(masks.breaks, reading), on)
    return values


def _sharing(reading: Reading, layouts: Layouts) -> Numbers:
    values = np.zeros(len(layouts.left_out), dtype=np.int64)
    for knob, (on, travel) in enumerate(zip(layouts.on, layouts.travels, strict=True)):
        values += _looked_up(partial(masks.sharing, reading, knob, travel=travel), on)
    for bundle, weight in masks.spreads(reading):
        used = sum(((on & bundle) != 0).astype(np.int64) for on in layouts.on)
        values += weight * np.maximum(used - 1, 0)
    return values + _looked_up(partial(masks.hidden, reading), layouts.left_out)


def _change(reading: Reading, layouts: Layouts) -> Numbers:
    bundle, routes = masks.changed(reading, sum(reading.previous_bundles))
    most = routes + bundle * sum(each & ~reading.edited != 0 for each in reading.previous_bundles)
    values = np.full(len(layouts.left_out), most, dtype=np.int64)
    for knob, (on, travel) in enumerate(zip(layouts.on, layouts.travels, strict=True)):
        values -= _looked_up(partial(masks.stays, reading, knob, travel=travel), on)
    return values


def _layout(reading: Reading, layouts: Layouts) -> Numbers:
    values = np.zeros(len(layouts.left_out), dtype=np.int64)
    for knob, on in enumerate(layouts.on):
        values += _looked_up(partial(masks.place, reading, knob), on)
    joined = masks.neighbours(reading)
    for word, weight in masks.run_words(reading):
        found = [(on & word) != 0 for on in layouts.on]
        runs = np.zeros(len(layouts.left_out), dtype=np.int64)
        for knob, here in enumerate(found):
            starts = here & ~found[knob - 1] if knob in joined else here
            runs += starts.astype(np.int64)
        values += weight * np.maximum(runs - 1, 0)
    for first, second in masks.pairs_in_sequence(reading):
        before, after = (_knob_of(layouts, bit) for bit in (first, second))
        directly = np.isin(after, joined) & (after == before + 1) | (after == before)
        steps = np.where(directly, 0, 1 + (after < before))
        values += reading.weights.sequence * np.where((before < 0) | (after < 0), 0, steps)
    return values


def _knob_of(layouts: Layouts, bit: int) -> Numbers:
    """The knob of one destination in each layout; -1: none."""
    found = np.full(len(layouts.left_out), -1, dtype=np.int64)
    for knob, on in enumerate(layouts.on):
        found[(on >> bit & 1).astype(bool)] = knob
    return found


_TIERS: tuple[Callable[[Reading, Layouts], Numbers], ...] = (
    _unplaced,
    _bundles,
    _independence,
    _sharing,
    _change,
    _layout,
)


_IN_USE = (_unplaced, _independence, _change, _bundles, _sharing, _layout)


def _tiers(request: Request) -> tuple[Callable[[Reading, Layouts], Numbers], ...]:
    """The tiers in the order in which they count for a request."""
    return _IN_USE if request.in_use else _TIERS


@lru_cache(maxsize=64)
def _all_layouts(destinations: int, knobs: int) -> Layouts:
    """Every way to put each destination on a knob, or nowhere."""
    count = (knobs + 1) ** destinations
    if count > MOST_LAYOUTS:
        raise ValueError(f"{count} layouts are too many for brute force")
    number = np.arange(count, dtype=np.int64)
    slots = [np.zeros(count, dtype=np.int64) for _ in range(knobs + 1)]
    for destination in range(destinations):
        number, digit = np.divmod(number, knobs + 1)
        for slot, mask in enumerate(slots):
            mask[digit == slot] |= 1 << destination
    return Layouts(slots[0], tuple(slots[1:]), (None,) * knobs)


def _looked_up(function: Callable[[int], int], on: Numbers) -> Numbers:
    """``function`` of every mask, each different mask worked out once."""
    known: dict[int, int] = {}
    if len(on) > 64:
        table = np.zeros(int(on.max()) + 1, dtype=np.int64)
        present = np.zeros(len(table), dtype=bool)
        present[on] = True
        for mask in np.flatnonzero(present).tolist():
            table[mask] = function(mask)
        return table[on]
    for mask in on.tolist():
        if mask not in known:
            known[mask] = function(mask)
    return np.array([known[mask] for mask in on.tolist()], dtype=np.int64)
