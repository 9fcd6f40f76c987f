"""Components of what is to come in sequence: against every order, and every arrangement."""

from __future__ import annotations

import random
from collections.abc import Iterator
from functools import cache
from itertools import pairwise, permutations

import attrs
import numpy as np
import pytest

from knobpack.solver.arrangement import ng_memory, orders
from knobpack.solver.arrangement.bounded_dp import Filling
from knobpack.solver.arrangement.ng_memory import Unit
from knobpack.solver.arrangement.orders import Component, components_of, eased, next_shares
from knobpack.solver.arrangement.path_relaxation import QUANTUM, Panel, Pieces
from knobpack.solver.arrangement.subgradient import Multipliers, raised
from knobpack.solver.costs import FAR
from tests.oracles.problems import watch
from tests.solver.arrangement.test_path_relaxation import least, random_pieces


@pytest.fixture(autouse=True)
def _forgetful(monkeypatch: pytest.MonkeyPatch) -> None:
    """The path remembers as little as can be."""
    monkeypatch.setattr(ng_memory.blocks, "__defaults__", (1,))


@cache
def drawn(seed: int) -> tuple[Pieces, int]:
    """Pieces in rows, and what their best arrangement costs."""
    pieces = random_pieces(random.Random(seed))  # noqa: S311 (no secret)
    return pieces, least(pieces)


def with_shares(seeds: range) -> Iterator[tuple[Panel, list[Component], int]]:
    """Panels of pieces that are to come in sequence, the path seeing any share of it."""
    for seed in seeds:
        pieces, best = drawn(seed)
        draw = random.Random(seed)  # noqa: S311 (no secret)
        panel = Panel(pieces)
        found = components_of(panel)
        if found:
            shares = (0, 16, 64, QUANTUM)
            yield panel, [attrs.evolve(own, seen=draw.choice(shares)) for own in found], best


def in_order(after: list[list[int]], order: tuple[int, ...]) -> int:
    """What an order of a few nodes costs by the definition, in points."""
    total = 0
    for at, one in enumerate(order):
        for place, other in enumerate(order):
            steps = 0 if place == at + 1 else 1 if place > at else 2
            total += after[one][other] * steps
    return total


