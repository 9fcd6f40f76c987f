"""What must hold between two answers holds, over random requests; and a falsified answer is caught.

The properties, each with the sentence that says why it must hold, stand in
``tests/oracles/properties.py``.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from functools import cache

import attrs
import pytest

from benchmarks.generator import tight
from benchmarks.requests import eight_knobs
from knobpack.allocator import allocate_request
from knobpack.words import (
    Destination,
    Request,
    Surface,
    Travel,
    Voice,
    Weights,
)
from tests.oracles.amount import EXAMPLES
from tests.oracles.properties import PROPERTIES, Answer, Answerer, Property, answered
from tests.oracles.strategies import busy_request, seeded_request

SMALL, BUSY, LARGE = max(20, EXAMPLES // 20), max(3, EXAMPLES // 150), max(1, EXAMPLES // 600)

known = cache(answered)


@pytest.mark.parametrize("holds", PROPERTIES)
def test_it_holds_of_small_requests(holds: Property) -> None:
    for seed in range(SMALL):
        draw = random.Random(seed)  # noqa: S311 (no secret)
        assert holds(known, seeded_request(seed), draw) is None, seed


@pytest.mark.parametrize("holds", PROPERTIES)
def test_it_holds_of_larger_requests(holds: Property) -> None:
    requests = [*map(busy_request, range(BUSY)), *map(eight_knobs, range(LARGE))]
    for seed, request in enumerate(requests):
        draw = random.Random(seed)  # noqa: S311 (no secret)
        assert holds(known, request, draw) is None, seed


@pytest.mark.parametrize("holds", PROPERTIES)
@pytest.mark.parametrize(
    ("knobs", "seeds"), [(8, max(1, EXAMPLES // 200)), (16, max(1, EXAMPLES // 300))]
)
def test_it_holds_of_surfaces_that_are_too_small(holds: Property, knobs: int, seeds: int) -> None:
    """Beyond what brute force can look at: seven families to five knobs, up to 70 destinations."""
    for seed in range(seeds):
        draw = random.Random(seed)  # noqa: S311 (no secret)
        assert holds(known, tight(seed, knobs), draw) is None, seed


# The judges are judged --------------------------------------------------------------------------

Fault = Callable[[Request], tuple[int, ...]]
"""How far a falsified answer is off in each tier."""


def falsified(fault: Fault) -> Answerer:
    """Answers that are off by a fault that depends on what must not matter."""

    def answer(request: Request) -> Answer | None:
        found = known(request)
        if found is None:
            return None
        off = zip(found.values, fault(request), strict=True)
        return attrs.evolve(found, values=tuple(value + more for value, more in off))

    return answer


def first_voice(request: Request) -> str:
    return request.voices[0].name if request.voices else ""


def limited(request: Request) -> bool:
    surface = request.surface
    return bool(surface.reserved or surface.destinations_per_knob or surface.routes)


FALSE: dict[str, Fault] = {
    "renaming": lambda r: (0, 0, 0, 0, 0, len(first_voice(r))),
    "reordering": lambda r: (0, 0, 0, first_voice(r) == "Voice 1", 0, 0),
    "an_unused_knob": lambda r: (0, 0, 0, 0, 0, len(r.surface.knobs)),
    "a_knob_more": lambda r: (0, len(r.surface.knobs), 0, 0, 0, 0),
    "a_rule_less": lambda r: (0, 0, 0, -len(r.rules), 0, 0),
    "a_snapshot_less": lambda r: (0, -len(r.played), 0, 0, 0, 0),
    "a_limit_less": lambda r: (0 if limited(r) else 10_000, 0, 0, 0, 0, 0),
    "a_destination_more": lambda r: (-1000 * len(r.by_full_name), 0, 0, 0, 0, 0),
    "own_travels": lambda r: (0, 0, 0, r.surface.per_route, 0, 0),
    "halves": lambda _: (0, 1, 0, 0, 0, 0),
    "staying": lambda r: (0, 0, 0, 0, 0, r.previous is not None and not r.previous.layers),
    "keeping": lambda r: (0, 0, 0, len(r.keep.routes), 0, 0),
}


@pytest.mark.parametrize("holds", PROPERTIES)
def test_a_falsified_answer_is_caught(holds: Property) -> None:
    answer = falsified(FALSE[holds.__name__])
    caught = 0
    for seed in range(30):
        draw = random.Random(seed)  # noqa: S311 (no secret)
        caught += holds(answer, seeded_request(seed), draw) is not None
    assert caught > 2


def test_every_property_says_why_it_must_hold() -> None:
    assert all(holds.__doc__ for holds in PROPERTIES)
    assert {holds.__name__ for holds in PROPERTIES} == set(FALSE)


# What does not hold, and why --------------------------------------------------------------------


def sharing(*travels: Travel) -> int:
    """The tier sharing of destinations of one kind and voice that must all be on one knob."""
    inner = tuple(
        Destination(f"d{number}", "level", 1, travel, must_place=True)
        for number, travel in enumerate(travels)
    )
    weights = Weights(join=0, heap=0)
    asked = Request(Surface.row(1), (Voice("A", inner),), snapshots=(), weights=weights)
    found = allocate_request(asked)
    return found.tiers[3].value
