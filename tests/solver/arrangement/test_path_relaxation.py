"""The panel and what works on it: against every permutation of a few pieces."""

from __future__ import annotations

import random
from collections.abc import Sequence
from functools import cache
from itertools import pairwise, permutations

import numpy as np
import pytest
from numpy.typing import NDArray

from knobpack.solver.arrangement import local_search as shifting
from knobpack.solver.arrangement import ng_memory as grouping
from knobpack.solver.arrangement.bounded_dp import Filling
from knobpack.solver.arrangement.local_search import shifted
from knobpack.solver.arrangement.ng_memory import Unit
from knobpack.solver.arrangement.path_relaxation import QUANTUM, TOO_FAR, Panel, Pieces
from knobpack.solver.arrangement.subgradient import Multipliers, raised
from knobpack.solver.costs import FAR
from knobpack.solver.watch import Watch
from tests.oracles.problems import watch


def random_pieces(draw: random.Random) -> Pieces:
    """Three to six pieces on as many knobs or one more, in rows of five or so."""
    count = draw.randint(3, 6)
    knobs = count + (draw.randint(0, 1) if count < 6 else 0)
    costs = [
        [FAR if draw.random() < 0.1 else draw.randint(0, 40) for _ in range(knobs)]
        for _ in range(count)
    ]
    kinds = draw.randint(1, 4)
    runs = [[draw.random() < 0.4 for _ in range(kinds)] for _ in range(count)]
    order = draw.sample(range(count), draw.randint(0, count))
    pairs = {(a, b) for at, (a, b) in enumerate(pairwise(order)) if at != 2}
    # Some go round in circles.
    ends = [tuple(draw.sample(range(count), 2)) for _ in range(draw.choice((0, 0, 2, 5)))]
    in_order = sorted(pairs | {(one, other) for one, other in ends})
    return Pieces(
        np.array(costs, dtype=np.int64),
        np.array(runs, dtype=np.bool_),
        np.array([draw.choice((0, 10, 30)) for _ in range(kinds)], dtype=np.int64),
        [knob > 0 and draw.random() < 0.8 for knob in range(knobs)],
        np.zeros(knobs, dtype=np.int64),
        [Unit()] * count,
        [1 << piece for piece in range(count)],
        in_order,
        np.array([draw.choice((5, 5, 25)) for _ in in_order], dtype=np.int64),
    )


def no_pairs() -> tuple[list[tuple[int, int]], NDArray[np.int64]]:
    """That nothing is to come in sequence."""
    return [], np.zeros(0, dtype=np.int64)


def price(pieces: Pieces, on: tuple[int, ...]) -> int:
    """What pieces on knobs cost by the definition; numbers past the last piece are holes."""
    total = 0
    for knob, piece in enumerate(on):
        total += int(pieces.costs[piece, knob]) if piece < len(pieces.costs) else 0
    for kind, weight in enumerate(pieces.weights.tolist()):
        here = [piece < len(pieces.runs) and bool(pieces.runs[piece, kind]) for piece in on]
        starts = here[0] + sum(
            now and not (before and pieces.beside[knob + 1])
            for knob, (before, now) in enumerate(pairwise(here))
        )
        total += weight * max(0, starts - 1)
    for (one, other), apart in zip(pieces.pairs, pieces.apart.tolist(), strict=True):
        first, second = on.index(one), on.index(other)
        directly = second == first + 1 and pieces.beside[second]
        total += apart * (0 if directly else 1 if first < second else 2)
    return min(total, FAR)


def least(pieces: Pieces) -> int:
    return min(price(pieces, on) for on in permutations(range(len(pieces.empty))))


def some_falls(draw: np.random.Generator, panel: Panel) -> NDArray[np.float64]:
    """What the prices of being early fall by, somehow."""
    order = panel.precedence
    falls = draw.integers(-2, 20, (len(order.apart), panel.knobs))
    return order.within(np.float64(QUANTUM / 3) * falls)