def test_a_component_costs_what_the_best_of_all_orders_does() -> None:
    some = 0
    for seed in range(80):
        panel = Panel(drawn(seed)[0])
        after = (panel.precedence.after // QUANTUM).tolist()
        for own in components_of(panel):
            every = [in_order(after, order) for order in permutations(own.nodes.tolist())]
            assert own.whole == min(every)
            some += own.whole > 0
    assert some > 20


def test_of_a_choice_the_best_way_counts() -> None:
    # A piece that is there in any case, and two of three: the second comes after it in either.
    pieces = Pieces(
        np.zeros((4, 3), dtype=np.int64),
        np.zeros((4, 1), dtype=np.bool_),
        np.array([10], dtype=np.int64),
        [False, True, True],
        np.zeros(3, dtype=np.int64),
        [Unit(), Unit(3, (0b011, 0b110))],
        [0b0001, 0b0010, 0b1100, 0b0010],
        [(0, 1), (1, 0), (2, 0)],
        np.array([7, 5, 3], dtype=np.int64),
    )
    (own,) = components_of(Panel(pieces))
    # The third before the first, and right after that the second: its way back is turned round.
    assert own.whole == 2 * 5


def test_no_arrangement_costs_less_however_little_the_path_sees() -> None:
    met = compared = 0
    for panel, components, best in with_shares(range(120)):
        part = eased(panel, components)
        counted = sum(own.least for own in components)
        upper = best if best < FAR else 10_000
        found = raised(part, Multipliers.none(part), upper * QUANTUM - counted, 100, watch())
        assert found.bound + counted <= best * QUANTUM or found.bound >= FAR // 2
        met += found.bound + counted > (best - 1) * QUANTUM
        compared += 1
    assert compared > 60
    assert met > 10


def test_what_is_filled_is_the_best_or_bounded_and_costs_what_it_does() -> None:
    proven = put_off = 0
    for panel, components, best in with_shares(range(120)):
        part = eased(panel, components)
        to_go = Multipliers.none(part).to_go(part)
        filling = Filling(part, components)
        for room in (1, 3, 10_000):
            found = filling.best(to_go, FAR, room, watch())
            assert found.bound <= best * QUANTUM
            if found.path is not None:
                assert panel.cost(found.path) == found.cost >= best * QUANTUM
            if room > 3:
                assert min(found.cost, FAR) == min(best * QUANTUM, FAR)
                proven += found.bound == found.cost
            else:
                put_off += found.bound < min(found.cost, FAR)
    assert proven > 40
    assert put_off > 30


def test_what_goes_on_from_a_set_adds_up_to_what_the_order_costs() -> None:
    draw = random.Random(0)  # noqa: S311 (no secret)
    for panel, components, _ in with_shares(range(40)):
        after = (panel.precedence.after // QUANTUM).tolist()
        for own in (attrs.evolve(each, seen=0) for each in components):
            order = draw.sample(own.nodes.tolist(), len(own.nodes))
            total, sets, last = own.least, np.zeros(1, dtype=np.int64), len(own.nodes)
            for node in order:
                place = int(own.place[node])
                other, inside = own.dearer(sets, np.array([last]), ends=False)
                assert int(other[0]) >= 0 <= int(other[0] + inside[0, place])
                total += int(other[0] + inside[0, place])
                sets, last = own.joined[sets, place], place
            assert total == in_order(after, tuple(order)) * QUANTUM


def in_a_row(
    count: int, pairs: list[tuple[int, int]], only: dict[int, int] | None = None
) -> Pieces:
    """Pieces on as many knobs in a row, each pair at 5 points, and some on one knob only."""
    costs = np.zeros((count, count), dtype=np.int64)
    for piece, knob in (only or {}).items():
        costs[piece] = np.where(np.arange(count) == knob, 0, FAR)
    return Pieces(
        costs,
        np.zeros((count, 1), dtype=np.bool_),
        np.array([10], dtype=np.int64),
        [knob > 0 for knob in range(count)],
        np.zeros(count, dtype=np.int64),
        [Unit()] * count,
        [1 << piece for piece in range(count)],
        pairs,
        np.array([5] * len(pairs), dtype=np.int64),
    )


def test_the_path_is_left_more_where_it_sees_more() -> None:
    def shares(pieces: Pieces, best: int) -> tuple[list[int], list[int]]:
        panel = Panel(pieces)
        first = components_of(panel)
        part = eased(panel, first)
        counted = sum(own.least for own in first)
        found = raised(part, Multipliers.none(part), best * QUANTUM - counted, 60, watch())
        return [own.whole for own in first], next_shares(part, first, found)

    # What five are to follow is not passed once only: the path lets each follow it.
    assert shares(in_a_row(6, [(0, at) for at in range(1, 6)]), 20) == (
        [20],
        [QUANTUM // orders.STEP],
    )
    # By themselves two could follow each other; on these knobs they cannot.
    assert shares(in_a_row(4, [(0, 1)], {0: 0, 1: 3}), 5) == ([0], [QUANTUM])


def test_what_is_counted_is_more_than_what_the_path_sees() -> None:
    panel = Panel(in_a_row(6, [(0, at) for at in range(1, 6)]))
    (own,) = components_of(panel)
    bounds = []
    for seen in (QUANTUM, 64, 16):
        part = attrs.evolve(own, seen=seen)
        less, upper = eased(panel, [part]), 20 * QUANTUM - part.least
        found = raised(less, Multipliers.none(less), upper, 60, watch())
        bounds.append(found.bound + part.least)
    assert bounds[0] < bounds[1] < bounds[2] <= 20 * QUANTUM
    assert bounds[2] > 19 * QUANTUM


def test_what_has_too_many_sets_is_left_to_the_path() -> None:
    count = 17
    assert 1 << count > orders.MOST_SETS
    assert components_of(Panel(in_a_row(count, list(pairwise(range(count)))))) == []
