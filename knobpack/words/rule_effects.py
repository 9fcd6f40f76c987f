"""Rule effects: what each rule does, in one table; its checks and prices stay written out apart."""

from __future__ import annotations

from collections.abc import Callable, Iterable

import attrs

from knobpack.words.rules import Alone, Apart, Barred, Fixed, Rule, Together

Names = tuple[str, ...]


@attrs.frozen
class RuleEffect:
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
    joined: Names = ()
    parted: tuple[Names, Names] | None = None
    alone: Names = ()
    limited: Names = ()
    off: Names = ()
    on: str | None = None

    @property
    def weight(self) -> int:
        """What is paid where it is preferred; 0: it is required."""
        return self.rule.weight or 0

    @property
    def sides(self) -> tuple[Names, ...]:
        """All that it names: two sides where it parts, else one."""
        return self.parted or (self.joined or self.alone or self.limited,)

    @property
    def demanded(self) -> Names:
        """What it asks a place for, where it is required."""
        return self.joined if self.on is None else self.limited


def effect_of(
    rule: Rule, named: Callable[[Iterable[str]], Names], panel: Iterable[str]
) -> RuleEffect:
    """What a rule does.

    Args:
        rule: the rule.
        named: gives the full names of what some names stand for.
        panel: the names of all knobs.
    """
    match rule:
        case Together():
            return RuleEffect(rule, joined=named(rule.names))
        case Apart():
            return RuleEffect(rule, parted=(named(rule.first), named(rule.second)))
        case Alone():
            return RuleEffect(rule, alone=named(rule.names))
        case Fixed():
            off = tuple(knob for knob in panel if knob != rule.knob)
            return RuleEffect(rule, limited=named(rule.names), off=off, on=rule.knob)
        case Barred():
            return RuleEffect(rule, limited=named(rule.names), off=rule.knobs)
    raise TypeError(f"no effect of {rule!r} is known")
