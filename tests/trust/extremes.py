"""Extremes: small requests whose weights stand at both ends of their range."""

from __future__ import annotations

import random
from typing import Any

import attrs

from knobpack.words import Request, Snapshot, Weights
from knobpack.words.fields import HIGHEST_WEIGHT
from tests.oracles.strategies import seeded_request

ENDS = (0, 1, HIGHEST_WEIGHT - 1, HIGHEST_WEIGHT, HIGHEST_WEIGHT)
"""Weights at the ends of the range, the highest more often."""


def extreme_request(seed: int, most: int = 60) -> Request:
    """A seeded request with weights at their ends, and what has one said many times over.

    Args:
        seed: any whole number.
        most: copies of the preferred rules, and of the snapshots that may be broken.
    """
    draw = random.Random(seed)  # noqa: S311 (no secret)
    request = seeded_request(seed)
    rules = tuple(_rule(draw, rule) for rule in request.rules)
    preferred = [rule for rule in rules if rule.weight is not None]
    if preferred:
        rules += tuple(draw.choice(preferred) for _ in range(draw.randint(0, most)))
    snapshots = request.snapshots
    if snapshots is not None:
        snapshots = tuple(_snapshot(draw, each) for each in snapshots)
        breakable = [each for each in snapshots if each.break_weight is not None]
        if breakable and request.surface.snapshots is None:
            copies = (draw.choice(breakable) for _ in range(draw.randint(0, most)))
            named = (attrs.evolve(each, name=f"Copy {at}") for at, each in enumerate(copies))
            snapshots += tuple(named)
    return attrs.evolve(request, rules=rules, snapshots=snapshots, weights=_weights(draw))


def _rule(draw: random.Random, rule: Any) -> Any:
    if rule.weight is None:
        return rule
    return attrs.evolve(rule, weight=draw.choice((1, HIGHEST_WEIGHT, HIGHEST_WEIGHT)))


def _snapshot(draw: random.Random, snapshot: Snapshot) -> Snapshot:
    if snapshot.break_weight is None:
        return snapshot
    return attrs.evolve(snapshot, break_weight=draw.choice(ENDS))


def _weights(draw: random.Random) -> Weights:
    """Each weight of the class at an end of its range."""

    def ends(default: int | tuple[int, ...]) -> int | tuple[int, ...]:
        if isinstance(default, tuple):
            return tuple(draw.choice(ENDS) for _ in default)
        return draw.choice(ENDS)

    names = [each.name for each in attrs.fields(Weights)]
    drawn: dict[str, Any] = {name: ends(getattr(Weights(), name)) for name in names}
    return attrs.evolve(Weights(), **drawn)
