"""Comparison: what one layout costs beside another, tier by tier and term by term."""

from __future__ import annotations

from collections.abc import Iterable
from operator import sub
from typing import TypeAlias

import attrs

from knobpack.definition.phrases import points_changed
from knobpack.definition.prices import (
    BUNDLE_TERMS,
    KNOB_TERMS,
    PLACE_TERMS,
    SPREAD_TERMS,
    TIERS,
    Price,
    Prices,
)
from knobpack.reasons.answer_graph import Reasoned
from knobpack.text.shown import Fielded
from knobpack.words.names import knob_told, listed

MOST_TERMS = 5
"""Terms that a sentence names, at most."""


@attrs.frozen
class TermChange(Fielded):
    """One term that costs something else than before.

    Args:
        tier: one of :data:`knobpack.checker.TIERS`.
        term: the name of the term, as in :class:`knobpack.checker.Prices`; ``omission`` for
            what is left out, ``break`` for a snapshot broken, ``change``, ``moved`` and ``reset``
            for a route, a bundle and a travel that are not as they were.
        what: the knob, destination, voice, group, rule or bundle that it is about; for a break, the
            snapshot and the knob.
        before: what it cost, in points.
        after: what it costs now, in points.
    """

    tier: str
    term: str
    what: str
    before: int
    after: int

    @property
    def amount(self) -> int:
        """How much more it costs, in points; below 0: less."""
        return self.after - self.before

    def __str__(self) -> str:
        what = knob_told(self.what) if self.term in _OF_KNOBS else self.what
        return f"{_TERM_WORDS[self.term].format(what)} {self.amount:+,}"


_TERMS = {**BUNDLE_TERMS, **SPREAD_TERMS, **PLACE_TERMS}

_OF_KNOBS = frozenset({*KNOB_TERMS, "moved", "reset"})
"""The terms that are about a knob."""

_TERM_WORDS = {
    "omission": "{} left out",
    "break": "broken: {}",
    "change": "{} not where it was",
    "moved": "what {} drove is not whole on it",
    "reset": "travel of {} set anew",
    **{term: f"{word} on {{}}" for term, word in KNOB_TERMS.items()},
    **{term: f"{word}: {{}}" for term, word in _TERMS.items()},
}


@attrs.frozen
class Comparison(Fielded, Reasoned):
    """What a layout costs beside another.

    Args:
        before: the values of all tiers, in points.
        after: those of the other layout, likewise.
        terms: every term that differs, the most important tier first, in it the largest difference
            first. In each tier they add up to the difference of its values.
        order: the names of the tiers, the most important first.
    """

    before: tuple[int, ...]
    after: tuple[int, ...]
    terms: tuple[TermChange, ...]
    order: tuple[str, ...] = TIERS

    @property
    def tier(self) -> str | None:
        """The tier that decides: the first in which they differ. None: a tie in all of them."""
        pairs = zip(self.order, self.before, self.after, strict=True)
        return next((tier for tier, before, after in pairs if before != after), None)

    @property
    def amount(self) -> int:
        """How much more the other costs in that tier; below 0: how much less. 0 for a tie."""
        if self.tier is None:
            return 0
        return self.after[self.order.index(self.tier)] - self.before[self.order.index(self.tier)]

    @property
    def joins_hidden(self) -> bool:
        """Whether all that decides is that something hidden shares a knob."""
        deciding = {term.term for term in self.terms if term.tier == self.tier}
        return self.amount > 0 and deciding == {"intruding"}

    @property
    def rank(self) -> tuple[int, ...]:
        """What each tier costs more, the most important first: sorts from better to worse."""
        return tuple(map(sub, self.after, self.before))

    @property
    def told(self) -> str:
        """The difference in words: ``250 points more in 'sharing knobs'``."""
        if self.tier is None:
            return "the same in every line: a tie"
        return points_changed(self.amount, self.tier)

    def __str__(self) -> str:
        deciding = [term for term in self.terms if term.tier == self.tier]
        if not deciding:
            return self.told
        told = [str(term) for term in deciding[:MOST_TERMS]]
        if len(deciding) > MOST_TERMS:
            rest = sum(term.amount for term in deciding[MOST_TERMS:])
            told.append(f"all else {rest:+,}")
        return f"{self.told} ({', '.join(told)})"


Terms: TypeAlias = dict[tuple[str, str, str], int]
"""The price of each tier, term and thing that it is about."""


def compared(before: Prices, after: Prices) -> Comparison:
    """Compare the prices of two layouts, term by term, in the order of the first's tiers.

    Args:
        before: the prices of the one.
        after: those of the other.
    """
    old = priced_terms((before,))
    change = added(priced_terms((after,)), (old, -1))
    return changed(before.totals, before.order, old, change)


def changed(
    before: tuple[int, ...], order: tuple[str, ...], old: Terms, change: Terms
) -> Comparison:
    """What a layout costs beside another, of which it is known what each term costs more.

    Args:
        before: the values of all tiers of the other.
        order: their names, the most important first.
        old: the price of each of its terms.
        change: how much more each term costs; those that are not in it cost the same.
    """
    place = {tier: number for number, tier in enumerate(order)}
    differing = [(key, amount) for key, amount in change.items() if amount]
    differing.sort(key=lambda pair: (place[pair[0][0]], -abs(pair[1])))
    after, changes = list(before), []
    for key, amount in differing:
        after[place[key[0]]] += amount
        was = old.get(key, 0)
        changes.append(TermChange(*key, was, was + amount))
    return Comparison(before, tuple(after), tuple(changes), order)


def priced_terms(prices: Iterable[Price | Prices]) -> Terms:
    """Each term that costs something, with its price."""
    found: Terms = {}
    for each in prices:
        for tier, term, what, price in each.points:
            if price:
                key = tier, term, what
                found[key] = found.get(key, 0) + price
    return found


def added(terms: Terms, *others: tuple[Terms, int]) -> Terms:
    """Terms, and others so many times, all added up."""
    found = terms.copy()
    for other, times in others:
        for key, price in other.items():
            found[key] = found.get(key, 0) + times * price
    return found


def listed_points(terms: tuple[tuple[str, int], ...]) -> str:
    """Terms and what each costs, the dearest first, those that cost nothing left out."""
    dear = sorted((pair for pair in terms if pair[1]), key=lambda pair: -pair[1])
    return listed([f"{KNOB_TERMS[term]} {price:,}" for term, price in dear])
