"""Causes: what an audit can find, how bad it is, and what is said of it."""

from __future__ import annotations

WRONG = "wrong"
"""It cannot work as programmed."""
DOUBTFUL = "doubtful"
"""It works, but is likely not meant."""
DEAD = "dead"
"""It does nothing."""
HAND = "by hand"
"""It works, but the master does not move it: it is turned by hand."""
SEVERITIES = (WRONG, DOUBTFUL, DEAD, HAND)
"""The worst first."""

MISSING_KNOB = "route from a knob that is not there"
MISSING_VOICE = "route to a voice that is not there"
MISSING_DESTINATION = "route to a destination that is not there"
DOUBLED = "two knobs on one destination"
TORN = "snapshot torn on a knob"
OUTSIDE = "travel outside the resolution"
STRAY_TRAVEL = "travel of a knob that is not there"
MISPLACED = "travel set where the surface sets none"
POSITION_OUTSIDE = "position outside the resolution"
STRAY_POSITION = "position of a knob that is not there"
SNAPSHOT_NAMES = "snapshot names what is not there"
SAME_NUMBER = "knobs that send one number"
NO_POSITION = "controller number that carries no position"
STRAY_PANEL = "label or number of a knob that is not there"
NOT_IDLE = "a knob that drives something is said to drive nothing"
GROUP_NAMES = "group names what is not there"
CIRCLE = "groups hold one another"
IMMOVABLE = "snapshot names what is not movable"
SHARED_LAYER = "voices at one layer"
LAYER_BEYOND = "layer beyond the surface"
CROWDED = "too many destinations on a knob"
ROUTES = "too many routes"
SNAPSHOTS = "too many snapshots"
REPEATED = "route given more than once"
WISH_OUTSIDE = "wanted travel outside the resolution"
UNSET = "no travel set where one is wanted"
TURNED = "turned round from what is wanted"
IDENTICAL = "snapshots that do the same"
SAME_LABEL = "knobs that show one label"
LONG_LABEL = "label longer than the display"
EMPTY_TRAVEL = "empty travel"
ONE_STEP = "travel within one step"
NEVER_FOLLOWS = "follows in no snapshot"
BY_HAND = "for the hand alone"
IDLE_POSITION = "position of a knob that follows"
IDLE = "follows although it drives nothing"
NO_KEY = "voice that answers to no key"
NO_VELOCITY = "voice that answers to no velocity"
MUTED = "voice that is silent in every snapshot"
SILENT = "snapshot moves nothing"
NO_ROUTE = "no route"
UNREACHED = "reached by nothing"

LOST_ROUTES = (MISSING_KNOB, MISSING_VOICE, MISSING_DESTINATION)
"""A route leads from or to nothing that is there."""

SLIPS = frozenset(
    {
        *LOST_ROUTES,
        *(OUTSIDE, POSITION_OUTSIDE),
        *(STRAY_TRAVEL, STRAY_POSITION, STRAY_PANEL, SNAPSHOT_NAMES, GROUP_NAMES),
    }
)
"""What a setup says of what is not there, or that a knob cannot do: a slip of whoever made it."""

