"""What earlier edits asked for, as far as a later one leaves it standing."""

from __future__ import annotations

from collections.abc import Collection, Iterable

import attrs

from knobpack.words import Alone, Apart, Barred, Fixed, Rule, Together
from knobpack.words.names import knob_told, knobs_told, listed
from knobpack.words.rules import rule_without


def rule_told(rule: Rule) -> str:
    """What an edit asked for, in a player's words."""
    match rule:
        case Alone(names=names):
            return f"{listed(names)} on a knob of {_their(names)} own"
        case Fixed(names=names, knob=knob):
            return f"{listed(names)} on {knob_told(knob)}"
        case Together(names=names):
            return f"{listed(names)} on one knob"
        case Apart(first=first, second=second):
            same = set(first) == set(second)
            return f"{listed(first)} parted" + ("" if same else f" from {listed(second)}")
        case Barred(names=names, knobs=knobs):
            return f"{listed(names)} not on {knobs_told(knobs)}"


def _their(names: Collection[str]) -> str:
    return "its" if len(names) == 1 else "their"


def left_standing(earlier: Iterable[Rule], later: Iterable[Rule]) -> tuple[Rule, ...]:
    """What is left of earlier rules beside later ones: the later one stands.

    Args:
        earlier: rules that name destinations in full.
        later: likewise.

    Returns:
        The earlier rules, those that a later one contradicts without what it names.
    """
    found = []
    for old in earlier:
        rule: Rule | None = old
        for new in later:
            rule = None if rule is None or rule == new else _beside(rule, new)
        if rule is not None:
            found.append(rule)
    return tuple(found)


def _rest(names: Iterable[str], gone: Collection[str]) -> tuple[str, ...]:
    return tuple(name for name in names if name not in gone)


def _beside(old: Rule, new: Rule) -> Rule | None:
    """What is left of an earlier rule beside a later one."""
    gone: Collection[str] = ()
    match old, new:
        case Fixed(knob=there), Fixed(names=names, knob=knob) if there != knob:
            gone = names
        case Barred(knobs=knobs), Fixed(names=names, knob=knob) if knob in knobs:
            gone = names
        case Fixed(knob=there), Barred(names=names, knobs=knobs) if there in knobs:
            gone = names
        case Together(names=bound), Apart(first=first, second=second):
            gone = first if _meet(bound, first) and _meet(bound, second) else ()
        case Together(names=bound), Alone(names=names):
            gone = names if not set(bound) <= set(names) else ()
        case Apart(first=first, second=second), Together(names=names):
            if _meet(first, names) and _meet(second, names):
                return _unparted(old, names)
        case Alone(names=own), (Together(names=names) | Alone(names=names)):
            gone = names if _meet(own, names) and set(own) != set(names) else ()
            if isinstance(new, Together) and set(names) <= set(own):
                gone = ()
    return rule_without(old, gone) if gone else old


def _unparted(rule: Apart, names: Collection[str]) -> Rule | None:
    """A rule that parts some of ``names`` from others of them, without doing so."""
    first = _rest(rule.first, names)
    return attrs.evolve(rule, first=first) if first else None


def _meet(some: Iterable[str], others: Iterable[str]) -> bool:
    return not set(some).isdisjoint(others)
