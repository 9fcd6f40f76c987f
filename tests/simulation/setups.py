"""Random setups, sound and faulty, and a few made by hand."""

from __future__ import annotations

import random
from collections.abc import Iterator
from functools import cache

import attrs

from knobpack.allocation import Allocation
from knobpack.allocator import allocate_request
from knobpack.clash import ImpossibleDemands
from knobpack.positions import SHAPES, Curve
from knobpack.simulation import Response
from knobpack.words import (
    Destination,
    Group,
    KnobPosition,
    KnobTravel,
    Route,
    Setup,
    Snapshot,
    Surface,
    Travel,
    Voice,
)
from tests.oracles.strategies import Choices, seeded_request


def allocations(count: int) -> Iterator[tuple[int, Allocation]]:
    """The allocations of the first so many seeded requests that have one."""
    for seed in range(count):
        found = _allocated(seed)
        if found is not None:
            yield seed, found


@cache
def _allocated(seed: int) -> Allocation | None:
    try:
        return allocate_request(seeded_request(seed))
    except ImpossibleDemands:
        return None


def any_setup(choose: Choices) -> Setup:
    """A setup as it may be found, nothing in it to be relied on; of 2 or 3 snapshots at times."""
    bits = choose.pick((7, 8, 7, 7))
    top = 2**bits - 1
    beyond = choose.chance(15)
    voices = tuple(
        Voice(
            f"Voice {number}",
            tuple(
                Destination(
                    f"d{inner}",
                    choose.pick(("cutoff", "level", "pan")),
                    movable=not choose.chance(15),
                    steps=choose.pick((2, 3, 5, 2**bits, 2**32)) if choose.chance(30) else None,
                )
                for inner in range(choose.whole(0, 3))
            ),
        )
        for number in range(choose.whole(0, 3))
    )
    full = [voice.full_name(inner) for voice in voices for inner in voice.destinations]
    knobs = [f"K{number + 1}" for number in range(choose.whole(0, 4))]
    strange = choose.chance(30)
    ends = [*full, "Gone/d0"] if strange else full
    driving = [*knobs, "Gone"] if strange else knobs
    on_routes = choose.chance(25)
    routes = [
        Route(
            choose.pick(ends),
            choose.pick(driving),
            Travel(*(choose.whole(0, top + 40 * beyond) for _ in "ab"))
            if choose.chance(70 if on_routes else 5)
            else None,
        )
        for _ in range(choose.whole(0, 7) if ends and driving else 0)
    ]
    travels = [
        KnobTravel(knob, Travel(*(choose.whole(0, top + 40 * beyond) for _ in "ab")))
        for knob in driving
        if choose.chance(75)
    ]
    groups = [Group("G1", (*choose.some([*full, "G2", "Gone"], 1, 3),))]
    groups += [Group("G2", ("G1", *choose.some(full, 0, 2)))] if strange else []
    named = [*full, *(voice.name for voice in voices), "G1", *(["Gone"] if strange else [])]
    snapshots = tuple(
        Snapshot(
            f"S{number}",
            choose.some(named, 0, 3),
            positions=tuple(
                KnobPosition(knob, choose.whole(0, top + 40 * beyond))
                for knob in driving
                if choose.chance(60)
            ),
        )
        for number in range(choose.whole(1, 3))
    )
    surface = Surface.row(len(knobs), bits=bits, travel_on="route" if on_routes else "knob")
    return Setup(
        "Found",
        surface,
        voices,
        groups=tuple(groups),
        routes=tuple(routes),
        travels=tuple(travels),
        snapshots=snapshots,
    )


def seeded_setup(seed: int) -> tuple[Setup, Choices]:
    """A setup from a seed, and the choices to go on with."""
    choose = Choices(random.Random(seed).randint)  # noqa: S311 (no secret)
    return any_setup(choose), choose


def some_responses(choose: Choices, setup: Setup) -> dict[str, Response]:
    """Curves and depths for some of the destinations."""
    return {
        voice.full_name(inner): Response(
            Curve(choose.pick(SHAPES), choose.chance(50), choose.chance(50)),
            choose.pick((1.0, -1200.0, 0.0, 50.0)),
        )
        for voice in setup.voices
        for inner in voice.destinations
        if choose.chance(50)
    }


def some_start(choose: Choices, setup: Setup) -> dict[str, int]:
    """Where some of the knobs stand."""
    top = setup.surface.top
    return {n: choose.whole(0, top) for n in setup.surface.knob_names if choose.chance(50)}


def two_voices(bits: int = 10) -> Setup:
    """Made by hand: half a travel at 10 bits, a reversed one, an empty one and a bare knob."""
    pad = (Destination("cutoff"), Destination("level"))
    lead = (Destination("wave", steps=3), Destination("pan"))
    return Setup(
        "Evening",
        Surface.row(5, bits=bits),
        (Voice("Pad", pad, 1), Voice("Lead", lead, 2)),
        groups=(),
        routes=(
            Route("Pad/cutoff", "K1"),
            Route("Pad/level", "K2"),
            Route("Lead/wave", "K3"),
            Route("Lead/pan", "K4"),
        ),
        travels=(
            KnobTravel("K1", Travel(0, 512)),
            KnobTravel("K2", Travel(1023, 0)),
            KnobTravel("K4", Travel(300, 300)),
        ),
        snapshots=(
            Snapshot("both", ("Pad", "Lead")),
            Snapshot("only Pad", ("Pad",)),
            Snapshot("only Lead", ("Lead",)),
        ),
    )


def stored(bits: int = 10) -> Setup:
    """The same with the positions of what is held: K1 and K2 at the starts of their travels."""
    setup = two_voices(bits)
    both, pad, lead = setup.snapshots
    return attrs.evolve(
        setup,
        snapshots=(
            both,
            attrs.evolve(pad, positions=(KnobPosition("K3", 768), KnobPosition("K4", 300))),
            attrs.evolve(lead, positions=(KnobPosition("K1", 0), KnobPosition("K2", 1023))),
        ),
    )


def with_kind(setup: Setup, kind: str) -> Setup:
    """The setup, every destination being of that kind."""
    voices = tuple(
        attrs.evolve(
            voice, destinations=tuple(attrs.evolve(d, kind=kind) for d in voice.destinations)
        )
        for voice in setup.voices
    )
    return attrs.evolve(setup, voices=voices)
