"""Rule prices: what a layout does against each rule, and what that costs where it is preferred.

Rule by rule, from the words alone: what rules are said to do elsewhere has no part in it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence, Set
from itertools import combinations

from knobpack.definition.prices import SpreadPrice
from knobpack.words import Alone, Apart, Barred, Fixed, Request, Rule, Together
from knobpack.words.names import knob_told, place_told


def offences(
    request: Request, rule: Rule, knob_of: Mapping[str, str], on: Mapping[str, Sequence[str]]
) -> Iterator[str]:
    """What a layout does against a rule that is required, in words.

    Args:
        request: what was asked.
        rule: one of its rules.
        knob_of: the knob of each destination that is placed.
        on: what each used knob drives.
    """
    match rule:
        case Together(names=names):
            spread = dict.fromkeys(place_told(knob_of.get(name)) for name in request.named(names))
            if len(spread) > 1:
                yield f"they are {', '.join(spread)}"
        case Apart():
            for knob, carried in on.items():
                for one, other in _sharing(request, rule, carried):
                    yield f"{one} and {other} are both on {knob}"
        case Alone():
            others = ((knob, _outsiders(request, rule, names)) for knob, names in on.items())
            yield from (f"{knob_told(k)} carries {', '.join(o)} as well" for k, o in others if o)
        case Fixed(names=names, knob=knob):
            off = [name for name in request.named(names) if knob_of.get(name) != knob]
            yield from (f"{name} is {place_told(knob_of.get(name))}" for name in off)
        case Barred(names=names, knobs=knobs):
            barred = [name for name in request.named(names) if knob_of.get(name) in knobs]
            yield from (f"{name} is on {knob_of[name]}" for name in barred)


def rules_on_knob(request: Request, names: Sequence[str]) -> dict[str, int]:
    """What preferred rules cost on a knob, by the term of its price.

    Args:
        request: what was asked.
        names: what it drives.
    """
    found = {"apart": 0, "alone": 0}
    for rule in request.rules:
        if isinstance(rule, Apart) and rule.weight is not None:
            found["apart"] += rule.weight * len(_sharing(request, rule, names))
        if isinstance(rule, Alone) and rule.weight is not None:
            found["alone"] += rule.weight * bool(_outsiders(request, rule, names))
    return found


def spreads(request: Request, knob_of: Mapping[str, str], about: Set[str]) -> Iterator[SpreadPrice]:
    """What preferred rules cost for all knobs that they are spread over.

    Args:
        request: what was asked.
        knob_of: the knob of each destination that is placed.
        about: the destinations of which one at least is named.
    """
    for rule in request.rules:
        if not isinstance(rule, Together) or rule.weight is None:
            continue
        names = request.named(rule.names)
        if about.isdisjoint(names):
            continue
        used = {knob_of[name] for name in names if name in knob_of}
        if len(used) > 1:
            knobs = tuple(knob for knob in request.surface.knob_names if knob in used)
            yield SpreadPrice("together", str(rule), knobs, rule.weight * (len(used) - 1))


def rule_places(
    request: Request, knob_of: Mapping[str, str], about: Set[str]
) -> Iterator[tuple[str, str, int]]:
    """What preferred rules cost by where something is: term, rule and points.

    Args:
        request: what was asked.
        knob_of: the knob of each destination that is placed.
        about: the destinations of which one at least is named.
    """
    for rule in request.rules:
        if rule.weight is None or not isinstance(rule, Fixed | Barred):
            continue
        names = request.named(rule.names)
        if about.isdisjoint(names):
            continue
        on = [knob_of[name] for name in names if name in knob_of]
        if isinstance(rule, Fixed):
            yield "fixed", str(rule), rule.weight * sum(knob != rule.knob for knob in on)
        else:
            yield "barred", str(rule), rule.weight * sum(knob in rule.knobs for knob in on)


def _sharing(request: Request, rule: Apart, names: Sequence[str]) -> list[tuple[str, str]]:
    """The pairs on a knob that are of both sides of the rule, each pair once."""
    a, b = set(request.named(rule.first)), set(request.named(rule.second))
    return [
        (one, other)
        for one, other in combinations(names, 2)
        if (one in a and other in b) or (one in b and other in a)
    ]


def _outsiders(request: Request, rule: Alone, names: Sequence[str]) -> list[str]:
    """What is on a knob beside what the rule wants alone there; nothing where none of that is."""
    inside = set(request.named(rule.names))
    others = [name for name in names if name not in inside]
    return others if len(others) < len(names) else []
