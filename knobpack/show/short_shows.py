"""Short shows: one of few songs proven best, tier by tier, by the trajectories that can be in one.

At the dual prices of a bound on what destinations cost (:mod:`knobpack.show.trajectories`) all
trajectories are listed that can be in a show in which they cost no more than that, and if there is
none such, than a little more. Those are narrowed down by a linear programme with cuts, and of what
is left CP-SAT chooses. So it goes on, tier by tier: what costs less than the best known is looked
for among what can be in such a show, and there is mostly little.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import attrs
import numpy as np
from numpy.typing import NDArray

from knobpack.definition.prices import TIERS
from knobpack.numbered.problem import bits
from knobpack.show.knob_assignment import songs_arranged
from knobpack.show.near_trajectories import (
    Near,
    NearTrajectories,
    TooManyError,
    Trajectory,
)
from knobpack.show.numbered import Numbered, Placed
from knobpack.show.trajectories import Bound
from knobpack.show.trajectory_costs import Cost, TrajectoryCosts
from knobpack.show.trajectory_cuts import Narrowing
from knobpack.show.trajectory_families import QUANTUM
from knobpack.show.trajectory_model import TrajectoryModel
from knobpack.show.travels import costs_of, with_best_travels
from knobpack.solver.cp_sat.atoms_on_knobs import EFFORT_PER_PART
from knobpack.solver.cp_sat.cpsat import Answer, Status, solve
from knobpack.solver.watch import Watch
from knobpack.words import Travel

MOST_ENTRIES, MOST_CHOSEN_FROM = 12_000_000, 15_000
"""Trajectories that are listed, at most, times atoms; and those of which shows are put together."""

A_CHOICE = 1 / 2
"""The part of the effort that is left that CP-SAT may take for one choice."""

MOST_SHOWS = 100
"""Shows that differ in *layout* alone, at most, of which the best is looked for."""

STEPS: tuple[Callable[[TrajectoryCosts], Cost], ...] = (
    TrajectoryCosts.roles,
    TrajectoryCosts.kinds,
    TrajectoryCosts.moved_bundles,
    TrajectoryCosts.moved_points,
    TrajectoryCosts.sharing,
    TrajectoryCosts.travels,
)
"""What is made least after what destinations cost, each held before the next."""

Laid = Mapping[int, Placed]
Values = tuple[int, ...]
Some = NDArray[np.bool_]


@attrs.frozen(eq=False)
class Closing:
    """A show that is to be proven best.

    Args:
        songs: its songs, in playing order.
        neighbours: the positions of each two songs that follow each other.
        pinned: those that stay as they are, by their position.
        values: what each step comes to in songs that are laid out so.
        sharing: what *sharing* costs in songs that stay as they are.
        bound: a bound on what destinations cost.
        watch: how long the search may go on.
    """

    songs: Sequence[Numbered]
    neighbours: Sequence[tuple[int, int]]
    pinned: Laid
    values: Callable[[Laid], Values]
    sharing: int
    bound: Bound
    watch: Watch

    def closed(self, laid: Laid) -> tuple[dict[int, Placed], list[int]]:
        """The best that is found, and the bound of each step that was looked at.

        Args:
            laid: how every song is laid out in the best that is known.
        """
        carried, points, value = self.bound.carried, self.bound.points, self.values(laid)[0]
        while self._plain and points <= value and not self.watch.over():
            try:
                narrowing = Narrowing(carried, self._near(points), self.watch)
            except TooManyError:
                break
            narrowing.narrow(points)
            if narrowing.bound <= points:
                return _Choosing(self, narrowing, dict(laid), points).closed()
            points += carried.step  # nothing costs so little
        return dict(laid), [min(points, value)]

    @property
    def _plain(self) -> bool:
        """Whether all is to be placed, and nothing is there before."""
        problems = [song.problem for at, song in enumerate(self.songs) if at not in self.pinned]
        placed = sum(1 for atom in self.bound.carried.atoms if atom.song not in self.pinned)
        return placed == sum(len(each.atoms) for each in problems) and not any(
            each.order != TIERS
            or each.before
            or each.kept_travels
            or each.travels_there
            or each.one_empty
            for each in problems
        )

    def _near(self, points: int) -> Near:
        """All trajectories that may be in a show in which destinations cost no more.

        Raises:
            TooManyError: there are too many, or the watch says stop.
        """
        bound, found = self.bound, list[tuple[int, Trajectory]]()
        gap = QUANTUM * (points + bound.carried.value) - bound.worth
        for number, (_, may) in enumerate(bound.carried.classes):
            left = MOST_ENTRIES // max(1, len(bound.carried.atoms)) - len(found)
            search = NearTrajectories(bound.pricing, bound.prices, may, left, self.watch)
            found += [(number, each) for each in search.listed(bound.most[number] - gap)]
        near = Near.of(bound.carried, found)
        room = [
            each.problem.items if at in self.pinned else each.problem.per_knob
            for at, each in enumerate(self.songs)
        ]
        fits = [
            all(items.bit_count() <= most for items, most in zip(own, room, strict=True))
            for own in near.contents(bound.carried, self.songs)
        ]
        return near.only(np.array(fits, dtype=np.bool_))


class _Choosing:
    """The choice among trajectories, step by step.

    Args:
        closing: the show.
        narrowing: the trajectories, and which of them can be in a best one.
        best: how every song is laid out in the best that is known.
        points: what destinations cost at least.
    """

    def __init__(
        self, closing: Closing, narrowing: Narrowing, best: dict[int, Placed], points: int
    ) -> None:
        self._show, self._narrowing, self._near = closing, narrowing, narrowing.near
        self._carried, self._watch = closing.bound.carried, closing.watch
        self._best, self._values = best, closing.values(best)
        self._costs = TrajectoryCosts(
            closing.songs,
            closing.pinned,
            closing.neighbours,
            self._carried,
            self._near,
            closing.sharing,
        )
        self._held: list[tuple[Cost, int]] = []
        self._points = points

    def closed(self) -> tuple[dict[int, Placed], list[int]]:
        """The best that is found, and the bound of each step, up to the first that is open."""
        bounds = [self._points]
        cost, narrowing = Cost(self._near.points, -self._carried.value), self._narrowing
        for some in (narrowing.came, narrowing.alive):
            if self._values[0] > self._points:
                self._choose(some, cost, self._points)
        while self._values[len(bounds) - 1] == bounds[-1] and len(bounds) <= len(STEPS):
            self._held.append((cost, bounds[-1]))
            narrowing.hold(bounds[-1])
            cost = STEPS[len(bounds) - 1](self._costs)
            narrowing.begin(cost, self._known())
            bounds.append(self._least(cost, len(bounds)))
        if len(bounds) > len(STEPS) and self._values[len(STEPS)] == bounds[-1]:
            self._held.append((cost, bounds[-1]))
            bounds += self._laid_out()
        return self._best, bounds

    def _laid_out(self) -> list[int]:
        """Lay out best what is best in all else; the bounds of *change* and *layout*, if any."""
        if self._show.pinned or not (every := self._every()):
            return []
        found = songs_arranged(self._show.songs, every, self._watch)
        if found is None:
            return []
        self._best = min(self._best, found[0], key=self._show.values)
        return [0, found[1]]

    def _every(self) -> list[dict[int, Placed]]:
        """All shows that are best in all that comes before *change*; none: they are too many."""
        model, near = self._model(self._narrowing.alive)
        found: list[dict[int, Placed]] = []
        while len(found) < MOST_SHOWS:
            answer = solve(model.cp, self._watch, confirm=True)
            if answer.value is None:
                return found if answer.status is Status.IMPOSSIBLE else []
            chosen = [number for number, each in enumerate(model.chosen) if answer.value(each)]
            found.append(self._placed(near, chosen))
            model.cp.add_bool_or([~model.chosen[number] for number in chosen])
        return []

    def _least(self, cost: Cost, at: int) -> int:
        """Make a step as little as it gets, as far as that can be found; and its bound."""
        narrowing, value = self._narrowing, self._values[at]
        if value == cost.least:
            return value
        narrowing.narrow(value)
        if narrowing.bound > cost.below(value):
            return value
        few = narrowing.came
        if few.sum() < narrowing.alive.sum():
            self._choose(few, cost, cost.below(value))
        value = cost.below(self._values[at])
        some = narrowing.below(value)
        if narrowing.bound > value:
            return self._values[at]
        if some.sum() > MOST_CHOSEN_FROM:
            return narrowing.bound
        answer = self._choose(some, cost, value)
        if answer.status is Status.IMPOSSIBLE:
            return self._values[at]
        return max(narrowing.bound, answer.bound or 0)

    def _choose(self, some: Some, cost: Cost, most: int) -> Answer:
        """Look for a show of some trajectories in which a step costs no more than ``most``."""
        model, near = self._model(some)
        least = model.cost(cost.only(np.flatnonzero(some)))
        model.cp.add(least <= most)
        model.cp.minimize(least)
        answer = solve(
            model.cp, self._watch, effort=A_CHOICE * self._watch.effort, linear=True, confirm=True
        )
        if answer.value is not None:
            found = self._placed(near, [n for n, v in enumerate(model.chosen) if answer.value(v)])
            values = self._show.values(found)
            if values < self._values and self._valid(found):
                self._best, self._values = found, values
        return answer

    def _model(self, some: Some) -> tuple[TrajectoryModel, Near]:
        """The model of some trajectories, no worse in the steps before."""
        kept, near = np.flatnonzero(some), self._near.only(some)
        limits = [attrs.evolve(each, prices=each.prices[kept]) for each in self._costs.limits]
        model = TrajectoryModel(self._carried, near, limits)
        for earlier, value in self._held:
            model.cp.add(model.cost(earlier.only(kept)) <= value)
        self._watch.spend(EFFORT_PER_PART * model.parts)
        return model, near

    def _placed(self, near: Near, chosen: Sequence[int]) -> dict[int, Placed]:
        """How the songs are laid out where these trajectories are chosen, over the best travels."""
        show, carried = self._show, self._carried
        free = [list(knobs) for knobs, _ in carried.classes]
        contents = near.contents(carried, show.songs)
        knobs: list[dict[int, int]] = [{} for _ in show.songs]
        goes: list[dict[int, Travel]] = [{} for _ in show.songs]
        for number in chosen:
            knob = free[near.class_of[number]].pop(0)
            for at, own in enumerate(contents[number]):
                song = show.songs[at]
                best = next(iter(costs_of(song, list(bits(own)))))
                for item in bits(own):
                    knobs[at][item] = knob
                    travel = song.asked.request.driven(song.names[item]) or best
                    if travel is not None:
                        goes[at][item] = travel
        found = {at: Placed(knobs[at], goes[at]) for at in range(len(show.songs))}
        weights = dict(zip(carried.keys, carried.weights, strict=True))
        laid = {**found, **show.pinned}
        return with_best_travels(show.songs, show.neighbours, weights, laid, show.pinned)

    def _valid(self, laid: Laid) -> bool:
        """Whether every song may be laid out so."""
        return all(
            song.takes(song.layout(laid[at]))
            for at, song in enumerate(self._show.songs)
            if at not in self._show.pinned
        )

    def _known(self) -> list[int]:
        """The positions of the trajectories of the best show that is known."""
        near, carried, found = self._near, self._carried, []
        pairs = zip(near.class_of.tolist(), near.trajectories, strict=True)
        place = {pair: at for at, pair in enumerate(pairs)}
        for number, (knobs, _) in enumerate(carried.classes):
            for knob in knobs:
                own = tuple(at for at, atom in enumerate(carried.atoms) if self._knob(at) == knob)
                if own:
                    found.append(place[number, own])
        return found

    def _knob(self, atom: int) -> int:
        """The knob that an atom is on in the best show that is known."""
        own = self._carried.atoms[atom]
        item = self._show.songs[own.song].item_of[self._carried.keys[own.destinations[0]]]
        return self._best[own.song].knobs[item]
