"""What a snapshot tears already is no reason against anything else when its knob breaks."""

from __future__ import annotations

from itertools import product

import pytest

from knobpack import audit, edit
from knobpack.words import Destination, Route, Setup, Snapshot, Surface, Voice
from knobpack.words.setup_edits import BackInUse, OutOfUse

ROOMS = ("Grand/room", "Pad/room")
ON = {
    "Grand/level": "K1",
    "Grand/cutoff": "K2",
    "Pad/level": "K3",
    "Pad/cutoff": "K4",
    **dict.fromkeys(ROOMS, "K5"),
}
ALL, GRAND = Snapshot("all", ("Grand", "Pad")), Snapshot("grand", ("Grand",))
SWELL = Snapshot("swell", ("Pad/level", "Pad/cutoff"))


def torn(*snapshots: Snapshot) -> Setup:
    """Five knobs in use, the last of which one snapshot wants half of."""
    inner = tuple(Destination(each, priority=at) for at, each in enumerate(("level", "cutoff"), 1))
    voices = (
        Voice(name, (*inner, Destination("room", priority=3)), layer)
        for layer, name in enumerate(("Grand", "Pad"), 1)
    )
    routes = tuple(Route(name, knob) for name, knob in ON.items())
    return Setup("Evening set", Surface.row(5), tuple(voices), routes=routes, snapshots=snapshots)


def fewest_others(setup: Setup) -> int:
    """By trying all: what else must move, so that what is not torn goes on doing what it did."""
    moved = [
        {name for name in ON if name.split("/")[0] in each.moves or name in each.moves}
        for each in setup.snapshots
    ]

    def right(places: tuple[str, ...]) -> bool:
        at = dict(zip(ON, places, strict=True))
        for moves in moved:
            for knob in set(places):
                names = [name for name in ON if at[name] == knob]
                follows = 2 * len(moves.intersection(names)) > len(names)
                if any((name in moves) != follows for name in names if name not in ROOMS):
                    return False
        return True

    others = [name for name in ON if name not in ROOMS]
    return min(
        sum(at[name] != ON[name] for name in others)
        for places in product(("K1", "K2", "K3", "K4"), repeat=len(ON))
        if right(places)
        for at in (dict(zip(ON, places, strict=True)),)
    )


@pytest.mark.parametrize("snapshots", [(ALL, GRAND, SWELL), (ALL, GRAND), (GRAND,)])
def test_what_is_torn_already_makes_nothing_else_move(snapshots: tuple[Snapshot, ...]) -> None:
    setup = torn(*snapshots)
    found = edit(setup, OutOfUse("K5"))
    assert {each.destination for each in found.moved} == {*ROOMS}
    assert fewest_others(setup) == 0
    assert found.left_out == ()
    # Where the two part, nothing is wrong any more; else what is wrong now is told.
    wrong = [each for each in found.headlines if each.startswith("Wrong: ")]
    assert bool(wrong) == (not audit(found.setup).clean) == (SWELL in snapshots)
    if wrong:
        assert "so Pad/room is moved, though to be held" in wrong[0]
    assert edit(found.setup, BackInUse("K5")).setup.routes == setup.routes


def test_a_mended_tear_is_better_than_one_that_goes_along() -> None:
    found = edit(torn(ALL, GRAND), OutOfUse("K5"))
    on = {route.destination: route.knob for route in found.setup.routes}
    assert on["Grand/room"] in ("K1", "K2")
    assert on["Pad/room"] in ("K3", "K4")
