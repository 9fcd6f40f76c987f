"""State: what stands on each knob when all steps are done, and what to take care of."""

from __future__ import annotations

from collections.abc import Iterator

import attrs

from knobpack.sheets.told import Show, follow, names_in
from knobpack.simulation.wiring import EVERYTHING, wiring_of
from knobpack.wording import CAUTION, level_like, travel_text
from knobpack.words import Setup, Snapshot, Travel


@attrs.frozen
class KnobState:
    """One knob of the finished setup.

    Args:
        knob: its name.
        missing: whether the surface has no such knob.
        travel: its travel in positions, and in words.
        drives: the full names of its destinations, each with the layer of its voice, if any.
        follows: the snapshots in which it follows the master.
    """

    knob: str
    missing: bool
    travel: str
    drives: tuple[tuple[str, int | None], ...]
    follows: tuple[str, ...]


def stored(setup: Setup) -> tuple[Snapshot, ...]:
    """Its snapshots; where none is stored, the one in which everything moves."""
    return setup.snapshots or (Snapshot(EVERYTHING, tuple(voice.name for voice in setup.voices)),)


def knob_states(setup: Setup) -> tuple[KnobState, ...]:
    """Every knob of the surface in panel order, then those that are only named."""
    known = setup.surface.knob_names
    wiring = wiring_of("patch_sheet.after", setup)
    follows = [(each.name, set(wiring.follows(each))) for each in stored(setup)]
    layer = {f"{v.name}/{inner.name}": v.layer for v in setup.voices for inner in v.destinations}
    travels = {setting.knob: setting.travel for setting in setup.travels}
    drives: dict[str, list[tuple[str, int | None]]] = {}
    for route in setup.routes:
        drives.setdefault(route.knob, []).append((route.destination, layer.get(route.destination)))
    full = Travel.full(setup.surface.bits)
    on_panel = set(known)
    return tuple(
        KnobState(
            knob,
            knob not in on_panel,
            travel_text(travels.get(knob, full), setup.surface.top),
            tuple(drives.get(knob, ())),
            tuple(name for name, knobs in follows if knob in knobs),
        )
        for knob in dict.fromkeys((*known, *drives, *travels))
    )


def voices_at(setup: Setup) -> list[tuple[str, str]]:
    """Each voice with where it stands, by layer, those without one last."""
    order = sorted(setup.voices, key=lambda voice: (voice.layer is None, voice.layer or 0))
    return [("no layer" if v.layer is None else f"layer {v.layer}", v.name) for v in order]


def caution(before: Setup, after: Setup, show: Show = str) -> str:
    """What to take care of where a level, or what can change one, is routed; else nothing."""
    loud = set()
    for setup in (before, after):
        kinds = {
            f"{v.name}/{each.name}": each.kind for v in setup.voices for each in v.destinations
        }
        loud |= {each.knob for each in setup.routes if level_like(kinds.get(each.destination, ""))}
    knobs = [knob for knob in after.surface.knob_names if knob in loud]
    if not knobs:
        return ""
    return (
        f"Levels, or what can change them, are driven by {names_in(knobs, show)}. {CAUTION} "
        "So can each step that sets a travel or a route."
    )


def other_followers(before: Setup, after: Setup, show: Show = str) -> Iterator[str]:
    """The snapshots that are not to be stored anew, but in which other knobs follow now."""
    old, new = (wiring_of("patch_sheet", setup) for setup in (before, after))
    was = {each.name: each for each in stored(before)}
    for each in stored(after):
        if each.name in was and set(was[each.name].moves) == set(each.moves):
            knobs = new.follows(each)
            if old.follows(was[each.name]) != knobs:
                yield (
                    f"Snapshot '{show(each.name)}' moves what it moved, on other knobs: now "
                    f"{follow(knobs, show)} in it."
                )
