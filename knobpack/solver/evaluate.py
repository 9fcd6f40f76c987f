"""What a placement is worth, tier by tier, worked out knob by knob in plain whole numbers."""

from __future__ import annotations

from collections.abc import Mapping

from knobpack.numbered.problem import Problem, bits
from knobpack.solver.outcome import Values


def values_of(problem: Problem, knobs: Mapping[int, int]) -> Values:
    """The values of the tiers when each item of ``knobs`` is on its knob, the rest nowhere.

    Args:
        problem: the costs.
        knobs: the knob of each item that is placed.
    """
    on: dict[int, int] = {}
    for item, knob in knobs.items():
        on[knob] = on.get(knob, 0) | 1 << item
    travels = {knob: _travel(problem, knob, items) for knob, items in on.items()}
    worth = {
        "unplaced": _unplaced,
        "bundles": _bundles,
        "independence": _breaks,
        "sharing": _sharing,
        "change": _change,
        "layout": _layout,
    }
    first, second, third, fourth, fifth, sixth = (
        worth[tier](problem, on, travels) for tier in problem.order
    )
    return first, second, third, fourth, fifth, sixth


On = Mapping[int, int]
"""The mask of what each used knob carries."""

Travels = Mapping[int, int]
"""The position of the travel of each used knob."""


def _placed(on: On) -> int:
    placed = 0
    for items in on.values():
        placed |= items
    return placed


def _travel(problem: Problem, knob: int, items: int) -> int:
    """The travel that a knob takes: the kept one, or else the best of those that it may have."""
    if knob in problem.kept_travels:
        return problem.kept_travels[knob]
    there = problem.travels_there.get(knob)
    had = {before.knob: before for before in problem.before}.get(knob)
    stays = had is not None and bool(had.items & items)
    if there is not None and had is not None and items | had.items == had.items:
        return there  # in use, where nothing new comes, it stays before what is missed
    wanted = [problem.wanted[item] for item in bits(items)]
    options = wanted if there is None else [*wanted, there]
    before = None if had is None else had.travel

    def price(travel: int) -> tuple[int, bool]:
        return _missed(problem, items, travel), stays and travel != before

    return min(options, key=price)


def _missed(problem: Problem, items: int, travel: int) -> int:
    prices = problem.travel_prices[travel]
    return sum(prices[item] for item in bits(items))


def _unplaced(problem: Problem, on: On, _: Travels) -> int:
    placed = _placed(on)
    return sum(atom.omission for atom in problem.atoms if not atom.items & placed)


def _bundles(problem: Problem, on: On, _: Travels) -> int:
    placed = _placed(on)
    strays = sum(atom.strays for atom in problem.atoms if not atom.items & placed)
    return strays + sum(
        sum(1 for items in on.values() if items & bundle) - 1 for bundle in problem.bundles
    )


def _breaks(problem: Problem, on: On, _: Travels) -> int:
    return sum(
        weight * _wronged(problem, items, moved)
        for moved, weight in problem.breakable
        for items in on.values()
    )


def _wronged(problem: Problem, items: int, moved: int) -> int:
    """How many of a set do the wrong thing in a snapshot.

    What has nothing against it on the knob but what it was joined to before does not count.
    """
    moving, held = items & moved, items & ~moved
    follows = moving.bit_count() > held.bit_count()
    wronged, others = (held, moving) if follows else (moving, held)
    if not problem.joined:
        return wronged.bit_count()
    return sum(1 for item in bits(wronged) if others & ~problem.joined[item])


def _sharing(problem: Problem, on: On, travels: Travels) -> int:
    placed = _placed(on)
    price = sum(atom.hidden for atom in problem.atoms if not atom.items & placed)
    for knob, items in on.items():
        price += sum(weight for mask, weight in problem.classes if mask & items)
        price += sum(problem.each[item] for item in bits(items)) - problem.first
        price += _missed(problem, items, travels[knob]) + problem.heaped(items)
        price += sum(weight for own, weight in problem.intrusions if own & items and items & ~own)
        price += sum(
            each for (a, b), each in problem.pairs.items() if items >> a & 1 and items >> b & 1
        )
    for spread in problem.spreads:
        used = sum(1 for items in on.values() if items & spread.items)
        price += spread.weight * max(0, used - 1)
    return price


def _change(problem: Problem, on: On, travels: Travels) -> int:
    cost = 0
    for before in problem.before:
        stay = 0 if before.knob is None else before.items & on.get(before.knob, 0)
        gone = before.items & ~stay
        cost += problem.a_bundle * (gone & before.bundle != 0) + problem.elsewhere(gone)
        if stay and before.knob is not None and before.travel is not None:
            comes = problem.in_use and stay != on[before.knob]
            cost += travels[before.knob] != before.travel and not comes
    return cost


def _layout(problem: Problem, on: On, _: Travels) -> int:
    at = {item: knob for knob, items in on.items() for item in bits(items)}
    price = sum(
        problem.places[item][knob] + problem.pulls[item] * problem.steps[knob]
        for item, knob in at.items()
    )
    for items, weight in problem.runs:
        used = {at[item] for item in bits(items) if item in at}
        starts = sum(not (problem.beside[knob] and knob - 1 in used) for knob in used)
        price += weight * max(0, starts - 1)
    for earlier, later in problem.sequence:
        if earlier in at and later in at:
            one, other = at[earlier], at[later]
            directly = other == one + 1 and problem.beside[other]
            steps = 0 if other == one or directly else 2 if other < one else 1
            price += steps * problem.out_of_sequence
    return price
