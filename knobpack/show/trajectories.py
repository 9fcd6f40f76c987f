"""Trajectories: what one knob carries through a whole show, for a bound on what is relearned.

A *trajectory* is a set of atoms of the songs that one knob may carry between them. It costs what
all destinations that it ever carries count, whichever songs they are in: the trajectories of all
knobs come to what destinations cost in *relearning*, and once more what each of them counts. Knobs
that are alike are one class, so that, unlike in a model indexed by knob, nothing is spread evenly
over them, and the linear relaxation is near the least there is.

That a destination is on one knob, or on two at least, is a cut: a trajectory that has it counts
once, and once more if it has it in all its songs; that comes to two at least. Without it knobs that
have it in all but one of many songs, a fraction of each, would cover all of them at hardly more
than once. (Of three songs it is a subset-row inequality: M. Jepsen, B. Petersen, S. Spoorendonk, D.
Pisinger, Operations Research 56, 2008, from memory.)

Any dual prices give a bound, once no trajectory is worth more than pricing says
(:mod:`knobpack.show.trajectory_pricing`); they are whole 1024ths, so it is safe. From a first
guess, what a destination counts in equal parts in each of its songs, they are made better by a
bundle of the trajectories that were worth most (:mod:`knobpack.show.trajectory_bundle`). Where it
is plain that some prices do not bound much better, pricing need not go on to its end. (Column
generation, whose prices jump about, took several times as long.) That one column is all routes of
one vehicle over the horizon is from D. Goeke, R. Roberti, M. Schneider, "Exact and heuristic
solution of the consistent vehicle-routing problem", Transportation Science, 2019 (its abstract was
read).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from itertools import islice

import attrs
import numpy as np

from knobpack.show.to_carry import Carrying
from knobpack.show.trajectory_bundle import ProximalBundle, Vector
from knobpack.show.trajectory_families import QUANTUM
from knobpack.show.trajectory_pricing import TrajectoryPrices, TrajectoryPricing, Whole
from knobpack.solver.watch import Watch

EFFORT_PER_ENTRY = 3e-10
"""Effort that an entry of the bundle counts as each time it is looked at."""

MOST_ADDED = 16
"""Trajectories that are added after each pricing, at most."""

WIDTH, WIDER, MUCH_WIDER, NARROWER = 0.5, 1.25, 1.6, 1.4
"""How far from the best prices others are looked for, to begin with; by what that grows where the
bound rises, and where it rises much; and by what it shrinks."""

PATIENCE, IN_VAIN = 5, 30
"""Bids in which the bound does not rise, after which others are looked for nearer; and after which
it rises no more."""

RISE, MUCH = 0.1, 0.5
"""The part of the rise promised that a bound has to make for prices to be the best; and much."""

CLOSE = QUANTUM // 20
"""A rise that is hardly any, in 1024ths."""


def least_points(carried: Carrying, value: int, watch: Watch) -> Bound | None:
    """What destinations cost in *relearning* at least.

    Args:
        carried: what is to be carried.
        value: what they cost in the best show that is known: a bound that is as high is enough.
        watch: how long the search may go on.

    Returns:
        A bound; None: too much may share a knob for this way.
    """
    pricing = TrajectoryPricing(carried.weights, carried.atoms, len(carried.used))
    if not pricing.small_enough:
        return None
    enough = QUANTUM * (value - carried.step + carried.value)
    return _Ascent(carried, pricing).climbed(enough, watch)


@attrs.frozen(eq=False)
class DualPoint:
    """Dual prices, and the bound at them.

    Args:
        worth: what destinations count on all knobs together at least, in 1024ths.
        prices: the prices.
        most: for each class of knobs, what no trajectory is worth more than.
    """

    worth: int
    prices: Whole
    most: tuple[int, ...]


@attrs.frozen(eq=False)
class Bound:
    """A bound on what destinations cost.

    Args:
        carried: what is to be carried.
        pricing: the pricing of its trajectories.
        worth: what they count on all knobs together at least, in 1024ths, at some prices.
        prices: these prices.
        most: for each class of knobs, what no trajectory is worth more than at these.
    """

    carried: Carrying
    pricing: TrajectoryPricing
    worth: int
    prices: TrajectoryPrices
    most: tuple[int, ...]

    @property
    def points(self) -> int:
        """What destinations cost in *relearning* at least, in points."""
        return self.carried.in_points(self.worth)


class _Ascent:
    """Prices made better, bid by bid.

    Rows are atoms, then songs, then destinations of which it counts whether they are in all songs.
    """

    def __init__(self, carried: Carrying, pricing: TrajectoryPricing) -> None:
        self._carried, self._pricing = carried, pricing
        self._songs = np.zeros(len(carried.weights), np.intp)
        for atom in carried.atoms:
            self._songs[list(atom.destinations)] += 1
        weights, songs = np.array(carried.weights), self._songs
        self._whole = [n for n in pricing.told_apart if weights[n] and songs[n] > 2]
        atoms, used, counted = len(carried.atoms), len(carried.used), weights[self._whole]
        equal = np.array(
            [sum(weights[n] / songs[n] for n in atom.destinations) for atom in carried.atoms]
        )
        self._starts = np.cumsum([atoms, used])
        self._sides = np.array([*(1 for _ in equal), *carried.used, *(2 for _ in counted)])
        mean = equal.sum() / max(1, atoms) or 1.0
        # That a destination is carried in no song is worth no more than it counts: pricing takes it
        # that what a knob may ever carry it does carry.
        self._bundle = ProximalBundle(
            self._sides.astype(np.float64),
            np.repeat((-np.inf, 0.0), (atoms, used + len(counted))),
            np.append(np.full(atoms + used, np.inf), counted),
            np.concatenate((np.maximum(equal, 0.3 * mean), [mean] * used, counted.clip(2) / 4)),
            [len(knobs) for knobs, _ in carried.classes],
        )
        first = np.append(equal, np.zeros(used + len(counted)))
        self._best = DualPoint(-(1 << 62), np.rint(first * QUANTUM).astype(np.int64), ())

    def climbed(self, enough: int, watch: Watch) -> Bound:
        """The best bound that is found; one above ``enough`` 1024ths is looked for no more."""
        self._best, _ = self._looked_at(self._best.prices, self._best.worth, watch)
        width, in_vain = WIDTH, 0
        while self._best.worth <= enough and in_vain < IN_VAIN and not watch.over():
            best, in_vain = self._best, in_vain + 1
            bid = self._bundle.bid(best.prices / QUANTUM, best.worth / QUANTUM, width)
            watch.spend(EFFORT_PER_ENTRY * bid.entries)
            if bid.most * QUANTUM - best.worth < CLOSE:
                break
            promised = max(CLOSE, bid.worth * QUANTUM - best.worth)
            prices = np.rint(bid.prices * QUANTUM).astype(np.int64)
            dual, added = self._looked_at(prices, best.worth + RISE * promised, watch)
            if dual.worth > best.worth + RISE * promised:
                width *= WIDER if dual.worth < best.worth + MUCH * promised else MUCH_WIDER
                self._best, in_vain = dual, 0
            elif not (added and in_vain % PATIENCE):
                width /= NARROWER
        best, told = self._best, self._told(self._best.prices)
        return Bound(self._carried, self._pricing, best.worth, told, best.most)

    def _looked_at(self, prices: Whole, more: float, watch: Watch) -> tuple[DualPoint, int]:
        """The Lagrangian bound at some prices, and how many trajectories are new to the bundle.

        It may be too low where it is not above ``more``.
        """
        told, most, added = self._told(prices), list[int](), 0
        worth = int(prices @ self._sides)
        for number, (knobs, may) in enumerate(self._carried.classes):
            enough = (worth - more) / len(knobs)
            priced = self._pricing.priced(told, may, watch, enough)
            worth -= len(knobs) * priced.most
            most.append(priced.most)
            named = ((number, each) for each in priced.trajectories)
            new = list(islice((n for n in named if n not in self._bundle.known), MOST_ADDED))
            self._bundle.add({each: self._piece(each[1]) for each in new})
            added += len(new)
        return DualPoint(worth, prices, tuple(most)), added

    def _told(self, prices: Whole) -> TrajectoryPrices:
        """Such prices, each by what it is of."""
        atoms, used, own = np.split(prices, self._starts)
        whole = np.zeros(len(self._songs), np.int64)
        whole[self._whole] = own
        return TrajectoryPrices(atoms, used, whole)

    def _piece(self, trajectory: Sequence[int]) -> tuple[Vector, float]:
        """What a trajectory has in each row, and what it costs."""
        carried, row = self._carried, np.zeros(len(self._sides))
        atoms, used, own = np.split(row, self._starts)
        atoms[list(trajectory)] = 1
        met = Counter(each for at in trajectory for each in carried.atoms[at].destinations)
        used[[carried.atoms[at].song for at in trajectory]] = 1
        own[:] = [min(met[n], 1) + int(met[n] == self._songs[n]) for n in self._whole]
        return row, float(sum(carried.weights[each] for each in met))
