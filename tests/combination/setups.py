"""Random setups to combine, sound or faulty in every way that a Setup may be."""

from __future__ import annotations

import random

from hypothesis import strategies as st

from knobpack.words import (
    Destination,
    Group,
    KnobLabel,
    KnobPosition,
    KnobTravel,
    Route,
    Setup,
    Snapshot,
    Surface,
    Travel,
    Voice,
)
from tests.oracles.strategies import Choices

VOICES = ("Pad", "Lead", "Bass", "Keys")
INNER = ("level", "cutoff", "pan")


@st.composite
def setups(draw: st.DrawFn, name: str, faulty: bool) -> Setup:
    """A setup of at most three voices on at most five knobs, of this name."""
    choose = Choices(lambda low, high: draw(st.integers(low, high)))
    return some_setup(choose, name, faulty)


def seeded_setup(seed: int, name: str, faulty: bool) -> Setup:
    """The same sort of setup, from a seed."""
    return some_setup(Choices(random.Random(seed).randint), name, faulty)  # noqa: S311 (no secret)


def some_setup(choose: Choices, name: str, faulty: bool) -> Setup:
    """A setup, every choice made by ``choose``."""
    bits = choose.pick((7, 7, 10, 14))
    knobs = choose.pick((4, 3, 5, 2, 0))
    voices = _voices(choose, faulty, 2**bits - 1)
    full = [f"{voice.name}/{inner.name}" for voice in voices for inner in voice.destinations]
    named = [f"K{number}" for number in range(1, knobs + 1)]
    lost = ["Ghost/level", "Pad/ghost", "Ghost", "Pad", "Lead/level"] if faulty else []
    dead = ["K9"] if faulty else []
    groups = _groups(choose, [voice.name for voice in voices], full, lost)
    return Setup(
        name,
        Surface.row(
            knobs,
            bits=bits,
            reserved=choose.some(named, 1, 1) if choose.chance(10) else (),
            destinations_per_knob=choose.whole(1, 2) if faulty and choose.chance(20) else None,
            routes=choose.whole(0, 6) if faulty and choose.chance(15) else None,
            layers=choose.whole(6, 12) if choose.chance(20) else None,
            snapshots=choose.whole(0, 8) if choose.chance(20) else None,
        ),
        voices,
        groups=groups,
        routes=_routes(choose, full, named, lost, dead),
        travels=tuple(
            KnobTravel(knob, _travel(choose, 2**bits - 1, faulty))
            for knob in [*named, *dead]
            if choose.chance(50)
        ),
        snapshots=_snapshots(
            choose, voices, groups, lost, faulty, _positions(choose, named, 2**bits - 1)
        ),
        labels=tuple(KnobLabel(k, f"{k} of {name}") for k in named if choose.chance(15)),
    )


def _positions(choose: Choices, knobs: list[str], top: int) -> tuple[KnobPosition, ...]:
    held = choose.some(knobs, 0, 3) if knobs and choose.chance(40) else ()
    return tuple(KnobPosition(knob, choose.whole(0, top)) for knob in held)


def _voices(choose: Choices, faulty: bool, top: int) -> tuple[Voice, ...]:
    names = choose.some(VOICES, 0, 3)
    return tuple(
        Voice(
            name,
            tuple(
                Destination(
                    inner,
                    choose.pick((inner, "drive")),
                    choose.whole(1, 5),
                    _travel(choose, top, faulty) if choose.chance(25) else None,
                    "Old knob" if choose.chance(20) else None,
                    movable=not choose.chance(15),
                    steps=choose.whole(2, 9) if choose.chance(20) else None,
                )
                for inner in choose.some(INNER, 0, 2)
            ),
            choose.pick((place, 1, 8, None)) if faulty else choose.pick((place, None)),
            choose.pick((None, "Harbour set", "Attic set")),
        )
        for place, name in enumerate(names, 1)
    )


def _travel(choose: Choices, top: int, faulty: bool) -> Travel:
    sound = (Travel(0, top // 2 + 1), Travel(top, 0), Travel(3, top))
    odd: tuple[Travel, ...] = ()
    if faulty:
        odd = (Travel(top // 3, top // 3), Travel(0, top + 60), Travel(0, 3))
    options: tuple[Travel, ...] = (*sound, *odd)
    return choose.pick(options)


def _routes(
    choose: Choices, full: list[str], knobs: list[str], lost: list[str], dead: list[str]
) -> tuple[Route, ...]:
    ends = [*knobs, *dead]
    if not ends:
        return ()
    found = [Route(name, choose.pick(ends)) for name in full if choose.chance(70)]
    if lost:
        found += [
            Route(choose.pick([*full, *lost]), choose.pick(ends)) for _ in range(choose.whole(0, 3))
        ]
    return tuple(found)


def _groups(
    choose: Choices, voices: list[str], full: list[str], lost: list[str]
) -> tuple[Group, ...]:
    names = [name for name in ("Pads", "All of it") if choose.chance(50)]
    found = []
    for position, name in enumerate(names):
        others = names if lost else names[:position]
        members = choose.some(tuple(dict.fromkeys([*voices, *full, *others, *lost])), 0, 3)
        if members:
            found.append(Group(name, members))
    return tuple(found)


def _snapshots(
    choose: Choices,
    voices: tuple[Voice, ...],
    groups: tuple[Group, ...],
    lost: list[str],
    faulty: bool,
    positions: tuple[KnobPosition, ...],
) -> tuple[Snapshot, ...]:
    free = [f"{v.name}/{d.name}" for v in voices for d in v.destinations if d.movable or faulty]
    every = [*(v.name for v in voices), *(g.name for g in groups), *free, *lost]
    options = tuple(dict.fromkeys(every))
    names = choose.some(("everything", "Pads", "quiet", "only Harbour set"), 0, 2)
    return tuple(
        Snapshot(
            name,
            choose.some(options, 0, 3),
            5 if choose.chance(15) else None,
            positions,
            idle=choose.some([f"K{number}" for number in (1, 2)], 0, 1),
        )
        for name in names
    )
