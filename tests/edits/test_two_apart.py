"""What can be parted in place of all, checked by parting every two by themselves."""

from __future__ import annotations

from itertools import combinations

import attrs

from knobpack import Destination, Part, Route, Setup, Snapshot, Surface, Voice, edit

INNER = ("level", "drive", "tone")
ORGAN = Voice("Organ", tuple(Destination(each, priority=1) for each in INNER), 1)
PAD = Voice("Pad", (Destination("level", priority=1),), 2)
BASS = Voice("Bass", (Destination("level", priority=1),), 3)
NAMES = tuple(f"Organ/{each}" for each in INNER)


def _setup(*more: Voice) -> Setup:
    """Three knobs: the organ on one, each other voice on its own; each has a snapshot."""
    routes = [Route(name, "K1") for name in NAMES]
    routes += (Route(f"{voice.name}/level", f"K{at}") for at, voice in enumerate(more, 2))
    voices = (ORGAN, *more)
    return Setup(
        "Evening set",
        Surface.row(3),
        voices,
        routes=tuple(routes),
        snapshots=tuple(Snapshot(voice.name, (voice.name,)) for voice in voices),
    )


def test_what_two_can_be_parted_with_nothing_left_out_is_told_after_the_loss() -> None:
    """By hand: the three take all knobs, and the pad goes; two take two, and it stays."""
    setup = _setup(PAD)
    done = edit(setup, Part(("K1",)))
    assert done.essential_out == ("Pad/level",)
    two = [f"{one} from {other} (1 route to move)" for one, other in combinations(NAMES, 2)]
    assert done.headlines[:2] == (
        "Essential, and left out: Pad/level.",
        f"Instead, with nothing left out, two can be parted: {two[0]}, {two[1]} or {two[2]}.",
    )
    for pair in combinations(NAMES, 2):
        alone = edit(setup, Part(pair))
        assert (alone.left_out, len(alone.moved), alone.instead) == ((), 1, ())


def test_what_parts_no_bundle_is_told_first() -> None:
    """The level and the drive came from one knob: the tone leaves them, and they stay whole."""
    inner = tuple(
        attrs.evolve(each, source_knob=knob)
        for each, knob in zip(ORGAN.destinations, ("K5", "K5", "K6"), strict=True)
    )
    organ = attrs.evolve(ORGAN, destinations=inner)
    setup = attrs.evolve(_setup(PAD), voices=(organ, PAD))
    instead = edit(setup, Part(("K1",))).instead[0]
    assert instead.index("Organ/level from Organ/tone") < instead.index("level from Organ/drive")


def test_where_no_two_find_room_that_is_told() -> None:
    """By hand: all three knobs are taken, and no two voices can share one."""
    setup = _setup(PAD, BASS)
    done = edit(setup, Part(("K1",)))
    assert done.essential_out == ("Pad/level", "Bass/level")
    assert done.headlines[1] == "No two of them can be parted with nothing left out."
    for pair in combinations(NAMES, 2):
        assert len(edit(setup, Part(pair)).left_out) == 1
    # Where two alone were to be parted there are no two of them to name.
    assert edit(setup, Part(NAMES[:2])).instead == ()
