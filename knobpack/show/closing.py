"""Closing: a show of few songs proven best, tier by tier, in a model of near trajectories.

At the dual prices of a bound on what destinations cost (:mod:`knobpack.show.trajectories`) all
trajectories are listed that can be in a show as good as the best known, cuts leave out most of
them, and of those that are left CP-SAT chooses the best in one tier after the other.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence

import attrs
import numpy as np

from knobpack.definition.prices import TIERS
from knobpack.show.near_trajectories import NearTrajectories, TooManyError, Trajectory
from knobpack.show.numbered import Numbered, Placed
from knobpack.show.trajectories import Bound
from knobpack.show.trajectory_cuts import Near, narrowed
from knobpack.show.trajectory_families import QUANTUM
from knobpack.show.trajectory_model import TrajectoryModel, contents
from knobpack.show.travels import with_best_travels
from knobpack.solver.cp_sat.atoms_on_knobs import EFFORT_PER_PART, Linear
from knobpack.solver.cp_sat.cpsat import Answer, hint, solve
from knobpack.solver.watch import Watch

MOST_ENTRIES, MOST_CHOSEN_FROM = 12_000_000, 6_000
"""Trajectories that are listed, at most, times atoms; and those of which shows are put together."""

STEPS: tuple[Callable[[TrajectoryModel], Linear], ...] = (
    TrajectoryModel.points,
    TrajectoryModel.roles,
    TrajectoryModel.kinds,
    TrajectoryModel.moved_bundles,
    TrajectoryModel.moved_points,
    TrajectoryModel.sharing,
    TrajectoryModel.travels,
)
"""What is made least, each held before the next."""

Laid = Mapping[int, Placed]
Values = tuple[int, ...]


@attrs.frozen(eq=False)
class Closing:
    """A show that is to be proven best.

    Args:
        songs: its songs, in playing order.
        neighbours: the positions of each two songs that follow each other.
        pinned: those that stay as they are, by their position.
        values: what each step comes to in songs that are laid out so.
        constant: what each step comes to in songs that stay as they are, by themselves.
        bound: a bound on what destinations cost.
        watch: how long the search may go on.
    """

    songs: Sequence[Numbered]
    neighbours: Sequence[tuple[int, int]]
    pinned: Laid
    values: Callable[[Laid], Values]
    constant: Sequence[int]
    bound: Bound
    watch: Watch

    def closed(self, laid: Laid) -> tuple[dict[int, Placed], list[int]]:
        """The best that is found, and the bound of each step that was looked at.

        Args:
            laid: how every song is laid out in the best that is known.
        """
        best, carried = dict(laid), self.bound.carried
        points, value = self.bound.points, self.values(best)[0]
        while self._plain and points <= value and not self.watch.over():
            try:
                near, few, worth = narrowed(carried, self._near(points), points, self.watch)
            except TooManyError:
                break
            least = carried.in_points(worth)
            if least > points:  # nothing costs so little
                points = least
                continue
            found = best if points == value else self._begun(few, points)
            all_of_them = len(near.trajectories) <= MOST_CHOSEN_FROM
            if all_of_them and found is None:
                found = self._begun(near, points)
            if found is None:
                break
            best = min(best, found, key=self.values)
            if all_of_them:
                return self._chosen(near, best)
            break
        return best, [min(points, value)]

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

    def _near(self, value: int) -> Near:
        """All trajectories that may be in a show in which destinations cost no more.

        Raises:
            TooManyError: there are too many, or the watch says stop.
        """
        bound, found = self.bound, list[tuple[int, Trajectory]]()
        gap = QUANTUM * (value + bound.carried.value) - bound.worth
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
            for own in contents(bound.carried, self.songs, near)
        ]
        return near.only(np.array(fits, dtype=np.bool_))

    def _known(self, near: Near, laid: Laid) -> list[int]:
        """The positions of the trajectories of a show."""
        place = {
            (int(number), each): at
            for at, (number, each) in enumerate(zip(near.class_of, near.trajectories, strict=True))
        }
        carried, found = self.bound.carried, []
        for number, (knobs, _) in enumerate(carried.classes):
            for knob in knobs:
                own = tuple(
                    at
                    for at, atom in enumerate(carried.atoms)
                    if laid[atom.song].knobs[self._item(atom.song, atom.destinations[0])] == knob
                )
                if own:
                    found.append(place[number, own])
        return found

    def _item(self, song: int, destination: int) -> int:
        return self.songs[song].item_of[self.bound.carried.keys[destination]]

    def _model(self, near: Near) -> TrajectoryModel:
        """The model that chooses from these."""
        model = TrajectoryModel(self.songs, self.pinned, self.neighbours, self.bound.carried, near)
        self.watch.spend(EFFORT_PER_PART * model.parts)
        return model

    def _begun(self, near: Near, points: int) -> dict[int, Placed] | None:
        """A show of these in which destinations cost no more than so much; None: none is found."""
        model = self._model(near)
        cost = model.points()
        model.cp.minimize(cost)
        half = self.watch.effort / 2
        answer = solve(model.cp, self.watch, effort=half, enough=points, linear=True)
        return self._found(model, answer)

    def _found(self, model: TrajectoryModel, answer: Answer) -> dict[int, Placed] | None:
        """The show of an answer; None: there is none, or a song may not be laid out so."""
        if answer.value is None:
            return None
        chosen = [number for number, each in enumerate(model.chosen) if answer.value(each)]
        carried, found = self.bound.carried, {**self.pinned, **model.placed(chosen)}
        weights = dict(zip(carried.keys, carried.weights, strict=True))
        found = with_best_travels(self.songs, self.neighbours, weights, found, self.pinned)
        return found if self._valid(found) else None

    def _chosen(self, near: Near, best: dict[int, Placed]) -> tuple[dict[int, Placed], list[int]]:
        """Choose trajectories that are best, step by step; of what is not proven none follows."""
        model, values = self._model(near), self.values(best)
        bounds = [values[0]]
        model.cp.add(model.points() <= values[0])
        for at, step in enumerate(STEPS[1:], 1):
            cost, least = step(model) + self.constant[at], self.constant[at]
            if values[at] > least:
                model.cp.minimize(cost)
                known = set(self._known(near, best))
                hint(model.cp, model.chosen, (int(n in known) for n in range(len(model.chosen))))
                answer = solve(model.cp, self.watch, effort=self.watch.effort / 2, linear=True)
                found = self._found(model, answer)
                if found and self.values(found) < values:
                    best, values = found, self.values(found)
                least = max(least, answer.bound or 0)
            bounds.append(least)
            if least < values[at]:
                break
            model.cp.add(cost <= values[at])
        return best, bounds

    def _valid(self, laid: Laid) -> bool:
        """Whether every song may be laid out so."""
        return all(
            song.takes(song.layout(laid[at]))
            for at, song in enumerate(self.songs)
            if at not in self.pinned
        )