def some_prices(panel: Panel, draw: np.random.Generator | None = None) -> Multipliers:
    """Multipliers to start with: none, or such as nobody would choose."""
    if draw is None:
        return Multipliers.none(panel)
    return Multipliers(draw.integers(-9, 10, len(panel.demand)) * QUANTUM, some_falls(draw, panel))


def neighbours(panel: Panel, path: Sequence[int]) -> int:
    """What a path costs, if it is one of an arrangement or not, but for what is turned round."""
    total = int(panel.costs[range(panel.knobs), path].sum()) - panel.first_runs
    for knob, node in enumerate(path):
        beside = knob > 0 and panel.beside[knob]
        total += int(panel.begins[path[knob - 1], node] if beside else panel.alone[node])
    return total


def as_nodes(panel: Panel, on: tuple[int, ...]) -> list[int]:
    node = {int(piece): at for at, piece in enumerate(panel.order)}
    return [node.get(piece, panel.nodes - 1) for piece in on]


@cache
def case(seed: int) -> tuple[Pieces, int]:
    """Some pieces and what their best arrangement costs."""
    pieces = random_pieces(random.Random(seed))  # noqa: S311 (no secret)
    return pieces, least(pieces)


def panels(seeds: range) -> list[tuple[int, Pieces, Panel, int]]:
    found = [(seed, case(seed)[0], Panel(case(seed)[0]), case(seed)[1]) for seed in seeds]
    assert sum(best < FAR for *_, best in found) > len(found) // 2
    assert any(panel.pieces < panel.nodes for _, _, panel, _ in found)
    return found


