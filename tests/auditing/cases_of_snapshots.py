"""Faults of snapshots, groups, layers and limits, each alone in a setup."""

from __future__ import annotations

import attrs

from knobpack.auditing import causes
from knobpack.words import Group, KnobPosition, Route, Setup, Snapshot, Surface
from tests.auditing.altering import changed
from tests.auditing.clean import (
    BY_HAND,
    CLEAN,
    FREE_LEAD,
    HELD_TOO,
    ON_ONE,
    PAD,
    SHAKER,
    SHARED,
    TORN,
    Case,
    layered,
    limited,
    played,
    stage,
)


def stored(position: KnobPosition) -> Setup:
    """The clean setup with a position in "bass alone"."""
    *others, alone = CLEAN.snapshots
    return stage(snapshots=(*others, attrs.evolve(alone, positions=(position,))))


SNAPSHOT_CASES = (
    Case(
        causes.TORN,
        TORN,
        "Wrong: snapshot 'pad alone' is to move 1 and to hold 1 of what K2 carries; K2 does not "
        "follow the master, so Pad/level is held, though to be moved; route Pad/level to another "
        "knob than K2, or let the snapshot hold it.",
        (
            stage(
                TORN,
                surface=CLEAN.surface,
                routes=(TORN.routes[0], Route("Pad/level", "K3"), TORN.routes[2]),
            ),
        ),
        dead=("K3",),
    ),
    Case(
        causes.TORN,
        ON_ONE,
        "Wrong: snapshot 'pad alone' is to move 2 and to hold 1 of what K1 carries; K1 follows the "
        "master, so Bass/cutoff is moved, though to be held; route Bass/cutoff to another knob "
        "than K1, or let the snapshot move it too.",
        (stage(ON_ONE, snapshots=CLEAN.snapshots[:1]),),
    ),
    Case(
        causes.TORN,
        stage(ON_ONE, snapshots=(Snapshot("pad alone", ("Pad",), break_weight=5),)),
        "Doubtful: snapshot 'pad alone' is to move 2 and to hold 1 of what K1 carries; K1 follows "
        "the master, so Bass/cutoff is moved, though to be held; route Bass/cutoff to another knob "
        "than K1, or let the snapshot move it too.",
        (stage(ON_ONE, snapshots=CLEAN.snapshots[:1]),),
    ),
    Case(
        causes.TORN,
        HELD_TOO,
        "Doubtful: snapshot 'everything' is to move 2 and to hold 1 of what K1 carries; K1 follows "
        "the master, so Shaker/level is moved, though to be held; route Shaker/level to another "
        "knob than K1, or store the snapshots that are wanted.",
        (changed(HELD_TOO, ("Shaker/level",), movable=True),),
    ),
    Case(
        causes.TORN,
        stage(HELD_TOO, snapshots=(Snapshot("all", ("Pad", "Shaker")),)),
        "Wrong: snapshot 'all' is to move 2 and to hold 1 of what K1 carries; K1 follows the "
        "master, so Shaker/level is moved, though to be held; route Shaker/level to another knob "
        "than K1, or let the snapshot hold all that K1 carries.",
        (changed(HELD_TOO, ("Shaker/level",), movable=True),),
    ),
    Case(
        causes.POSITION_OUTSIDE,
        stored(KnobPosition("K1", 128)),
        "Wrong: snapshot 'bass alone' puts K1 at 128, beyond the highest position, 127; store one "
        "from 0 to 127.",
        (stored(KnobPosition("K1", 127)), stored(KnobPosition("K1", 0))),
    ),
    Case(
        causes.STRAY_POSITION,
        stored(KnobPosition("K9", 5)),
        "Wrong: snapshot 'bass alone' stores a position (5) of 'K9', which is no knob of the "
        "surface; store it for a knob of the surface, or take it away.",
        (CLEAN, stored(KnobPosition("K1", 5))),
    ),
    Case(
        causes.IDLE_POSITION,
        stored(KnobPosition("K3", 64)),
        "Dead: snapshot 'bass alone' stores a position (64) of K3, which follows the master in it; "
        "take the position away, or let the snapshot hold what the knob carries.",
        (CLEAN, stored(KnobPosition("K1", 64))),
    ),
    Case(
        causes.SNAPSHOT_NAMES,
        stage(snapshots=(*CLEAN.snapshots[:2], Snapshot("bass alone", ("Bass", "Choir", "Lead")))),
        "Wrong: snapshot 'bass alone' names what is not there: 'Choir' and 'Lead'; take the names "
        "'Choir' and 'Lead' away, or put them right.",
        (CLEAN,),
    ),
    Case(
        causes.GROUP_NAMES,
        stage(groups=(Group("low", ("Bass", "Choir")),)),
        "Wrong: group 'low' names what is not there: 'Choir'; take the name 'Choir' away, or put "
        "it right.",
        (stage(groups=(Group("low", ("Bass",)),)),),
    ),
    Case(
        causes.CIRCLE,
        stage(groups=(Group("low", ("Bass", "deep")), Group("deep", ("low",)))),
        "Wrong: the groups 'low' and 'deep' hold one another; take one out of the other, so that "
        "none holds itself through others.",
        (stage(groups=(Group("low", ("Bass",)), Group("deep", ("low",)))),),
    ),
    Case(
        causes.CIRCLE,
        stage(groups=(Group("low", ("Bass", "low")),)),
        "Wrong: group 'low' holds itself; take 'low' out of itself.",
        (stage(groups=(Group("low", ("Bass",)),)),),
    ),
    Case(
        causes.SHARED_LAYER,
        layered(1),
        "Wrong: the voices 'Pad' and 'Bass' stand at layer 1; put 'Bass' at layer 2.",
        (layered(2),),
    ),
    Case(
        causes.SHARED_LAYER,
        layered(1, layers=1),
        "Wrong: the voices 'Pad' and 'Bass' stand at layer 1; leave 'Bass' out, as no layer is "
        "free.",
        (
            stage(
                limited(layers=1, reserved=("K3",)),
                voices=(PAD,),
                routes=CLEAN.routes[:2],
                snapshots=(Snapshot("all", ("Pad",)),),
            ),
        ),
    ),
    Case(
        causes.LAYER_BEYOND,
        layered(9, layers=4),
        "Wrong: voice 'Bass' is at layer 9, and the surface has 4 layers; put 'Bass' at layer 2.",
        (layered(2, layers=4), layered(9, layers=9)),
    ),
    Case(
        causes.CROWDED,
        stage(SHARED, surface=Surface.row(3, destinations_per_knob=1, reserved=("K3",))),
        "Wrong: K2 carries 2 destinations, and a knob may carry 1; route 1 of them to other knobs, "
        "or take them off.",
        (stage(SHARED, routes=CLEAN.routes, surface=Surface.row(3, destinations_per_knob=1)),),
        dead=("K3",),
    ),
    Case(
        causes.ROUTES,
        stage(
            FREE_LEAD,
            surface=Surface.row(4, routes=3),
            snapshots=played(Snapshot("lead alone", ("Lead",))).snapshots,
        ),
        "Wrong: there are 4 routes, and the surface has room for 3; take 1 route away, first those "
        "that do nothing.",
        (limited(routes=3),),
    ),
    Case(
        causes.SNAPSHOTS,
        limited(snapshots=1),
        "Wrong: there are 3 snapshots, and the surface stores 1; take 2 snapshots away, first "
        "those that do nothing new.",
        (stage(limited(snapshots=1), snapshots=CLEAN.snapshots[:1]),),
    ),
    Case(
        causes.IDENTICAL,
        played(Snapshot("pad again", ("Pad/level", "Pad/cutoff"))),
        "Doubtful: the snapshots 'pad alone' and 'pad again' do the same: in each the master moves "
        "K1 and K2; keep 'pad alone' alone, or change what the others move.",
        (
            CLEAN,
            played(Snapshot("pad again", ("Pad/level",))),
            # The same moves, but the bass is put somewhere: that is another state.
            played(Snapshot("pad again", ("Pad",), positions=(KnobPosition("K3", 9),))),
        ),
    ),
    Case(
        causes.NEVER_FOLLOWS,
        FREE_LEAD,
        "By hand: K4 follows the master in no snapshot, so Lead/pan is turned by hand; leave it "
        "so, or let a snapshot move Lead/pan; or take the routes from K4 away.",
        (stage(FREE_LEAD, snapshots=(*CLEAN.snapshots, Snapshot("lead", ("Lead",)))),),
    ),
    Case(
        causes.BY_HAND,
        BY_HAND,
        "By hand: K4 is for the hand alone: Shaker/level is not movable by the master; leave it "
        "so, take the routes from K4 away, or let it be movable and name it in a snapshot.",
        (
            changed(
                stage(BY_HAND, snapshots=(*CLEAN.snapshots, Snapshot("shaker", ("Shaker",)))),
                ("Shaker/level",),
                movable=True,
            ),
        ),
    ),
    Case(
        causes.SILENT,
        played(Snapshot("rest", ())),
        "Dead: snapshot 'rest' moves nothing; let it move what a knob drives, or take it away.",
        (
            CLEAN,
            played(Snapshot("rest", ("Pad/level",))),
            played(Snapshot("rest", positions=(KnobPosition("K1", 0),))),
        ),
    ),
    Case(
        causes.NEVER_FOLLOWS,
        stage(
            HELD_TOO,
            voices=(attrs.evolve(PAD, destinations=PAD.destinations[:1]), SHAKER),
            routes=(Route("Pad/cutoff", "K1"), Route("Shaker/level", "K1")),
        ),
        "By hand: K1 follows the master in no snapshot, so Pad/cutoff and Shaker/level are turned "
        "by hand; leave it so, or route Shaker/level, which is not movable, to another knob, and "
        "let a snapshot move Pad/cutoff; or take the routes from K1 away.",
        (),
        beside=(causes.TORN,),
    ),
    Case(
        causes.IMMOVABLE,
        stage(
            BY_HAND,
            snapshots=(*CLEAN.snapshots[1:], Snapshot("all", ("Pad", "Bass", "Shaker/level"))),
        ),
        "Wrong: snapshot 'all' names what the master may not move: Shaker/level; leave it out of "
        "the snapshot, or let it be movable.",
        (BY_HAND,),
        beside=(causes.BY_HAND,),
    ),
)
