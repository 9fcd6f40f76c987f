"""Told: what each finding says, made of nothing but what it holds."""

# ruff: noqa: D102 - the fields of a finding are documented where it is made
from __future__ import annotations

from collections.abc import Callable
from typing import Protocol

from knobpack.auditing import causes
from knobpack.phrases import many
from knobpack.words.names import knob_told, knobs_told, listed

ROOM = 2
"""Numbers of a travel that come before the highest position."""


class Finding(Protocol):
    """What a sentence is made of: see :class:`knobpack.auditing.findings.Finding`."""

    @property
    def cause(self) -> str: ...
    @property
    def knobs(self) -> tuple[str, ...]: ...
    @property
    def destinations(self) -> tuple[str, ...]: ...
    @property
    def voices(self) -> tuple[str, ...]: ...
    @property
    def snapshots(self) -> tuple[str, ...]: ...
    @property
    def groups(self) -> tuple[str, ...]: ...
    @property
    def missing(self) -> tuple[str, ...]: ...
    @property
    def wronged(self) -> tuple[str, ...]: ...
    @property
    def numbers(self) -> tuple[int, ...]: ...
    @property
    def free_layers(self) -> tuple[int, ...]: ...
    @property
    def on_route(self) -> bool: ...


def quoted(names: tuple[str, ...]) -> str:
    """Names of voices, groups or snapshots in a row, each in quotation marks."""
    return listed([f"'{name}'" for name in names])


def fact(finding: Finding) -> str:
    """What a finding says, without its mend."""
    return _FACTS[finding.cause](finding)


def _one(names: tuple[str, ...]) -> str:
    return names[0]


def _knob(finding: Finding) -> str:
    return knob_told(finding.knobs[0])


def _travel(finding: Finding) -> str:
    start, end = finding.numbers[:ROOM]
    return f"{start} to {end}"


def _missing_voice(finding: Finding) -> str:
    route = f"{_knob(finding)} is routed to {_one(finding.missing)}"
    return f"{route}, but there is no voice '{_one(finding.missing).split('/')[0]}'"


def _missing_destination(finding: Finding) -> str:
    voice, slash, inner = _one(finding.missing).partition("/")
    if not slash:
        return f"{_knob(finding)} is routed to '{voice}', which is no destination"
    return (
        f"{_knob(finding)} is routed to {_one(finding.missing)}, "
        f"but voice '{voice}' has no destination '{inner}'"
    )


def _torn(finding: Finding) -> str:
    moved, held = finding.numbers
    knob, snapshot = _one(finding.knobs), _one(finding.snapshots)
    does = (
        f"{knob_told(knob)} follows the master"
        if moved > held
        else f"{knob_told(knob)} does not follow the master"
    )
    wrong = "moved, though to be held" if moved > held else "held, though to be moved"
    be = "is" if len(finding.wronged) == 1 else "are"
    return (
        f"snapshot '{snapshot}' is to move {moved} and to hold {held} of what "
        f"{knob_told(knob)} carries; "
        f"{does}, so {listed(finding.wronged)} {be} {wrong}"
    )


def _outside(finding: Finding) -> str:
    top = finding.numbers[ROOM]
    return f"{_whose(finding)} is {_travel(finding)}, beyond the highest position, {top}"


def _whose(finding: Finding) -> str:
    """What has a travel that is told."""
    knob = _one(finding.knobs)
    if finding.on_route:
        return f"the travel of the route from {knob_told(knob)} to {_one(finding.destinations)}"
    return f"the travel of {knob_told(knob)}"


def _misplaced(finding: Finding) -> str:
    knob, travel = _one(finding.knobs), _travel(finding)
    if finding.on_route:
        route = f"the route from {knob_told(knob)} to {_one(finding.destinations)}"
        return f"{route} has a travel ({travel}), and this surface sets travels on knobs"
    return f"{knob_told(knob)} has a travel ({travel}), and this surface sets travels on routes"


