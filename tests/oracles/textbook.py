"""The textbook model: one boolean for each destination and knob, every cost made linear.

It is the plainest way to write the problem as a mixed whole-number programme, and slow: knobs are
interchangeable and its bound is weak. It shares nothing with the solver, the checker or the brute
force, and goes further than the last.
"""

from __future__ import annotations

from fractions import Fraction
from itertools import combinations, pairwise, product

import attrs
import networkx as nx

from knobpack.words import Alone, Apart, Barred, Fixed, Request, Together, Travel
from tests.oracles.linear import Sum, minimise, number, total
from tests.oracles.textbook_model import NOTHING, ONE, Model, contradicted, demand
from tests.oracles.textbook_sources import dispensable, drawn


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

    Raises:
        ValueError: it is an edit of a layout in use, of which this model knows nothing.
    """
    if request.in_use:
        raise ValueError("the textbook model knows no layout in use")
    surface = request.surface
    if surface.layers is not None and len(request.voices) > surface.layers:
        return None
    if surface.snapshots is not None and len(request.played) > surface.snapshots:
        return None
    if contradicted(request):
        return None
    model = Model(request)
    demand(model)
    found: list[TextbookTier] = []
    for tier in (_unplaced, _bundles, _independence, _sharing, _change, _layout):
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
    named = [name for name in model.names if model.inner(name).priority < 5]
    return total(
        weights[model.inner(name).priority - 1] * (ONE - model.placed[name]) for name in named
    )


def _bundles(model: Model) -> Sum:
    """A bundle pays for each knob and each stray but one; what is dispensable for its company."""
    bundles = [names for own in drawn(model.request) for names in own if len(names) > 1]
    cost = NOTHING
    for names in bundles:
        cost += total(model.any_of(names, knob) for knob in model.knobs)
        cost += total(ONE - model.placed[name] for name in names) - ONE
    for name in sorted(dispensable(model.request, bundles)):
        own = next((names for names in bundles if name in names), (name,))
        others = tuple(each for each in model.names if each not in own)
        for knob in model.knobs:
            cost += model.both(model.x[name, knob], model.any_of(others, knob))
    return cost


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
    on = total(_sharing_on(model, knob) for knob in model.knobs)
    left_out = total(ONE - model.placed[n] for n in model.names if model.inner(n).priority == 5)
    return on + _spread(model) + max(model.request.weights.crowd - 1, 0) * left_out


def _loads(request: Request, names: tuple[str, ...]) -> list[tuple[str, ...]]:
    """Bundles, those kept or preferred together as one, and each other destination by itself."""
    on: dict[str, list[str]] = {}
    for route in request.keep.routes:
        on.setdefault(route.knob, []).append(route.destination)
    bundles = [bundle for own in drawn(request) for bundle in own]
    preferred = [rule for rule in request.rules if rule.weight is not None]
    wished = [request.named(rule.names) for rule in preferred if isinstance(rule, Together)]
    graph: nx.Graph[str] = nx.Graph()
    graph.add_nodes_from(names)
    for bound in (*bundles, *on.values(), *wished):
        nx.add_path(graph, bound)
    return [tuple(sorted(part)) for part in nx.connected_components(graph)]


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
    each = [model.any_of(names, knob) for names in _loads(request, model.names)]
    cost += weights.join * (total(each) - used)
    for count in range(3, len(each) + 1):  # the third load pays once, the fourth twice, and so on
        cost += weights.heap * (count - 2) * _as_many(model, each, count)
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


def _as_many(model: Model, each: list[Sum], count: int) -> Sum:
    """One if so many of these hold, or more; it may be one elsewhere."""
    reached = model.programme.boolean()
    most = len(each) - count + 1
    model.programme.at_most(total(each) - most * reached, number(count - 1))
    return reached


def _mismatch(model: Model, knob: str) -> Sum:
    """What the destinations on a knob miss under the travel that it takes."""
    cost = NOTHING
    for travel, takes in model.takes[knob].items():
        for name in model.names:
            price = _missed(model, name, travel)
            if price:
                cost += price * model.both(model.x[name, knob], takes)
    return cost


def _missed(model: Model, name: str, travel: Travel) -> int:
    if model.request.surface.travel_on == "route":
        return 0  # it goes over the travel of its own route
    wanted = model.request.wanted(name)
    off = abs(wanted.start - travel.start) + abs(wanted.end - travel.end)
    exact = Fraction(off * 100, model.request.surface.top)
    hundredths = int(exact)
    if exact - hundredths >= Fraction(1, 2):
        hundredths += 1
    return hundredths * model.request.weights.travel[model.inner(name).priority - 1]


def _spread(model: Model) -> Sum:
    cost = NOTHING
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
    """First what knobs drove, then routes, then travels: each outweighs all that comes after it.

    Sharing is at its least by now, so each knob takes a travel that is cheapest on it.
    """
    previous = model.request.previous
    if previous is None:
        return NOTHING
    drove: dict[str, list[Sum]] = {}
    for route in previous.routes:
        if route.destination in model.names:
            stay = model.x.get((route.destination, route.knob), NOTHING)
            drove.setdefault(route.knob, []).append(stay)
    above = 1 + sum(len(stays) for stays in drove.values())
    cost = NOTHING
    for stays in drove.values():
        gone = [ONE - stay for stay in stays]
        cost += above**2 * model.either(gone) + above * total(gone)
    on_knobs = model.request.surface.travel_on == "knob"
    for setting in previous.travels if on_knobs else ():
        if setting.knob in model.knobs:
            keeps_some = model.either(drove.get(setting.knob, []))
            same = model.takes[setting.knob].get(setting.travel, NOTHING)
            cost += model.both(keeps_some, ONE - same)
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
    return cost + _sequence(model)


def _sequence(model: Model) -> Sum:
    """What came next in a source: on the same knob, or on the next one of the row, or it pays."""
    knobs = model.request.surface.knobs
    cost = NOTHING
    for own in drawn(model.request):
        for (before, *_), (after, *_) in pairwise(own):
            for (i, one), (j, other) in product(enumerate(knobs), repeat=2):
                next_to = i + 1 == j and one.row == other.row and other.column == one.column + 1
                steps = 0 if i == j or next_to else 1 + (j < i)
                if steps * model.request.weights.sequence:
                    lies = model.both(model.x[before, one.name], model.x[after, other.name])
                    cost += (steps * model.request.weights.sequence) * lies
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
