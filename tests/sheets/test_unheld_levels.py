"""Voices that come, and whose levels no knob drives, sound: that is said, and a way on."""

from __future__ import annotations

import attrs
import pytest

from knobpack import Destination, Route, Setup, Snapshot, Surface, Voice, combine
from knobpack.combination import Source
from knobpack.command.main import main
from knobpack.files import save
from knobpack.present.combination_text import combination_text, offers_text
from knobpack.sheets import patch_sheet

PIANO = Voice("Piano", (Destination("level", priority=1),), 1)
PAD = Voice("Pad", (Destination("level", priority=1),), 2)
FULL = Setup(
    "Evening set",
    Surface.row(2),
    (PIANO, PAD),
    routes=(Route("Piano/level", "K1"), Route("Pad/level", "K2")),
    snapshots=(
        Snapshot("Full", ("Piano", "Pad")),
        Snapshot("Piano alone", ("Piano",)),
        Snapshot("Pad alone", ("Pad",)),
    ),
)
BELLS = Setup(
    "Bells set",
    Surface.row(3),
    (
        Voice("Bell", (Destination("level", priority=1), Destination("decay")), 1),
        Voice("Wind", (Destination("level", priority=3),), 2),
        Voice("Air", (Destination("tone", priority=4),), 3),
    ),
    routes=(Route("Bell/level", "K1"), Route("Bell/decay", "K1"), Route("Wind/level", "K2")),
)
SOUND = "Bell and Wind sound at whatever level they stand: no knob drives their levels."


def test_what_no_knob_drives_sounds_and_that_is_said() -> None:
    found = combine(FULL, BELLS)
    # The player's snapshots part the two knobs, and what comes moves in the one that is full.
    assert set(found.without_knob) == {"Bell/level", "Bell/decay", "Wind/level"}
    told = " ".join(combination_text(found).split("SET BY EAR")[1].split())
    assert told.startswith(SOUND)
    assert SOUND in str(patch_sheet(FULL, found.setup))
    assert (
        "add Bell and Wind in what it moves; then K1 and K2 follow the master; no knob drives Bell "
        "and Wind, so there is nothing to set for them."
    ) in " ".join(map(str, patch_sheet(FULL, found.setup).steps))
    # None of them has a knob, so there are none to bring alone.
    assert "--only" not in offers_text(found)
    # What is silent wherever something is stored, or was there before, is not told.
    still = [attrs.evolve(each, silent=("Wind",)) for each in found.setup.snapshots]
    quiet = attrs.evolve(found.setup, snapshots=tuple(still))
    one = "Bell sounds at whatever level it stands: no knob drives its level."
    assert one in str(patch_sheet(FULL, quiet))
    assert "whatever level" not in str(patch_sheet(found.setup, quiet))


def test_where_some_voices_have_no_knob_those_that_do_are_named_to_bring_alone(
    tmp_path: object, capsys: pytest.CaptureFixture[str]
) -> None:
    wide = attrs.evolve(FULL, surface=Surface.row(3))
    snapshots = (Snapshot("bell", ("Bell",)), Snapshot("wind", ("Wind",)))
    bells = attrs.evolve(BELLS, snapshots=snapshots)
    rules = attrs.evolve(wide.surface, destinations_per_knob=2)
    base = attrs.evolve(wide, surface=rules)
    found = combine(base, bells)
    assert found.without_knob == ("Wind/level",)
    way = "Without the voices of Bells set that find no knob: --only Bell."
    assert way in offers_text(found)
    files = [f"{tmp_path}/{name}.json" for name in ("base", "bells")]
    for path, setup in zip(files, (base, bells), strict=True):
        save(path, setup)
    assert main(["combine", *files, "--only", "Bell"]) == 0
    assert "2 of 2 came." in capsys.readouterr().out
    assert combine(base, Source(bells, ("Bell",))).without_knob == ()