def _wish_outside(finding: Finding) -> str:
    top = finding.numbers[ROOM]
    return (
        f"{_one(finding.destinations)} wants the travel {_travel(finding)}, beyond the highest "
        f"position, {top}"
    )


def _position_outside(finding: Finding) -> str:
    position, top = finding.numbers
    return (
        f"snapshot {quoted(finding.snapshots)} puts {_knob(finding)} at {position}, beyond "
        f"the highest position, {top}"
    )


def _layer_beyond(finding: Finding) -> str:
    layer, layers = finding.numbers
    return (
        f"voice '{_one(finding.voices)}' is at layer {layer}, and the surface has "
        f"{many(layers, 'layer')}"
    )


def _crowded(finding: Finding) -> str:
    count, most, _ = finding.numbers
    return f"{_knob(finding)} carries {many(count, 'destination')}, and a knob may carry {most}"


def _empty(finding: Finding) -> str:
    return (
        f"{_whose(finding)} starts where it ends ({_travel(finding)}), so "
        f"{listed(finding.destinations)} {_stay(finding)}"
    )


def _one_step(finding: Finding) -> str:
    stay = "stays at one step" if len(finding.destinations) == 1 else "stay at one step each"
    over = "the travel of its route from" if finding.on_route else "the travel of"
    return (
        f"{listed(finding.destinations)} {stay} over {over} {_knob(finding)} ({_travel(finding)})"
    )


def _stay(finding: Finding) -> str:
    return "stays put" if len(finding.destinations) == 1 else "stay put"


def _by_hand(finding: Finding) -> str:
    be = "is" if len(finding.destinations) == 1 else "are"
    return (
        f"{_knob(finding)} is for the hand alone: {listed(finding.destinations)} "
        f"{be} not movable by the master"
    )


def _unreached(finding: Finding) -> str:
    be = "is" if len(finding.destinations) == 1 else "are"
    return f"{listed(finding.destinations)} {be} reached by no knob"


def _span(finding: Finding) -> str:
    low, high = finding.numbers
    return f"{low} to {high}"


def _no_position(finding: Finding) -> str:
    number, *high = finding.numbers
    means = f"alone, the low half of {high[0]}" if high else "which means something else"
    return f"{_knob(finding)} sends controller {number}{' ' if high else ', '}{means}"


def _same_number(finding: Finding) -> str:
    number, *channel = finding.numbers
    both = "both" if len(finding.knobs) == 2 else "all"
    where = f" on channel {channel[0]}" if channel else ""
    return f"{knobs_told(finding.knobs)} {both} send controller {number}{where}"


def _circle(finding: Finding) -> str:
    if len(finding.groups) == 1:
        return f"group {quoted(finding.groups)} holds itself"
    return f"the groups {quoted(finding.groups)} hold one another"


