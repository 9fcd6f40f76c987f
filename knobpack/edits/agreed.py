"""What earlier edits asked for, as far as a later one leaves it standing."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Sequence

import attrs

from knobpack.words import Apart, Rule
from knobpack.words.rule_effects import effect_of
from knobpack.words.rules import rule_knobs, rule_without


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


def _beside(old: Rule, new: Rule) -> Rule | None:
    """What is left of an earlier rule beside a later one."""
    knobs = (*rule_knobs(old).values(), *rule_knobs(new).values())
    was, now = (effect_of(rule, tuple, knobs) for rule in (old, new))
    gone: Collection[str] = ()
    if now.on in was.off or was.on in now.off:
        gone = now.limited
    elif was.joined and now.alone:
        gone = now.alone if set(was.joined) - set(now.alone) else ()
    elif was.joined and now.parted:
        gone = now.parted[0] if _on_both(now.parted, was.joined) else ()
    elif isinstance(old, Apart) and now.joined and _on_both((old.first, old.second), now.joined):
        first = tuple(name for name in old.first if name not in now.joined)
        return attrs.evolve(old, first=first) if first else None
    elif was.alone and (now.joined or now.alone):
        own, others = set(was.alone), set(now.joined or now.alone)
        within = others <= own if now.joined else others == own
        gone = others if own & others and not within else ()
    return rule_without(old, gone) if gone else old


def _on_both(sides: Iterable[Sequence[str]], names: Iterable[str]) -> bool:
    """Whether some names are on both sides."""
    return all(set(names).intersection(side) for side in sides)
