"""Altering: setups changed in one respect, and which mend is made in which way."""

from __future__ import annotations

from collections.abc import Callable, Collection
from typing import Any

import attrs

from knobpack.auditing.findings import Finding
from knobpack.words import Setup, Snapshot

Mend = Callable[[Setup, Finding], Setup]
MENDS: dict[str, Mend] = {}


def mends(*causes: str) -> Callable[[Mend], object]:
    """Register what mends findings of some causes."""

    def put(mend: Mend) -> object:
        MENDS.update(dict.fromkeys(causes, mend))
        return mend

    return put


def without_routes(setup: Setup, names: Collection[str], knobs: Collection[str]) -> Setup:
    """The setup without the routes from these knobs to these names."""
    left = [r for r in setup.routes if not (r.destination in names and r.knob in knobs)]
    return attrs.evolve(setup, routes=tuple(left))


def changed(setup: Setup, names: Collection[str], **change: Any) -> Setup:
    """The setup with something changed at the destinations named."""
    voices = tuple(
        attrs.evolve(
            voice,
            destinations=tuple(
                attrs.evolve(inner, **change) if voice.full_name(inner) in names else inner
                for inner in voice.destinations
            ),
        )
        for voice in setup.voices
    )
    return attrs.evolve(setup, voices=voices)


def left(moves: Collection[str], names: Collection[str]) -> tuple[str, ...]:
    """Names without some of them."""
    return tuple(name for name in moves if name not in names)


def without_snapshots(setup: Setup, names: Collection[str]) -> Setup:
    """The setup without some snapshots."""
    left = tuple(each for each in setup.snapshots if each.name not in names)
    return attrs.evolve(setup, snapshots=left)


def in_snapshots(setup: Setup, finding: Finding, change: Callable[[Snapshot], Snapshot]) -> Setup:
    """The setup with the snapshots of a finding changed."""
    snapshots = (change(e) if e.name in finding.snapshots else e for e in setup.snapshots)
    return attrs.evolve(setup, snapshots=tuple(snapshots))


def in_voices(setup: Setup, finding: Finding, **change: Any) -> Setup:
    """The setup with something changed of the voices of a finding."""
    voices = (attrs.evolve(e, **change) if e.name in finding.voices else e for e in setup.voices)
    return attrs.evolve(setup, voices=tuple(voices))
