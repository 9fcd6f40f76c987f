"""Silent voices: no one hears them jump. Common practice, no source."""

from __future__ import annotations

import random

import attrs

from knobpack.simulation import Jump, change, worst_changes
from knobpack.words import Setup, Snapshot
from tests.oracles.strategies import Choices
from tests.simulation.setups import any_setup, stored


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
