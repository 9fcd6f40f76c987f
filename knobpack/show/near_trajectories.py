"""Near trajectories: all that one knob may carry in any show as good as the best that is known.

What is worth less, at some dual prices, than the most by more than there is from a bound to the
value known is in no such show (reduced-cost fixing: G. Dantzig, R. Fulkerson, S. Johnson, "Solution
of a large-scale traveling-salesman problem", Operations Research 2, 1954, from memory). First all
choices of the families that can be worth enough are gone through, then all ways to carry them.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

import attrs
import numpy as np
from numpy.typing import NDArray

from knobpack.show.numbered import Numbered
from knobpack.show.to_carry import Carrying
from knobpack.show.trajectory_families import NEVER, Worth
from knobpack.show.trajectory_pricing import TrajectoryPrices, TrajectoryPricing
from knobpack.show.trajectory_search import Choices, ChoiceSearch
from knobpack.solver.watch import Watch

EFFORT_PER_NODE, EFFORT_PER_WAY, LOOK = 1e-4, 1e-5, 256
"""Effort that a node of the search for choices counts as, and a way to carry them; and how many of
either there are between two looks at the watch."""

Trajectory = tuple[int, ...]
"""What a knob carries through a show: the positions of atoms, in ascending order."""


Sets = tuple[int, ...]
"""For each song the mask of the items that one knob carries there."""

Matrix = NDArray[np.float64]


class TooManyError(Exception):
    """There are more than can be listed, or no time is left. Never leaves the search of shows."""


@attrs.frozen
class _Way:
    """One way to use a knob in one song.

    Args:
        worth: what that is worth, in 1024ths.
        holds: the mask of the destinations of the show that it carries.
        atoms: the atoms that it carries.
    """

    worth: int
    holds: int
    atoms: Trajectory


_UNUSED = _Way(0, 0, ())


class NearTrajectories:
    """All trajectories of one class of knobs that are worth enough.

    Args:
        pricing: the pricing of the show.
        prices: what everything is worth.
        may: the atoms that these knobs may carry.
        most: how many may be listed.
        watch: how long the search may go on.
    """

    def __init__(
        self,
        pricing: TrajectoryPricing,
        prices: TrajectoryPrices,
        may: Sequence[bool],
        most: int,
        watch: Watch,
    ) -> None:
        self._pricing, self._prices, self._most, self._watch = pricing, prices, most, watch
        self._worth = np.where(may, prices.atoms, NEVER).astype(np.float64)
        self._nodes, self._spent, self._ways = 0, 0.0, dict[tuple[int, int], list[list[_Way]]]()
        self._counted = sum(1 << n for n in np.flatnonzero(prices.whole))

    def listed(self, floor: int) -> list[Trajectory]:
        """Those that are worth no less than this, in 1024ths.

        Raises:
            TooManyError: there are too many, or the watch says stop.
        """
        choices = self._pricing.choices(self._worth, self._prices)
        found: list[Trajectory] = []
        for value, chosen in self._profiles(choices, floor):
            for each in self._carried(choices, chosen, int(value) - floor):
                found.append(each)
                if len(found) > self._most:
                    raise TooManyError
        return found

    def _profiles(self, choices: Choices, floor: int) -> Iterator[tuple[float, tuple[int, ...]]]:
        """Choices of some families that are worth enough together, if each song takes the best."""
        levels = ChoiceSearch(choices, self._watch).levels

        def node(
            have: Worth, value: float, ids: NDArray[np.intp], chosen: tuple[int, ...]
        ) -> Iterator[tuple[float, tuple[int, ...]]]:
            self._look(EFFORT_PER_NODE)
            gains = choices.gains(ids, have)
            paying = np.maximum(have, levels)
            paid = value + float((paying - have).sum())
            beyond = choices.gains(ids, paying)
            while len(ids):
                families = choices.family_of[ids]
                _, starts, place = np.unique(families, return_index=True, return_inverse=True)
                tops = np.maximum(np.maximum.reduceat(gains, starts), 0)
                over = np.maximum(np.maximum.reduceat(beyond, starts), 0)
                some = (
                    np.minimum(
                        value + tops.sum() - tops[place] + gains,
                        paid + over.sum() - over[place] + beyond,
                    )
                    >= floor
                )
                if some.all():
                    break
                ids, gains, beyond = ids[some], gains[some], beyond[some]
            if not len(ids):
                if chosen and value >= floor:
                    yield value, chosen
                return
            branch = families[starts[int(tops.argmax())]]
            own = families == branch
            rest = ids[~own]
            for each, gain in zip(ids[own], gains[own], strict=True):
                one = int(each)
                yield from node(
                    np.maximum(have, choices.values[one]), value + float(gain), rest, (*chosen, one)
                )
            yield from node(have, value, rest, chosen)

        every = np.arange(len(choices.costs))
        return node(np.zeros(choices.values.shape[1]), 0.0, every, ())

    def _carried(self, choices: Choices, chosen: Sequence[int], slack: int) -> Iterator[Trajectory]:
        """All ways to carry just what is chosen that are worth less than the most by no more."""
        rows = [(int(choices.family_of[each]), int(choices.rows[each])) for each in chosen]
        families = self._pricing.families
        ever = sum(families[family].ever_mask(row) for family, row in rows)
        always = sum(families[family].always_mask(row) for family, row in rows)
        there = self._pricing.there
        songs = []
        for song, present in enumerate(there):
            must = present & always
            ways = [_UNUSED, *(way for each in rows for way in self._of(each)[song])]
            fit = [way for way in ways if not must & ~way.holds]
            songs.append(sorted(fit, key=lambda way: -way.worth))
        reach = [0]
        for ways in reversed(songs):
            for way in ways:
                reach[-1] |= way.holds
            reach.append(reach[-1])
        reach = reach[-2::-1]
        # What is in all its songs without being chosen so is another choice.
        told = ever & self._counted & ~always

        def onwards(
            song: int, slack: int, held: int, missed: int, atoms: Trajectory
        ) -> Iterator[Trajectory]:
            if song == len(songs):
                self._look(EFFORT_PER_WAY)
                if held == ever and not told & ~missed:
                    yield tuple(sorted(atoms))
                return
            if ever & ~(held | reach[song]):
                return
            best = songs[song][0].worth if songs[song] else 0
            for way in songs[song]:
                left = slack - best + way.worth
                if left < 0:
                    break
                yield from onwards(
                    song + 1,
                    left,
                    held | way.holds,
                    missed | there[song] & ever & ~way.holds,
                    atoms + way.atoms,
                )

        return onwards(0, slack, 0, 0, ())

    def _of(self, choice: tuple[int, int]) -> list[list[_Way]]:
        """For each song the ways to carry something of one choice of one family."""
        if choice not in self._ways:
            number, row = choice
            family = self._pricing.families[number]
            ever = family.ever_mask(row)
            self._ways[choice] = [
                [way for way in ways if not way.holds & ~ever] for ways in self._all_of(number)
            ]
        return self._ways[choice]

    def _all_of(self, number: int) -> list[list[_Way]]:
        """For each song all ways to carry something of a family."""
        if (number, -1) not in self._ways:
            found: list[list[_Way]] = []
            for song, sets in enumerate(self._pricing.sets(number)):
                use = int(self._prices.used[song])
                found.append([])
                for atoms, holds in sets:
                    worth = sum(int(self._worth[atom]) for atom in atoms)
                    if worth > NEVER / 2:
                        found[-1].append(_Way(worth + use, holds, atoms))
            self._ways[number, -1] = found
        return self._ways[number, -1]

    def _look(self, effort: float) -> None:
        """Count something that was looked at, and look at the watch now and then."""
        self._nodes += 1
        self._spent += effort
        if not self._nodes % LOOK:
            self._watch.spend(self._spent)
            self._spent = 0.0
            if self._watch.over():
                raise TooManyError


@attrs.frozen(eq=False)
class Near:
    """Trajectories, any of which may be in a show that is as good as the best known.

    Args:
        trajectories: the atoms of each.
        class_of: the class of knobs that it is for.
        carries: (T, A) whether it has an atom.
        uses: (T, S) whether it has any of a song.
        points: (T,) what all that it ever carries counts.
    """

    trajectories: tuple[Trajectory, ...]
    class_of: NDArray[np.intp]
    carries: NDArray[np.uint8]
    uses: NDArray[np.uint8]
    points: Matrix

    @classmethod
    def of(cls, carried: Carrying, listed: Iterable[tuple[int, Trajectory]]) -> Near:
        """Such trajectories, each with the class of knobs that it is for."""
        pairs = list(listed)
        trajectories = tuple(trajectory for _, trajectory in pairs)
        carries = np.zeros((len(pairs), len(carried.atoms)), np.uint8)
        uses = np.zeros((len(pairs), len(carried.used)), np.uint8)
        ever = np.zeros((len(pairs), len(carried.weights)), np.uint8)
        for row, trajectory in enumerate(trajectories):
            carries[row, list(trajectory)] = 1
        for number, atom in enumerate(carried.atoms):
            uses[:, atom.song] |= carries[:, number]
            for each in atom.destinations:
                ever[:, each] |= carries[:, number]
        return cls(
            trajectories,
            np.array([number for number, _ in pairs], dtype=np.intp),
            carries,
            uses,
            ever.astype(np.float64) @ np.array(carried.weights, dtype=np.float64),
        )

    def only(self, kept: NDArray[np.bool_]) -> Near:
        """Some of them."""
        at = np.flatnonzero(kept)
        some = tuple(self.trajectories[each] for each in at)
        return Near(some, self.class_of[at], self.carries[at], self.uses[at], self.points[at])

    def contents(self, carried: Carrying, songs: Sequence[Numbered]) -> list[Sets]:
        """What each carries in each song, as masks of items."""
        items = [
            sum(1 << songs[atom.song].item_of[carried.keys[each]] for each in atom.destinations)
            for atom in carried.atoms
        ]
        found = []
        for trajectory in self.trajectories:
            own = [0] * len(songs)
            for atom in trajectory:
                own[carried.atoms[atom].song] |= items[atom]
            found.append(tuple(own))
        return found
