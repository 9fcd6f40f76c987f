"""Facts and obstacles: each holds, each is needed, together they forbid what they are told for."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator
from itertools import combinations

import attrs

from knobpack.reasons.facts import Obstacle
from knobpack.reasons.ground import Ground
from knobpack.words import Alone, Apart, Request
from tests.oracles import masks
from tests.oracles.amount import EXAMPLES, often
from tests.oracles.cut_down import allowed
from tests.oracles.reading import Reading
from tests.oracles.reasons import asked, wrong_in_fact, wrong_in_obstacle, wrong_in_parting
from tests.oracles.reasons_layouts import a_layout
from tests.oracles.reasons_terms import Places, valid
from tests.oracles.strategies import busy_request, seeded_request

Told = tuple[Request, Places, str, str, Obstacle]
"""What is said to forbid that a destination goes to a knob."""


def carried(request: Request, places: Places) -> dict[str, list[str]]:
    """What each knob carries."""
    knobs = request.surface.knob_names
    return {k: [n for n in request.by_full_name if places.get(n) == k] for k in knobs}


def told_of(request: Request, places: Places) -> Iterator[Told]:
    """Every obstacle of a layout; a move has one if, and only if, it is not valid."""
    ground, on = Ground(request), carried(request, places)
    for name in request.by_full_name:
        assert ground.unit(name) == asked(request).unit(name)
        for knob in request.surface.knob_names:
            if places.get(name) == knob:
                continue
            obstacles = ground.obstacles(on, name, knob)
            moved = {**places, **dict.fromkeys(ground.unit(name), knob)}
            assert (not obstacles) == valid(request, moved), (name, knob, obstacles)
            yield from ((request, places, name, knob, each) for each in obstacles)


def layouts_of(request: Request, seed: int = 0) -> list[Places]:
    """Some valid layouts of a small request, good and bad."""
    draw = random.Random(seed)  # noqa: S311 (no secret)
    found = [a_layout(request, draw) for _ in range(3)]
    return [each for each in found if each is not None]


def wrong_of(told: Told) -> list[str]:
    request, places, name, knob, obstacle = told
    return list(wrong_in_obstacle(request, places, obstacle, {name: knob}))


def test_every_kind_of_fact_occurs_and_is_right() -> None:
    seen: Counter[str] = Counter()
    for seed in range(max(150, EXAMPLES // 3)):
        request = seeded_request(seed)
        for places in layouts_of(request, seed):
            for told in told_of(request, places):
                assert wrong_of(told) == [], seed
                obstacle = told[-1]
                seen.update(fact.kind for fact in obstacle.facts)
                seen["lasting" if obstacle.lasting else "passing"] += 1
                seen["bound"] += any(fact.kind == "together" for fact in obstacle.facts)
    kinds = {
        "moved", "held", "apart", "alone", "together", "fixed", "barred", "kept", "reserved",
        "destinations per knob", "routes", "on", "used", "lasting", "passing", "bound",
    }  # fmt: skip
    assert [kind for kind in sorted(kinds) if seen[kind] < often(5)] == []


def peaceful(reading: Reading, mask: int) -> bool:
    """Whether nothing but the knob itself can keep these from sharing it."""
    parting = tuple(each for each in reading.rules if isinstance(each.rule, Apart | Alone))
    return masks.fits_alone(attrs.evolve(reading, rules=parting), None, mask)


def test_what_keeps_a_destination_apart_from_others_is_all_that_does() -> None:
    found = 0
    for seed in range(EXAMPLES):
        request = seeded_request(seed)
        ground, own, names = Ground(request), asked(request), tuple(request.by_full_name)
        for name in names:
            others = [each for each in names if each != name]
            facts = list(ground.separations(name, others))
            for fact in facts:
                assert wrong_in_fact(request, {}, fact) == []
                assert fact.destinations[0] == name
            parted = {each for fact in facts for each in fact.destinations[1:]}
            for other in others:
                pair = 1 << own.bit[name] | 1 << own.bit[other]
                alone = attrs.evolve(own.reading, per_knob=None)
                assert (other in parted) == (not peaceful(alone, pair)), (seed, name, other)
            found += len(facts)
    assert found > EXAMPLES


def test_what_keeps_two_from_ever_sharing_is_told_if_there_is_anything() -> None:
    seen: Counter[bool] = Counter()
    for request in [*map(seeded_request, range(EXAMPLES)), *map(busy_request, range(20))]:
        if not request.surface.knobs:
            continue
        ground, own = Ground(request), asked(request)
        for pair in combinations(request.by_full_name, 2):
            mine, theirs = (own.units[own.bit[name]] for name in pair)
            if mine == theirs or not (
                peaceful(own.reading, mine) and peaceful(own.reading, theirs)
            ):
                continue  # bound together, or to something that keeps it off every knob
            may = bool(allowed(own.reading, mine | theirs))
            obstacle = ground.parts(*pair)
            assert (obstacle is None) == may, pair
            if obstacle is not None:
                assert list(wrong_in_parting(request, {}, obstacle, pair)) == []
            seen[may] += 1
    assert min(seen[True], seen[False]) > EXAMPLES
