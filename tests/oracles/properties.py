"""What must hold between the answers to two requests, whatever those answers are.

Each property asks about a request and about others made from it (``alterations.py``), and says
what is wrong, or None. Its docstring is the sentence that says why it must hold. Nothing here
knows how an answer is found, so a falsified answerer can be given as well.
"""

from __future__ import annotations

import random
from collections.abc import Callable

import attrs

from knobpack.allocator import allocate_request
from knobpack.checker import check
from knobpack.clash import ImpossibleDemands
from knobpack.words import Apart, Barred, Fixed, Layout, Request, Rule
from knobpack.words.edits import with_knobs, without_rule, without_snapshot
from tests.oracles import alterations as made

Values = tuple[int, ...]


@attrs.frozen
class Answer:
    """What was answered: the values of all tiers, proven least, and the layout."""

    values: Values
    layout: Layout


Answerer = Callable[[Request], Answer | None]
"""Answers a request; None: it is impossible."""
Property = Callable[[Answerer, Request, random.Random], str | None]
WORST: Values = (10**12,)
"""Beyond every answer: that of an impossible request."""


def answered(request: Request) -> Answer | None:
    """What knobpack answers. All must be proven, or nothing could be said."""
    try:
        found = allocate_request(request)
    except ImpossibleDemands:
        return None
    if not found.proven:
        raise ArithmeticError("this request is too hard to say anything about")
    return Answer(tuple(tier.value for tier in found.tiers), found.layout)


def _values(answer: Answer | None, tiers: int | None = None) -> Values:
    return WORST if answer is None else answer.values[:tiers]


def _same(answer: Answerer, one: Request, other: Request) -> str | None:
    first, second = _values(answer(one)), _values(answer(other))
    return None if first == second else f"{first} became {second}"


def _no_worse(
    answer: Answerer, freer: Request, asked: Request, tiers: int | None = None
) -> str | None:
    first, second = _values(answer(asked), tiers), _values(answer(freer), tiers)
    return None if second <= first else f"{first} became {second}, which is worse"


def _open(request: Request) -> bool:
    """Whether some knob may take a new route."""
    return not set(request.surface.knob_names) <= set(request.surface.reserved)


# The same question in other words ---------------------------------------------------------------


def renaming(answer: Answerer, request: Request, draw: random.Random) -> str | None:
    """No definition looks at what a name is, only at which names are the same.

    That a kind is a level shows in its name, and levels are to be silent where they are held.
    """
    request = made.with_nothing_held(request)
    call = made.new_names(draw)
    before, after = answer(request), answer(made.with_names(request, call))
    if before is None or after is None:
        return None if before is after else "possible under one set of names only"
    if before.values != after.values:
        return f"{before.values} became {after.values}"
    same = made.with_names(before.layout, call) == after.layout
    return None if same else "the layout is another"


def reordering(answer: Answerer, request: Request, draw: random.Random) -> str | None:
    """Every demand and price is a set or a sum, and those have no order; the order in which the
    knobs of a source are named stands for their order on its panel, so that costs nothing here.
    """  # noqa: D205 (one sentence)
    plain = made.without_sequence(request)
    return _same(answer, plain, made.reordered(plain, draw))


def scaling(answer: Answerer, request: Request, draw: random.Random) -> str | None:
    """A tier is a sum with each of its weights once as a factor, and no tier is added to another,
    so the layouts keep their order and each value its factor; the tiers bundles and change have no
    weights. What is hidden costs a point less than the weight crowd: there is nothing hidden here,
    or that weight is none.
    """  # noqa: D205 (one sentence)
    if draw.random() < 0.5:
        request = made.with_nothing_hidden(request)
    else:
        request = attrs.evolve(request, weights=attrs.evolve(request.weights, crowd=0))
    most = made.MOST_WEIGHT // max(1, *made.weights_of(request))
    factors = tuple(draw.choice((1, draw.randint(1, max(1, most)), max(1, most))) for _ in range(4))
    unplaced, independence, sharing, layout = factors
    before = answer(attrs.evolve(request, snapshots=request.played))
    after = answer(made.scaled(request, (unplaced, independence, sharing, layout)))
    if before is None or after is None:
        return None if before is after else "possible at one scale only"
    by = (unplaced, 1, independence, sharing, 1, layout)
    right = tuple(k * value for k, value in zip(by, before.values, strict=True))
    return None if after.values == right else f"{after.values} and not {right}"


def mirroring(answer: Answerer, request: Request, draw: random.Random) -> str | None:
    """In a mirror the same knobs stand side by side, and the order of reach is given by name; a
    panel that is turned about has the opposite order, as have sources that are read backwards.
    """  # noqa: D205 (one sentence)
    left_right, top_bottom = draw.choice(((True, False), (False, True), (True, True)))
    if left_right and top_bottom:
        return _same(answer, request, made.mirrored(made.backwards(request), True, True))
    plain = made.without_sequence(request)
    return _same(answer, plain, made.mirrored(plain, left_right, top_bottom))


