"""Rule effects: all that a rule can do; each rule says which of it it does (``rules.py``)."""

from __future__ import annotations

from collections.abc import Callable, Collection, Iterable, Mapping
from typing import TYPE_CHECKING, TypeAlias

import attrs

from knobpack.text.shown import Fielded

if TYPE_CHECKING:
    from knobpack.words.rules import Rule

Named: TypeAlias = Callable[[Iterable[str]], tuple[str, ...]]
"""Gives the full names of what some names stand for."""


@attrs.frozen
class RuleEffect(Fielded):
    """What a rule does to the destinations that it names, in full names.

    Args:
        rule: the rule.
        joined: all of these are on one knob, or none is placed; preferred: its weight is paid for
            each knob more than one.
        parted: two sides, of which no two share a knob; preferred: paid for each pair that does.
        alone: these share with nothing else; preferred: paid for each knob where they do.
        limited: these are on none of the knobs ``off``; preferred: paid for each that is.
        off: those knobs.
        on: the one knob that is left, where it is named; required: what is limited must be placed.
    """

    rule: Rule
    joined: tuple[str, ...] = ()
    parted: tuple[tuple[str, ...], tuple[str, ...]] | None = None
    alone: tuple[str, ...] = ()
    limited: tuple[str, ...] = ()
    off: tuple[str, ...] = ()
    on: str | None = None

    @property
    def weight(self) -> int:
        """What is paid where it is preferred; 0: it is required."""
        return self.rule.weight or 0

    @property
    def sides(self) -> tuple[tuple[str, ...], ...]:
        """All that it names: two sides where it parts, else one."""
        return self.parted or (self.joined or self.alone or self.limited,)

    @property
    def demanded(self) -> tuple[str, ...]:
        """What it asks a place for, where it is required."""
        return self.joined if self.on is None else self.limited

    def breaches(self, on: Mapping[str, Collection[str]]) -> int:
        """How often its weight would be paid.

        Args:
            on: what each knob drives, by full names.

        Returns:
            Pairs that share a knob, knobs with outsiders, knobs more than one, destinations that
            are where they may not be.
        """
        first, second = map(frozenset, self.parted or ((), ()))
        both, joined, alone = first & second, frozenset(self.joined), frozenset(self.alone)
        spread = pairs = intruded = wrong = 0
        for knob, names in on.items():
            here = frozenset(names)
            one, other, two = len(here & first), len(here & second), len(here & both)
            # A pair of which each is on both sides is one pair; nothing is a pair by itself.
            pairs += one * other - two - two * (two - 1) // 2
            intruded += not (here.isdisjoint(alone) or here <= alone)
            spread += not here.isdisjoint(joined)
            wrong += len(here.intersection(self.limited)) if knob in self.off else 0
        return pairs + intruded + max(0, spread - 1) + wrong
