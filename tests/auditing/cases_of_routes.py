"""Faults of routes, knobs and travels, each alone in a setup."""

from __future__ import annotations

import attrs

from knobpack.auditing import causes
from knobpack.words import Destination, Group, KnobTravel, Route, Snapshot, Surface, Travel, Voice
from tests.auditing.altering import changed, without_routes
from tests.auditing.clean import (
    BASS,
    CLEAN,
    FREE_LEAD,
    PAD,
    STEPPED,
    WIDE,
    Case,
    limited,
    routed,
    stage,
    travelled,
)

ROUTE_CASES = (
    Case(
        causes.MISSING_VOICE,
        routed(Route("Choir/level", "K1")),
        "Wrong: K1 is routed to Choir/level, but there is no voice 'Choir'; bring a voice 'Choir' "
        "that has it, or take the route away.",
        (CLEAN,),
    ),
    Case(
        causes.MISSING_VOICE,
        stage(WIDE, routes=(*CLEAN.routes, Route("Choir/level", "K4"))),
        "Wrong: K4 is routed to Choir/level, but there is no voice 'Choir'; bring a voice 'Choir' "
        "that has it, or take the route away.",
        (
            stage(
                WIDE,
                voices=(PAD, BASS, Voice("Choir", (Destination("level"),))),
                routes=(*CLEAN.routes, Route("Choir/level", "K4")),
                snapshots=(*CLEAN.snapshots, Snapshot("choir alone", ("Choir",))),
            ),
        ),
        dead=("K4",),
    ),
    Case(
        causes.MISSING_DESTINATION,
        stage(WIDE, routes=(*CLEAN.routes, Route("Pad/drive", "K4"))),
        "Wrong: K4 is routed to Pad/drive, but voice 'Pad' has no destination 'drive'; route it to "
        "a destination that 'Pad' has, or take the route away.",
        (),
        dead=("K4",),
    ),
    Case(
        causes.MISSING_DESTINATION,
        routed(Route("Pad/drive", "K1")),
        "Wrong: K1 is routed to Pad/drive, but voice 'Pad' has no destination 'drive'; route it to "
        "a destination that 'Pad' has, or take the route away.",
        (CLEAN,),
    ),
    Case(
        causes.MISSING_DESTINATION,
        routed(Route("Pad", "K1")),
        "Wrong: K1 is routed to 'Pad', which is no destination; route it to a destination that "
        "'Pad' has, or take the route away; close to it: Pad/cutoff and Pad/level.",
        (CLEAN,),
    ),
    Case(
        causes.MISSING_DESTINATION,
        stage(groups=(Group("low", ("Bass",)),), routes=(*CLEAN.routes, Route("low", "K1"))),
        "Wrong: K1 is routed to 'low', which is no destination; route it to a voice/destination, "
        "or take the route away.",
        (stage(groups=(Group("low", ("Bass",)),)),),
    ),
    Case(
        causes.MISSING_KNOB,
        routed(Route("Pad/level", "K9")),
        "Wrong: Pad/level is routed from 'K9', which is no knob of the surface; route it from a "
        "knob of the surface, or take the route away.",
        (CLEAN,),
    ),
    Case(
        causes.DOUBLED,
        routed(Route("Pad/level", "K1")),
        "Wrong: K1 and K2 both drive Pad/level; keep K1, and take the route from K2 away.",
        (
            stage(
                limited(reserved=("K2",)),
                routes=(CLEAN.routes[0], Route("Pad/level", "K1"), CLEAN.routes[2]),
            ),
        ),
    ),
    Case(
        causes.OUTSIDE,
        travelled(Travel(0, 512)),
        "Wrong: the travel of K1 is 0 to 512, beyond the highest position, 127; set start and end "
        "anew, apart and from 0 to 127.",
        (travelled(Travel(0, 64)),),
    ),
    Case(
        causes.OUTSIDE,
        travelled(Travel(512, 1023)),
        "Wrong: the travel of K1 is 512 to 1023, beyond the highest position, 127; set start and "
        "end anew, apart and from 0 to 127.",
        (travelled(Travel(64, 127)),),
        dead=("K1",),
    ),
    Case(
        causes.UNSET,
        changed(CLEAN, ("Pad/level",), travel=Travel(64, 0)),
        "Doubtful: no travel is set for K2, so Pad/level goes all the way, and wants 64 to 0; set "
        "the one that is meant.",
        (
            changed(travelled(Travel(64, 0), "K2"), ("Pad/level",), travel=Travel(64, 0)),
            changed(travelled(Travel(0, 127), "K2"), ("Pad/level",), travel=Travel(0, 64)),
        ),
    ),
    Case(
        causes.TURNED,
        changed(travelled(Travel(0, 100), "K2"), ("Pad/level",), travel=Travel(64, 0)),
        "Doubtful: Pad/level wants 64 to 0 and is turned round: the travel of K2 is 0 to 100; give "
        "it a knob that goes its way, or let it want what it has.",
        (
            changed(travelled(Travel(0, 100), "K2"), ("Pad/level",), travel=Travel(0, 64)),
            changed(travelled(Travel(0, 100), "K2"), ("Pad/level",), travel=Travel(64, 64)),
        ),
    ),
    Case(
        causes.MISPLACED,
        stage(limited(travel_on="route"), travels=CLEAN.travels),
        "Wrong: K3 has a travel (0 to 64), and this surface sets travels on routes; take it away, "
        "and set it on each route where it is wanted.",
        (stage(limited(travel_on="route"), travels=()),),
    ),
    Case(
        causes.MISPLACED,
        stage(routes=(attrs.evolve(CLEAN.routes[0], travel=Travel(0, 64)), *CLEAN.routes[1:])),
        "Wrong: the route from K1 to Pad/cutoff has a travel (0 to 64), and this surface sets "
        "travels on knobs; take it away, and set it on the knob if it is wanted.",
        (CLEAN, travelled(Travel(0, 64))),
    ),
    Case(
        causes.STRAY_TRAVEL,
        travelled(Travel(0, 64), "K9"),
        "Wrong: a travel (0 to 64) is set for 'K9', which is no knob of the surface; set it for a "
        "knob of the surface, or take it away.",
        (CLEAN, travelled(Travel(0, 64), "K2")),
    ),
    Case(
        causes.REPEATED,
        routed(CLEAN.routes[0], CLEAN.routes[0]),
        "Doubtful: the route from K1 to Pad/cutoff is given 3 times; keep it once.",
        (CLEAN,),
    ),
    Case(
        causes.WISH_OUTSIDE,
        changed(CLEAN, ("Pad/level",), travel=Travel(1023, 0)),
        "Doubtful: Pad/level wants the travel 1023 to 0, beyond the highest position, 127; let it "
        "want a travel from 0 to 127.",
        (changed(CLEAN, ("Pad/level",), travel=Travel(0, 127)),),
    ),
    Case(
        causes.EMPTY_TRAVEL,
        travelled(Travel(64, 64)),
        "Dead: the travel of K1 starts where it ends (64 to 64), so Pad/cutoff stays put; set "
        "start and end apart.",
        (travelled(Travel(64, 65)),),
        dead=("K1",),
    ),
    Case(
        causes.ONE_STEP,
        stage(STEPPED, travels=(KnobTravel("K3", Travel(0, 42)),)),
        "Dead: Bass/cutoff stays at one step over the travel of K3 (0 to 42); set start and end "
        "further apart.",
        (stage(STEPPED, travels=(KnobTravel("K3", Travel(0, 43)),)), STEPPED),
        dead=("K3",),
    ),
    Case(
        causes.ONE_STEP,
        stage(
            STEPPED,
            surface=Surface.row(1),
            routes=tuple(attrs.evolve(route, knob="K1") for route in CLEAN.routes),
            travels=(KnobTravel("K1", Travel(127, 86)),),
            snapshots=CLEAN.snapshots[:1],
        ),
        "Dead: Bass/cutoff stays at one step over the travel of K1 (127 to 86); set start and end "
        "further apart.",
        (),
    ),
    Case(
        causes.NO_ROUTE,
        WIDE,
        "Free: no route leads from K4; route a destination to it, or reserve it.",
        (
            stage(surface=Surface.row(4, reserved=("K4",))),
            stage(FREE_LEAD, snapshots=(*CLEAN.snapshots, Snapshot("lead alone", ("Lead",)))),
        ),
        dead=("K4",),
    ),
    Case(
        causes.UNREACHED,
        stage(
            without_routes(CLEAN, ("Pad/level",), ("K2",)),
            surface=limited(reserved=("K2",)).surface,
        ),
        "Not driven: Pad/level is reached by no knob; route a knob to what is to be played, and "
        "leave the rest.",
        (limited(reserved=("K2",)),),
        dead=("K2",),
    ),
)
