"""Audits, sweeps, jumps and differences of setups, asked for on the command line."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import attrs
import pytest

from knobpack import tables
from knobpack.auditing.audit import audit
from knobpack.command.main import main
from knobpack.command.outcome import text_below
from knobpack.definition.phrases import CAUTION
from knobpack.files import load_setup, save, to_plain
from knobpack.present.setup_text import audit_text, jumps_text
from knobpack.sheets import patch_sheet
from knobpack.sheets.cautions import by_ear
from knobpack.simulation import jump_sentences, sweep, worst_changes
from knobpack.words import (
    Destination,
    KnobPosition,
    KnobTravel,
    Route,
    Setup,
    Snapshot,
    Surface,
    Travel,
    Voice,
)
from knobpack.words.names import quoted
from tests.present.read_answers import fits, joined, told
from tests.present.samples_of_setups import BASE, BASS, ORGAN, combined, squeezed


def swept_text(setup: Setup, snapshot: str) -> str:
    """What the command shows of a sweep."""
    found = sweep(setup, snapshot, master=128)
    return text_below(f"SWEEP  {setup.name}", found.sentences)(100)


def test_each_setup_is_audited(paths: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["audit", *paths]) == 0
    out, err = capsys.readouterr()
    setups = (BASE, ORGAN, BASS)
    assert out == "\n".join(audit_text(audit(each), each) for each in setups)
    assert err == ""
    for setup in setups:
        assert told(out)[f"AUDIT {setup.name}"] == joined(audit(setup).sentences)


def test_an_audit_says_what_each_knob_does() -> None:
    text = audit_text(audit(ORGAN), ORGAN)
    assert fits(text)
    _, table = text.split("\n\n")
    assert table.startswith("WHAT EACH KNOB DOES  positions 0 to 127\n")
    rows = [" ".join(line.split()) for line in table.splitlines()]
    assert "Brightness moves Organ/brightness over 0 to 127 (full) in 'organ' and 'all'" in rows
    assert "Swell dead: empty travel; carries Organ/level" in rows
    assert "Brass free" in rows
    assert [row for row in rows if row.split()[0] in ORGAN.surface.knob_names]
    assert "WHAT EACH KNOB DOES" not in audit_text(audit(ORGAN), ORGAN, by_knob=False)


def test_an_audit_tells_what_stays_on_a_knob_that_moves() -> None:
    pair = (Destination("level"), Destination("octave", steps=4))
    setup = Setup(
        "Step set",
        Surface.row(1),
        (Voice("Bell", pair, 1),),
        routes=(Route("Bell/level", "K1"), Route("Bell/octave", "K1")),
        travels=(KnobTravel("K1", Travel(0, 20)),),
    )
    text = audit_text(audit(setup), setup)
    assert "moves Bell/level over 0 to 20 (16 %)" in joined(text.split("\n"))
    assert "Bell/octave on it stays at one step" in joined(text.split("\n"))


def test_every_snapshot_is_swept_or_the_ones_named(
    paths: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    bass = paths[2]
    names = [snapshot.name for snapshot in BASS.snapshots]
    for asked, swept in (([], names), (["loud", "bass", "loud"], ["loud", "bass"])):
        assert main(["sweep", bass, *asked]) == 0
        out = capsys.readouterr().out
        first, *others = [squeezed(swept_text(BASS, name)) for name in swept]
        # To be careful is said once.
        careful = squeezed(CAUTION)
        assert careful in first
        assert squeezed(out) == "".join([first, *(each.replace(careful, "") for each in others)])
        assert fits(out)
    assert "Snapshot 'bass': the master goes from 0 to 127; 1 of 8 knobs follows." in out


def test_a_sweep_goes_from_end_to_end_over_the_middle(paths: list[str], tmp_path: Path) -> None:
    target = tmp_path / "sweep.json"
    assert main(["sweep", paths[0], "all", "--json", str(target), "--quiet"]) == 0
    (found,) = json.loads(target.read_text("utf-8"))["answers"].values()
    assert found == to_plain(sweep(BASE, "all", master=129))
    assert (found["master"][0], found["master"][64], found["master"][-1]) == (0, 512, 1023)


def test_a_setup_without_snapshots_is_swept_as_if_all_moved(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "bare.json"
    bare = attrs.evolve(BASE, snapshots=(), surface=attrs.evolve(BASE.surface, bits=2), travels=())
    save(path, bare)
    assert main(["sweep", str(path)]) == 0
    assert "Snapshot 'everything': the master goes from 0 to 3" in capsys.readouterr().out
    assert main(["jumps", str(path)]) == 0
    assert "Fewer than two snapshots are stored" in capsys.readouterr().out


def test_jumps_are_told_the_worst_first_with_a_caution(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    # The flute is held half way up, so it jumps half as far as Wash, of which nothing is known.
    alone, everything = ORGAN.snapshots
    alone = attrs.evolve(alone, positions=(KnobPosition("Flute", 64),))
    setup = attrs.evolve(ORGAN, snapshots=(alone, everything))
    save(tmp_path / "organ.json", setup)
    assert main(["jumps", str(tmp_path / "organ.json")]) == 0
    out = capsys.readouterr().out
    (heading, sentences), (ear, unknown) = told(out).items()
    assert heading.startswith("JUMPS Organ set")
    assert ear.startswith("SET BY EAR")
    # What is not known is told whole, as the patch sheet tells it.
    empty = Setup(setup.name, setup.surface)
    for names, knobs, _ in by_ear(empty, setup):
        assert f"{quoted(names)} {', '.join(knobs)}" in unknown
    assert "'held at 64' in the column of the snapshot" in unknown
    assert sentences == joined(jump_sentences(worst_changes(setup)))
    assert sentences.index("where Wash stands, as in") < sentences.index(
        "Flute goes from 64 to 0 at once"
    )
    assert sentences.index("by 100 %") < sentences.index("by 50 %")
    assert "Check at low volume before you play it" in sentences
    assert fits(out)


def test_what_has_no_routes_does_not_jump() -> None:
    bare = attrs.evolve(BASE, routes=(), snapshots=(Snapshot("one"), Snapshot("two")))
    assert worst_changes(bare) == ()
    assert "No knob drives anything" in jumps_text(bare, ())


def test_the_difference_of_two_setups_is_a_sheet(
    paths: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    other = tmp_path / "other.json"
    save(other, combined(ORGAN).setup)
    sheet = patch_sheet(BASE, combined(ORGAN).setup)
    for printed in ([], ["--sheet", "-"]):
        assert main(["sheet", paths[0], str(other), *printed]) == 0
        assert capsys.readouterr() == (sheet.text(), "")
    target = tmp_path / "sheet.md"
    assert main(["sheet", paths[0], str(other), "--sheet", str(target)]) == 0
    out, err = capsys.readouterr()
    assert out == ""
    assert err == f"The patch sheet, {len(sheet.steps)} steps, is in {target}.\n"
    assert target.read_text("utf-8") == sheet.markdown()
    # The way back is a sheet too.
    assert main(["sheet", str(other), paths[0], "--json", "-"]) == 0
    (found,) = json.loads(capsys.readouterr().out)["answers"].values()
    back: dict[str, Any] = to_plain(patch_sheet(combined(ORGAN).setup, BASE))
    assert found == back


def test_a_sheet_of_one_setup_starts_from_nothing(
    paths: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["sheet", paths[0]]) == 0
    out = capsys.readouterr().out
    assert out == patch_sheet(Setup(BASE.name, BASE.surface), BASE).text()


def test_a_setup_goes_to_a_table_and_back(
    paths: list[str],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    before = combined(ORGAN, BASS).setup
    save("tonight.json", before)
    assert main(["table", "tonight.json", "--table", "tonight.csv"]) == 0
    out, err = capsys.readouterr()
    assert out == ""
    assert err.splitlines() == [
        "The table is in tonight.csv.",
        *tables.not_held(before, order=False),
    ]
    assert tables.load("tonight.csv", before) == before
    # As a spreadsheet leaves it: another travel of the knob that goes from 160.
    content = Path("tonight.csv").read_text("utf-8-sig")
    assert content.count(",160,804,") == 4
    Path("tonight.csv").write_text(content.replace(",160,804,", ",200,804,"), "utf-8")
    options = ["--setup", "changed.json", "--sheet", "changed.md"]
    assert main(["table", "tonight.json", "tonight.csv", *options]) == 0
    changed = load_setup("changed.json")
    assert KnobTravel("K4", Travel(200, 804)) in changed.travels
    assert Path("changed.md").read_text("utf-8") == patch_sheet(before, changed).markdown()
    capsys.readouterr()
    # It is a setup like any other, and is shown where no file is named.
    assert main(["ask", "tonight.csv", "why", "Bass/drive"]) == 0
    assert "its travel is 200 to 804" in capsys.readouterr().out
    assert main(["table", paths[0]]) == 0
    assert capsys.readouterr().out == tables.dumps(BASE).replace("\r\n", "\n")


def test_several_setups_are_answered_in_order(
    paths: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    base, organ, _ = paths
    target = tmp_path / "all.json"
    assert main(["audit", organ, base, organ, "--json", str(target)]) == 0
    headings = [line for line in capsys.readouterr().out.split("\n") if line[:1].isupper()]
    assert [heading.split()[0] for heading in headings] == ["AUDIT", "WHAT", "AUDIT", "WHAT"]
    answers = json.loads(target.read_text("utf-8"))["answers"]
    assert list(answers) == [organ, base]


def test_what_a_snapshot_parts_on_one_knob_can_be_asked_about(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    voices = tuple(Voice(name, (Destination("level"), Destination("room"))) for name in "AB")
    routes = (("A/level", "K1"), ("B/level", "K2"), ("A/room", "K3"), ("B/room", "K3"))
    torn = Setup(
        "Evening",
        Surface.row(3),
        voices,
        routes=tuple(Route(*each) for each in routes),
        snapshots=(Snapshot("both", ("A", "B")), Snapshot("one", ("A",))),
    )
    save(tmp_path / "torn.json", torn)
    closed = "K3 takes nothing more, as snapshot 'one' moves A/room and holds B/room."
    for question in (["why", "B/room"], ["why-shared", "K3"], ["why-not", "B/level", "K3"]):
        assert main(["ask", str(tmp_path / "torn.json"), *question]) == 0
        out = capsys.readouterr().out
        assert told(out)["AS IT STANDS"].startswith(closed)
        assert "reserve" not in out
    assert main(["ask", str(tmp_path / "torn.json"), "why", "A/level"]) == 0
    assert closed not in joined([capsys.readouterr().out])
    assert main(["ask", str(tmp_path / "torn.json"), "price-of-demands"]) == 0
    assert "reserve" not in capsys.readouterr().out
