"""Entry of the knob budget: what a number of knobs costs, with bounds."""

from __future__ import annotations

from collections.abc import Sequence

import attrs

from knobpack.allocation.records import Tier
from knobpack.definition.prices import TIERS
from knobpack.explanation.families import UPPER
from knobpack.text.shown import Fielded


@attrs.frozen
class Entry(Fielded):
    """What a number of knobs costs.

    Args:
        values: the tiers from the first, in points: those before *change*, or of a setup in use
            those before *layout*. None: no layout was found before the search was stopped.
        bounds: for each tier, what no layout as good in the tiers before goes below.
        proven: whether the values are proven least.
        change: how much more that is than now, tier by tier; below 0: how much less.
        order: the names of those tiers, the most important first.
    """

    values: tuple[int, ...] | None
    bounds: tuple[int, ...]
    proven: bool
    change: tuple[int, ...] | None
    order: tuple[str, ...]

    @property
    def rank(self) -> tuple[int, ...]:
        """Sorts from what costs least to what costs most; what is not known comes last."""
        return self.change if self.change is not None else (1 << 60,)


def of_tiers(tiers: Sequence[Tier], order: tuple[str, ...] = TIERS) -> Entry:
    """What some tiers say."""
    values, bounds = (tuple(each.value for each in tiers), tuple(each.bound for each in tiers))
    return Entry(values, bounds, all(each.proven for each in tiers), None, order[: len(values)])


def certain(values: tuple[int, ...]) -> Entry:
    """The first four tiers of values that are known to be least."""
    return Entry(values[:UPPER], values[:UPPER], True, None, TIERS[:UPPER])


def unknown(tiers: int, order: tuple[str, ...] = TIERS) -> Entry:
    """That nothing is known of so many tiers."""
    return Entry(None, (0,) * tiers, False, None, order[:tiers])


def beside(now: Entry, entry: Entry) -> Entry:
    """The entry, with what it changes."""
    if entry.values is None or now.values is None:
        return attrs.evolve(entry, change=None)
    change = tuple(then - before for then, before in zip(entry.values, now.values, strict=True))
    return attrs.evolve(entry, change=change)


def no_worse(entry: Entry | None, now: Entry) -> bool:
    """Whether no other choice can be better: none is better than what is now."""
    return entry is not None and now.proven and entry.values == now.values


def best_of(entries: Sequence[Entry | None], now: Entry) -> Entry | None:
    """The best of some choices, with bounds that hold whatever is chosen.

    None where all are impossible. An entry that is no worse than now needs no other beside it.
    """
    possible = [entry for entry in entries if entry is not None]
    if not possible:
        return None
    if no_worse(possible[-1], now):
        return possible[-1]
    values = min((each.values for each in possible if each.values is not None), default=None)
    if values is None:
        return unknown(len(possible[0].bounds), possible[0].order)
    bounds = tuple(
        min(_bound(each, values, tier) for each in possible) for tier in range(len(values))
    )
    bounds = tuple(min(bound, value) for bound, value in zip(bounds, values, strict=True))
    return Entry(values, bounds, values == bounds, None, possible[0].order)


def _bound(entry: Entry, values: tuple[int, ...], tier: int) -> int:
    """What no layout of one choice that is as good as ``values`` before a tier goes below."""
    for earlier in range(tier):
        if entry.bounds[earlier] > values[earlier]:
            return values[tier]
        if entry.values is None or entry.values[earlier] != values[earlier]:
            return 0
    return entry.bounds[tier]


def at_most(entry: Entry | None, *others: tuple[int, ...] | None) -> Entry:
    """An entry of a request that has layouts of these values too."""
    entry = entry or unknown(UPPER)
    known = [values for values in (entry.values, *others) if values is not None]
    least = min(known, default=None)
    return Entry(least, entry.bounds, least == entry.bounds, None, entry.order)
