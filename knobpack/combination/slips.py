"""Slips: names in a source that stand for nothing that is there, and what comes close to them."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping

from knobpack.combination.report import Slip, Source
from knobpack.setup_as_read import Reading
from knobpack.words.names import MOST_CLOSE, close, knob_told


def slips(
    source: Source,
    reading: Reading,
    label: str,
    undriven: Mapping[str, str],
    behind: Mapping[str, tuple[str, ...]],
) -> tuple[Slip, ...]:
    """Every name that stands for nothing, once, with all that calls on it and is lost by it.

    Args:
        source: the setup and the voices to bring; names of voices to bring may be slips too.
        reading: the setup as it is read.
        label: the name that the setup goes by here.
        undriven: for what is essential, comes and is driven by nothing, its full name there, its
            full name now.
        behind: for each voice of the source that does not come, what is essential of it.
    """
    setup = reading.setup
    known: dict[str, Collection[str]] = {
        "knob": setup.surface.knob_names,
        "voice": [voice.name for voice in setup.voices],
        "destination": tuple(reading.destinations),
        "member": reading.known,
    }
    uses: dict[tuple[str, str], dict[str, None]] = {}
    for kind, name, use in _calls(source, reading):
        uses.setdefault((kind, name), {})[use] = None
    found = []
    for (kind, name), calls in uses.items():
        near = tuple(close(name, sorted(known[kind]))[:MOST_CLOSE])
        lost: Iterable[str] = ()
        if kind == "voice":
            lost = (each for voice in near[:1] for each in behind.get(voice, ()))
        elif kind != "member":
            routed = [r.destination for r in setup.routes if r.knob == name]
            meant = routed if kind == "knob" else near[:1]
            lost = (undriven[each] for each in dict.fromkeys(meant) if each in undriven)
        found.append(Slip(label, kind, name, tuple(calls), near, tuple(lost)))
    return tuple(found)


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
