"""What trajectories cost in every tier of a show but what knobs are called, each by itself.

Which trajectories are chosen says what shares a knob in each song and what is on the same knob in
several, so that all that a show costs is a sum over them, but for two sorts of terms: the song in
which a role or kind is on most knobs, and the greater of what something leaves and comes to.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Mapping, Sequence

import attrs
import numpy as np
from numpy.typing import NDArray

from knobpack.numbered.problem import bits
from knobpack.show.asked import Key
from knobpack.show.near_trajectories import Near, Sets
from knobpack.show.numbered import Numbered, Placed
from knobpack.show.to_carry import Carrying
from knobpack.show.travels import costs_of, least_turned
from knobpack.solver.costs import indicator, set_costs
from knobpack.words import Travel
from knobpack.words.travel import distance

Each = NDArray[np.float64]
"""(T,) a whole number for each trajectory."""


@attrs.frozen(eq=False)
class Widest:
    """What is met over a show, less the most of it that is met in one song.

    Args:
        met: whether each trajectory meets it at all.
        here: for each song, whether each meets it there.
        most: it is met by no more than so many in any song.
    """

    met: Each
    here: tuple[Each, ...]
    most: int


@attrs.frozen(eq=False)
class Cost:
    """What is to be made least: a sum of prices, and terms that are none.

    Args:
        prices: what each trajectory costs.
        constant: what there is besides, whatever is chosen.
        greatest: terms that are the greatest of several sums each.
        widest: terms of what is met by more than in any one song.
    """

    prices: Each
    constant: int = 0
    greatest: tuple[tuple[Each, ...], ...] = ()
    widest: tuple[Widest, ...] = ()

    def below(self, value: int) -> int:
        """The most that it can come to below some value: it goes in steps, but for its constant."""
        if self.greatest or self.widest:
            return value - 1
        step = math.gcd(*map(int, self.prices)) or 1
        return self.constant + (value - 1 - self.constant) // step * step

    @property
    def least(self) -> int:
        """It is no less than this, as no price is below nothing."""
        return self.constant

    def only(self, kept: NDArray[np.intp]) -> Cost:
        """The same of some trajectories."""
        return Cost(
            self.prices[kept],
            self.constant,
            tuple(tuple(each[kept] for each in sums) for sums in self.greatest),
            tuple(
                Widest(term.met[kept], tuple(each[kept] for each in term.here), term.most)
                for term in self.widest
            ),
        )


@attrs.frozen(eq=False)
class Limit:
    """What is chosen comes to no more than ``most``, each at its price."""

    prices: Each
    most: int


class TrajectoryCosts:
    """What the trajectories of a show cost.

    Args:
        songs: all songs, in playing order.
        as_they_are: the position of each song that is not to be laid out, and how it stays.
        neighbours: the positions of each two songs that follow each other.
        carried: what is to be carried.
        near: the trajectories.
        sharing: what *sharing* costs in songs that stay as they are.
    """

    def __init__(
        self,
        songs: Sequence[Numbered],
        as_they_are: Mapping[int, Placed],
        neighbours: Iterable[tuple[int, int]],
        carried: Carrying,
        near: Near,
        sharing: int,
    ) -> None:
        self._songs, self._as_they_are, self._neighbours = songs, as_they_are, tuple(neighbours)
        self._carried, self._near = carried, near
        self._contents = near.contents(carried, songs)
        self._weights = dict(zip(carried.keys, carried.weights, strict=True))
        self._there = [
            sum(
                1 << song.item_of[carried.keys[each]]
                for atom in carried.atoms
                if atom.song == at
                for each in atom.destinations
            )
            for at, song in enumerate(songs)
        ]
        self._sharing = np.zeros(len(near.trajectories))
        self._once, self.limits = -sharing, list[Limit]()
        for at in range(len(songs)):
            if at not in as_they_are and songs[at].problem.items:
                self._by_itself(at)

    def _by_itself(self, at: int) -> None:
        """What a song costs by itself: no more than alone in what is held, no more joined."""
        song = self._songs[at]
        problem, sets = song.problem, sorted({own[at] for own in self._contents} - {0})
        items = list(range(problem.items))
        bundles, breaks, sharing = set_costs(problem, items, indicator(sets, items).T)
        place = {own: n for n, own in enumerate(sets)}
        row = np.array([place.get(own[at], len(sets)) for own in self._contents], dtype=np.intp)
        self._sharing += np.append(sharing, 0)[row]
        self._once += sum(spread.weight for spread in problem.spreads)
        joined = np.array([sum(1 for load in song.loads if load & own) - 1 for own in sets])
        dear = np.array([bool(own & song.essential) for own in sets])
        for costs, most in (
            (bundles, song.held["bundles"] + len(problem.bundles)),
            (breaks, song.held["independence"]),
            (joined, song.most_joined[0]),
            (joined * (joined + 1) // 2 * dear, song.most_joined[1]),
        ):
            if np.any(costs):
                self.limits.append(Limit(np.append(costs, 0.0)[row], most))

    def _each(self, price: Callable[[Sets], int]) -> Each:
        return np.array([price(sets) for sets in self._contents], dtype=np.float64)

    def roles(self) -> Cost:
        """What roles cost in *relearning*."""
        return self._classes([song.roles for song in self._songs])

    def kinds(self) -> Cost:
        """What kinds cost in *relearning*."""
        return self._classes([song.kinds for song in self._songs])

    def _classes(self, masks: Sequence[Mapping[str, int]]) -> Cost:
        """On how many knobs more each class is than in the song in which it is on most."""
        found = []
        for what in dict.fromkeys(name for own in masks for name in own):
            there = [
                (at, mask)
                for at, own in enumerate(masks)
                if (mask := own.get(what, 0) & self._there[at])
            ]
            if len(there) < 2:
                continue
            here = tuple(self._each(lambda s, t=each: int(s[t[0]] & t[1] > 0)) for each in there)  # type: ignore[misc]
            most = max(self._apart(at, mask) for at, mask in there)
            met = np.maximum.reduce(here)
            found.append(Widest(met, here, min(most, self._songs[0].problem.knobs)))
        return Cost(self._each(lambda _: 0), widest=tuple(found))

    def _apart(self, at: int, mask: int) -> int:
        """On how many knobs some items of a song can be at most: as many as they are atoms."""
        item_of, keys = self._songs[at].item_of, self._carried.keys
        return sum(
            any(mask >> item_of[keys[each]] & 1 for each in atom.destinations)
            for atom in self._carried.atoms
            if atom.song == at
        )

    def moved_bundles(self) -> Cost:
        """What bundles cost in *moves*."""
        found = []
        for pair in self._neighbours:
            of_role: dict[str, list[tuple[int, int]]] = {}
            for key, items in self._in_both(pair):
                of_role.setdefault(key[0], []).append(items)
            for both in of_role.values():
                left = self._each(lambda s, p=pair, b=both: int(any(_goes(s, p, i) for i in b)))  # type: ignore[misc]
                back, turned = pair[::-1], [items[::-1] for items in both]
                come = self._each(lambda s, p=back, b=turned: int(any(_goes(s, p, i) for i in b)))  # type: ignore[misc]
                found.append((left, come))
        return Cost(self._each(lambda _: 0), greatest=tuple(found))

    def moved_points(self) -> Cost:
        """What destinations cost in *moves*."""
        moved = [
            (pair, items, self._weights[key])
            for pair in self._neighbours
            for key, items in self._in_both(pair)
            if self._weights[key]
        ]
        return Cost(self._each(lambda s: sum(w for p, items, w in moved if _goes(s, p, items))))

    def _in_both(self, pair: tuple[int, int]) -> list[tuple[Key, tuple[int, int]]]:
        """What is placed in both of two songs, as items."""
        one, other = (self._songs[at].item_of for at in pair)
        here, there = (self._there[at] for at in pair)
        return [
            (key, (item, other[key]))
            for key, item in one.items()
            if key in other and here >> item & 1 and there >> other[key] & 1
        ]

    def sharing(self) -> Cost:
        """What *sharing* costs."""
        return Cost(self._sharing, -self._once)

    def travels(self) -> Cost:
        """What *travels* cost, if each knob goes over what is cheapest for what it carries."""
        if self._songs[0].asked.request.surface.per_route:
            return self._travels_of_routes()
        costs: dict[tuple[int, int], Mapping[Travel | None, int]] = {}

        def turned(sets: Sets) -> int:
            for at, own in enumerate(sets):
                if (at, own) not in costs:
                    there = self._as_they_are.get(at)
                    costs[at, own] = (
                        {there.goes[next(bits(own))]: 0}
                        if own and there
                        else costs_of(self._songs[at], list(bits(own)))
                    )
            items = [set(bits(own)) for own in sets]
            ways = [costs[each] for each in enumerate(sets)]
            return least_turned(self._songs, self._neighbours, self._weights, items, ways)

        return Cost(self._each(turned))

    def _travels_of_routes(self) -> Cost:
        """The same where each route has a travel of its own."""
        top, priced = self._songs[0].asked.request.surface.top, []
        for pair in self._neighbours:
            for key, items in self._in_both(pair):
                was, now = (
                    self._songs[at].asked.request.driven(self._songs[at].names[item])
                    for at, item in zip(pair, items, strict=True)
                )
                if was and now:
                    priced.append((pair, items, self._weights[key] * distance(was, now, top)))
        return Cost(
            self._each(
                lambda sets: sum(
                    price
                    for (one, other), (item, then), price in priced
                    if sets[one] >> item & 1 and sets[other] >> then & 1
                )
            )
        )


def _goes(sets: Sets, pair: tuple[int, int], items: tuple[int, int]) -> bool:
    """Whether a knob has an item in the one of two songs and not in the other."""
    return bool(sets[pair[0]] >> items[0] & 1 and not sets[pair[1]] >> items[1] & 1)
