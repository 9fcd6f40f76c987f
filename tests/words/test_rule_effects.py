"""The table of what rules do, against the plain checker; nothing else asks what a rule is."""

from __future__ import annotations

import ast
import random
from collections import Counter
from pathlib import Path
from typing import Any, cast

import attrs

import knobpack
from knobpack.checker import check
from knobpack.words import Layout, Request, Route
from knobpack.words.rule_effects import RuleEffect
from knobpack.words.rules import RULES
from tests.clash.clash_requests import seeded
from tests.oracles.amount import EXAMPLES

ROOT = Path(knobpack.__file__).parent

WRITTEN_OUT = {"checker.py", "definition/contradictions.py", "definition/layout_prices.py"}
"""The definition, which shares nothing with the table on purpose."""

WORDS = {"words/rule_effects.py", "words/rules.py"}
"""The table, and what leaves out of a rule what is gone."""

SETUPS = {"edits/solution.py"}
"""What leaves of an earlier rule what a later one lets stand."""


def holds(effect: RuleEffect, knob_of: dict[str, str]) -> bool:
    """Whether a layout does what a required rule does."""

    def share(one: str, other: str) -> bool:
        return one != other and one in knob_of and knob_of[one] == knob_of.get(other)

    first, second = effect.parted or ((), ())
    outside = knob_of.keys() - set(effect.alone)
    return (
        len({knob_of.get(name) for name in effect.joined}) <= 1
        and not any(share(one, other) for one in first for other in second)
        and not any(share(one, other) for one in effect.alone for other in outside)
        and not any(knob_of.get(name) in effect.off for name in effect.limited)
        and (effect.on is None or all(knob_of.get(n) == effect.on for n in effect.limited))
    )


def placed(request: Request, draw: random.Random) -> dict[str, str]:
    """A random layout."""
    panel = request.surface.knob_names
    return {name: draw.choice(panel) for name in request.destinations if draw.random() < 0.8}


def test_a_rule_does_what_the_checker_asks_of_it() -> None:
    seen: Counter[tuple[str, bool]] = Counter()
    for seed in range(max(200, EXAMPLES // 2)):
        draw = random.Random(seed)  # noqa: S311 (no secret)
        request = seeded(seed)
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


def test_each_destination_named_is_on_a_side() -> None:
    for seed in range(100):
        request = seeded(seed)
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


def test_only_the_table_the_definition_and_what_rewrites_rules_ask_what_a_rule_is() -> None:
    """A new rule is written in these places and no other."""
    asking = {
        path.relative_to(ROOT).as_posix()
        for path in sorted(ROOT.rglob("*.py"))
        if asks_what_a_rule_is(path.read_text("utf-8"))
    }
    assert asking == WRITTEN_OUT | WORDS | SETUPS
    assert all(asks_what_a_rule_is(text) for text in ("isinstance(x, Fixed | Y)", ONE_CASE))


ONE_CASE = "match x:\n    case Alone(names=n):\n        pass\n"
