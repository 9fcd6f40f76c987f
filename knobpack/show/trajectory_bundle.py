"""A bundle of trajectories: at which prices they let a bound rise most, not far from the best ones.

What is carried at some prices is worth no more than they come to, less what the knobs can be worth:
a concave function of the prices, of which each trajectory that is known gives a piece. Where these
let it be highest, less the square of how far that is from the centre, it is looked at next: a
proximal bundle method (C. Lemaréchal, "An extension of Davidon methods to non differentiable
problems", Mathematical Programming Study 3, 1975; K. C. Kiwiel, "Proximity control in bundle
methods", Mathematical Programming 46, 1990; both from memory). The dual of that asks how much of
each trajectory there is, and is solved by projected gradients with momentum (A. Beck, M. Teboulle,
SIAM Journal on Imaging Sciences 2, 2009, from memory), begun where they ended the last time.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

import attrs
import numpy as np
from numpy.typing import NDArray

Vector = NDArray[np.float64]

PieceName = tuple[int, tuple[int, ...]]
"""The class of knobs that a trajectory is for, and its atoms."""

MOST_KEPT, KEPT = 900, 675
"""Pieces that are kept, at most; and, once there are more, so many of those used last."""

STEPS, LOOK, ENOUGH = 400, 20, 0.2
"""Steps of the gradient for each bid, at most; how many there are between two looks at how far it
is from the best bid; and at what part of the rise that it promises that is near enough."""

POWERS, MARGIN = 8, 1.05
"""Rounds in which the largest eigenvalue is estimated, and what it is taken to be times that."""


@attrs.frozen(eq=False)
class Bid:
    """Prices that may bound better.

    Args:
        prices: (R,) they.
        worth: what the bound is there as far as the pieces know.
        most: it is no more than this anywhere as near, as far as they know.
        entries: entries of the matrix that were looked through for that.
    """

    prices: Vector
    worth: float
    most: float
    entries: int


@attrs.define(eq=False)
class ProximalBundle:
    """Pieces of a bound, as a function of prices, and where it may be better.

    Args:
        sides: (R,) what each row has to come to.
        low, high: (R,) prices are no less and no more than this.
        scale: (R,) how far each may go as easily as others go by theirs.
        most: (K,) how many knobs each class has.
        known: the trajectories that it has, in the order of its pieces, each with its class.
    """

    sides: Vector
    low: Vector
    high: Vector
    scale: Vector
    most: Sequence[int]
    known: dict[PieceName, int] = attrs.field(factory=dict, init=False)
    _pieces: Vector = attrs.field(init=False)
    _costs: Vector = attrs.field(factory=lambda: np.zeros(0), init=False)
    _parts: Vector = attrs.field(factory=lambda: np.zeros(0), init=False)
    _class_of: NDArray[np.intp] = attrs.field(factory=lambda: np.zeros(0, np.intp), init=False)
    _unused: NDArray[np.intp] = attrs.field(factory=lambda: np.zeros(0, np.intp), init=False)

    def __attrs_post_init__(self) -> None:
        self._pieces = np.zeros((0, len(self.sides)))

    def add(self, pieces: Mapping[PieceName, tuple[Vector, float]]) -> None:
        """Add trajectories that it does not have: what each has in each row, and what it costs."""
        count = len(pieces)
        self.known.update((named, named[0]) for named in pieces)
        self._pieces = np.vstack((self._pieces, *(row * self.scale for row, _ in pieces.values())))
        self._costs = np.append(self._costs, [cost for _, cost in pieces.values()])
        self._parts = np.append(self._parts, np.zeros(count))
        self._unused = np.append(self._unused, np.zeros(count, np.intp))
        self._class_of = np.array([*self.known.values()], np.intp)

    def bid(self, centre: Vector, worth: float, width: float) -> Bid:
        """Where the bound may be better than at the centre.

        Args:
            centre: the best prices that are known.
            worth: the bound there.
            width: how far from there, in scales, one unit more of a row is worth going.
        """
        self._forget()
        pieces, sides, middle = self._pieces, self.sides * self.scale, centre / self.scale
        low, high = self.low / self.scale, self.high / self.scale
        step = 1 / (width * MARGIN * self._largest())
        here = before = self._parts
        momentum, steps, value, most = 1.0, 0, worth, np.inf
        while steps < STEPS:
            at = np.clip(middle + width * (sides - here @ pieces), low, high)
            now = self._held(here - step * (self._costs - pieces @ at))
            if (here - now) @ (now - before) > 0:
                momentum = 1.0
            more = (1 + np.sqrt(1 + 4 * momentum * momentum)) / 2
            here, before = now + (momentum - 1) / more * (now - before), now
            momentum, steps = more, steps + 1
            if not steps % LOOK:
                missing = sides - now @ pieces
                at = np.clip(middle + width * missing, low, high)
                value = float(sides @ at) - self._worth(pieces @ at - self._costs)
                most = float(now @ self._costs + missing @ at)
                if most - value < ENOUGH * (value - worth):
                    break
        self._parts = before
        self._unused = np.where(before > 0, 0, self._unused + 1)
        return Bid(at * self.scale, value, most, 2 * steps * pieces.size)

    def _largest(self) -> float:
        """About the largest eigenvalue of how much each two pieces have in common."""
        found, largest = np.ones(len(self._pieces)), 1.0
        for _ in range(POWERS):
            found = self._pieces @ (found @ self._pieces)
            largest = float(np.linalg.norm(found)) or 1.0
            found /= largest
        return largest

    def _held(self, parts: Vector) -> Vector:
        """The nearest that is no less than nothing and, of each class, no more than its knobs."""
        parts = np.maximum(parts, 0)
        for number, most in enumerate(self.most):
            own = self._class_of == number
            if parts[own].sum() > most:
                ordered = np.sort(parts[own])[::-1]
                over = (ordered.cumsum() - most) / np.arange(1, len(ordered) + 1)
                parts[own] = np.maximum(parts[own] - over[np.flatnonzero(ordered > over)[-1]], 0)
        return parts

    def _worth(self, gains: Vector) -> float:
        """What all knobs are worth, each by the piece that gains most."""
        best = (gains[self._class_of == number].max(initial=0) for number in range(len(self.most)))
        return float(sum(most * each for most, each in zip(self.most, best, strict=True)))

    def _forget(self) -> None:
        """Forget pieces that have long been of no use, if there are many."""
        if len(self._costs) > MOST_KEPT:
            kept = np.sort(np.argsort(self._unused, kind="stable")[:KEPT])
            self._pieces, self._costs = self._pieces[kept], self._costs[kept]
            self._parts, self._unused = self._parts[kept], self._unused[kept]
            self._class_of, known = self._class_of[kept], list(self.known)
            self.known = {known[at]: known[at][0] for at in kept}
