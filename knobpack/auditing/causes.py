"""Causes: what an audit can find, and how bad it is."""

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

SEVERITY = {
    **dict.fromkeys((MISSING_KNOB, MISSING_VOICE, MISSING_DESTINATION, DOUBLED, TORN), WRONG),
    **dict.fromkeys((OUTSIDE, STRAY_TRAVEL, MISPLACED, POSITION_OUTSIDE, STRAY_POSITION), WRONG),
    **dict.fromkeys((SNAPSHOT_NAMES, SAME_NUMBER, NO_POSITION, STRAY_PANEL, NOT_IDLE), WRONG),
    **dict.fromkeys((GROUP_NAMES, CIRCLE, IMMOVABLE, SHARED_LAYER, LAYER_BEYOND), WRONG),
    **dict.fromkeys((CROWDED, ROUTES, SNAPSHOTS), WRONG),
    **dict.fromkeys((REPEATED, WISH_OUTSIDE, IDENTICAL, SAME_LABEL, LONG_LABEL), DOUBTFUL),
    **dict.fromkeys((EMPTY_TRAVEL, ONE_STEP, IDLE_POSITION, IDLE, NO_KEY, NO_VELOCITY), DEAD),
    **dict.fromkeys((MUTED, SILENT, NO_ROUTE, UNREACHED), DEAD),
    **dict.fromkeys((NEVER_FOLLOWS, BY_HAND), HAND),
}
"""Every cause with its severity. A snapshot that is torn is only doubtful where it may be broken at
a price, or where no snapshot is stored and one is assumed."""

CAUSES = tuple(SEVERITY)
"""Every cause, in the order in which findings of one severity and one knob are told."""

UNUSED = (NEVER_FOLLOWS, BY_HAND, NO_ROUTE, UNREACHED)
"""Causes of what the master merely has no part in: nothing needs to be mended."""

HEADS = {NO_ROUTE: "Free", UNREACHED: "Not driven"}
"""What a finding of what may stay as it is starts with; others start with how bad it is."""

TAKEN_OTHERWISE = frozenset(
    (
        *(MISSING_KNOB, MISSING_VOICE, MISSING_DESTINATION, REPEATED, DOUBLED),
        *(OUTSIDE, STRAY_TRAVEL, MISPLACED, POSITION_OUTSIDE, STRAY_POSITION, IDLE_POSITION),
        *(SNAPSHOT_NAMES, GROUP_NAMES),
    )
)
"""Causes of what is simulated as :mod:`knobpack.setup_as_read` says, and not as programmed."""

WHY_DEAD = (NO_ROUTE, MISSING_VOICE, MISSING_DESTINATION, EMPTY_TRAVEL, OUTSIDE, ONE_STEP)
"""The causes for which a knob can be dead."""
