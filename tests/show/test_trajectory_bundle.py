"""A bundle of trajectories: its bids lead to the least there is of the linear programme."""

from __future__ import annotations

import numpy as np
import pytest
from scipy.optimize import linprog  # type: ignore[import-untyped]

from knobpack.show import trajectory_bundle
from knobpack.show.trajectory_bundle import ProximalBundle, Vector

ROWS, CAP = 6, 3.0


def drawn(seed: int, count: int) -> tuple[Vector, Vector, list[int]]:
    """What each trajectory has in each row, what it costs, and its class."""
    chance = np.random.default_rng(seed)
    pieces = (chance.random((count, ROWS)) < 0.5).astype(np.float64)
    costs = np.where(pieces.sum(axis=1), chance.integers(1, 9, count), 0.0)
    return pieces, costs, chance.integers(0, 2, count).tolist()


def bundle(pieces: Vector, costs: Vector, class_of: list[int]) -> ProximalBundle:
    low = np.array([-np.inf] * 4 + [0.0] * 2)
    made = ProximalBundle(
        np.ones(ROWS), low, np.full(ROWS, CAP), np.array([1, 2, 1, 1, 0.5, 1]), (2, 1)
    )
    named = enumerate(zip(class_of, pieces, costs, strict=True))
    made.add({(number, (at,)): (row, float(cost)) for at, (number, row, cost) in named})
    return made


def least(pieces: Vector, costs: Vector, class_of: list[int]) -> float:
    """The most that a bound can be: all prices, and what the knobs of each class are worth."""
    here = np.eye(2)[class_of]
    bounds = [(None, CAP)] * 4 + [(0, CAP)] * 2 + [(0, None)] * 2
    found = linprog([-1] * ROWS + [2, 1], np.hstack((pieces, -here)), costs, bounds=bounds)
    return -float(found.fun)


def climbed(made: ProximalBundle, bids: int) -> tuple[float, float]:
    """The best bound after so many bids, and what the last one promised at most."""
    centre, worth, most = np.zeros(ROWS), -0.0, np.inf
    for _ in range(bids):
        bid = made.bid(centre, worth, 1.0)
        most = bid.most
        if bid.worth > worth:
            centre, worth = bid.prices, bid.worth
    return worth, most


@pytest.mark.parametrize("seed", range(25))
def test_bids_lead_to_the_best_bound_and_never_above_it(seed: int) -> None:
    pieces, costs, class_of = drawn(seed, 30)
    made = bundle(pieces, costs, class_of)
    best = least(pieces, costs, class_of)
    worth, most = climbed(made, 60)
    assert best - 0.02 <= worth <= best + 1e-6
    assert worth - 1e-6 <= most <= best + 0.02


def test_prices_stay_within_their_limits() -> None:
    pieces, costs, class_of = drawn(3, 30)
    bid = bundle(pieces, costs, class_of).bid(np.zeros(ROWS), 0.0, 100.0)
    assert (bid.prices <= CAP).all()
    assert (bid.prices[4:] >= 0).all()


def test_what_is_of_no_use_is_forgotten_and_what_is_of_use_is_not(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    pieces, costs, class_of = drawn(5, 60)
    costs[30:] += 50
    made = bundle(pieces, costs, class_of)
    worth, _ = climbed(made, 40)
    monkeypatch.setattr(trajectory_bundle, "MOST_KEPT", 50)
    monkeypatch.setattr(trajectory_bundle, "KEPT", 30)
    again, _ = climbed(made, 40)
    assert len(made.known) == 30
    assert set(made.known) <= {(class_of[at], (at,)) for at in range(60)}
    assert again == pytest.approx(worth, abs=0.05)
