"""What a layout costs, term by term, and what it costs beside another, from a request as bits.

Written anew from the definitions: nothing of the plain checker or its prices is used. Each tier is
added up and held against :func:`tests.oracles.brute.price`, which knows no terms.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import lru_cache
from itertools import pairwise

from knobpack.explanation.comparison import Comparison, TermChange
from knobpack.words import Barred, Fixed, Layout, Request, Route, Together
from tests.oracles import brute, masks
from tests.oracles.reading import Reading, bits
from tests.oracles.reasons_layouts import read_once

TIERS = ("unplaced", "bundles", "independence", "sharing", "change", "layout")
IN_USE_TIERS = ("unplaced", "independence", "change", "bundles", "sharing", "layout")
Places = Mapping[str, str]
"""The knob of each destination that is placed."""
Terms = dict[tuple[str, str, str], int]
"""Tier, term and what it is about, and what it costs."""


def order_of(request: Request) -> tuple[str, ...]:
    """The tiers in the order in which they count for a request."""
    return IN_USE_TIERS if request.in_use else TIERS


def valid(request: Request, places: Places) -> bool:
    """Whether a layout meets every demand."""
    return _priced(request, tuple(places.items())).valid


def totals_of(request: Request, places: Places) -> tuple[int, ...]:
    """The tier values of a layout, valid or not, every knob at the kept or cheapest travel."""
    return _priced(request, tuple(places.items())).totals


@lru_cache(maxsize=4096)
def _priced(request: Request, places: tuple[tuple[str, str], ...]) -> brute.Price:
    return brute.price(request, Layout(tuple(Route(name, knob) for name, knob in places)))


def on_each(reading: Reading, places: Places) -> list[int]:
    """The mask of what each knob carries."""
    on = [0] * len(reading.knobs)
    for bit, name in enumerate(reading.names):
        for number, knob in enumerate(reading.knobs):
            on[number] |= (1 << bit) * (places.get(name) == knob.name)
    return on


def terms_of(request: Request, places: Places) -> Terms:
    """Each term that a layout costs anything for.

    Raises:
        ArithmeticError: they do not add up to what brute force says that the tiers cost.
    """
    return _terms(request, tuple(places.items()))


@lru_cache(maxsize=4096)
def _terms(request: Request, given: tuple[tuple[str, str], ...]) -> Terms:
    reading, places = read_once(request), dict(given)
    found: Terms = {}
    for tier, term, what, price in _every_term(request, reading, on_each(reading, places), places):
        if price:
            found[tier, term, what] = found.get((tier, term, what), 0) + price
    order = order_of(request)
    added = tuple(sum(p for (tier, _, _), p in found.items() if tier == each) for each in order)
    if added != totals_of(request, places):
        raise ArithmeticError(f"the terms add up to {added}, not {totals_of(request, places)}")
    return found


def _every_term(
    request: Request, reading: Reading, on: list[int], places: Places
) -> Iterator[tuple[str, str, str, int]]:
    left_out = reading.everything & ~sum(on)
    for bit in bits(left_out):
        yield "unplaced", "omission", reading.names[bit], masks.omission(reading, 1 << bit)
        yield "sharing", "omission", reading.names[bit], masks.hidden(reading, 1 << bit)
    yield from _bundle_terms(request, reading, on)
    moved = _moved_masks(request, reading)
    for snapshot in request.played:
        mask = moved[snapshot.name]
        for knob, carried in zip(reading.knobs, on, strict=True):
            what = f"snapshot '{snapshot.name}' on {knob.name}"
            wrong = masks.wronged(reading, carried, mask)
            yield "independence", "break", what, wrong * (snapshot.break_weight or 0)
    for number, carried in enumerate(on):
        for term, price in masks.sharing_terms(reading, number, carried).items():
            yield "sharing", term, reading.knobs[number].name, price
    for each in reading.rules:
        if isinstance(each.rule, Together) and each.rule.weight is not None:
            spread = sum(1 for carried in on if carried & each.first)
            yield "sharing", "together", str(each.rule), each.rule.weight * max(0, spread - 1)
    yield from _change_terms(request, reading, on, places)
    yield from _place_terms(request, reading, on)
    yield from _sequence_terms(reading, on)


def _bundle_terms(
    request: Request, reading: Reading, on: list[int]
) -> Iterator[tuple[str, str, str, int]]:
    own = {1 << bit: 1 << bit for bit in bits(reading.everything)}
    for what, mask in bundles_of(request):
        own |= {1 << bit: mask for bit in bits(mask)}
        left_out = (mask & ~sum(on)).bit_count()
        price = sum(1 for carried in on if carried & mask) + left_out - 1
        yield "bundles", "parted", what, price
    for carried in on:
        for bit in bits(carried & reading.expendable):
            yield "bundles", "intruding", reading.names[bit], int(bool(carried & ~own[1 << bit]))


def _change_terms(
    request: Request, reading: Reading, on: list[int], places: Places
) -> Iterator[tuple[str, str, str, int]]:
    """A travel set anew is a point; routes count their importance and more, bundles most."""
    previous = request.previous or Layout()
    before = [each for each in previous.routes if each.destination in reading.names]
    drove: dict[str, list[bool]] = {}
    keeps = set()
    for route in before:
        stays = places.get(route.destination) == route.knob
        keeps |= {route.knob} if stays else set()
        bit = 1 << reading.names.index(route.destination)
        if not bit & reading.edited:
            drove.setdefault(route.knob, []).append(stays)
        price = masks.changed(reading, bit)[1]
        yield "change", "change", route.destination, price * (not stays)
    for knob, stay in drove.items():
        yield "change", "moved", knob, masks.changed(reading, 0)[0] * (not all(stay))
    had = {each.knob: each.travel for each in previous.travels}
    for number, name in enumerate(each.name for each in reading.knobs):
        comes = reading.in_use and on[number] & ~reading.previous[number]
        if name in had and name in keeps and not comes:
            kept = reading.kept_travel[number]
            prices = masks.misses(reading, number, on[number])
            same = prices.get(had[name]) == min(prices.values())
            yield "change", "reset", name, int(kept != had[name] if kept else not same)


def _sequence_terms(reading: Reading, on: list[int]) -> Iterator[tuple[str, str, str, int]]:
    at = {bit: knob for knob, carried in enumerate(on) for bit in bits(carried)}
    joined = masks.neighbours(reading)
    for own in reading.drawn:
        heads = [bits(mask)[0] for mask in own]
        for before, after in pairwise(heads):
            if before in at and after in at:
                one, other = at[before], at[after]
                late = other != one and not (other == one + 1 and other in joined)
                weight = reading.weights.sequence * (late + (other < one))
                yield "layout", "sequence", reading.names[after], weight


def bundles_of(request: Request) -> list[tuple[str, int]]:
    """What each bundle is called, and its mask; two may be called the same."""
    return [
        (f"bundle of {knob} in {source or voice}", mask)
        for (source, voice, knob), mask in bundle_keys(request)
    ]


def bundle_keys(request: Request) -> list[tuple[tuple[str | None, str, str], int]]:
    """The source, first voice and knob of each bundle with its mask.

    Of a layout in use, what each of its knobs drove, less what is edited; then what is new.
    """
    found: dict[tuple[str | None, str | None, str], tuple[str, int]] = {}
    inner = [(voice, each) for voice in request.voices for each in voice.destinations]
    at: dict[str, str] = {}
    if request.in_use and request.previous is not None:
        at = {route.destination: route.knob for route in request.previous.routes}
    edited = request.named(request.edited)
    for bit, (voice, each) in enumerate(inner):
        name = f"{voice.name}/{each.name}"
        if name in at and name not in edited:
            there = ("the setup", None, at[name])
            found[there] = ("", found.get(there, ("", 0))[1] | 1 << bit)
        elif name not in at and each.source_knob is not None:
            own = (voice.source, None if voice.source else voice.name, each.source_knob)
            first, mask = found.get(own, (voice.name, 0))
            found[own] = (first, mask | 1 << bit)
    return [
        ((source, first, knob), mask)
        for (source, _, knob), (first, mask) in found.items()
        if mask.bit_count() > 1
    ]


def _moved_masks(request: Request, reading: Reading) -> dict[str, int]:
    """What moves in each snapshot: the firm ones and the others are read apart, in order."""
    firm, soft = list(reading.firm), [mask for mask, _ in reading.soft]
    return {
        each.name: firm.pop(0) if each.break_weight is None else soft.pop(0)
        for each in request.played
    }


def _place_terms(
    request: Request, reading: Reading, on: list[int]
) -> Iterator[tuple[str, str, str, int]]:
    weights, joined = reading.weights, masks.neighbours(reading)
    words = [("voice_runs", each.name, weights.voice_runs) for each in request.voices]
    words += [("group_runs", each.name, weights.group_runs) for each in request.groups]
    of_word = (*reading.voices, *reading.groups)
    for (term, name, weight), mask in zip(words, of_word, strict=True):
        found = [bool(carried & mask) for carried in on]
        starts = [
            here and not (knob in joined and found[knob - 1]) for knob, here in enumerate(found)
        ]
        yield "layout", term, name, weight * max(0, sum(starts) - 1)
    usual = {kind for knob in reading.knobs for kind in knob.usual}
    for knob, carried in enumerate(on):
        for bit in bits(carried):
            inner = reading.destinations[bit]
            pull = weights.favour * reading.steps[knob] * (5 - inner.priority)
            yield "layout", "favour", reading.names[bit], pull
            strange = inner.kind in usual and inner.kind not in reading.knobs[knob].usual
            yield "layout", "habit", reading.names[bit], weights.habit * strange
        for each in reading.rules:
            rule, name = each.rule, reading.knobs[knob].name
            hit = (rule.weight or 0) * (carried & each.first).bit_count()
            if isinstance(rule, Fixed):
                yield "layout", "fixed", str(rule), hit * (rule.knob != name)
            if isinstance(rule, Barred):
                yield "layout", "barred", str(rule), hit * (name in rule.knobs)


def wrong_in_comparison(
    answer: Comparison, before: Terms, after: Terms, tiers: tuple[str, ...] = TIERS
) -> Iterator[str]:
    """All that is wrong in what a layout is said to cost beside another, in these tiers."""
    if answer.order != tiers:
        yield f"the tiers are {tiers}, not {answer.order}"
        return
    for told, terms in ((answer.before, before), (answer.after, after)):
        right = tuple(sum(p for (tier, _, _), p in terms.items() if tier == t) for t in tiers)
        if told != right:
            yield f"the tiers cost {right}, not {told}"
            return
    wanted = {
        TermChange(*key, before.get(key, 0), after.get(key, 0))
        for key in {*before, *after}
        if before.get(key, 0) != after.get(key, 0)
    }
    if set(answer.terms) != wanted or len(answer.terms) != len(wanted):
        yield f"terms: {set(answer.terms) ^ wanted}"
        return
    order = [(tiers.index(each.tier), -abs(each.after - each.before)) for each in answer.terms]
    if order != sorted(order):
        yield "the terms are not in order"
    differing = [n for n in range(len(tiers)) if answer.before[n] != answer.after[n]]
    tier = tiers[differing[0]] if differing else None
    amount = answer.after[differing[0]] - answer.before[differing[0]] if differing else 0
    if (answer.tier, answer.amount) != (tier, amount):
        yield f"{answer.tier} {answer.amount} decides, not {tier} {amount}"
    if answer.rank != tuple(answer.after[n] - answer.before[n] for n in range(len(tiers))):
        yield "the rank is wrong"
