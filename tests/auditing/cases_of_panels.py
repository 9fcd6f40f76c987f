"""Faults of what the knobs show and send and of how the voices are played, each alone."""

from __future__ import annotations

import attrs

from knobpack.auditing import causes
from knobpack.words import KnobLabel, KnobSending, Snapshot, Span, Surface
from tests.auditing.clean import BASS, CLEAN, PAD, Case, limited, stage

FIRST, *OTHERS = CLEAN.snapshots
ON_TWO = (attrs.evolve(PAD, channel=2), attrs.evolve(BASS, channel=3))
LABELS = (KnobLabel("K1", "Cutoff"), KnobLabel("K2", "Level"))
WIDE = stage(surface=Surface.row(4, reserved=("K4",)))

PANEL_CASES = (
    Case(
        causes.SAME_NUMBER,
        stage(sending=(KnobSending("K3", 17), KnobSending("K1", 17), KnobSending("K2", 16))),
        "Wrong: K1 and K3 both send controller 17; let each send a number of its own.",
        (
            stage(sending=(KnobSending("K3", 18), KnobSending("K1", 17))),
            # What is sent on other channels is another message (MIDI 1.0, Table II).
            stage(sending=(KnobSending("K3", 17, channel=1), KnobSending("K1", 17, channel=2))),
        ),
    ),
    Case(
        causes.SAME_NUMBER,
        # The low half of 17 is 49 (MIDI 1.0, page 12), and the voice of K2 receives on channel 2.
        stage(voices=ON_TWO, sending=(KnobSending("K1", 17, fine=True), KnobSending("K2", 49))),
        "Wrong: K1 and K2 both send controller 49 on channel 2; let each send a number of its own.",
        (
            stage(voices=ON_TWO, sending=(KnobSending("K1", 17), KnobSending("K2", 49))),
            stage(voices=ON_TWO, sending=(KnobSending("K1", 17, fine=True), KnobSending("K3", 49))),
        ),
        beside=(causes.NO_POSITION,),
    ),
    Case(
        causes.NO_POSITION,
        stage(sending=(KnobSending("K2", 6),)),
        ("Wrong: K2 sends controller 6, which means something else; let it send another number."),
        (stage(sending=(KnobSending("K2", 7),)),),
    ),
    Case(
        causes.NO_POSITION,
        stage(sending=(KnobSending("K2", 39),)),
        "Wrong: K2 sends controller 39 alone, the low half of 7; let it send another number.",
        (stage(sending=(KnobSending("K2", 7, fine=True),)),),
    ),
    Case(
        causes.STRAY_PANEL,
        stage(labels=(KnobLabel("K9", "Level"),), sending=(KnobSending("K9", 17),)),
        (
            "Wrong: a label or a controller number is given to 'K9', which is no knob of the "
            "surface; give it to a knob of the surface, or take it away."
        ),
        (stage(labels=LABELS),),
    ),
    Case(
        causes.SAME_LABEL,
        stage(labels=(*LABELS, KnobLabel("K3", "CUTOFF"))),
        "Doubtful: K1 and K3 show the same label; give each a label of its own.",
        (stage(labels=(*LABELS, KnobLabel("K3", "Bass cut"))),),
    ),
    Case(
        causes.LONG_LABEL,
        stage(limited(label_length=5), labels=LABELS),
        (
            "Doubtful: the label of K1 has 6 characters, and the display shows 5; shorten it to 5 "
            "or fewer."
        ),
        (stage(limited(label_length=6), labels=LABELS), stage(labels=LABELS)),
    ),
    Case(
        causes.NO_KEY,
        stage(voices=(PAD, attrs.evolve(BASS, keys=Span(60, 59)))),
        (
            "Dead: voice 'Bass' answers to no key: its key range is 60 to 59; set its highest key "
            "no lower than its lowest."
        ),
        (stage(voices=(PAD, attrs.evolve(BASS, keys=Span(60, 60)))),),
    ),
    Case(
        causes.NO_VELOCITY,
        # A Note On of velocity 0 is a Note Off (MIDI 1.0 Detailed Specification).
        stage(voices=(PAD, attrs.evolve(BASS, velocities=Span(0, 0)))),
        (
            "Dead: voice 'Bass' answers to no velocity: its velocity range is 0 to 0; set its "
            "highest velocity above 0, and no lower than its lowest."
        ),
        (stage(voices=(PAD, attrs.evolve(BASS, velocities=Span(0, 1)))),),
    ),
    Case(
        causes.MUTED,
        stage(snapshots=tuple(attrs.evolve(each, silent=("Bass",)) for each in CLEAN.snapshots)),
        ("Dead: voice 'Bass' is silent in every snapshot; let it sound in one, or take it away."),
        (stage(snapshots=(FIRST, *(attrs.evolve(each, silent=("Bass",)) for each in OTHERS))),),
    ),
    Case(
        causes.IDLE,
        stage(WIDE, snapshots=(attrs.evolve(FIRST, idle=("K4",)), *OTHERS)),
        ("Dead: K4 follows the master in snapshot 'all' and drives nothing; switch it off there."),
        (WIDE,),
        dead=("K4",),
    ),
    Case(
        causes.NOT_IDLE,
        stage(snapshots=(attrs.evolve(FIRST, idle=("K2",)), *OTHERS)),
        (
            "Wrong: snapshot 'all' notes K2 as driving nothing, but it carries Pad/level; take the "
            "note away."
        ),
        (CLEAN,),
    ),
    Case(
        causes.SNAPSHOT_NAMES,
        stage(snapshots=(attrs.evolve(FIRST, silent=("Lead", "Pad"), idle=("K9",)), *OTHERS)),
        (
            "Wrong: snapshot 'all' names what is not there: 'Lead' and 'K9'; take the names 'Lead' "
            "and 'K9' away, or put them right."
        ),
        (stage(snapshots=(attrs.evolve(FIRST, silent=("Pad",)), *OTHERS)),),
    ),
    Case(
        causes.IDENTICAL,
        stage(snapshots=(*CLEAN.snapshots, Snapshot("again", ("Pad", "Bass")))),
        (
            "Doubtful: the snapshots 'all' and 'again' do the same: in each the master moves K1, "
            "K2 and K3; keep 'all' alone, or change what the others move."
        ),
        # One in which a voice is silent is another.
        (stage(snapshots=(*CLEAN.snapshots, Snapshot("b", ("Pad", "Bass"), silent=("Pad",)))),),
    ),
)