_NO_KNOB = "which is no knob of the surface"
_BEYOND = "beyond the highest position"
_SAID = {
    WRONG: {
        MISSING_KNOB: f"{{names}} is routed from '{{missing}}', {_NO_KNOB}",
        MISSING_VOICE: "{knobs} is routed to {missing}, but there is no voice '{voice}'",
        MISSING_DESTINATION: "{knobs} is routed to {lacks}",
        DOUBLED: "{knobs} {both} drive {names}",
        TORN: (
            "snapshot {snapshots} is to move {n[0]} and to hold {n[1]} of what {knobs} carries; "
            "{knobs} {torn}"
        ),
        OUTSIDE: f"{{whose}} is {{travel}}, {_BEYOND}, {{n[2]}}",
        STRAY_TRAVEL: f"a travel ({{travel}}) is set for '{{missing}}', {_NO_KNOB}",
        MISPLACED: "{owner} has a travel ({travel}), and this surface sets travels on {other}",
        POSITION_OUTSIDE: f"snapshot {{snapshots}} puts {{knobs}} at {{n[0]}}, {_BEYOND}, {{n[1]}}",
        STRAY_POSITION: (
            f"snapshot {{snapshots}} stores a position ({{n[0]}}) of '{{missing}}', {_NO_KNOB}"
        ),
        SNAPSHOT_NAMES: "snapshot {snapshots} names what is not there: {unknown}",
        SAME_NUMBER: "{knobs} {both} send controller {n[0]}{channel}",
        NO_POSITION: "{knobs} sends controller {n[0]}{means}",
        STRAY_PANEL: f"a label or a controller number is given to '{{missing}}', {_NO_KNOB}",
        NOT_IDLE: "snapshot {snapshots} notes {knobs} as driving nothing, but it carries {names}",
        GROUP_NAMES: "group {groups} names what is not there: {unknown}",
        CIRCLE: "{circle}",
        IMMOVABLE: "snapshot {snapshots} names what the master may not move: {names}",
        SHARED_LAYER: "the voices {voices} stand at layer {n[0]}",
        LAYER_BEYOND: "voice {voices} is at layer {n[0]}, and the surface has {layers}",
        CROWDED: "{knobs} carries {destinations}, and a knob may carry {n[1]}",
        ROUTES: "there are {routes}, and the surface has room for {n[1]}",
        SNAPSHOTS: "there are {stored}, and the surface stores {n[1]}",
    },
    DOUBTFUL: {
        REPEATED: "the route from {knobs} to {names} is given {n[0]} times",
        WISH_OUTSIDE: f"{{names}} wants the travel {{travel}}, {_BEYOND}, {{n[2]}}",
        UNSET: (
            "no travel is set for {owner}, so {names} go{es} all the way, and want{s} {travel}"
        ),
        TURNED: "{names} wants {n[2]} to {n[3]} and is turned round: {whose} is {travel}",
        IDENTICAL: "the snapshots {snapshots} do the same: in each the master moves {knobs}",
        SAME_LABEL: "{knobs} show the same label",
        LONG_LABEL: "the label of {knobs} has {n[0]} characters, and the display shows {n[1]}",
    },
    DEAD: {
        EMPTY_TRAVEL: "{whose} starts where it ends ({travel}), so {names} stay{s} put",
        ONE_STEP: "{names} stay{s} at one step{each} over {its} {knobs} ({travel})",
        IDLE_POSITION: (
            "snapshot {snapshots} stores a position ({n[0]}) of {knobs}, which follows the master "
            "in it"
        ),
        IDLE: "{knobs} follow{ks} the master in snapshot {snapshots} and drive{ks} nothing",
        NO_KEY: "voice {voices} answers to no key: its key range is {travel}",
        NO_VELOCITY: "voice {voices} answers to no velocity: its velocity range is {travel}",
        MUTED: "voice {voices} is silent in every snapshot",
        SILENT: "snapshot {snapshots} moves nothing",
        NO_ROUTE: "no route leads from {knobs}",
        UNREACHED: "{names} {are} reached by no knob",
    },
    HAND: {
        NEVER_FOLLOWS: "{knobs} follows the master in no snapshot, so {names} {are} turned by hand",
        BY_HAND: "{knobs} is for the hand alone: {names} {are} not movable by the master",
    },
}
SEVERITY = {cause: severity for severity, said in _SAID.items() for cause in said}
"""Every cause with its severity. A snapshot that is torn is only doubtful where it may be broken at
a price, or where no snapshot is stored and one is assumed."""
SAID = {cause: fact for said in _SAID.values() for cause, fact in said.items()}
"""What is said for each cause; in braces stands what a finding holds, as words."""
CAUSES = tuple(SEVERITY)
"""Every cause, in the order in which findings of one severity and one knob are told."""

MENDS = {
    MISSING_KNOB: "route it from a knob of the surface, or take the route away",
    STRAY_TRAVEL: "set it for a knob of the surface, or take it away",
    STRAY_POSITION: "store it for a knob of the surface, or take it away",
    SAME_NUMBER: "let each send a number of its own",
    NO_POSITION: "let it send another number",
    STRAY_PANEL: "give it to a knob of the surface, or take it away",
    NOT_IDLE: "take the note away",
    REPEATED: "keep it once",
    UNSET: "set the one that is meant",
    TURNED: "give it a knob that goes its way, or let it want what it has",
    SAME_LABEL: "give each a label of its own",
    EMPTY_TRAVEL: "set start and end apart",
    ONE_STEP: "set start and end further apart",
    IDLE_POSITION: "take the position away, or let the snapshot hold what the knob carries",
    NO_KEY: "set its highest key no lower than its lowest",
    NO_VELOCITY: "set its highest velocity above 0, and no lower than its lowest",
    MUTED: "let it sound in one, or take it away",
    SILENT: "let it move what a knob drives, or take it away",
    NO_ROUTE: "route a destination to it, or reserve it",
    UNREACHED: "route a knob to what is to be played, and leave the rest",
}
"""What to do about a cause, where that is always the same."""

UNUSED = (NEVER_FOLLOWS, BY_HAND, NO_ROUTE, UNREACHED)
"""Causes of what the master merely has no part in: nothing needs to be mended."""

HEADS = {NO_ROUTE: "Free", UNREACHED: "Not driven"}
"""What a finding of what may stay as it is starts with; others start with how bad it is."""

TAKEN_OTHERWISE = SLIPS - {STRAY_PANEL} | {REPEATED, DOUBLED, MISPLACED, IDLE_POSITION}
"""Causes of what is simulated as :mod:`knobpack.setups.as_read` says, and not as programmed."""

WHY_DEAD = (NO_ROUTE, MISSING_VOICE, MISSING_DESTINATION, EMPTY_TRAVEL, OUTSIDE, ONE_STEP)
"""The causes for which a knob can be dead."""
