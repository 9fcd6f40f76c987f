"""Pricing of trajectories: what is the most that one knob can be worth through a whole show?

A knob carries atoms of one family in each song, so what it is worth is, for each song, the most of
any family of what the destinations chosen of that are worth there; less what all of them count.
Choosing for each family which of its destinations the knob ever carries is a facility location
problem in which a family has many facilities, of which one is opened; it is solved exactly, two
families after the other made one (:mod:`knobpack.show.trajectory_search`).

It is worth something besides that a destination is on a knob in all its songs. So a choice says
which destinations a knob ever carries and which of them in all their songs; there these songs can
be no other family's.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import cache, cached_property, partial
from typing import TypeAlias

import attrs
import numpy as np
from numpy.typing import NDArray

from knobpack.show.trajectory_families import (
    MOST_TOLD_APART,
    NEVER,
    QUANTUM,
    CarriedAtom,
    SharingFamily,
    Worth,
    family_of,
    sharing_families,
)
from knobpack.show.trajectory_search import Choices, ChoiceSearch
from knobpack.solver.watch import Watch

MOST_CHOICES = 4_000
"""Sets of destinations that are looked at in all families, at most."""

MOST_TOLD = 64
"""Trajectories that are told after each pricing, at most."""

EFFORT_PER_VALUE = 5e-7
"""Effort that a choice counts as for each song before the search: about its seconds."""

Whole: TypeAlias = NDArray[np.int64]


@attrs.frozen(eq=False)
class PricedTrajectories:
    """What pricing found.

    Args:
        most: no trajectory is worth more, less what it costs, in 1024ths; 0 at least.
        trajectories: some of those that are worth most, as atoms, the best first.
    """

    most: int
    trajectories: tuple[tuple[int, ...], ...]


@attrs.frozen(eq=False)
class TrajectoryPrices:
    """What everything is worth, in 1024ths.

    Args:
        atoms: for each atom, that it is carried.
        used: for each song, that something is carried in it.
        whole: for each destination, that it is ever carried, and once more if in all its songs.
    """

    atoms: Whole
    used: Whole
    whole: Whole


class TrajectoryPricing:
    """The pricing of the trajectories of one show.

    Args:
        weights: what each destination counts, in points.
        atoms: what is to be carried, in the order of songs.
        songs: how many songs there are.
    """

    def __init__(self, weights: Sequence[int], atoms: Sequence[CarriedAtom], songs: int) -> None:
        self._weights = np.array(weights, dtype=np.float64) * QUANTUM
        self._atoms, self._songs = atoms, songs
        sets = list(sharing_families(atoms))
        self.small_enough = sum(1 << len(each) for each in sets) <= MOST_CHOICES
        """Whether there are few enough sets of destinations to look at all of them."""
        self.told_apart = sorted(n for each in sets if len(each) <= MOST_TOLD_APART for n in each)
        """The destinations of which it counts whether a knob has them in all their songs."""
        self.families: list[SharingFamily] = []
        if self.small_enough:
            self.families = [family_of(each, len(weights), atoms, songs) for each in sets]

    @cached_property
    def there(self) -> tuple[int, ...]:
        """For each song the mask of the destinations that are carried in it."""
        found = [0] * self._songs
        for atom in self._atoms:
            found[atom.song] |= sum(1 << each for each in atom.destinations)
        return tuple(found)

    def sets(self, family: int) -> list[list[tuple[tuple[int, ...], int]]]:
        """For each song the atoms of a family that may share a knob, and what they are of."""
        own = self.families[family]
        return [own.sets(self._atoms, song) for song in range(self._songs)]

    def priced(
        self,
        prices: TrajectoryPrices,
        may: Sequence[bool],
        watch: Watch,
        enough: float = np.inf,
    ) -> PricedTrajectories:
        """Look for trajectories that are worth more than they cost.

        Args:
            prices: what everything is worth.
            may: the atoms that the knob may carry.
            watch: how long the search may go on.
            enough: once one is worth so much, in 1024ths, no better one is looked for.
        """
        if not self.families:
            return PricedTrajectories(0, ())
        worth = np.where(may, prices.atoms, NEVER).astype(np.float64)
        choices = self.choices(worth, prices)
        watch.spend(EFFORT_PER_VALUE * choices.values.size)
        choices = choices.undominated()
        if not len(choices.costs):
            return PricedTrajectories(0, ())
        search = ChoiceSearch(choices, watch)
        most = search.run(enough)
        good = sorted(search.found, key=lambda each: -each[0])
        carried = cache(partial(self._carried, choices, worth))
        told = [_trajectory(chosen, choices, carried) for _, chosen in good[:MOST_TOLD]]
        return PricedTrajectories(int(most), tuple(dict.fromkeys(told)))

    def choices(self, worth: Worth, prices: TrajectoryPrices) -> Choices:
        """What can be chosen: in all its songs only what is worth something there."""
        use, whole = prices.used.astype(np.float64), prices.whole.astype(np.float64)
        found = []
        for number, family in enumerate(self.families):
            rows = np.flatnonzero(family.always @ (whole == 0) == 0)
            costs = family.ever[rows] @ (self._weights - whole) - family.always[rows] @ whole
            values, added = family.worth(rows, worth, use)
            found.append((rows, np.full(len(rows), number), values, costs + added))
        return Choices(*map(np.concatenate, zip(*found, strict=True)))

    def _carried(self, choices: Choices, worth: Worth, choice: int, song: int) -> list[int]:
        """The atoms by which a choice is worth most in a song."""
        family = self.families[int(choices.family_of[choice])]
        found: list[int] = family.carried(int(choices.rows[choice]), song, worth).tolist()
        return found


def _trajectory(
    chosen: Sequence[int], choices: Choices, carried: Callable[[int, int], list[int]]
) -> tuple[int, ...]:
    """The atoms that such choices are worth most by."""
    own = np.array(chosen)
    values = choices.values[own]
    best = own[values.argmax(axis=0)].tolist()
    songs = np.flatnonzero(values.max(axis=0) > 0).tolist()
    return tuple(sorted(atom for song in songs for atom in carried(best[song], song)))
