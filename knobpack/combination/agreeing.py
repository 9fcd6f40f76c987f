"""Agreeing: whether a setup meets a rule that was agreed on."""

from __future__ import annotations

from collections.abc import Iterable

from knobpack.setup_as_read import Reading
from knobpack.words import Alone, Apart, Barred, Fixed, Rule, Together


def meets(reading: Reading, rule: Rule) -> bool:
    """Whether a setup as it stands meets a required rule, which names what is there.

    Args:
        reading: the setup, which may be faulty.
        rule: any rule; its weight does not matter.
    """
    names = (*rule.first, *rule.second) if isinstance(rule, Apart) else rule.names
    knobs = reading.setup.surface.knob_names
    if reading.unknown(names):
        return False
    match rule:
        case Apart():
            return _on(reading, rule.first).isdisjoint(_on(reading, rule.second))
        case Together():
            return len(_on(reading, names)) <= 1
        case Alone():
            inside = reading.named(names)
            return all(inside.issuperset(reading.carries[k]) for k in _on(reading, names))
        case Fixed():
            return rule.knob in knobs and _on(reading, names) <= {rule.knob}
        case Barred():
            return set(rule.knobs) <= set(knobs) and _on(reading, names).isdisjoint(rule.knobs)


def _on(reading: Reading, names: Iterable[str]) -> set[str]:
    """The knobs that drive any of what some names stand for."""
    return {knob for name in reading.named(names) for knob in reading.knobs_of[name]}
