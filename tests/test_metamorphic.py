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
    Fixed,
    Layout,
    Request,
    Route,
    Surface,
    Travel,
    Voice,
    Weights,
)
from tests.oracles import properties
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


def first_knob(request: Request) -> str:
    return request.surface.knob_names[0] if request.surface.knobs else ""


def limited(request: Request) -> bool:
    surface = request.surface
    return bool(surface.reserved or surface.destinations_per_knob or surface.routes)


FALSE: dict[str, Fault] = {
    "renaming": lambda r: (0, 0, 0, 0, 0, len(first_voice(r))),
    "reordering": lambda r: (0, 0, 0, first_voice(r) == "Voice 1", 0, 0),
    "scaling": lambda _: (0, 0, 0, 1, 0, 0),
    "mirroring": lambda r: (0, 0, 0, 0, 0, first_knob(r) == "K1"),
    "resolution": lambda r: (0, 0, 0, r.surface.bits, 0, 0),
    "asking_twice": lambda r: (0, 0, len(r.played), 0, 0, 0),
    "splitting_rules": lambda r: (0, 0, 0, 0, 0, len(r.rules)),
    "an_unused_knob": lambda r: (0, 0, 0, 0, 0, len(r.surface.knobs)),
    "a_knob_more": lambda r: (0, len(r.surface.knobs), 0, 0, 0, 0),
    "a_rule_less": lambda r: (0, 0, 0, -len(r.rules), 0, 0),
    "a_snapshot_less": lambda r: (0, -len(r.played), 0, 0, 0, 0),
    "a_limit_less": lambda r: (0 if limited(r) else 10_000, 0, 0, 0, 0, 0),
    "a_destination_more": lambda r: (-1000 * len(r.by_full_name), 0, 0, 0, 0, 0),
    "something_hidden": lambda r: (0, 0, 0, -1000 * len(r.voices), 0, 0),
    "requiring_bundles": lambda r: (0, 0, 0, len(r.rules), 0, 0),
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


@pytest.mark.parametrize(
    "holds", [each for each in PROPERTIES if each.__name__ not in ("staying", "keeping")]
)
def test_what_is_called_impossible_at_times_is_caught(holds: Property) -> None:
    # Every second question or so is refused: the two answers can no longer agree.
    refusal = random.Random(1)  # noqa: S311 (no secret)

    def answer(request: Request) -> Answer | None:
        return known(request) if refusal.random() < 0.5 else None

    caught = 0
    for seed in range(30):
        draw = random.Random(seed)  # noqa: S311 (no secret)
        caught += holds(answer, seeded_request(seed), draw) is not None
    assert caught > 2


def test_a_layout_that_hangs_on_names_is_caught() -> None:
    def answer(request: Request) -> Answer | None:
        found = known(request)
        if found is None:
            return None
        routes = sorted(found.layout.routes, key=lambda route: route.destination)
        return attrs.evolve(found, layout=attrs.evolve(found.layout, routes=tuple(routes)))

    draws = [random.Random(seed) for seed in range(20)]  # noqa: S311 (no secret)
    told = [properties.renaming(answer, seeded_request(s), d) for s, d in enumerate(draws)]
    assert "the layout is another" in told


def test_an_answer_that_cannot_be_kept_is_caught() -> None:
    def elsewhere(request: Request) -> Answer | None:
        found = known(request)
        if found is None or not request.surface.knobs:
            return None
        # All on the last knob, whatever is demanded.
        last = request.surface.knob_names[-1]
        routes = tuple(Route(route.destination, last) for route in found.layout.routes)
        return attrs.evolve(found, layout=Layout(routes))

    draws = [random.Random(seed) for seed in range(30)]  # noqa: S311 (no secret)
    told = {properties.keeping(elsewhere, seeded_request(s), d) for s, d in enumerate(draws)}
    assert "the answer is not valid where it is kept" in told


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
    weights = Weights(join=0, heap=0, essential=0, company=0)
    asked = Request(Surface.row(1), (Voice("A", inner),), snapshots=(), weights=weights)
    found = allocate_request(asked)
    return found.tiers[3].value


def test_one_destination_more_may_lower_sharing_by_its_travel() -> None:
    # A knob has one of the travels wanted on it. In hundredths: 0 to 50 misses 50 to 100 by 50 + 50
    # and 50 out of reach. 0 to 100 reaches both, and misses each by 50. So the third costs 100 more
    # for the crowd, and saves 16 * 50.
    halves = (Travel(0, 64), Travel(64, 127))
    without, with_one_more = sharing(*halves), sharing(*halves, Travel(0, 127))
    assert without == 100 + 16 * 150
    assert with_one_more == 2 * 100 + 16 * (50 + 50)
    assert with_one_more < without


def test_one_destination_more_may_lower_layout_by_closing_a_gap() -> None:
    # Each is fixed on a knob of its own. K1 and K3 are two runs of the voice: 60; with the one on
    # K2 they are one.
    def layout(*names: str) -> int:
        inner = tuple(Destination(name, must_place=True) for name in names)
        homes = {"a": "K1", "b": "K2", "c": "K3"}
        rules = tuple(Fixed((f"V/{name}",), homes[name]) for name in names)
        weights = Weights(favour=0)
        request = Request(
            Surface.row(3), (Voice("V", inner),), snapshots=(), rules=rules, weights=weights
        )
        return allocate_request(request).tiers[5].value

    assert layout("a", "c") == 60
    assert layout("a", "b", "c") == 0