def resolution(answer: Answerer, request: Request, draw: random.Random) -> str | None:
    """Between the ends of the range a miss is 0, 100 or 200 hundredths at every resolution."""
    bits = draw.sample(range(2, 33), 2)
    return _same(answer, *(made.at_bits(request, each) for each in bits))


def asking_twice(answer: Answerer, request: Request, _: random.Random) -> str | None:
    """What is demanded is met or not, however often it is demanded."""
    once = attrs.evolve(request, surface=attrs.evolve(request.surface, snapshots=None))
    return _same(answer, once, made.asked_twice(request))


def splitting_rules(answer: Answerer, request: Request, _: random.Random) -> str | None:
    """Barred and Fixed speak of each destination by itself, and so does a required Apart of each
    pair, so a rule for each says the same.
    """  # noqa: D205 (one sentence)
    rules: list[Rule] = []
    for rule in request.rules:
        if isinstance(rule, Barred | Fixed):
            rules += [attrs.evolve(rule, names=(name,)) for name in request.named(rule.names)]
        elif isinstance(rule, Apart) and rule.weight is None:
            first, second = request.named(rule.first), request.named(rule.second)
            rules += [Apart((a,), (b,)) for a in first for b in second if a != b]
        else:
            rules.append(rule)
    return _same(answer, request, attrs.evolve(request, rules=tuple(rules)))


# More or less -----------------------------------------------------------------------------------


def an_unused_knob(answer: Answerer, request: Request, _: random.Random) -> str | None:
    """A reserved knob takes no route, stands beside none, and comes last in the order of reach."""
    return _same(answer, request, made.with_reserved_knob(request))


def a_knob_more(answer: Answerer, request: Request, _: random.Random) -> str | None:
    """Every layout stays valid at the same price, the new knob being empty and last in reach; but
    where no knob was open before, it may be told now what is contradicted on every knob.
    """  # noqa: D205 (one sentence)
    freer = with_knobs(request)
    if not _open(request) and answer(freer) is None:
        return None
    return _no_worse(answer, freer, request)


def a_rule_less(answer: Answerer, request: Request, draw: random.Random) -> str | None:
    """Every layout stays valid and costs no more; a preferred rule has a price in one tier, so
    those before it stay as they are. What is hidden, and demanded by that rule alone, may be left
    out then, and so must join nothing any more: only what is left out beside it is no worse. What
    it preferred together is several loads again, so that *sharing* may cost more.
    """  # noqa: D205 (one sentence)
    if not request.rules:
        return None
    rule = draw.choice(request.rules)
    asked = attrs.evolve(request, snapshots=request.played)
    freer = without_rule(asked, rule)
    if rule.weight is not None:
        tier = 5 if isinstance(rule, Fixed | Barred) else 3
        before, after = (_values(answer(each), tier) for each in (asked, freer))
        if before != after:
            return f"{before} became {after}, before the tier of {rule}"
    same = freer.expendable == asked.expendable
    tiers = None if freer.loads == asked.loads else 3
    return _no_worse(answer, freer, asked, tiers=tiers if same else 1)


def a_snapshot_less(answer: Answerer, request: Request, draw: random.Random) -> str | None:
    """Every layout stays valid and costs no more; a breakable snapshot has no part in the first
    two tiers.
    """  # noqa: D205 (one sentence)
    if not request.played:
        return None
    snapshot = draw.choice(request.played)
    asked = attrs.evolve(request, surface=attrs.evolve(request.surface, snapshots=None))
    freer = without_snapshot(asked, snapshot.name)
    if snapshot.break_weight is not None:
        before, after = (_values(answer(each), 2) for each in (asked, freer))
        if before != after:
            return f"{before} became {after}, before independence"
    return _no_worse(answer, freer, asked)


def a_limit_less(answer: Answerer, request: Request, _: random.Random) -> str | None:
    """Every layout stays valid at the same price; but where all knobs were reserved before, it may
    be told now what is contradicted on every knob.
    """  # noqa: D205 (one sentence)
    surface = attrs.evolve(
        request.surface, reserved=(), destinations_per_knob=None, routes=None, layers=None
    )
    freer = attrs.evolve(request, surface=surface)
    if not _open(request) and answer(freer) is None:
        return None
    return _no_worse(answer, freer, request)


def a_destination_more(answer: Answerer, request: Request, draw: random.Random) -> str | None:
    """Without it every layout stays valid and costs no more in the first three tiers, nor in the
    fourth unless its travel was taken; in the layout tier it may close a gap in a run. Only where
    what is hidden came with it on one knob may more have been worth joining with it than without.
    """  # noqa: D205 (one sentence)
    if not request.voices:
        return None
    request = attrs.evolve(request, snapshots=request.played)
    free = attrs.evolve(request, weights=attrs.evolve(request.weights, travel=(0,) * 5))
    more = made.with_destination(request, draw)
    if not request.expendable <= more.expendable:
        return _no_worse(answer, request, more, tiers=1)
    wrong = _no_worse(answer, request, more, tiers=3)
    if wrong is None:
        more = attrs.evolve(more, weights=free.weights)
        wrong = _no_worse(answer, free, more, tiers=4)
    return wrong


