"""A setup read plainly, faulty or not: what names stand for, what moves, how far a knob goes."""

from __future__ import annotations

from collections.abc import Iterable

from knobpack.words import Destination, Setup, Snapshot, Travel


def reads(setup: Setup, names: Iterable[str]) -> frozenset[str]:
    """The destinations that names stand for in a setup; what is not there is nothing."""
    inner = {
        voice.name: {f"{voice.name}/{d.name}" for d in voice.destinations} for voice in setup.voices
    }
    groups = {group.name: group.members for group in setup.groups}
    there = set().union(*inner.values())
    found: set[str] = set()
    waiting, seen = list(names), set()
    while waiting:
        name = waiting.pop()
        if name in seen:
            continue
        seen.add(name)
        found |= inner.get(name, set())
        found |= {name} & there
        waiting += groups.get(name, ())
    return frozenset(found)


def moves(setup: Setup, snapshot: Snapshot) -> frozenset[str]:
    """What moves with the master in a snapshot of a setup."""
    able = {name for name, inner in inner_of(setup).items() if inner.movable}
    return reads(setup, snapshot.moves) & able


def inner_of(setup: Setup) -> dict[str, Destination]:
    """Every destination by its full name."""
    return {f"{v.name}/{d.name}": d for v in setup.voices for d in v.destinations}


def bundle_of(setup: Setup, name: str, knob: str) -> tuple[str | None, str]:
    """What stands for the bundle of a destination on a knob, where no edit joined or parted any."""
    source = next(v.source for v in setup.voices if name.startswith(f"{v.name}/"))
    came = inner_of(setup)[name].source_knob if source else None
    return (f"{source} came", came) if came else (source, knob)


def knobs_of(setup: Setup) -> set[str]:
    """The knobs that are there."""
    return {knob.name for knob in setup.surface.knobs}


def travel_of(setup: Setup, knob: str) -> Travel:
    """The travel of a knob; the full one where none is set, or where none is set on knobs."""
    for setting in setup.travels:
        if setting.knob == knob and setup.surface.travel_on == "knob":
            return setting.travel
    return Travel(0, 2**setup.surface.bits - 1)
