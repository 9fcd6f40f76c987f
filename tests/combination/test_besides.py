"""What a setup says besides comes along: labels with bundles, the rest with knobs and voices.

Common practice, no source.
"""

from __future__ import annotations

import attrs

from knobpack import audit, combine, patch_sheet
from knobpack.combination.taken_away import without_source
from knobpack.midi import controller_numbers
from knobpack.words import (
    Destination,
    KnobLabel,
    KnobSending,
    Route,
    Setup,
    Snapshot,
    Span,
    Surface,
    Voice,
)
from tests.oracles.replay import in_order, replay

STRINGS = Voice(
    "strings",
    (Destination("level"), Destination("cutoff", priority=1)),
    1,
    channel=3,
    keys=Span(48, 127),
    transposition=12,
    program=49,
)
BELLS = Voice("bells", (Destination("echo"),), 2, channel=4, velocities=Span(20, 127))
BASE = Setup(
    "Quay set",
    Surface.row(4, label_length=8),
    (
        Voice("organ", (Destination("drive", priority=1), Destination("level")), 1, channel=1),
        Voice("bells", (Destination("level"),), 2, channel=2),
    ),
    routes=(Route("organ/drive", "K1"), Route("organ/level", "K1"), Route("bells/level", "K2")),
    snapshots=(
        Snapshot("all", ("organ", "bells"), idle=("K3", "K4")),
        Snapshot("organ", ("organ",), silent=("bells",)),
    ),
    labels=(KnobLabel("K1", "Dirt"), KnobLabel("K3", "nothing")),
    sending=(KnobSending("K1", 16, turning="pick-up"), KnobSending("K3", 18, channel=3)),
)
SOURCE = Setup(
    "Tower set",
    Surface.row(3, bits=10),
    (STRINGS, BELLS),
    routes=(Route("strings/level", "K1"), Route("strings/cutoff", "K1"), Route("bells/echo", "K2")),
    snapshots=(
        Snapshot("both", ("strings", "bells"), idle=("K3",)),
        Snapshot("soft", ("strings", "bells"), silent=("bells",)),
    ),
    labels=(KnobLabel("K1", "dirt"), KnobLabel("K2", "Far away now")),
    sending=(KnobSending("K1", 20), KnobSending("K2", 21)),
)
RESULT = combine(BASE, SOURCE).setup


def test_voices_are_played_as_they_were() -> None:
    found = {voice.name: voice for voice in RESULT.voices}
    assert found["strings"].played == STRINGS.played
    assert found["bells (Tower set)"].played == BELLS.played
    assert found["bells"] == BASE.voices[1]


def test_labels_go_with_their_bundles_and_the_base_keeps_its_own() -> None:
    assert {route.knob for route in RESULT.routes} == {"K1", "K2", "K3", "K4"}
    shown = {each.knob: each.label for each in RESULT.labels}
    # K1 shows Dirt, so that what came as dirt is named anew; the other is cut to the display.
    assert shown == {"K1": "Dirt", "K3": "str cut+", "K4": "Far away"}


def test_what_knobs_send_stays_with_the_knobs() -> None:
    assert RESULT.sending == BASE.sending
    numbers = controller_numbers(RESULT)
    assert (numbers.numbers["K1"], numbers.numbers["K3"]) == (16, 18)
    assert not {20, 21} & {n for n in numbers.numbers.values() if isinstance(n, int)}


def test_silent_voices_keep_snapshots_apart_and_are_renamed() -> None:
    silent = {each.name: each.silent for each in RESULT.snapshots}
    assert silent["organ"] == ("bells",)
    assert silent["soft"] == ("bells (Tower set)",)
    assert silent["both"] == ()
    # A knob that drives something now is not idle any more.
    assert all(each.idle == () for each in RESULT.snapshots)


def test_the_audit_finds_nothing_new_and_the_sheet_has_every_step() -> None:
    before = {each.cause for each in audit(BASE).findings}
    assert {each.cause for each in audit(RESULT).findings} <= before
    sheet = patch_sheet(BASE, RESULT)
    assert in_order(replay(BASE, sheet.steps)) == in_order(attrs.evolve(RESULT, arrivals=()))
    told = "\n".join(sheet.sentences)
    assert "K3: label it 'str cut+'; it showed 'nothing'." in told
    assert "set channel 4 and velocities 20 to 127" in told
    assert "silence bells (Tower set)" in told


def test_taken_away_again_all_is_as_it_was() -> None:
    assert without_source(RESULT, "Tower set") == BASE
