"""Positions that give way when bundles are joined, and travels that are missed, told at once.

Worked by hand. Whose position stands on a shared knob is common practice, no source.
"""

from __future__ import annotations

import attrs
import pytest

from knobpack.combination import Combination, Overruled, combine, without_source
from knobpack.present.combination_text import combination_text
from knobpack.setups.missed_travels import MissedTravel
from knobpack.words import (
    Destination,
    KnobPosition,
    KnobTravel,
    Route,
    Setup,
    Snapshot,
    Surface,
    Travel,
    Voice,
)


def at(**positions: int) -> tuple[KnobPosition, ...]:
    return tuple(KnobPosition(knob, position) for knob, position in positions.items())


PIANO = Voice("Piano", (Destination("tone", priority=2),), layer=1)
BASE = Setup(
    "Evening set",
    Surface.row(1, bits=7),
    (PIANO,),
    routes=(Route("Piano/tone", "K1"),),
    travels=(KnobTravel("K1", Travel(20, 100)),),
    snapshots=(
        Snapshot("all", ("Piano",)),
        Snapshot("still", positions=at(K1=64)),
        Snapshot("soft", positions=at(K1=30)),
    ),
)


def source(name: str, priority: int, positions: tuple[KnobPosition, ...]) -> Setup:
    return Setup(
        "Harbour set",
        Surface.row(1, bits=7),
        (Voice("Pad", (Destination(name, priority=priority),), layer=1),),
        routes=(Route(f"Pad/{name}", "K1"),),
        snapshots=(Snapshot("all", ("Pad",)), Snapshot("low", positions=positions)),
    )


def shared(brought: Setup) -> Combination:
    """The base with a voice that has to share the one knob that there is."""
    found = combine(BASE, brought)
    (missed,) = found.missed
    assert missed.destination == f"Pad/{brought.voices[0].destinations[0].name}"
    assert (missed.wanted, missed.given) == (Travel(0, 127), Travel(20, 100))
    return found


@pytest.mark.parametrize(
    ("name", "priority", "positions", "stored", "told"),
    [
        # The base's is more important: it stands where it stood, and the other gives way.
        (
            "pan",
            4,
            at(K1=5),
            {"still": {"K1": 64}, "soft": {"K1": 30}},
            (
                (
                    "In snapshot 'still' K1 stands at 64 for Piano/tone; Pad/pan, which shares the "
                    "knob, stood at 5."
                ),
                (
                    "In snapshot 'soft' K1 stands at 30 for Piano/tone; Pad/pan, which shares the "
                    "knob, stood at 5."
                ),
            ),
        ),
        # What comes is more important, and held at 5 wherever it is held: not in these snapshots.
        (
            "level",
            1,
            at(K1=5),
            {"still": {"K1": 64}, "soft": {"K1": 30}},
            (
                "In snapshot 'still' Pad/level (K1 at 64) is held where it sounds.",
                "In snapshot 'soft' Pad/level (K1 at 30) is held where it sounds.",
                (
                    "In snapshot 'still' K1 stands at 64 for Piano/tone; Pad/level, which shares "
                    "the knob, stood at 5."
                ),
                (
                    "In snapshot 'soft' K1 stands at 30 for Piano/tone; Pad/level, which shares "
                    "the knob, stood at 5."
                ),
            ),
        ),
        # Where it is held is not known: the knob stays where the base's snapshots put it.
        (
            "level",
            1,
            (),
            {"still": {"K1": 64}, "soft": {"K1": 30}},
            (
                "In snapshot 'still' Pad/level (K1 at 64) is held where it sounds.",
                "In snapshot 'soft' Pad/level (K1 at 30) is held where it sounds.",
            ),
        ),
    ],
)
def test_what_the_base_s_own_snapshots_hold_stands_in_them_and_what_gives_way_is_told(
    name: str,
    priority: int,
    positions: tuple[KnobPosition, ...],
    stored: dict[str, dict[str, int]],
    told: tuple[str, ...],
) -> None:
    found = shared(source(name, priority, positions))
    now = {each.name: each.stored for each in found.setup.snapshots}
    assert {each: now[each] for each in stored} == stored
    assert [each for each in found.headlines if each.startswith("In snapshot")] == list(told)
    assert all(isinstance(each, Overruled) for each in found.overruled)
    short = " ".join(combination_text(found, details=False).split())
    assert all(each in short for each in told)
    # Taken away again, the base stands as it stood.
    assert without_source(found.setup, "Harbour set") == BASE


def test_a_travel_that_is_missed_is_told_in_the_short_answer() -> None:
    found = shared(source("pan", 4, ()))
    assert found.missed == (
        MissedTravel("Pad/pan", "K1", Travel(0, 127), Travel(20, 100), 127, "pan"),
    )
    assert f"{found.missed[0]}." in found.headlines
    free = combine(attrs.evolve(BASE, surface=Surface.row(2, bits=7)), source("pan", 4, ()))
    assert (free.missed, free.overruled) == ((), ())


def test_of_joined_levels_that_matter_as_much_the_lowest_known_position_is_stored() -> None:
    # Organ and Choir share the one free knob; none of "keys" is theirs, and each knows another.
    level = (Destination("level", priority=1),)
    piano = Voice("Piano", level, 1)
    base = Setup(
        "Evening set",
        Surface.row(2, bits=7),
        (piano,),
        routes=(Route("Piano/level", "K1"),),
        snapshots=(Snapshot("all", ("Piano",)), Snapshot("keys", ("Piano",))),
    )
    loud_and_quiet = Setup(
        "Harbour set",
        Surface.row(2, bits=7),
        (Voice("Organ", level, 1), Voice("Choir", level, 2)),
        routes=(Route("Organ/level", "K1"), Route("Choir/level", "K2")),
        snapshots=(
            Snapshot("full", ("Organ", "Choir")),
            Snapshot("low", (), positions=at(K1=90, K2=20)),
        ),
    )
    found = combine(base, loud_and_quiet)
    stored = {each.name: each.stored for each in found.setup.snapshots}
    assert stored["keys"] == {"K2": 20}
    told = [str(each) for each in found.overruled if each.snapshot == "keys"]
    (one,) = told
    assert one.startswith("In snapshot 'keys' K2 stands at 20 for Choir/level; Organ/level, which")
    assert one.endswith("stood at 90.")