def something_hidden(answer: Answerer, request: Request, draw: random.Random) -> str | None:
    """It takes a knob that is free and joins nothing, so it costs what it costs to leave it out,
    or less, and all else costs what it did.
    """  # noqa: D205 (one sentence)
    asked = attrs.evolve(
        request,
        snapshots=request.played,
        surface=attrs.evolve(request.surface, layers=None, routes=None),
    )
    before, after = answer(asked), answer(made.with_something_hidden(asked, draw))
    if before is None or after is None:
        return None if before is after else "possible with or without it only"
    more = after.values[3] - before.values[3]
    if before.values[:3] == after.values[:3] and 0 <= more <= request.weights.hidden:
        return None
    return f"{before.values} became {after.values}"


def requiring_bundles(answer: Answerer, request: Request, _: random.Random) -> str | None:
    """Where no bundle had to be parted, nothing is lost by demanding that none is."""
    found = answer(request)
    if found is None or found.values[1]:
        return None
    again = _values(answer(made.with_bundles_required(request)))
    return None if again == found.values else f"{found.values} became {again}"


def own_travels(answer: Answerer, request: Request, _: random.Random) -> str | None:
    """Where each route has a travel of its own, all is as if to miss one on a knob cost nothing.

    What a knob went over before is another matter, and so is where it stands: it is looked at
    without.
    """
    plain = made.with_nothing_held(request)
    bare = attrs.evolve(plain, previous=None, in_use=False, edited=())
    free = attrs.evolve(bare, weights=attrs.evolve(bare.weights, travel=(0,) * 5))
    return _same(answer, made.on_routes(bare), free)


def halves(answer: Answerer, request: Request, draw: random.Random) -> str | None:
    """What never shares a knob costs, on so many knobs, the least over all divisions of them."""
    from tests.oracles.strategies import SIZES, Choices, small_request

    other = small_request(Choices(draw.randint), SIZES[:6])
    knobs, per_knob = draw.randint(0, 4), draw.choice((None, None, 2))
    a = made.plain_half(request, "a", request.weights)
    b = made.plain_half(other, "b", request.weights)
    whole = _values(answer(made.on_row(made.both(a, b), knobs, per_knob)), 4)
    if knobs and any(answer(made.on_row(each, knobs, per_knob)) is None for each in (a, b)):
        # What is contradicted on a panel is not on one that has no knob.
        return None if whole == WORST else f"{whole}, and a half is impossible by itself"
    sums = [WORST]
    for given in range(knobs + 1):
        one = answer(made.on_row(a, given, per_knob))
        rest = answer(made.on_row(b, knobs - given, per_knob))
        if one is not None and rest is not None:
            sums.append(tuple(map(sum, zip(one.values[:4], rest.values[:4], strict=True))))
    return None if whole == min(sums) else f"{whole} and not {min(sums)}"


# The answer given back --------------------------------------------------------------------------


def staying(answer: Answerer, request: Request, _: random.Random) -> str | None:
    """The answer is still best, and changes nothing, but what is known of how things stood."""
    request = made.with_nothing_held(request)
    found = answer(request)
    if found is None:
        return None
    again = _values(answer(attrs.evolve(request, previous=found.layout)))
    right = (*found.values[:4], 0, found.values[5])
    return None if again == right else f"{again} and not {right}"


def keeping(answer: Answerer, request: Request, _: random.Random) -> str | None:
    """The answer meets every demand, its own travels and layers too, and nothing else is better,
    but that what is hidden and kept may be joined, which can lie better at the same price. What is
    kept together is no loss, and stands as its knob does.
    """  # noqa: D205 (one sentence)
    found = answer(request)
    if found is None:
        return None
    kept = attrs.evolve(request, keep=found.layout)
    if not check(kept, found.layout).valid:
        return "the answer is not valid where it is kept"
    again = answer(kept)
    if again is None:
        return "it cannot be kept"
    if not set(found.layout.routes) <= set(again.layout.routes):
        return "what was kept is elsewhere"
    free, bound = (check(each, found.layout).prices.knobs for each in (request, kept))
    lost = sum(each.join + each.essential + each.held for each in free)
    lost -= sum(each.held for each in bound)
    right = (*found.values[:3], found.values[3] - lost, *found.values[4:])
    if kept.expendable != request.expendable and again.values[:4] == right[:4]:
        return None if again.values <= right else f"{again.values} is worse"
    return None if again.values == right else f"{again.values} and not {right}"


PROPERTIES: tuple[Property, ...] = (
    *(renaming, reordering, scaling, mirroring, resolution, asking_twice, splitting_rules),
    *(an_unused_knob, a_knob_more, a_rule_less, a_snapshot_less, a_limit_less),
    *(a_destination_more, something_hidden, requiring_bundles, own_travels, halves),
    *(staying, keeping),
)