_FACTS: dict[str, Callable[[Finding], str]] = {
    causes.MISSING_KNOB: lambda f: (
        f"{_one(f.destinations)} is routed from '{_one(f.missing)}', which is no knob of the "
        "surface"
    ),
    causes.MISSING_VOICE: _missing_voice,
    causes.MISSING_DESTINATION: _missing_destination,
    causes.DOUBLED: lambda f: (
        f"{knobs_told(f.knobs)} all drive {_one(f.destinations)}"
        if len(f.knobs) > 2
        else f"{knobs_told(f.knobs)} both drive {_one(f.destinations)}"
    ),
    causes.TORN: _torn,
    causes.OUTSIDE: _outside,
    causes.STRAY_TRAVEL: lambda f: (
        f"a travel ({_travel(f)}) is set for '{_one(f.missing)}', which is no knob of the surface"
    ),
    causes.MISPLACED: _misplaced,
    causes.POSITION_OUTSIDE: _position_outside,
    causes.STRAY_POSITION: lambda f: (
        f"snapshot {quoted(f.snapshots)} stores a position ({f.numbers[0]}) of "
        f"'{_one(f.missing)}', which is no knob of the surface"
    ),
    causes.SNAPSHOT_NAMES: lambda f: (
        f"snapshot {quoted(f.snapshots)} names what is not there: {quoted(f.missing)}"
    ),
    causes.SAME_NUMBER: _same_number,
    causes.NO_POSITION: _no_position,
    causes.STRAY_PANEL: lambda f: (
        f"a label or a controller number is given to '{_one(f.missing)}', which is no knob of the "
        "surface"
    ),
    causes.NOT_IDLE: lambda f: (
        f"snapshot {quoted(f.snapshots)} notes {_knob(f)} as driving nothing, but it carries "
        f"{listed(f.destinations)}"
    ),
    causes.SAME_LABEL: lambda f: f"{knobs_told(f.knobs)} show the same label",
    causes.LONG_LABEL: lambda f: (
        f"the label of {_knob(f)} has {f.numbers[0]} characters, and the display shows "
        f"{f.numbers[1]}"
    ),
    causes.IDLE: lambda f: (
        f"{knobs_told(f.knobs)} {'follows' if len(f.knobs) == 1 else 'follow'} the "
        f"master in snapshot "
        f"{quoted(f.snapshots)} and {'drives' if len(f.knobs) == 1 else 'drive'} nothing"
    ),
    causes.NO_KEY: lambda f: (
        f"voice {quoted(f.voices)} answers to no key: its key range is {_span(f)}"
    ),
    causes.NO_VELOCITY: lambda f: (
        f"voice {quoted(f.voices)} answers to no velocity: its velocity range is {_span(f)}"
    ),
    causes.MUTED: lambda f: f"voice {quoted(f.voices)} is silent in every snapshot",
    causes.GROUP_NAMES: lambda f: (
        f"group {quoted(f.groups)} names what is not there: {quoted(f.missing)}"
    ),
    causes.CIRCLE: _circle,
    causes.IMMOVABLE: lambda f: (
        f"snapshot {quoted(f.snapshots)} names what the master may not move: "
        f"{listed(f.destinations)}"
    ),
    causes.SHARED_LAYER: lambda f: f"the voices {quoted(f.voices)} stand at layer {f.numbers[0]}",
    causes.LAYER_BEYOND: _layer_beyond,
    causes.CROWDED: _crowded,
    causes.ROUTES: lambda f: (
        f"there are {many(f.numbers[0], 'route')}, and the surface has room for {f.numbers[1]}"
    ),
    causes.SNAPSHOTS: lambda f: (
        f"there are {many(f.numbers[0], 'snapshot')}, and the surface stores {f.numbers[1]}"
    ),
    causes.REPEATED: lambda f: (
        f"the route from {_knob(f)} to {_one(f.destinations)} is given {f.numbers[0]} times"
    ),
    causes.WISH_OUTSIDE: _wish_outside,
    causes.IDENTICAL: lambda f: (
        f"the snapshots {quoted(f.snapshots)} do the same: in each the master moves "
        f"{knobs_told(f.knobs)}"
    ),
    causes.EMPTY_TRAVEL: _empty,
    causes.ONE_STEP: _one_step,
    causes.NEVER_FOLLOWS: lambda f: (
        f"{_knob(f)} follows the master in no snapshot, so {listed(f.destinations)} "
        f"{'is' if len(f.destinations) == 1 else 'are'} turned by hand"
    ),
    causes.BY_HAND: _by_hand,
    causes.IDLE_POSITION: lambda f: (
        f"snapshot {quoted(f.snapshots)} stores a position ({f.numbers[0]}) of {_knob(f)}, "
        "which follows the master in it"
    ),
    causes.SILENT: lambda f: f"snapshot {quoted(f.snapshots)} moves nothing",
    causes.NO_ROUTE: lambda f: f"no route leads from {_knob(f)}",
    causes.UNREACHED: _unreached,
}
