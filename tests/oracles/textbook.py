"""The textbook model: one boolean for each destination and knob, every cost made linear.

It is the plainest way to write the problem as a mixed whole-number programme, and slow: knobs are
interchangeable and its bound is weak. It shares nothing with the solver, the checker or the brute
force, and goes further than the last.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations

import attrs

from knobpack.words import Alone, Apart, Barred, Fixed, Request, Together, Travel
from tests.oracles.linear import Sum, minimise, number, total
from tests.oracles.textbook_model import NOTHING, ONE, Model, demand


@attrs.frozen
class TextbookTier:
    """What one tier came to: its value, a bound below it, and whether the two meet."""

    value: int
    bound: int | None
    proven: bool


def solve(request: Request, seconds: float = 60.0) -> tuple[TextbookTier, ...] | None:
    """The tiers, the most important first; None where the request is impossible.

    The tiers end after the first that is not proven within ``seconds``: those after it would
    mean nothing. They may so be none at all.
    """
    surface = request.surface
    if surface.layers is not None and len(request.voices) > surface.layers:
        return None
    if surface.snapshots is not None and len(request.played) > surface.snapshots:
        return None
    model = Model(request)
    demand(model)
    found: list[TextbookTier] = []
    for tier in (_unplaced, _independence, _sharing, _change, _layout):
        goal = tier(model)
        solved = minimise(model.programme, goal, seconds)
        if solved.status == "impossible":
            if found:
                raise ArithmeticError("a tier that was met before cannot be met again")
            return None
        if solved.value is None:
            break
        proven = solved.status == "solved"
        found.append(TextbookTier(solved.value, solved.bound, proven))
        if not proven:
            break
        model.programme.equal(goal, number(solved.value))
    return tuple(found)


def _unplaced(model: Model) -> Sum:
    weights = model.request.weights.unplaced
    return total(
        weights[model.inner(name).priority - 1] * (ONE - model.placed[name]) for name in model.names
    )


def _independence(model: Model) -> Sum:
    cost = NOTHING
    for snapshot in model.request.played:
        if snapshot.break_weight is None:
            continue
        moved = model.request.moved(snapshot)
        for knob in model.knobs:
            follows = model.programme.boolean()
            for name in model.names:
                wrong = ONE - follows if name in moved else follows
                cost += snapshot.break_weight * model.both(model.x[name, knob], wrong)
    return cost


def _sharing(model: Model) -> Sum:
    return total(_sharing_on(model, knob) for knob in model.knobs) + _spread(model)


def _sharing_on(model: Model, knob: str) -> Sum:
    request, used = model.request, model.used[knob]
    weights = request.weights
    by_kind: dict[str, list[str]] = {}
    for name in model.names:
        by_kind.setdefault(model.inner(name).kind, []).append(name)
    kinds = total(model.any_of(tuple(names), knob) for names in by_kind.values())
    voices = total(model.any_of(request.named([voice.name]), knob) for voice in request.voices)
    carried = total(model.x[name, knob] for name in model.names)
    cost = weights.mix_kinds * (kinds - used) + weights.mix_voices * (voices - used)
    cost += weights.crowd * (carried - used) + _mismatch(model, knob)
    for rule in request.rules:
        if rule.weight is None:
            continue
        if isinstance(rule, Apart):
            for one, other in model.pairs(rule.first, rule.second):
                cost += rule.weight * model.both(model.x[one, knob], model.x[other, knob])
        if isinstance(rule, Alone):
            inside = request.named(rule.names)
            outside = tuple(name for name in model.names if name not in inside)
            mixed = model.both(model.any_of(inside, knob), model.any_of(outside, knob))
            cost += rule.weight * mixed
    return cost


def _mismatch(model: Model, knob: str) -> Sum:
    """The knob takes one of the travels wanted on it, unless the base's travel is kept."""
    request = model.request
    if any(route.knob == knob for route in request.keep.routes):
        for setting in request.keep.travels:
            if setting.knob == knob:
                return total(
                    _missed(model, name, setting.travel) * model.x[name, knob]
                    for name in model.names
                )
    wanting: dict[Travel, list[str]] = {}
    for name in model.names:
        wanting.setdefault(request.wanted(name), []).append(name)
    taken = {travel: model.programme.boolean() for travel in wanting}
    model.programme.equal(total(taken.values()), model.used[knob])
    cost = NOTHING
    for travel, takes in taken.items():
        on = total(model.x[name, knob] for name in wanting[travel])
        model.programme.at_most(takes, on)
        for name in model.names:
            price = _missed(model, name, travel)
            if price:
                cost += price * model.both(model.x[name, knob], takes)
    return cost


