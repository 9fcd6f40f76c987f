"""Knobs turned by hand, and voices that no one hears jump (common practice, no source)."""

from __future__ import annotations

import pickle
import random
from itertools import pairwise
from typing import Any

import attrs
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from knobpack.errors import InputError
from knobpack.simulation import BEHAVIOURS, Jump, change, turned, worst_changes
from knobpack.words import Setup, Snapshot
from tests.oracles.amount import EXAMPLES
from tests.oracles.strategies import Choices
from tests.simulation.setups import any_setup, stored

POSITIONS = st.integers(0, 127)
PATHS = st.lists(POSITIONS, min_size=1, max_size=12)


def test_an_absolute_knob_takes_effect_at_once() -> None:
    found = turned(100, (10, 10, 12, 13, 11), "absolute")
    assert found.effective == (100, 100, 12, 13, 11)
    assert (found.taken, found.jump) == (2, 88)
    assert str(found) == (
        "The knob takes effect at 12 (absolute); the position in force jumps by 88."
    )


def test_a_pick_up_knob_waits_for_the_value() -> None:
    found = turned(100, (10, 50, 99, 104, 60), "pick-up")
    assert found.effective == (100, 100, 100, 104, 60)
    assert (found.taken, found.jump) == (3, 0)
    assert found.sentences == ("The knob takes effect at 104 (pick-up); nothing jumps.",)
    # From above too, in one fast movement that no reading came between; and on the value itself.
    assert turned(100, (120, 20, 30), "pick-up").effective == (100, 20, 30)
    assert turned(100, (120, 100, 30), "pick-up").taken == 1
    assert turned(100, (100, 90), "pick-up").effective == (100, 90)
    never = turned(100, (10, 99, 10), "pick-up")
    assert never.effective == (100, 100, 100)
    assert str(never) == "The knob does not take effect: 100 stays in force."


def test_a_knob_that_is_not_turned_does_nothing() -> None:
    for behaviour in BEHAVIOURS:
        found = turned(5, (9, 9, 9), behaviour)
        assert (found.effective, found.taken, found.jump) == ((5, 5, 5), None, 0)
        assert turned(5, [9], behaviour).effective == (5,)


@settings(max_examples=EXAMPLES)
@given(POSITIONS, PATHS)
def test_pick_up_never_jumps(current: int, path: list[int]) -> None:
    found = turned(current, path, "pick-up")
    assert found.jump == 0
    for index in range(1, len(path)):
        step = abs(found.effective[index] - found.effective[index - 1])
        assert step <= abs(path[index] - path[index - 1])


@settings(max_examples=EXAMPLES)
@given(POSITIONS, PATHS)
def test_pick_up_is_what_a_slow_hand_does(current: int, path: list[int]) -> None:
    """Every position between is gone through, and the knob is caught at the value itself."""
    caught, effective = False, [current]
    for old, new in pairwise(path):
        way = range(old, new, 1 if new > old else -1)
        caught = caught or (old != new and current in (*way, new))
        effective.append(new if caught else current)
    assert list(turned(current, path, "pick-up").effective) == effective


@settings(max_examples=EXAMPLES)
@given(POSITIONS, PATHS)
def test_absolute_jumps_once_at_most_where_the_hand_begins(current: int, path: list[int]) -> None:
    found = turned(current, path, "absolute")
    moves = [index for index in range(1, len(path)) if path[index] != path[index - 1]]
    assert found.taken == (moves[0] if moves else None)
    for index, position in enumerate(found.effective):
        assert position == (path[index] if moves and index >= moves[0] else current)
    if not moves:
        assert found.jump == 0
        return
    first = abs(path[moves[0]] - current)
    moved = abs(path[moves[0]] - path[moves[0] - 1])
    assert found.jump == (first if first > moved else 0)


def test_it_is_a_value() -> None:
    found = turned(5, iter((9, 3)), "pick-up")
    assert pickle.loads(pickle.dumps(found)) == found  # noqa: S301 (own data)
    assert found.path == (9, 3)


@pytest.mark.parametrize(
    ("arguments", "field"),
    [
        ((-1, (0,), "absolute"), "turned.current"),
        ((2**32, (0,), "absolute"), "turned.current"),
        ((0, (), "absolute"), "turned.physical_path"),
        ((0, 7, "absolute"), "turned.physical_path"),
        ((0, (0, 1.5), "absolute"), "turned.physical_path[1]"),
        ((0, (0,), "soft"), "turned.behaviour"),
        ((0, (0,), None), "turned.behaviour"),
    ],
)
def test_what_cannot_be_is_refused(arguments: Any, field: str) -> None:
    with pytest.raises(InputError) as caught:
        turned(*arguments)
    assert caught.value.field == field


def silenced(setup: Setup, **silent: tuple[str, ...]) -> Setup:
    """The setup with voices that are silent in the snapshots of these names."""
    names = {name.replace("_", " "): voices for name, voices in silent.items()}
    snapshots = tuple(
        attrs.evolve(each, silent=names.get(each.name, ())) for each in setup.snapshots
    )
    return attrs.evolve(setup, snapshots=snapshots)


def test_a_voice_that_is_silent_before_or_after_does_not_jump() -> None:
    whole = change(stored(), "only Lead", "both", 1023)
    assert {jump.destination.split("/")[0] for jump in whole} == {"Pad", "Lead"}
    lead = tuple(jump for jump in whole if jump.destination.startswith("Lead/"))
    for where in ("only_Lead", "both"):
        setup = silenced(stored(), **{where: ("Pad",)})
        assert change(setup, "only Lead", "both", 1023) == lead
        assert change(setup, "only Lead", "only Lead", 0) == tuple(
            jump
            for jump in change(stored(), "only Lead", "only Lead", 0)
            if where == "both" or jump.destination.startswith("Lead/")
        )


def test_the_worst_is_looked_for_where_a_voice_sounds() -> None:
    checked = fewer = 0
    for seed in range(150):
        choose = Choices(random.Random(seed).randint)  # noqa: S311 (no secret)
        setup = any_setup(choose)
        voices = [voice.name for voice in setup.voices]
        more = Snapshot("more", choose.some(voices, 0, 2))
        snapshots = tuple(
            attrs.evolve(each, silent=choose.some(voices, 0, 1))
            for each in (*setup.snapshots, more)
        )
        setup = attrs.evolve(setup, snapshots=snapshots)
        furthest: dict[tuple[str, str], float] = {}
        for one in snapshots:
            for other in snapshots:
                if one != other:
                    for master in (0, setup.surface.top):
                        for jump in change(setup, one.name, other.name, master):
                            key = jump.destination, jump.knob
                            furthest[key] = max(furthest.get(key, 0.0), jump.share)
        found: tuple[Jump, ...] = worst_changes(setup)
        assert {(jump.destination, jump.knob): jump.share for jump in found} == furthest
        for jump in found:
            voice = jump.destination.split("/")[0]
            heard = {each.name for each in snapshots if voice not in each.silent}
            assert {jump.before, jump.after} <= heard
            checked += 1
        bare = tuple(attrs.evolve(each, silent=()) for each in snapshots)
        fewer += found != worst_changes(attrs.evolve(setup, snapshots=bare))
    assert checked > 50
    assert fewer > 5
