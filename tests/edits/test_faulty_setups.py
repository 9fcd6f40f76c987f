"""Edits of setups that hold faults: what is said, written and programmed of them agrees."""

from __future__ import annotations

import random
from collections import Counter

import attrs
import pytest

from knobpack import audit, edit, move_home, move_to_panel
from knobpack.auditing.causes import CROWDED, DOUBLED, ROUTES
from knobpack.clash import ImpossibleDemands
from knobpack.errors import InputError
from knobpack.setups.as_read import read
from knobpack.words import Destination, Route, Setup, Surface, Voice
from knobpack.words.demand import KEEP, PER_KNOB, RULE
from knobpack.words.setup_edits import Away, Edit, Join, OnKnob, OwnKnob, Swap
from tests.edits.setups import small_setup, some_edit
from tests.oracles.amount import EXAMPLES
from tests.oracles.replay import in_order, replay

VOICES = (
    Voice("Organ", [Destination("level"), Destination("drive"), Destination("rotor")], layer=1),
    Voice("Bass", [Destination("level")], layer=2),
)
FULL = Setup(
    "Full",
    Surface.row(4, destinations_per_knob=2),
    VOICES,
    routes=[
        *(Route(f"Organ/{n}", "K1") for n in ("level", "drive", "rotor")),
        Route("Bass/level", "K2"),
    ],
)


def faulty(seed: int) -> Setup:
    """A setup with a knob that is too full or reserved, too many routes, or a second route."""
    draw = random.Random(seed)  # noqa: S311 (no secret)
    setup = small_setup(seed, knobs=5)
    surface, routes = setup.surface, list(setup.routes)
    fullest = max(map(len, read(setup).carries.values()))
    if draw.random() < 0.6:
        surface = attrs.evolve(surface, destinations_per_knob=max(1, fullest - 1))
    if draw.random() < 0.4:
        surface = attrs.evolve(surface, reserved=(draw.choice(routes).knob,))
    if draw.random() < 0.3:
        surface = attrs.evolve(surface, routes=max(1, len(routes) - 2))
    if draw.random() < 0.3:
        again = draw.choice(routes)
        knob = draw.choice([each for each in surface.knob_names if each != again.knob])
        routes.insert(draw.randint(0, len(routes)), attrs.evolve(again, knob=knob))
    return attrs.evolve(setup, surface=surface, routes=tuple(routes))


def faults(setup: Setup) -> Counter[tuple[str, ...]]:
    """How many destinations or routes are too many, by what they are too many for."""
    found: Counter[tuple[str, ...]] = Counter()
    for each in audit(setup).findings:
        if each.cause in {CROWDED, ROUTES}:
            found[each.cause, *each.knobs] = each.numbers[-1]
        elif each.cause == DOUBLED:
            found.update((each.cause, name) for name in each.destinations)
    carries = read(setup).carries
    found.update((knob, name) for knob in setup.surface.reserved for name in carries[knob])
    return found


def any_edit(setup: Setup, draw: random.Random) -> Edit:
    names = [route.destination for route in setup.routes]
    return Away((draw.choice(names),)) if draw.random() < 0.1 else some_edit(setup, draw)


def test_what_is_said_programmed_and_found_of_an_edit_agrees() -> None:
    seen: Counter[str] = Counter()
    for seed in range(max(100, EXAMPLES // 2)):
        setup, draw = faulty(seed), random.Random(seed)  # noqa: S311 (no secret)
        for _ in range(3):
            try:
                what = any_edit(setup, draw)
                found = edit(setup, what)
            except InputError:  # something is named twice, or cannot be asked
                continue
            except ImpossibleDemands as error:
                assert all(each.kind != KEEP for each in error.clash.demands), (seed, what)  # noqa: PT017
                seen["impossible"] += 1
                continue
            old, new = read(setup).knobs_of, read(found.setup).knobs_of
            assert {each.destination for each in found.moved} == {
                name for name in {*old, *new} if {*old.get(name, ())} != {*new.get(name, ())}
            }, (seed, what)
            assert in_order(replay(setup, found.sheet.steps)) == in_order(found.setup), (seed, what)
            was, now = faults(setup), faults(found.setup)
            assert not now - was, (seed, what)
            seen[type(what).__name__] += bool(found.moved)
            seen["mended"] += bool(was - now)
            seen["left"] += bool(now)
            setup = found.setup
            if not setup.routes:
                break
    assert len(seen) == 10, seen
    assert min(seen.values()) > 3, seen


def test_away_and_home_with_nothing_between_changes_nothing() -> None:
    elsewhere = 0
    for seed in range(max(40, EXAMPLES // 5)):
        home, draw = faulty(seed), random.Random(seed)  # noqa: S311 (no secret)
        most, knobs = draw.choice((None, 2)), draw.choice((1, 2, 3, 4, 6))
        away = move_to_panel(home, Surface.row(knobs, destinations_per_knob=most))
        back = move_home(away.setup)
        assert back.setup == home, seed
        assert not back.moved
        assert "all is where it was" in str(back)
        elsewhere += bool(away.moved)
    assert elsewhere > 10


@pytest.mark.parametrize("what", [OwnKnob(["Organ/rotor"]), OnKnob(["Organ/rotor"], "K3")])
def test_what_is_one_too_many_on_a_knob_goes_where_it_is_asked(what: Edit) -> None:
    found = edit(FULL, what)
    assert [(each.destination, each.before, each.after) for each in found.moved] == [
        ("Organ/rotor", "K1", "K3")
    ]
    assert read(found.setup).carries["K1"] == ("Organ/level", "Organ/drive")
    assert not faults(found.setup)


def test_what_comes_to_a_knob_that_is_too_full_takes_the_place_of_others() -> None:
    found = edit(FULL, OnKnob(["Bass/level"], "K1"))
    assert len(read(found.setup).carries["K1"]) == 2
    assert len(found.moved) == 3


@pytest.mark.parametrize("what", [Swap("K1", "K3"), Join(["K1", "K2"])])
def test_what_no_knob_takes_clashes_with_that_alone(what: Edit) -> None:
    with pytest.raises(ImpossibleDemands) as caught:
        edit(FULL, what)
    assert {each.kind for each in caught.value.clash.demands} == {PER_KNOB, RULE}
    shut = attrs.evolve(FULL, surface=Surface.row(4, reserved=["K1"]))
    assert not read(edit(shut, what).setup).carries["K1"]
