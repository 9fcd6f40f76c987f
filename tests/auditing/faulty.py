"""Small setups with every sort of fault, from choices made with whole numbers."""

from __future__ import annotations

import random

import attrs
from hypothesis import strategies as st

from knobpack.words import (
    Destination,
    Group,
    KnobLabel,
    KnobPosition,
    KnobSending,
    KnobTravel,
    Route,
    Setup,
    Snapshot,
    Span,
    Surface,
    Travel,
    Voice,
)
from tests.oracles.strategies import Choices

VOICES = ("Pad", "Bass", "Lead")
INNER = ("cutoff", "level", "pan")
GROUPS = ("low", "high", "all")
NOWHERE = ("Gone", "Gone/level", "Pad/gone", "low/level", "Pad", "low")


@st.composite
def faulty_setups(draw: st.DrawFn) -> Setup:
    """Setups of at most 3 voices and 4 knobs, most of them faulty."""
    return faulty_setup(Choices(lambda low, high: draw(st.integers(low, high))))


def seeded_setup(seed: int) -> Setup:
    """A setup of the same sort, from a seed."""
    return faulty_setup(Choices(random.Random(seed).randint))  # noqa: S311 (no secret)


def faulty_setup(choose: Choices) -> Setup:
    """One setup; half of all names that it uses may not exist, in some setups none."""
    bits = choose.pick((7, 7, 10))
    top = 2**bits - 1
    knobs = tuple(f"K{number}" for number in range(1, choose.pick((2, 1, 3, 3, 4, 0)) + 1))
    surface = Surface.row(
        len(knobs),
        bits=bits,
        reserved=choose.some(knobs, 0, 1),
        destinations_per_knob=choose.pick((None, None, 1, 2)),
        routes=choose.pick((None, None, 3, 0)),
        layers=choose.pick((None, None, 2, 4, 0)),
        snapshots=choose.pick((None, None, 1, 2, 0)),
    )
    voices = tuple(_voice(choose, name, top) for name in VOICES[: choose.whole(0, 3)])
    wild = choose.chance(60)
    single = [voice.full_name(inner) for voice in voices for inner in voice.destinations]
    ends = [*single, *(NOWHERE if wild else ())]
    starts = [*knobs, *(("K8", "K9") if wild else ())]
    on_routes = choose.chance(25)
    surface = attrs.evolve(surface, travel_on="route" if on_routes else "knob")

    def own_travel() -> Travel | None:
        return _travel(choose, top, wild) if choose.chance(70 if on_routes else 8) else None

    routes = [
        Route(choose.pick(ends), choose.pick(starts), own_travel())
        for _ in range(choose.whole(0, 6))
        if ends and starts
    ]
    travels = [
        KnobTravel(knob, _travel(choose, top, wild))
        for knob in starts
        if choose.chance(8 if on_routes else 50)
    ]
    called = GROUPS[: choose.whole(0, 3)]
    words = [*(voice.name for voice in voices), *single, *called]
    words += ["Gone", "Pad/gone"] if wild else []
    groups = tuple(Group(name, choose.some(words, 1, 3)) for name in called)
    snapshots = [
        Snapshot(
            f"Scene {number}",
            choose.some(words, 0, 3),
            choose.pick((None, None, 5)),
            tuple(
                KnobPosition(knob, choose.whole(0, top + 30 if wild else top))
                for knob in starts
                if choose.chance(20)
            ),
        )
        for number in range(1, choose.whole(0, 4) + 1)
    ]
    found = Setup(
        "Found",
        surface,
        voices,
        groups=groups,
        routes=tuple(routes),
        travels=tuple(travels),
        snapshots=tuple(snapshots),
    )
    return _besides(choose, found, starts) if choose.chance(50) else found


def _besides(choose: Choices, setup: Setup, knobs: list[str]) -> Setup:
    """The same, with what its knobs show and send, and how its voices are played."""
    spans = (None, None, Span(0, 127), Span(36, 59), Span(60, 59), Span(0, 0))
    voices = tuple(
        attrs.evolve(
            each,
            channel=choose.pick((None, 1, 1, 2)),
            keys=choose.pick(spans),
            velocities=choose.pick(spans),
        )
        for each in setup.voices
    )
    snapshots = tuple(
        attrs.evolve(
            each,
            silent=choose.some((*VOICES, "Gone"), 0, 2),
            idle=choose.some(knobs, 0, 1) if choose.chance(30) else (),
        )
        for each in setup.snapshots
    )
    numbers = (16, 17, 6, 49)
    return attrs.evolve(
        setup,
        surface=attrs.evolve(setup.surface, label_length=choose.pick((None, 5, 8))),
        voices=voices,
        snapshots=snapshots,
        labels=tuple(
            KnobLabel(knob, choose.pick(("Level", "level", "Cutoff", "Drive")))
            for knob in knobs
            if choose.chance(50)
        ),
        sending=tuple(
            KnobSending(knob, number, number < 32 and choose.chance(50), choose.pick((None, 1, 2)))
            for knob in knobs
            if choose.chance(50)
            for number in (choose.pick(numbers),)
        ),
    )


def _voice(choose: Choices, name: str, top: int) -> Voice:
    inner = tuple(
        Destination(
            each,
            travel=_travel(choose, top, wild=True) if choose.chance(40) else None,
            movable=not choose.chance(20),
            steps=choose.pick((2, 3, 127, 128, 2**32)) if choose.chance(30) else None,
        )
        for each in INNER[: choose.whole(0, 3)]
    )
    return Voice(name, inner, layer=choose.pick((None, 1, 2, 3)))


def _travel(choose: Choices, top: int, wild: bool) -> Travel:
    half = top // 2
    inside = (
        *(Travel(0, half), Travel(top, 0), Travel(half, half), Travel(half, top)),
        *(Travel(half, half + 1), Travel(1, 0)),
    )
    beyond = (Travel(top, top + 5), Travel(0, 2 * top), Travel(top + 1, top + 9), Travel(900, 900))
    return choose.pick(inside + beyond if wild else inside)
