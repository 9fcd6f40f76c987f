"""What is wrong in a reading of a setup: each part made anew from the words, one by one."""

from __future__ import annotations

from typing import Any

import attrs

from knobpack.setups.as_read import Reading
from knobpack.words import Setup, Snapshot
from tests.oracles.audit_positions import follows, moved_by, on, states, there, working
from tests.oracles.audit_truths import inside
from tests.oracles.reading_setups import moves, travel_of
from tests.oracles.simulation import Plain


def misread(setup: Setup, said: Reading) -> list[str]:
    """The parts of a reading that are not what the setup says, with their order."""
    return [
        f"{part}: {getattr(said, part)}, not {wanted}"
        for part, wanted in right(setup).items()
        if _in_order(getattr(said, part)) != _in_order(wanted)
    ]


def right(setup: Setup) -> dict[str, Any]:
    """Every part of a reading, as it ought to be."""
    plain, knobs = Plain(setup), [knob.name for knob in setup.surface.knobs]
    driven = {knob: tuple(on(setup, knob)) for knob in knobs}
    stirred = would_stir(setup)
    words = [*(voice.name for voice in setup.voices), *(group.name for group in setup.groups)]
    return {
        "destinations": {name: plain.find(name) for name in there(setup)},
        "routes": tuple(plain.routes()),
        "carries": driven,
        "knobs_of": {n: tuple(k for k in knobs if n in driven[k]) for n in there(setup)},
        "travels": {knob: travel_of(setup, knob) for knob in knobs},
        "goes": {knob: plain.travel(knob) for knob in knobs},
        "drives": {k: tuple(n for n in driven[k] if k in stirred.get(n, ())) for k in knobs},
        "assumed": not setup.snapshots,
        "snapshots": _snapshots(setup),
        "known": {*there(setup), *words},
        "circles": _circles(setup),
        "plays": _plays(setup),
    }


def would_stir(setup: Setup) -> dict[str, set[str]]:
    """For each destination, the knobs that would move it if every knob followed."""
    voices = tuple(
        attrs.evolve(
            voice, destinations=tuple(attrs.evolve(d, movable=True) for d in voice.destinations)
        )
        for voice in setup.voices
    )
    loose = attrs.evolve(setup, voices=voices, snapshots=())
    return moved_by(loose, states(loose)[0])


def _snapshots(setup: Setup) -> tuple[Snapshot, ...]:
    if setup.snapshots:
        return setup.snapshots
    return (Snapshot("everything", tuple(voice.name for voice in setup.voices)),)


def _circles(setup: Setup) -> tuple[tuple[str, ...], ...]:
    groups = [group.name for group in setup.groups]
    around = {name: inside(setup, name) for name in groups}
    circles = [
        tuple(n for n in groups if n in around[name] and name in around[n]) for name in groups
    ]
    return tuple(dict.fromkeys(circle for circle in circles if circle))


def _plays(setup: Setup) -> tuple[Any, ...]:
    """Snapshot, what is to move, what follows and what works, by the names of the fields."""
    told = zip(_snapshots(setup), states(setup), strict=True)
    return tuple(
        {
            "snapshot": snapshot,
            "moved": moves(setup, snapshot),
            "follows": tuple(k.name for k in setup.surface.knobs if follows(setup, state, k.name)),
            "works": working(setup, state),
        }
        for snapshot, state in told
    )


def _in_order(part: Any) -> Any:
    """A part to be compared, with its order where that says something."""
    if isinstance(part, dict):
        return list(part.items())
    if isinstance(part, tuple) and part and attrs.has(type(part[0])) and hasattr(part[0], "works"):
        return [attrs.asdict(each, recurse=False) for each in part]
    return list(part) if isinstance(part, tuple) else part
