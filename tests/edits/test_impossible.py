"""An edit that cannot be: why, and what can be done instead at a terminal."""

from __future__ import annotations

from pathlib import Path

import attrs
import pytest

from knobpack import Destination, Route, Setup, Snapshot, Surface, Voice, edit
from knobpack.clash import ImpossibleDemands
from knobpack.command.main import main
from knobpack.edits.impossible import CannotBe, Routing, cannot_be
from knobpack.files import load_setup, save
from knobpack.setups.as_read import read
from knobpack.words.setup_edits import Join, OnKnob, OwnKnob, Part

VOICES = tuple(
    Voice(name, (Destination("level"), Destination("cutoff")), layer)
    for layer, name in enumerate(("Grand", "Pad", "Organ"), 1)
)
ROUTES = [
    Route(f"{voice.name}/{inner.name}", f"K{2 * at + place}")
    for at, voice in enumerate(VOICES)
    for place, inner in enumerate(voice.destinations, 1)
]
FULL, ALONE = Snapshot("Full", ("Grand", "Pad", "Organ")), Snapshot("Grand alone", ("Grand",))
EVENING = Setup("Evening", Surface.row(6), VOICES, routes=ROUTES, snapshots=(FULL, ALONE))
SPLIT = "snapshot 'Grand alone' moves Grand/level and holds Pad/level"


def refused(setup: Setup, what: Routing) -> CannotBe:
    with pytest.raises(ImpossibleDemands) as raised:
        edit(setup, what)
    found = cannot_be(read(setup), what, raised.value.clash)
    told = " ".join((*found.because, *found.instead))
    assert not [each for each in ("drop the rule", "weight", "must be placed") if each in told]
    return found


def test_a_join_that_a_snapshot_parts_names_the_knobs_that_can_be_joined() -> None:
    found = refused(EVENING, Join(("K1", "K3")))
    assert (found.asked, found.because) == ("K1 and K3 joined", (SPLIT,))
    with_one, with_other, change = found.instead
    assert with_one == "join K1 with K2"
    assert with_other == "join K3 with K4 or K5 or K6"
    assert change.startswith("let 'Grand alone' move all of these or none, in the table")
    for one, other in (("K1", "K2"), ("K3", "K4"), ("K3", "K5"), ("K3", "K6")):
        assert edit(EVENING, Join((one, other))).left_out == ()
    # What a knob takes no more of is not among them.
    narrow = attrs.evolve(EVENING, surface=Surface.row(6, destinations_per_knob=1))
    assert [each for each in refused(narrow, Join(("K1", "K3"))).instead if "join" in each] == []


def test_what_does_not_go_on_one_knob_is_told_as_what_moves_together() -> None:
    for what in (OwnKnob(("Grand", "Pad")), OnKnob(("Grand", "Pad"), "K1")):
        first, second = refused(EVENING, what).instead
        assert first == (
            "name at a time what moves together: Grand/level and Grand/cutoff; Pad/level and "
            "Pad/cutoff"
        )
        assert second.startswith("let 'Grand alone' move")


def test_where_no_snapshot_is_in_the_way_limits_and_a_wider_panel_are_told() -> None:
    few = attrs.evolve(EVENING, surface=Surface.row(6, destinations_per_knob=1))
    found = refused(few, OnKnob(("Pad",), "K3"))
    assert found.because[0] == "a knob carries at most 1"
    assert found.instead == ("name fewer, or another knob; 'away NAME' makes room",)
    one = [attrs.evolve(each, knob="K1") for each in ROUTES if "Pad" not in each.destination]
    full = attrs.evolve(EVENING, surface=Surface.row(2), routes=one, snapshots=(FULL,))
    found = refused(full, Part(tuple(each.destination for each in one[:3])))
    assert found.instead == ("take it to a panel of 3 knobs: 'knobpack move FILE PANEL'",)


def test_the_terminal_says_it_and_the_way_by_the_table_can_be_gone(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path, table = (str(tmp_path / name) for name in ("evening.json", "evening.csv"))
    changed = str(tmp_path / "changed.json")
    save(path, EVENING)
    assert main(["edit", path, "join", "K1", "K3"]) == 3
    err = capsys.readouterr().err
    assert err.startswith("knobpack: K1 and K3 joined: that cannot be.\n")
    assert f"  - {SPLIT}" in err
    assert main(["table", path, "--table", table, "--quiet"]) == 0
    rows = Path(table).read_text(encoding="utf-8").splitlines()
    place = rows[0].split(",").index("snapshot: Grand alone")
    cells = [row.split(",") for row in rows]
    for row in cells:
        if row[0] == "K3":
            row[place] = "moves"
    Path(table).write_text("\n".join(map(",".join, cells)) + "\n", encoding="utf-8")
    assert main(["table", path, table, "--setup", changed, "--quiet"]) == 0
    assert main(["edit", changed, "join", "K1", "K3", "--in-place", "--quiet"]) == 0
    on = {each.destination: each.knob for each in load_setup(changed).routes}
    assert on["Grand/level"] == on["Pad/level"]
