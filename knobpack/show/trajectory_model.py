"""The model whose columns are trajectories: every tier of a show but what knobs are called.

Which trajectories are chosen says what shares a knob in each song and what is on the same knob in
several, so that all between songs is a sum over them, but for the song in which a role or kind is
on most knobs. Of travels each knob goes, song by song, over one of those that are cheapest for what
it carries there: which, is a shortest path through the songs.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence

import numpy as np

from knobpack.numbered.problem import bits
from knobpack.show.asked import Key
from knobpack.show.carrying import Carrying
from knobpack.show.numbered import Numbered, Placed
from knobpack.show.trajectory_cuts import Near
from knobpack.show.travels import costs_of, least_turned
from knobpack.solver.costs import indicator, set_costs
from knobpack.solver.cp_sat import cp_model
from knobpack.solver.cp_sat.atoms_on_knobs import Bool, Linear, summed
from knobpack.words import Travel
from knobpack.words.travel import hundredths

Sets = tuple[int, ...]
"""For each song the mask of the items that one knob carries there."""


def contents(carried: Carrying, songs: Sequence[Numbered], near: Near) -> list[Sets]:
    """What each trajectory carries in each song, as items.

    Args:
        carried: what is to be carried.
        songs: the songs.
        near: the trajectories.
    """
    keys = list(carried.keys)
    items = [
        sum(1 << songs[atom.song].item_of[keys[each]] for each in atom.destinations)
        for atom in carried.atoms
    ]
    found = []
    for trajectory in near.trajectories:
        own = [0] * len(songs)
        for atom in trajectory:
            own[carried.atoms[atom].song] |= items[atom]
        found.append(tuple(own))
    return found


class TrajectoryModel:
    """The model of a show by its trajectories.

    Args:
        songs: all songs, in playing order.
        as_they_are: the position of each song that is not to be laid out, and how it stays.
        neighbours: the positions of each two songs that follow each other.
        carried: what is to be carried.
        near: the trajectories that may be chosen.
    """

    def __init__(
        self,
        songs: Sequence[Numbered],
        as_they_are: Mapping[int, Placed],
        neighbours: Iterable[tuple[int, int]],
        carried: Carrying,
        near: Near,
    ) -> None:
        self.songs, self.as_they_are, self.neighbours = songs, as_they_are, tuple(neighbours)
        self._carried, self._near = carried, near
        self.cp = cp_model.CpModel()
        self.contents = contents(carried, songs, near)
        self.chosen = [self.cp.new_bool_var("") for _ in near.trajectories]
        self._there = [
            sum(
                1 << song.item_of[carried.keys[n]]
                for a in carried.atoms
                if a.song == at
                for n in a.destinations
            )
            for at, song in enumerate(songs)
        ]
        self._prices: list[dict[int, int]] = [{} for _ in songs]
        self._carry_all()
        for at in range(len(songs)):
            if at not in as_they_are:
                self._as_good_as_alone(at)

    def _carry_all(self) -> None:
        """Each atom on one knob, on as many of each class as there are, and enough in each song."""
        on: list[list[Bool]] = [[] for _ in self._carried.atoms]
        for trajectory, variable in zip(self._near.trajectories, self.chosen, strict=True):
            for atom in trajectory:
                on[atom].append(variable)
        for variables in on:
            self.cp.add_exactly_one(variables)
        for number, (knobs, _) in enumerate(self._carried.classes):
            own = [self.chosen[each] for each in np.flatnonzero(self._near.class_of == number)]
            self.cp.add(summed((variable, 1) for variable in own) <= len(knobs))
        for at, least in enumerate(self._carried.used):
            if least:
                self.cp.add(self._total(lambda sets, at=at: int(sets[at] > 0)) >= least)  # type: ignore[misc]

    def _as_good_as_alone(self, at: int) -> None:
        """No worse than a song is alone, no more joined; what sharing costs is kept."""
        song = self.songs[at]
        problem, sets = song.problem, sorted({own[at] for own in self.contents} - {0})
        items = list(range(problem.items))
        bundles, breaks, sharing = set_costs(problem, items, indicator(sets, items).T)
        self._prices[at] = dict(zip(sets, map(int, sharing), strict=True))
        for costs, most in (
            (bundles, song.held["bundles"] + len(problem.bundles)),
            (breaks, song.held["independence"]),
        ):
            if costs.any():
                price = dict(zip(sets, map(int, costs), strict=True))
                self.cp.add(self._total(lambda own, p=price: p.get(own[at], 0)) <= most)  # type: ignore[misc]
        loads = {own: sum(1 for load in song.loads if load & own) - 1 for own in sets}
        self.cp.add(self._total(lambda own: loads.get(own[at], 0)) <= song.most_joined)

    def _total(self, price: Callable[[Sets], int]) -> Linear:
        """What is chosen comes to, each at its price."""
        return summed(
            (variable, price(sets))
            for variable, sets in zip(self.chosen, self.contents, strict=True)
        )

    @property
    def parts(self) -> int:
        """How many variables and constraints there are."""
        proto = self.cp.model_proto
        return len(proto.constraints) + len(proto.variables)

    # What the steps cost ------------------------------------------------------------------------

    def points(self) -> Linear:
        """What destinations cost in *relearning*."""
        counts = map(int, self._near.points)
        return summed(zip(self.chosen, counts, strict=True)) - self._carried.value

    def roles(self) -> Linear:
        """What roles cost in *relearning*."""
        return self._classes([song.roles for song in self.songs])

    def kinds(self) -> Linear:
        """What kinds cost in *relearning*."""
        return self._classes([song.kinds for song in self.songs])

    def _classes(self, masks: Sequence[Mapping[str, int]]) -> Linear:
        """On how many knobs more each class is than in the song in which it is on most."""
        cost, most = Linear.constant(0), self.songs[0].problem.knobs
        for what in dict.fromkeys(name for own in masks for name in own):
            here = [
                (at, own[what])
                for at, own in enumerate(masks)
                if own.get(what, 0) & self._there[at]
            ]
            if len(here) < 2:
                continue
            met = self._total(lambda sets, h=here: int(any(sets[at] & mask for at, mask in h)))  # type: ignore[misc]
            more, widest = self.cp.new_int_var(0, most, ""), []
            for at, mask in here:
                found = self._total(lambda sets, at=at, m=mask: int(sets[at] & m > 0))  # type: ignore[misc]
                widest.append(self.cp.new_bool_var(""))
                self.cp.add(more >= met - found).only_enforce_if(widest[-1])
                self.cp.add(met >= found)
            self.cp.add_exactly_one(widest)
            self.cp.add(more >= met - max(min(most, mask.bit_count()) for _, mask in here))
            cost = cost + more
        return cost

    def moved_bundles(self) -> Linear:
        """What bundles cost in *moves*."""
        cost, most = Linear.constant(0), self.songs[0].problem.knobs
        for pair in self.neighbours:
            of_role: dict[str, list[tuple[int, int]]] = {}
            for key, items in self._in_both(pair):
                of_role.setdefault(key[0], []).append(items)
            for both in of_role.values():
                left = self._total(lambda s, p=pair, b=both: int(any(_goes(s, p, i) for i in b)))  # type: ignore[misc]
                come = self._total(
                    lambda s, p=pair[::-1], b=both: int(any(_goes(s, p, i[::-1]) for i in b))  # type: ignore[misc]
                )
                bundles = self.cp.new_int_var(0, most, "")
                self.cp.add(bundles >= left)
                self.cp.add(bundles >= come)
                cost = cost + bundles
        return cost

    def moved_points(self) -> Linear:
        """What destinations cost in *moves*."""
        weight = dict(zip(self._carried.keys, self._carried.weights, strict=True))
        moved = [
            (pair, items, weight[key])
            for pair in self.neighbours
            for key, items in self._in_both(pair)
            if weight[key]
        ]
        return self._total(
            lambda sets: sum(w for pair, items, w in moved if _goes(sets, pair, items))
        )

    def _in_both(self, pair: tuple[int, int]) -> list[tuple[Key, tuple[int, int]]]:
        """What is placed in both of two songs, as items."""
        one, other = (self.songs[at].item_of for at in pair)
        return [
            (key, (item, other[key]))
            for key, item in one.items()
            if key in other
            and self._there[pair[0]] >> item & 1
            and self._there[pair[1]] >> other[key] & 1
        ]

    def sharing(self) -> Linear:
        """What *sharing* costs in the songs that are laid out."""
        once = sum(
            spread.weight
            for at, song in enumerate(self.songs)
            if at not in self.as_they_are
            for spread in song.problem.spreads
        )
        prices = self._prices
        return (
            self._total(lambda sets: sum(prices[at].get(own, 0) for at, own in enumerate(sets)))
            - once
        )

    def travels(self) -> Linear:
        """What *travels* cost, if each knob goes over what is cheapest for what it carries."""
        weights = dict(zip(self._carried.keys, self._carried.weights, strict=True))
        if self.songs[0].asked.request.surface.per_route:
            return self._total(self._turned_on_routes(weights))
        costs: dict[tuple[int, int], Mapping[Travel | None, int]] = {}

        def turned(sets: Sets) -> int:
            for at, own in enumerate(sets):
                if (at, own) not in costs:
                    there = self.as_they_are.get(at)
                    costs[at, own] = (
                        {there.goes[next(bits(own))]: 0}
                        if own and there
                        else costs_of(self.songs[at], list(bits(own)))
                    )
            items = [set(bits(own)) for own in sets]
            ways = [costs[each] for each in enumerate(sets)]
            return least_turned(self.songs, self.neighbours, weights, items, ways)

        return self._total(turned)

    def _turned_on_routes(self, weights: Mapping[Key, int]) -> Callable[[Sets], int]:
        """The same where each route has a travel of its own."""
        requests = [(song.asked.request, song.names) for song in self.songs]
        top, priced = self.songs[0].asked.request.surface.top, []
        for pair in self.neighbours:
            for key, items in self._in_both(pair):
                was, now = (
                    requests[at][0].driven(requests[at][1][item])
                    for at, item in zip(pair, items, strict=True)
                )
                if was and now:
                    priced.append((pair, items, weights[key] * hundredths(was, now, top)))

        def turned(sets: Sets) -> int:
            return sum(
                price
                for (one, other), (item, then), price in priced
                if sets[one] >> item & 1 and sets[other] >> then & 1
            )

        return turned

    # What was found -----------------------------------------------------------------------------

    def placed(self, chosen: Iterable[int]) -> dict[int, Placed]:
        """How the songs are laid out where these trajectories are chosen, by their positions.

        Each knob goes over any of the travels that are cheapest for what it carries in a song.
        """
        free = [list(knobs) for knobs, _ in self._carried.classes]
        knobs: list[dict[int, int]] = [{} for _ in self.songs]
        goes: list[dict[int, Travel]] = [{} for _ in self.songs]
        for number in chosen:
            knob = free[self._near.class_of[number]].pop(0)
            for at, own in enumerate(self.contents[number]):
                request, names, items = (
                    self.songs[at].asked.request,
                    self.songs[at].names,
                    list(bits(own)),
                )
                costs = costs_of(self.songs[at], items)
                best = min(costs, key=costs.__getitem__)
                knobs[at].update((item, knob) for item in items)
                goes[at].update(
                    (item, travel)
                    for item in items
                    if (travel := request.driven(names[item]) or best) is not None
                )
        return {
            at: Placed(knobs[at], goes[at])
            for at in range(len(self.songs))
            if at not in self.as_they_are
        }


def _goes(sets: Sets, pair: tuple[int, int], items: tuple[int, int]) -> bool:
    """Whether a knob has an item in the one of two songs and not in the other."""
    return bool(sets[pair[0]] >> items[0] & 1 and not sets[pair[1]] >> items[1] & 1)
