"""The search: a show laid out song by song, then many songs at once, tier by tier."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from functools import cached_property

import attrs

from knobpack.checked import completed
from knobpack.checker import priced
from knobpack.prices import Prices
from knobpack.show.asked import Key
from knobpack.show.model import ShowModel
from knobpack.show.numbered import Numbered, Placed
from knobpack.show.prices import SHOW_TIERS, show_prices, things_of
from knobpack.solver.atoms_on_knobs import Linear
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
    Step("relearning", lambda model: model.relearned[0]),
    Step("relearning", lambda model: model.relearned[1]),
    Step("relearning", lambda model: model.relearned[2]),
    Step("moves", lambda model: model.moved[0]),
    Step("moves", lambda model: model.moved[1]),
    Step("sharing", lambda model: model.of_songs("sharing"), own=True),
    Step("travels", lambda model: model.turned),
    Step("change", lambda model: model.of_songs("change"), own=True, alike=False),
    Step("layout", lambda model: model.of_songs("layout"), own=True, alike=False),
)
"""What is made least, each held before the next."""

UNTIL_SHARING = 6
"""The steps that a song laid out between others is taken through."""

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
    """

    songs: Sequence[Numbered]
    neighbours: Sequence[tuple[int, int]]
    pinned: Laid
    watch: Watch
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
        self, some: Collection[int], laid: Laid, steps: int, effort: float
    ) -> tuple[dict[int, Placed], list[int]]:
        """Lay some songs out anew, all others as they are.

        Args:
            some: their positions.
            laid: how every song is laid out.
            steps: how many steps they are taken through.
            effort: how much may be spent on it.

        Returns:
            How every song is laid out then, and the bound of each step that was looked at: none is
            below it that is no worse in those before.
        """
        others = {at: placed for at, placed in laid.items() if at not in some}
        model = ShowModel(self.songs, others, self.neighbours, self.weights)
        best, values, bounds = dict(laid), self.values(laid), list[int]()
        for at, step in enumerate(STEPS[:steps]):
            if self.watch.over():
                break
            cost = step.cost(model)
            if step.own:
                cost = cost + sum(
                    self._priced(n, each).total(step.tier) for n, each in others.items()
                )
            model.start_from(best)
            share = effort / (steps - at)
            before = self.watch.effort
            answer = model.best(cost, self.watch, effort=share, tidy=step.alike)
            effort -= before - self.watch.effort
            found = {**others, **model.placed(answer)}
            if answer.found and (now := self.values(found)) < values:
                best, values = found, now
            bounds.append(max(0, answer.bound or 0))
            model.hold(cost, values[at])
            self.watch.tell(SHOW_TIERS.index(step.tier), values[at], bounds[-1])
        return best, bounds

    def one_by_one(self, order: Iterable[int], effort: float) -> dict[int, Placed]:
        """Each song laid out beside those before it in an order, and those that stay."""
        laid = dict(self.pinned)
        for at in order:
            laid[at] = self._beside(at, laid, effort)
        return laid

    def _beside(self, at: int, laid: Laid, effort: float) -> Placed:
        """One song laid out beside some others, the rest not looked at."""
        song = self.songs[at]
        absent = [n for n in range(len(self.songs)) if n not in laid and n != at]
        model = ShowModel(self.songs, dict(laid), self.neighbours, self.weights, absent)
        best = song.placed(song.alone.layout)
        for step in STEPS[:UNTIL_SHARING]:
            cost = step.cost(model)
            model.start_from({at: best})
            answer = model.best(cost, self.watch, effort=effort, tidy=False)
            if answer.value is None:
                break
            best = model.placed(answer)[at]
            model.hold(cost, answer.value(cost))
        return best


def searched(search: Search) -> tuple[dict[int, Placed], list[int]]:
    """The best that is found, and a bound for each step: none is below it.

    Args:
        search: the show.
    """
    alone = {at: song.placed(song.alone.layout) for at, song in enumerate(search.songs)}
    alone |= search.pinned
    if not search.free:
        return alone, list(search.values(alone))
    largest = sorted(search.free, key=lambda at: -len(search.songs[at].problem.atoms))
    starts = [search.one_by_one(order, _A_SONG) for order in (search.free, largest)]
    best = min([alone, *starts], key=search.values)
    best, bounds = search.lay(search.free, best, len(STEPS), search.watch.effort)
    return best, bounds
