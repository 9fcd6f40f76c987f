"""What rules say they do, against the plain checker; nothing else asks what a rule is."""

from __future__ import annotations

import ast
import random
from collections import Counter
from itertools import product
from pathlib import Path
from typing import Any, cast

import attrs

import knobpack
from knobpack.checker import check
from knobpack.grouped import grouped
from knobpack.words import Layout, Request, Route
from knobpack.words.rule_effects import RuleEffect
from knobpack.words.rules import RULES, __all__
from tests.oracles.amount import EXAMPLES
from tests.oracles.strategies import request_with

ROOT = Path(knobpack.__file__).parent

WRITTEN_OUT = {"definition/rule_prices.py"}
"""The definition, which shares nothing with the effects on purpose."""


def holds(effect: RuleEffect, knob_of: dict[str, str]) -> bool:
    """Whether a layout does what a required rule does."""
    on = grouped((knob, name) for name, knob in knob_of.items())
    there = effect.on is None or all(knob_of.get(name) == effect.on for name in effect.limited)
    whole = knob_of.keys() >= set(effect.joined) or knob_of.keys().isdisjoint(effect.joined)
    return there and whole and not effect.breaches(on)


def placed(request: Request, draw: random.Random) -> dict[str, str]:
    """A random layout."""
    panel = request.surface.knob_names
    return {name: draw.choice(panel) for name in request.by_full_name if draw.random() < 0.8}


def test_a_rule_does_what_the_checker_asks_of_it() -> None:
    seen: Counter[tuple[str, bool]] = Counter()
    for kind, seed in product(RULES, range(max(60, EXAMPLES // 8))):
        draw = random.Random(seed)  # noqa: S311 (no secret)
        request = request_with(kind, seed)
        rules = tuple(attrs.evolve(cast("Any", rule), weight=None) for rule in request.rules)
        request = attrs.evolve(request, rules=tuple(dict.fromkeys(rules)))
        for _ in range(4):
            knob_of = placed(request, draw) if request.surface.knobs else {}
            layout = Layout(tuple(Route(*each) for each in knob_of.items()))
            broken = {
                breach.demand.subject
                for breach in check(request, layout).breaches
                if breach.demand.kind == "rule"
            }
            for effect in request.effects:
                assert holds(effect, knob_of) == (effect.rule not in broken), effect
                seen[type(effect.rule).__name__, effect.rule in broken] += 1
    assert len(seen) == 2 * len(RULES)
    assert min(seen.values()) > 10


def test_a_preferred_rule_is_paid_as_often_as_the_prices_say() -> None:
    paid: Counter[str] = Counter()
    for kind, seed in product(RULES, range(max(60, EXAMPLES // 8))):
        draw = random.Random(seed)  # noqa: S311 (no secret)
        request = request_with(kind, seed)
        rules = tuple(attrs.evolve(cast("Any", rule), weight=3) for rule in request.rules)
        for rule in dict.fromkeys(rules):
            alone = attrs.evolve(request, rules=(rule,))
            knob_of = placed(alone, draw) if alone.surface.knobs else {}
            layout = Layout(tuple(Route(*each) for each in knob_of.items()))
            term = type(rule).__name__.lower()
            priced = sum(each[3] for each in check(alone, layout).prices.points if each[1] == term)
            on = grouped((knob, name) for name, knob in knob_of.items())
            assert priced == 3 * alone.effects[0].breaches(on), (rule, layout)
            paid[type(rule).__name__] += priced > 0
    assert sorted(paid) == sorted(__all__)
    assert min(paid.values()) > 5


def test_each_destination_named_is_on_a_side() -> None:
    for kind, seed in product(RULES, range(20)):
        request = request_with(kind, seed)
        for effect in request.effects:
            sides = effect.sides
            fields = attrs.asdict(effect.rule, recurse=False)
            named = [fields[each] for each in ("names", "first", "second") if each in fields]
            assert sides == tuple(request.named(names) for names in named)
            assert bool(effect.weight) == (effect.rule.weight is not None)
        assert {*request.required, *request.preferred} == set(request.effects)


def asks_what_a_rule_is(source: str) -> bool:
    """Whether a module looks at the type of a rule."""
    kinds = {kind.__name__ for kind in RULES}
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.MatchClass) and isinstance(node.cls, ast.Name):
            looked_at = {node.cls.id}
        elif isinstance(node, ast.Call) and getattr(node.func, "id", "") == "isinstance":
            looked_at = {each.id for each in ast.walk(node.args[1]) if isinstance(each, ast.Name)}
        else:
            continue
        if kinds & looked_at:
            return True
    return False


def test_only_the_definition_asks_what_a_rule_is() -> None:
    """A new rule is written in these places and no other."""
    asking = {
        path.relative_to(ROOT).as_posix()
        for path in sorted(ROOT.rglob("*.py"))
        if asks_what_a_rule_is(path.read_text("utf-8"))
    }
    assert asking == WRITTEN_OUT
    assert all(asks_what_a_rule_is(text) for text in ("isinstance(x, Fixed | Y)", ONE_CASE))


ONE_CASE = "match x:\n    case Alone(names=n):\n        pass\n"
