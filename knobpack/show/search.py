"""The search: a show laid out song by song, then many songs at once, tier by tier."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import cached_property

import attrs

from knobpack.allocation.checked import completed
from knobpack.checker import priced
from knobpack.definition.prices import Prices
from knobpack.show import between
from knobpack.show.asked import Key
from knobpack.show.definition import show_prices, sizes_of, things_of
from knobpack.show.model import ANYWHERE, ShowModel
from knobpack.show.neighbourhoods import OpenTo, ShowNeighbourhoods
from knobpack.show.numbered import Numbered, Placed
from knobpack.show.prices import SHOW_TIERS
from knobpack.show.short_shows import Closing
from knobpack.show.to_carry import carrying
from knobpack.show.trajectories import Bound, least_points
from knobpack.solver.cp_sat.atoms_on_knobs import EFFORT_PER_PART, Linear
from knobpack.solver.cp_sat.cpsat import Status
from knobpack.solver.watch import Watch


@attrs.frozen
class ShowStep:
    """One thing that is made least.

    Args:
        tier: the tier that it is of.
        cost: what it is in a model.
        own: whether it is a sum over songs, to which those that stay as they are add theirs.
        alike: whether it is the same whichever knob is which.
    """

    tier: str
    cost: Callable[[ShowModel], Linear]
    own: bool = False
    alike: bool = True


STEPS = (
    ShowStep("relearning", between.points),
    ShowStep("relearning", between.roles),
    ShowStep("relearning", between.kinds),
    ShowStep("moves", between.moved_bundles),
    ShowStep("moves", between.moved_points),
    ShowStep("sharing", lambda model: model.of_songs("sharing"), own=True),
    ShowStep("travels", between.travels),
    ShowStep("change", lambda model: model.of_songs("change"), own=True, alike=False),
    ShowStep("layout", lambda model: model.of_songs("layout"), own=True, alike=False),
)
"""What is made least, each held before the next."""

UNTIL_SHARING = 6
"""The steps that neighbourhoods are solved for."""

A_NEIGHBOURHOOD, PATIENCE = 0.3, 2
"""The effort for one neighbourhood, at most, and how many for each song that are no better end a
step."""

Laid = Mapping[int, Placed]
"""How each song is laid out, by its position."""

Values = tuple[int, ...]
"""The value of each step."""


@attrs.frozen(eq=False)
class ShowSearch:
    """A show that is being laid out.

    Args:
        songs: its songs, in playing order.
        neighbours: the positions of each two songs that follow each other.
        pinned: those that stay as they are, by their position.
        watch: how long the search may go on.
        start: how songs may be laid out to begin with, as good as each has to be; none: as alone.
        least: what the songs come to at least in the tiers that each has by itself, if each is as
            good as alone in those before; not named: 0.
    """

    songs: Sequence[Numbered]
    neighbours: Sequence[tuple[int, int]]
    pinned: Laid
    watch: Watch
    start: Laid = attrs.field(factory=dict)
    least: Mapping[str, int] = attrs.field(factory=dict)
    _prices: dict[Placed, Prices] = attrs.field(factory=dict)

    @cached_property
    def free(self) -> tuple[int, ...]:
        """The positions of the songs that are to be laid out."""
        return tuple(at for at in range(len(self.songs)) if at not in self.pinned)

    @cached_property
    def weights(self) -> dict[Key, int]:
        """What each destination of the show counts."""
        asked = [song.asked for song in self.songs]
        things = things_of(asked, [song.alone.layout for song in self.songs])
        return {(each.role, each.name): each.weight for each in things}

    def places(self, at: int) -> int:
        """In how many places the atoms of a song can be."""
        problem = self.songs[at].problem
        return len(problem.atoms) * problem.knobs

    def values(self, laid: Laid) -> Values:
        """What each step comes to, as the definition has it."""
        asked = [song.asked for song in self.songs]
        layouts = [song.layout(laid[at]) for at, song in enumerate(self.songs)]
        whole = [
            completed(each.request, layout) for each, layout in zip(asked, layouts, strict=True)
        ]
        own = [self._priced(at, laid[at]) for at in range(len(self.songs))]
        prices = show_prices(asked, whole, own, self.neighbours)
        rest = map(prices.total, ("sharing", "travels", "change", "layout"))
        return (*prices.relearning, *prices.moves, *rest)

    def _priced(self, at: int, placed: Placed) -> Prices:
        if placed not in self._prices:
            song = self.songs[at]
            self._prices[placed] = priced(song.asked.request, song.layout(placed))
        return self._prices[placed]

    # Songs laid out -----------------------------------------------------------------------------

    def lay(
        self, laid: Laid, steps: int, effort: float, known: Sequence[int] = ()
    ) -> tuple[dict[int, Placed], list[int]]:
        """Lay all songs out that are free, wherever what is in them may be.

        Args:
            laid: how every song is laid out.
            steps: how many steps they are taken through.
            effort: how much may be spent on it.
            known: bounds of the first steps that are known.

        Returns:
            How every song is laid out then, and the bound of each step that was looked at: none is
            below it that is no worse in those before.
        """
        model = self._model(self.pinned)
        best = model.tidied(laid)
        values, bounds = self.values(best), list[int]()
        for at, step in enumerate(STEPS[:steps]):
            if self.watch.over():
                break
            cost, least = self._cost(model, step), known[at] if at < len(known) else 0
            if at < len(known) and values[at] <= least:
                bounds.append(least)
                model.cp.add(cost <= values[at])
                continue
            model.start_from(best, cost, self.watch)
            before = self.watch.effort
            share = effort if at == steps - 1 else effort / 2
            answer = model.best(cost, self.watch, effort=share, tidy=step.alike)
            effort -= before - self.watch.effort
            if answer.found:
                found = {**self.pinned, **model.placed(answer)}
                if (now := self.values(found)) < values:
                    best, values = found, now
            bounds.append(max(least, answer.bound or 0))
            model.cp.add(cost <= values[at])
            self._tell(step.tier, values, bounds)
        return min(best, dict(laid), key=self.values), bounds

    def improved(self, laid: Laid, at: int, part: float, seed: int = 0) -> dict[int, Placed]:
        """Solve neighbourhoods, one after the other, until none of several is better in a step.

        Args:
            laid: how every song is laid out.
            at: the number of the step; it is no worse in those before.
            part: the part of the effort and time that is left that this may take.
            seed: what neighbourhoods are drawn by.
        """
        best, values, in_vain = dict(laid), self.values(laid), 0
        drawn = ShowNeighbourhoods(self.songs, self.free, self.weights, seed)
        open_to = drawn.within(laid) if at else drawn.next(laid)
        with self.watch.share(part) as own:
            while values[at] and in_vain < PATIENCE * len(self.free) and not own.over():
                model = self._within(best, open_to)
                for number, step in enumerate(STEPS[:at]):
                    model.cp.add(self._cost(model, step) <= values[number])
                cost = self._cost(model, STEPS[at])
                model.hint_at(best)
                own.spend(EFFORT_PER_PART * model.parts)
                # With and without its linear relaxation a search gets stuck in other places.
                linear = bool(in_vain % 2)
                answer = model.best(cost, own, effort=A_NEIGHBOURHOOD, linear=linear)
                drawn.learn(through=answer.status is Status.OPTIMAL)
                in_vain += 1
                if answer.value is not None and answer.value(cost) <= values[at]:
                    best = {**best, **model.placed(answer)}
                    if answer.value(cost) < values[at]:
                        values, in_vain = self.values(best), 0
                        self._tell(STEPS[at].tier, values, [])
                open_to = drawn.next(best)
        return min(best, dict(laid), key=self.values)

    def _model(self, others: Laid, open_to: OpenTo = ANYWHERE) -> ShowModel:
        """The model of the songs, some as they are."""
        return ShowModel(self.songs, others, self.neighbours, self.weights, open_to)

    def _within(self, laid: Laid, open_to: OpenTo) -> ShowModel:
        """The model of a neighbourhood; songs in which nothing may be elsewhere are as they are."""
        moving = {at for at, masks in open_to.items() if any(mask & mask - 1 for mask in masks)}
        return self._model({at: laid[at] for at in laid if at not in moving}, open_to)

    def _cost(self, model: ShowModel, step: ShowStep) -> Linear:
        """What a step comes to in a model, in songs that are as they are too."""
        others = model.as_they_are.items() if step.own else ()
        return step.cost(model) + sum(self._priced(*each).total(step.tier) for each in others)

    def bounded(self, laid: Laid, part: float, *, beyond: bool) -> Bound | None:
        """A bound on what destinations cost in *relearning*.

        Args:
            laid: the best that is known.
            part: the part of the effort and time that it may take.
            beyond: whether it is made better where it is known to be enough.

        Returns:
            The bound; None: there is no way to one.
        """
        carried, value = carrying(self.songs, self.pinned, self.weights), self.values(laid)[0]
        with self.watch.share(part) as own:
            return least_points(carried, value + beyond * carried.step, own)

    def closed(self, laid: Laid, bound: Bound, part: float) -> tuple[dict[int, Placed], list[int]]:
        """The best that is found among near trajectories, and the bound of each step proven.

        Args:
            laid: the best that is known.
            bound: a bound on what destinations cost.
            part: the part of the effort and time that it may take.
        """
        sharing = sum(self._priced(*each).total("sharing") for each in self.pinned.items())
        show = self.songs, self.neighbours, self.pinned
        with self.watch.share(part) as own:
            best, bounds = Closing(*show, self.values, sharing, bound, own).closed(laid)
        values = self.values(best)
        for tier in dict.fromkeys(step.tier for step in STEPS[: len(bounds)]):
            self._tell(tier, values, bounds)
        return best, bounds

    def _tell(self, tier: str, values: Values, bounds: Sequence[int]) -> None:
        """Report a tier; where songs were held that may be laid out, no bound is known."""
        value, bound = self.of_tier(tier, values, values), self.of_tier(tier, values, bounds)
        self.watch.tell(SHOW_TIERS.index(tier), value, bound)

    def of_tier(self, tier: str, values: Values, bounds: Sequence[int]) -> int:
        """The bound of a tier from those of its steps, as far as they are known.

        What a step is bounded by counts only where those before it in the tier are proven.
        """
        total = 0
        known = [*bounds, *[0] * (len(STEPS) - len(bounds))]
        sizes = self._sizes.get(tier, (1,))
        places = [at for at, step in enumerate(STEPS) if step.tier == tier]
        for at, size in zip(places, sizes, strict=True):
            total += known[at] * size
            if known[at] < values[at]:
                break
        return total

    @cached_property
    def _sizes(self) -> dict[str, tuple[int, ...]]:
        first, second, third = sizes_of([song.asked for song in self.songs])
        return {"relearning": (first, second, 1), "moves": (third, 1)}
