"""What each finding says, made of nothing but what it holds."""

from __future__ import annotations

from typing import TYPE_CHECKING

from knobpack.auditing import causes
from knobpack.phrases import many
from knobpack.words.names import knobs_told, listed

if TYPE_CHECKING:
    from knobpack.auditing.findings import Finding

_NO_KNOB = "which is no knob of the surface"
_BEYOND = "beyond the highest position"

_FACTS = {
    causes.MISSING_KNOB: f"{{names}} is routed from '{{missing}}', {_NO_KNOB}",
    causes.MISSING_VOICE: "{knobs} is routed to {missing}, but there is no voice '{voice}'",
    causes.MISSING_DESTINATION: "{knobs} is routed to {lacks}",
    causes.DOUBLED: "{knobs} {both} drive {names}",
    causes.TORN: (
        "snapshot {snapshots} is to move {n[0]} and to hold {n[1]} of what {knobs} carries; "
        "{knobs} {torn}"
    ),
    causes.OUTSIDE: f"{{whose}} is {{travel}}, {_BEYOND}, {{n[2]}}",
    causes.STRAY_TRAVEL: f"a travel ({{travel}}) is set for '{{missing}}', {_NO_KNOB}",
    causes.MISPLACED: "{owner} has a travel ({travel}), and this surface sets travels on {other}",
    causes.POSITION_OUTSIDE: (
        f"snapshot {{snapshots}} puts {{knobs}} at {{n[0]}}, {_BEYOND}, {{n[1]}}"
    ),
    causes.STRAY_POSITION: (
        f"snapshot {{snapshots}} stores a position ({{n[0]}}) of '{{missing}}', {_NO_KNOB}"
    ),
    causes.SNAPSHOT_NAMES: "snapshot {snapshots} names what is not there: {unknown}",
    causes.SAME_NUMBER: "{knobs} {both} send controller {n[0]}{channel}",
    causes.NO_POSITION: "{knobs} sends controller {n[0]}{means}",
    causes.STRAY_PANEL: f"a label or a controller number is given to '{{missing}}', {_NO_KNOB}",
    causes.NOT_IDLE: (
        "snapshot {snapshots} notes {knobs} as driving nothing, but it carries {names}"
    ),
    causes.GROUP_NAMES: "group {groups} names what is not there: {unknown}",
    causes.CIRCLE: "{circle}",
    causes.IMMOVABLE: "snapshot {snapshots} names what the master may not move: {names}",
    causes.SHARED_LAYER: "the voices {voices} stand at layer {n[0]}",
    causes.LAYER_BEYOND: "voice {voices} is at layer {n[0]}, and the surface has {layers}",
    causes.CROWDED: "{knobs} carries {destinations}, and a knob may carry {n[1]}",
    causes.ROUTES: "there are {routes}, and the surface has room for {n[1]}",
    causes.SNAPSHOTS: "there are {stored}, and the surface stores {n[1]}",
    causes.REPEATED: "the route from {knobs} to {names} is given {n[0]} times",
    causes.WISH_OUTSIDE: f"{{names}} wants the travel {{travel}}, {_BEYOND}, {{n[2]}}",
    causes.IDENTICAL: "the snapshots {snapshots} do the same: in each the master moves {knobs}",
    causes.SAME_LABEL: "{knobs} show the same label",
    causes.LONG_LABEL: "the label of {knobs} has {n[0]} characters, and the display shows {n[1]}",
    causes.EMPTY_TRAVEL: "{whose} starts where it ends ({travel}), so {names} stay{s} put",
    causes.ONE_STEP: "{names} stay{s} at one step{each} over {its} {knobs} ({travel})",
    causes.NEVER_FOLLOWS: (
        "{knobs} follows the master in no snapshot, so {names} {are} turned by hand"
    ),
    causes.BY_HAND: "{knobs} is for the hand alone: {names} {are} not movable by the master",
    causes.IDLE_POSITION: (
        "snapshot {snapshots} stores a position ({n[0]}) of {knobs}, which follows the master in it"
    ),
    causes.IDLE: "{knobs} follow{ks} the master in snapshot {snapshots} and drive{ks} nothing",
    causes.NO_KEY: "voice {voices} answers to no key: its key range is {travel}",
    causes.NO_VELOCITY: "voice {voices} answers to no velocity: its velocity range is {travel}",
    causes.MUTED: "voice {voices} is silent in every snapshot",
    causes.SILENT: "snapshot {snapshots} moves nothing",
    causes.NO_ROUTE: "no route leads from {knobs}",
    causes.UNREACHED: "{names} {are} reached by no knob",
}
"""What is said for each cause; in braces stands what a finding holds, as words."""


def quoted(names: tuple[str, ...]) -> str:
    """Names of voices, groups or snapshots in a row, each in quotation marks."""
    return listed([f"'{name}'" for name in names])


def fact(found: Finding) -> str:
    """What a finding says, without its mend."""
    knobs, names, numbers = knobs_told(found.knobs), listed(found.destinations), found.numbers
    first, second = (*numbers, 0, 0)[:2]
    missing = "".join(found.missing[:1])
    voice, slash, inner = missing.partition("/")
    route = f"the route from {knobs} to {names}"
    one = len(found.destinations) == 1
    return _FACTS[found.cause].format(
        knobs=knobs,
        names=names,
        voices=quoted(found.voices),
        groups=quoted(found.groups),
        snapshots=quoted(found.snapshots),
        missing=missing,
        unknown=quoted(found.missing),
        voice=voice,
        n=numbers,
        travel=f"{first} to {second}",
        whose=f"the travel of {route if found.on_route else knobs}",
        its="the travel of its route from" if found.on_route else "the travel of",
        owner=route if found.on_route else knobs,
        other="knobs" if found.on_route else "routes",
        lacks=f"{missing}, but voice '{voice}' has no destination '{inner}'"
        if slash
        else f"'{voice}', which is no destination",
        torn=_torn(found, moves=first > second),
        both="both" if len(found.knobs) == 2 else "all",
        channel=f" on channel {second}" if len(numbers) > 1 else "",
        means=f" alone, the low half of {second}"
        if len(numbers) > 1
        else ", which means something else",
        circle=f"group {quoted(found.groups)} holds itself"
        if len(found.groups) == 1
        else f"the groups {quoted(found.groups)} hold one another",
        layers=many(second, "layer"),
        destinations=many(first, "destination"),
        routes=many(first, "route"),
        stored=many(first, "snapshot"),
        are="is" if one else "are",
        s="s" if one else "",
        each="" if one else " each",
        ks="s" if len(found.knobs) == 1 else "",
    )


def _torn(found: Finding, *, moves: bool) -> str:
    """What a knob does in a snapshot that tears it, and to whom that is wrong."""
    does = "follows the master" if moves else "does not follow the master"
    wrong = "moved, though to be held" if moves else "held, though to be moved"
    are = "is" if len(found.wronged) == 1 else "are"
    return f"{does}, so {listed(found.wronged)} {are} {wrong}"
