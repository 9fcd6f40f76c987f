"""The few rules of a seeded request, drawn so that they seldom make it impossible."""

from __future__ import annotations

import random

from knobpack.words import Alone, Apart, Barred, Fixed, Layout, Rule, Together, Voice


def draw_rules(
    draw: random.Random,
    families: list[list[Voice]],
    knobs: tuple[str, ...],
    keep: Layout,
    spare: int,
) -> tuple[Rule, ...]:
    """One to three rules, or up to a third of the families; no destination is in two.

    Args:
        draw: where chance comes from.
        families: the voices of each family.
        knobs: all the knobs. Those that keep a route are in no rule.
        keep: what the base keeps.
        spare: how many required rules may take a knob for themselves.
    """
    taken = {route.destination for route in keep.routes}
    kept = {route.knob for route in keep.routes}
    free = [knob for knob in knobs if knob not in kept]
    draw.shuffle(free)
    rules = []
    for _ in range(draw.randint(1, max(3, len(families) // 3))):
        left = [
            voice.full_name(each)
            for voice in draw.choice(families)
            for each in voice.destinations
            if each.movable and voice.full_name(each) not in taken
        ]
        if len(left) < 2 or not free:
            continue
        one, other = draw.sample(left, 2)
        taken |= {one, other}
        rule = _rule(draw, one, other, free, spare > 0)
        spare -= rule.weight is None and isinstance(rule, Apart | Alone | Fixed)
        rules.append(rule)
    return tuple(rules)


def _rule(draw: random.Random, one: str, other: str, free: list[str], roomy: bool) -> Rule:
    """A rule on one or two destinations. What takes a knob is preferred unless it is ``roomy``."""
    kind = draw.choice((Apart, Together, Alone, Fixed, Barred))
    weight = draw.randint(50, 400)
    required = draw.randint(1, 3) == 1 and (roomy or kind in (Together, Barred))
    firmness = None if required else weight
    if kind is Apart:
        return Apart((one,), (other,), firmness)
    if kind is Together:
        return Together((one, other), firmness)
    if kind is Alone:
        return Alone((one,), firmness)
    if kind is Fixed:
        return Fixed((one,), free.pop(), firmness)
    return Barred((one,), (draw.choice(free),), firmness)