@pytest.fixture(params=[1, 4, 200], autouse=True)
def _largest(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """All holds however little is remembered."""
    monkeypatch.setattr(grouping.blocks, "__defaults__", (request.param,))


def test_an_arrangement_costs_what_the_definition_says() -> None:
    for seed, pieces, panel, _ in panels(range(40)):
        draw = random.Random(seed)  # noqa: S311 (no secret)
        for _ in range(20):
            on = tuple(draw.sample(range(panel.knobs), panel.knobs))
            cost = panel.cost(as_nodes(panel, on))
            assert min(cost, FAR) == min(price(pieces, on) * QUANTUM, FAR)


def test_no_prices_give_a_bound_that_is_too_high() -> None:
    for seed, _, panel, best in panels(range(60)):
        for far in (0, 20, 400):
            draw = np.random.default_rng(seed)
            prices = draw.integers(-far, far + 1, len(panel.demand)) * QUANTUM // 10
            early = panel.precedence.early(some_falls(draw, panel))
            to_go = panel.to_go(prices, early)
            bound = panel.bound(to_go)
            assert bound <= best * QUANTUM
            if bound < TOO_FAR:
                path = panel.path(to_go)
                # All but what is turned round is seen as it is, that as the prices say.
                missed = prices @ panel.missed(path)
                order = panel.precedence
                paid = order.paid(early)[range(panel.knobs), path].sum() + order.sure
                assert neighbours(panel, path) + missed + paid == bound


def test_a_raised_bound_is_one() -> None:
    met = 0
    for seed, _, panel, best in panels(range(60)):
        upper = (best + seed % 9) * QUANTUM if best < FAR else 10_000 * QUANTUM
        found = raised(panel, some_prices(panel), upper, 150, watch())
        assert found.bound <= best * QUANTUM
        if found.path is not None:
            assert panel.cost(found.path) == found.bound == best * QUANTUM
        met += found.path is not None or found.bound > (best - 1) * QUANTUM
    assert met > 30


def test_what_is_filled_is_the_best_or_bounded() -> None:
    proven = put_off = 0
    for seed, _, panel, best in panels(range(60)):
        draw = np.random.default_rng(seed)
        to_go = some_prices(panel, draw).to_go(panel)
        filling = Filling(panel, [])
        for room in (1, 3, 10_000):
            found = filling.best(to_go, FAR, room, watch())
            assert found.bound <= best * QUANTUM
            if found.path is not None:
                assert panel.cost(found.path) == found.cost >= best * QUANTUM
                assert not panel.missed(found.path).any()
            if room > 3:
                assert (found.path is None) == (best == FAR)
                assert min(found.cost, FAR) == min(best * QUANTUM, FAR)
                proven += found.bound == found.cost
            else:
                put_off += found.bound < min(found.cost, FAR)
        if best < FAR:
            none = filling.best(to_go, best * QUANTUM, 10_000, watch())
            assert (none.path, none.bound) == (None, best * QUANTUM)
    assert proven > 30
    assert put_off > 30


def test_a_watch_that_is_over_leaves_a_bound() -> None:
    for _, _, panel, best in panels(range(10)):
        to_go = panel.to_go(np.zeros(len(panel.demand), dtype=np.int64))
        found = Filling(panel, []).best(to_go, FAR, 10, Watch(0.0))
        assert found.path is None
        assert found.bound <= best * QUANTUM


def test_steps_make_it_cheaper_and_end_where_no_swap_helps() -> None:
    gained = 0
    for seed, pieces, panel, best in panels(range(60)):
        if best == FAR:
            continue
        draw = random.Random(seed)  # noqa: S311 (no secret)
        begun = as_nodes(panel, tuple(draw.sample(range(panel.knobs), panel.knobs)))
        found = shifted(panel, begun, watch())
        assert sorted(found) == sorted(begun)
        cost = panel.cost(found)
        gained += cost < panel.cost(begun)
        assert cost >= best * QUANTUM
        if cost < TOO_FAR:
            for a in range(panel.knobs):
                for b in range(a):
                    swapped = list(found)
                    swapped[a], swapped[b] = found[b], found[a]
                    assert panel.cost(swapped) >= cost, (seed, pieces)
    assert gained > 20


def test_every_step_costs_what_is_looked_up() -> None:
    tried = 0
    for seed, _, panel, _ in panels(range(60)):
        draw = random.Random(seed)  # noqa: S311 (no secret)
        path = np.array(as_nodes(panel, tuple(draw.sample(range(panel.knobs), panel.knobs))))
        [steps] = shifting.steps_on(panel.knobs, tuple(panel.beside), Watch(1.0))
        saved = shifting.saved_by(shifting.numbers_of(panel, path), steps).tolist()
        for at, cost in enumerate(saved):
            first, middle, other, end = (
                int(each[at]) for each in (steps.first, steps.middle, steps.other, steps.end)
            )
            then = [*path[:first], *path[other:end], *path[middle:other], *path[first:middle]]
            then = [int(node) for node in (*then, *path[end:])]
            assert sorted(then) == sorted(path.tolist())
            if max(panel.cost(then), panel.cost(path.tolist())) < TOO_FAR:
                assert panel.cost(then) - panel.cost(path.tolist()) == cost
                tried += 1
    assert tried > 500


def test_what_is_passed_of_a_choice_must_be_one_way() -> None:
    # One piece in any case, and two of three: the first two, or the last two.
    pieces = Pieces(
        np.array([[0, 9, 9], [9, 0, 9], [9, 9, 9], [9, 9, 0]], dtype=np.int64),
        np.zeros((4, 1), dtype=np.bool_),
        np.array([10], dtype=np.int64),
        [False, True, True],
        np.zeros(3, dtype=np.int64),
        [Unit(), Unit(3, (0b011, 0b110))],
        [0b001, 0b010, 0b100, 0b010],
        *no_pairs(),
    )
    panel = Panel(pieces)
    node = {int(piece): at for at, piece in enumerate(panel.order)}
    assert panel.complete([node[0], node[2], node[3]])
    assert not panel.complete([node[0], node[1], node[3]])
