"""Precedence: what it counts in any case, against every order; and the nearest allowed prices."""

from __future__ import annotations

import random
from itertools import permutations, product

import numpy as np

from knobpack.solver.arrangement.precedence import Precedence


def pairs_of(draw: random.Random, count: int) -> dict[tuple[int, int], int]:
    """Some pairs of so many elements, and what each weighs."""
    every = [(one, other) for one in range(count) for other in range(count) if one != other]
    return {pair: draw.randint(1, 4) for pair in draw.sample(every, draw.randint(2, len(every)))}


def precedence(parts: list[int], pairs: dict[tuple[int, int], int]) -> Precedence:
    """That of nodes made of some elements each, as masks."""
    count = max(parts).bit_length()
    cover = np.array([[mask >> each & 1 for mask in parts] for each in range(count)])
    return Precedence(cover, list(pairs), np.array(list(pairs.values())))


def test_cycles_cost_no_more_than_the_best_order() -> None:
    exact = 0
    for seed in range(60):
        draw = random.Random(seed)  # noqa: S311 (no secret)
        count = draw.randint(2, 5)
        order = precedence([1 << at for at in range(count)], pairs_of(draw, count))
        least = min(order.turned(np.array(path)) for path in permutations(range(count)))
        assert order.sure <= least
        assert order.sure + order.open.sum() <= order.apart.sum()
        exact += order.sure == least > 0
    assert exact > 20


def test_one_of_a_cycle_is_turned_round_and_the_dearest_need_not_be() -> None:
    # The least feedback arc set of one directed cycle is its lightest arc (by definition).
    order = precedence([1, 2, 4], {(0, 1): 5, (1, 2): 3, (2, 0): 7})
    assert (order.sure, order.open.tolist()) == (3, [2, 0, 4])
    # Where a node joins two of it, nothing need be turned round.
    order = precedence([1, 2, 4, 3, 4], {(0, 1): 5, (1, 0): 3})
    assert order.sure == 0


def test_prices_of_being_early_never_ask_for_more_than_what_is_turned_round() -> None:
    tight = 0
    for seed in range(60):
        draw = random.Random(seed)  # noqa: S311 (no secret)
        count = draw.randint(2, 5)
        order = precedence([1 << at for at in range(count)], pairs_of(draw, count))
        falls = np.random.default_rng(seed).uniform(-1, 4, (len(order.apart), count))
        early = order.early(order.within(falls))
        assert (early <= order.open[:, None]).all()
        assert (np.diff(early, axis=1) <= 0).all()
        for path in permutations(range(count)):
            paid = order.paid(early)[np.arange(count), np.array(path)].sum()
            turned = order.turned(np.array(path))
            assert order.sure + paid <= turned
            tight += bool(order.sure + paid == turned > order.sure)
    assert tight > 0


def test_the_nearest_prices_are_the_nearest() -> None:
    # A point of a convex set is nearest if all the set lies on its far side (variational
    # inequality of a projection; from memory). The corners of the set are enough to look at.
    order = precedence([1, 2], {(0, 1): 6})
    draw = np.random.default_rng(0)
    for _ in range(200):
        falls = draw.uniform(-5, 9, (1, 4))
        near = order.within(falls)
        assert (near >= 0).all()
        assert near.sum() <= 6 + 1e-9
        corners = [np.zeros(4), *(6 * np.eye(4))]
        assert all(float(((falls - near)[0] * (each - near[0])).sum()) < 1e-9 for each in corners)


def test_how_far_seconds_are_ahead_is_counted_knob_by_knob() -> None:
    order = precedence([1, 2], {(0, 1): 6})
    for first, second in product(range(2), repeat=2):
        assert order.ahead([first, second]).tolist() == [[first * 2 - 1, 2 * (first + second) - 2]]
