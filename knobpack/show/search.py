"""The search: a show laid out song by song, then many songs at once, tier by tier."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from functools import cached_property
from itertools import pairwise

import attrs

from knobpack.allocation.checked import completed
from knobpack.checker import priced
from knobpack.definition.prices import Prices
from knobpack.show import between
from knobpack.show.asked import Key
from knobpack.show.definition import show_prices, sizes_of, things_of
from knobpack.show.exchanges import exchanged
from knobpack.show.model import ShowModel
from knobpack.show.numbered import Numbered, Placed
from knobpack.show.prices import ALONE, SHOW_TIERS
from knobpack.show.renaming import renamed
from knobpack.show.trajectories import carrying, least_points
from knobpack.solver.cp_sat.atoms_on_knobs import Linear
from knobpack.solver.watch import Watch


@attrs.frozen
class Step:
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
    Step("relearning", between.points),
    Step("relearning", between.roles),
    Step("relearning", between.kinds),
    Step("moves", between.moved_bundles),
    Step("moves", between.moved_points),
    Step("sharing", lambda model: model.of_songs("sharing"), own=True),
    Step("travels", between.turned),
    Step("change", lambda model: model.of_songs("change"), own=True, alike=False),
    Step("layout", lambda model: model.of_songs("layout"), own=True, alike=False),
)
"""What is made least, each held before the next."""

UNTIL_SHARING = 6
"""The steps that a song laid out between others is taken through."""

_MOST_PLACES = 700
"""Places that the songs of one model have, at most: atoms times knobs."""

_MOST_BOUNDED = 3_000
"""Places of a whole show, at most, that is bounded in what destinations cost in *relearning* by one
model where there are too many trajectories."""

_BOUNDING = (1 / 4, 1 / 2)
"""The part of the effort that bounding that may take by trajectories, where all songs fit one model
and where they do not."""

_A_SONG = 0.1
"""The effort for each step of a song that is laid out beside others."""

Laid = Mapping[int, Placed]
"""How each song is laid out, by its position."""

Values = tuple[int, ...]
"""The value of each step."""


@attrs.frozen(eq=False)
class Search:
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

    # Songs between others -----------------------------------------------------------------------

    def lay(
        self, some: Collection[int], laid: Laid, steps: int, effort: float, points: int = 0
    ) -> tuple[dict[int, Placed], list[int]]:
        """Lay some songs out anew, all others as they are.

        Args:
            some: their positions.
            laid: how every song is laid out.
            steps: how many steps they are taken through.
            effort: how much may be spent on it.
            points: a bound on the first step that is known.

        Returns:
            How every song is laid out then, and the bound of each step that was looked at: none is
            below it that is no worse in those before.
        """
        others = {at: placed for at, placed in laid.items() if at not in some}
        model = ShowModel(self.songs, others, self.neighbours, self.weights)
        best = model.tidied(laid)
        values, bounds = self.values(best), list[int]()
        for at, step in enumerate(STEPS[:steps]):
            if self.watch.over():
                break
            cost, known = step.cost(model), 0 if at else points
            if known and values[at] <= known:
                bounds.append(known)
                model.hold(cost, values[at])
                continue
            if step.own and others:
                cost = cost + sum(
                    self._priced(n, each).total(step.tier) for n, each in others.items()
                )
            model.start_from(best, cost, self.watch)
            before = self.watch.effort
            share = effort if at == steps - 1 else effort / 2
            answer = model.best(cost, self.watch, effort=share, tidy=step.alike)
            effort -= before - self.watch.effort
            if answer.found:
                found = {**others, **model.placed(answer)}
                if (now := self.values(found)) < values:
                    best, values = found, now
            bounds.append(max(known, answer.bound or 0))
            model.hold(cost, values[at])
            self._tell(step.tier, values, bounds if set(others) <= set(self.pinned) else [])
        return min(best, dict(laid), key=self.values), bounds

    def least_points(self, laid: Laid, part: float) -> int | None:
        """A bound on what destinations cost in *relearning*.

        Args:
            laid: the best that is known.
            part: the part of the effort and time that it may take.

        Returns:
            The bound, in points; None: there is no way to one.
        """
        value = self.values(laid)[0]
        if not value:
            return 0
        with self.watch.share(part) as own:
            return least_points(carrying(self.songs, self.pinned, self.weights), value, own)

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

    def one_by_one(self, order: Iterable[int], effort: float) -> dict[int, Placed]:
        """Each song laid out beside those before it in an order, and those that stay."""
        laid = dict(self.pinned)
        for at in order:
            laid[at] = self._beside(at, laid, effort)
        return laid

    def exchanged(self, laid: Laid) -> dict[int, Placed]:
        """The same with places in its songs exchanged, where that is better."""
        found = exchanged(self.songs, laid, self.free, self.weights, self.watch)
        as_good = all(
            self._priced(at, found[at]).total(tier) <= value
            for at in self.free
            for tier, value in self.songs[at].held.items()
        )
        return found if as_good and self.values(found) < self.values(laid) else dict(laid)

    def _beside(self, at: int, laid: Laid, effort: float) -> Placed:
        """One song laid out beside some others, the rest not looked at."""
        song = self.songs[at]
        absent = [n for n in range(len(self.songs)) if n not in laid and n != at]
        model = ShowModel(self.songs, dict(laid), self.neighbours, self.weights, absent)
        best = song.placed(song.alone.layout)
        for step in STEPS[:UNTIL_SHARING]:
            cost = step.cost(model)
            model.start_from({at: best}, cost, self.watch)
            answer = model.best(cost, self.watch, effort=effort, tidy=False)
            if answer.value is None:
                break
            best = model.placed(answer)[at]
            model.hold(cost, answer.value(cost))
        return best


def searched(search: Search) -> tuple[dict[int, Placed], tuple[int, ...]]:
    """The best that is found, and for each tier a bound: none that is as good before is below it.

    Songs are laid out one by one, in playing order and the largest first, knobs of single songs are
    exchanged, and what is better is gone on from: all songs at once where they are few, else some
    in a row between the others.

    Args:
        search: the show.
    """
    alone = {at: song.placed(song.alone.layout) for at, song in enumerate(search.songs)}
    begun = [{**alone, **each, **search.pinned} for each in ({}, search.start)]
    best = min(begun, key=search.values)
    if search.free and not search.watch.over():
        largest = sorted(search.free, key=lambda at: -len(search.songs[at].problem.atoms))
        starts = [search.one_by_one(order, _A_SONG) for order in (search.free, largest)]
        # From anywhere: what each song is like alone is as good a start as any.
        tried = [search.exchanged(each) for each in (best, min(starts, key=search.values))]
        best = min([best, *tried], key=search.values)
    rows = _in_rows(search)
    bounds: list[int] = []
    points = search.least_points(best, _BOUNDING[len(rows) > 1]) if rows else None
    if len(rows) == 1:
        effort = search.watch.effort
        best, bounds = search.lay(rows[0], best, len(STEPS), effort, points or 0)
    elif rows:
        if points is not None:
            bounds = [points]
        elif sum(map(search.places, search.free)) <= _MOST_BOUNDED:
            best, bounds = search.lay(search.free, best, 1, search.watch.effort / 3)
        best = _by_rows(search, rows, best)
    if not search.pinned:
        best = min(best, renamed(search.songs, best), key=search.values)
    values = search.values(best)
    if not rows:
        bounds = list(values)
    told = {tier: search.of_tier(tier, values, bounds) for tier in SHOW_TIERS[3:]}
    least = [search.least.get(tier, 0) for tier in (*ALONE, "sharing")]
    told["sharing"] = max(told["sharing"], least[-1])
    return best, (*least[:-1], *told.values())


def _in_rows(search: Search) -> list[tuple[int, ...]]:
    """The songs that are laid out, in rows that are few enough for one model."""
    rows: list[tuple[int, ...]] = []
    size = _MOST_PLACES + 1
    for at in search.free:
        own = search.places(at)
        if size + own > _MOST_PLACES:
            rows, size = [*rows, ()], 0
        rows[-1] = (*rows[-1], at)
        size += own
    return rows


def _by_rows(
    search: Search, rows: Sequence[tuple[int, ...]], laid: dict[int, Placed]
) -> dict[int, Placed]:
    """Rows of songs laid out anew between the others, until none is laid out better."""
    halves = [(*one[len(one) // 2 :], *other[: len(other) // 2]) for one, other in pairwise(rows)]
    best, values = laid, search.values(laid)
    while not search.watch.over():
        before = values
        for row in (*rows, *halves):
            share = search.watch.effort / (2 * len(rows))
            best, _ = search.lay(row, best, UNTIL_SHARING, share)
            values = search.values(best)
        best = search.exchanged(best)
        values = search.values(best)
        if values == before:
            break
    return best