def _missed(model: Model, name: str, travel: Travel) -> int:
    wanted = model.request.wanted(name)
    off = abs(wanted.start - travel.start) + abs(wanted.end - travel.end)
    exact = Fraction(off * 100, model.request.surface.top)
    hundredths = int(exact)
    if exact - hundredths >= Fraction(1, 2):
        hundredths += 1
    return hundredths * model.request.weights.travel[model.inner(name).priority - 1]


def _spread(model: Model) -> Sum:
    bundles: dict[tuple[str | None, str], list[str]] = {}
    for voice in model.request.voices:
        for each in voice.destinations:
            if each.source_knob is not None:
                bundle = bundles.setdefault((voice.source, each.source_knob), [])
                bundle.append(voice.full_name(each))
    weight = model.request.weights.split
    cost = total(weight * _more_than_one(model, tuple(names)) for names in bundles.values())
    for rule in model.request.rules:
        if isinstance(rule, Together) and rule.weight is not None:
            cost += rule.weight * _more_than_one(model, model.request.named(rule.names))
    return cost


def _more_than_one(model: Model, names: tuple[str, ...]) -> Sum:
    """The knobs that carry any of these, less one if there are any."""
    if len(names) < 2:
        return NOTHING
    knobs = total(model.any_of(names, knob) for knob in model.knobs)
    return knobs - model.either([model.placed[name] for name in names])


def _change(model: Model) -> Sum:
    cost = NOTHING
    for route in model.request.previous.routes if model.request.previous else ():
        if route.destination in model.request.destinations:
            cost += ONE - model.x.get((route.destination, route.knob), NOTHING)
    return cost


def _layout(model: Model) -> Sum:
    request, weights = model.request, model.request.weights
    cost = total(
        weight * _runs(model, request.named([word.name]))
        for words, weight in (
            (request.voices, weights.voice_runs),
            (request.groups, weights.group_runs),
        )
        for word in words
    )
    usual = {kind for knob in request.surface.knobs for kind in knob.usual}
    ranked = list(request.surface.favoured)
    ranked += [knob for knob in model.knobs if knob not in request.surface.favoured]
    for (name, knob_name), x in model.x.items():
        each = model.inner(name)
        cost += (weights.favour * ranked.index(knob_name) * (5 - each.priority)) * x
        knob = request.surface.knobs[model.knobs.index(knob_name)]
        if each.kind in usual and each.kind not in knob.usual:
            cost += weights.habit * x
    for rule in request.rules:
        if rule.weight is None or not isinstance(rule, Fixed | Barred):
            continue
        wrong = set(rule.knobs) if isinstance(rule, Barred) else set(model.knobs) - {rule.knob}
        for name in request.named(rule.names):
            cost += total(rule.weight * model.x[name, knob] for knob in sorted(wrong))
    return cost


def _runs(model: Model, names: tuple[str, ...]) -> Sum:
    """The runs in which these are found, less one if there are any."""
    if not names:
        return NOTHING
    here = {knob: model.any_of(names, knob) for knob in model.knobs}
    joined = [
        model.both(here[left.name], here[right.name])
        for left, right in combinations(model.request.surface.knobs, 2)
        if left.row == right.row and right.column - left.column == 1
    ]
    found = model.either([model.placed[name] for name in names])
    return total(here.values()) - total(joined) - found
