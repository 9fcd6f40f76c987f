"""Random setups of every resolution, with numbers for some of their knobs."""

from __future__ import annotations

from typing import Any

import attrs

from knobpack.words import KnobTravel, Setup, Travel
from tests.oracles.strategies import Choices
from tests.simulation.setups import any_setup, some_start

Numbers = int | tuple[int, int]

PAIRS: tuple[tuple[int, int], ...] = ((16, 48), (1, 33), (31, 63), (7, 39), (20, 52))
SINGLES = (70, 21, 64, 119, 2, 102, 95, 50)
"""No two of all these are heard as one: MIDI 1.0, Table III; 50 has no coarse half here."""


@attrs.frozen
class Asked:
    """What a file is asked for: a setup, numbers and the rest."""

    setup: Setup
    numbers: dict[str, Numbers]
    master_number: Numbers | None
    start: dict[str, int]
    seconds: float
    channel: int

    @property
    def rest(self) -> dict[str, Any]:
        """The arguments by name."""
        names = ("master_number", "start", "seconds", "channel")
        return {name: getattr(self, name) for name in names}


def any_asked(choose: Choices) -> Asked:
    """A setup as it may be found, at any resolution, and numbers for most of its knobs."""
    found = any_setup(choose)
    bits = choose.pick((7, 10, 14, 2, 32, 3, 6, 8, 13, 15, 16, 24))
    top = 2**bits - 1
    places = (0, top, top // 2, top // 2 + 1, top - 1, 1)

    def place() -> int:
        return choose.pick(places) if choose.chance(60) else choose.whole(0, top)

    travels = tuple(KnobTravel(each.knob, Travel(place(), place())) for each in found.travels)
    if found.travels and choose.chance(10):  # beyond the highest position
        travels = (KnobTravel(travels[0].knob, Travel(0, 2**32 - 1)), *travels[1:])
    setup = attrs.evolve(
        found,
        surface=attrs.evolve(found.surface, bits=bits),
        travels=travels,
        snapshots=() if choose.chance(10) else found.snapshots,
    )
    left: dict[bool, list[Numbers]] = {True: list(PAIRS), False: list(SINGLES)}

    def number() -> Numbers:
        return left[choose.chance(50)].pop(0)

    return Asked(
        setup,
        {knob: number() for knob in setup.surface.knob_names if choose.chance(85)},
        number() if choose.chance(50) else None,
        some_start(choose, setup),
        choose.pick((1, 1.5, 1.0013, 2)),
        choose.whole(1, 16),
    )
