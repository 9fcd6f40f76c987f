"""Slips: names in a source that stand for nothing that is there, and what comes close to them."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping

import attrs

from knobpack.combination.report import Slip, Source
from knobpack.setup_as_read import Reading
from knobpack.words import Setup
from knobpack.words.names import MOST_CLOSE, close, knob_told


def slips(source: Source, reading: Reading, label: str) -> tuple[Slip, ...]:
    """Every name that stands for nothing, once, with all that calls on it.

    Args:
        source: the setup and the voices to bring; names of voices to bring may be slips too.
        reading: the setup as it is read.
        label: the name that the setup goes by here.
    """
    setup = reading.setup
    voices = [voice.name for voice in setup.voices]
    found: dict[tuple[str, str], list[str]] = {}
    near: dict[tuple[str, str], tuple[str, ...]] = {}
    for kind, name, use in _calls(source, reading):
        found.setdefault((kind, name), []).append(use)
        if (kind, name) not in near:
            known: Collection[str] = reading.known
            if kind == "knob":
                known = setup.surface.knob_names
            elif kind == "voice":
                known = voices
            elif kind == "destination":
                known = tuple(reading.destinations)
            near[kind, name] = tuple(close(name, sorted(known))[:MOST_CLOSE])
    return tuple(
        Slip(label, kind, name, tuple(dict.fromkeys(uses)), near[kind, name])
        for (kind, name), uses in found.items()
    )


def with_essential(
    found: tuple[Slip, ...],
    setup: Setup,
    undriven: Mapping[str, str],
    behind: Mapping[str, tuple[str, ...]],
) -> tuple[Slip, ...]:
    """Slips with what is essential and is lost by each.

    Args:
        found: the slips of a source.
        setup: the source.
        undriven: for what is essential, comes and is driven by nothing, its full name there, its
            full name now.
        behind: for each voice of the source that does not come, what is essential of it.
    """

    def lost(slip: Slip) -> tuple[str, ...]:
        if slip.kind == "knob":
            routed = [r.destination for r in setup.routes if r.knob == slip.name]
        elif slip.kind == "destination":
            routed = [*slip.close[:1]]
        else:
            meant = slip.close[:1] if slip.kind == "voice" else ()
            return tuple(name for voice in meant for name in behind.get(voice, ()))
        return tuple(dict.fromkeys(undriven[name] for name in routed if name in undriven))

    return tuple(attrs.evolve(slip, essential=lost(slip)) for slip in found)


def _calls(source: Source, reading: Reading) -> Iterator[tuple[str, str, str]]:
    """What is called upon in vain: what it is taken for, its name, and where it stands."""
    setup = reading.setup
    voices = {voice.name for voice in setup.voices}
    for name in source.voices or ():
        if name not in voices:
            yield "voice", name, "a voice to bring"
    for route in setup.routes:
        if route.destination not in reading.destinations:
            yield "destination", route.destination, f"routed from {knob_told(route.knob)}"
        if route.knob not in reading.carries:
            yield "knob", route.knob, f"routed to {route.destination}"
    for setting in setup.travels:
        if setting.knob not in reading.carries:
            yield "knob", setting.knob, f"the travel {setting.travel}"
    routed = {route.destination for route in setup.routes} - set(reading.destinations)
    for holder, members in (
        *((f"group {group.name}", group.members) for group in setup.groups),
        *((f"snapshot '{each.name}'", each.moves) for each in setup.snapshots),
    ):
        for name in reading.unknown(members):
            yield "destination" if name in routed else "member", name, f"a member of {holder}"
