"""Recordings and controller lists on the command line."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from knobpack.command.main import main
from knobpack.files import load_setup, save, to_plain
from knobpack.midi import (
    controller_numbers,
    hear_positions,
    hear_travels,
    import_controllers,
    read_recording,
    sweep_file,
)
from knobpack.present.demo import demo_list
from tests.present.read_answers import fits, joined, told
from tests.present.samples_of_setups import BASE, ORGAN, combined

EVENING = combined(ORGAN).setup
NUMBERS = controller_numbers(EVENING, fine=True)
SWEPT = sweep_file(
    EVENING, EVENING.snapshots[0].name, NUMBERS.numbers, master_number=NUMBERS.master_number
)


@pytest.fixture
def evening(tmp_path: Path) -> str:
    """The file of a setup, beside a recording of it."""
    save(tmp_path / "evening.json", EVENING)
    (tmp_path / "turned.mid").write_bytes(SWEPT.data)
    return str(tmp_path / "evening.json")


def test_travels_are_heard_and_written_with_a_sheet(
    evening: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    found = hear_travels(EVENING, read_recording(SWEPT.data), numbers=NUMBERS)
    recording, after, sheet = (str(tmp_path / n) for n in ("turned.mid", "a.json", "a.txt"))
    assert main(["listen", evening, recording, "--setup", after, "--sheet", sheet]) == 0
    out, err = capsys.readouterr()
    assert told(out) == {f"HEARD {EVENING.name}": joined(found.sentences)}
    assert fits(out)
    assert "The patch sheet" in err
    assert load_setup(after) == found.setup
    assert Path(sheet).read_text() == found.sheet.text()
    assert main(["listen", evening, recording, "--json", "-"]) == 0
    answers = json.loads(capsys.readouterr().out)["answers"]
    assert answers == {"heard": to_plain(found)}


def test_positions_are_stored_in_place(
    evening: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    name = next(
        each.name for each in EVENING.snapshots if each.name not in {"all", EVENING.snapshots[0]}
    )
    found = hear_positions(EVENING, read_recording(SWEPT.data), name, numbers=NUMBERS)
    recording = str(tmp_path / "turned.mid")
    assert main(["listen", evening, recording, "--into", name, "--in-place"]) == 0
    assert joined(found.sentences) in told(capsys.readouterr().out).values()
    assert load_setup(evening) == found.setup


def test_where_nothing_is_heard_nothing_is_written(evening: str, tmp_path: Path) -> None:
    quiet, before, new = tmp_path / "quiet.mid", Path(evening).read_bytes(), tmp_path / "new.json"
    # A header and a track that ends at once (RP-001, Standard MIDI Files 1.0).
    quiet.write_bytes(bytes.fromhex("4d546864 00000006 0000 0001 0060 4d54726b 00000004 00ff2f00"))
    assert main(["listen", evening, str(quiet), "--setup", str(new)]) == 0
    assert not new.exists()
    assert main(["listen", evening, str(quiet), "--in-place"]) == 0
    assert Path(evening).read_bytes() == before


@pytest.mark.parametrize(
    ("words", "error"),
    [
        (["evening.json", "turned.md"], "turned.md: No such file or directory"),
        (["evening.json", "evening.json"], "byte 1: "),
        (["evening.json", "turned.mid", "--into", "al"], "close to it: all"),
        (["evening.json"], "RECORDING: is missing"),
    ],
)
def test_what_cannot_be_heard_is_refused(
    words: list[str],
    error: str,
    evening: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(Path(evening).parent)
    assert main(["listen", *words]) == 2
    assert error in capsys.readouterr().err


def test_lists_are_laid_out_on_a_panel_and_no_number_is_given_that_is_heard(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    pulse, panel, made = (str(tmp_path / n) for n in ("pulse.json", "base.json", "made.json"))
    Path(pulse).write_bytes(demo_list())
    save(panel, BASE)
    words = ["lists", pulse, "--panel", panel, "--receives", "3", "--setup", made]
    assert main([*words, "--midi", str(tmp_path / "midi"), "--details"]) == 0
    words_told = " ".join(capsys.readouterr().out.split())
    bits = BASE.surface.bits
    brought = import_controllers(json.loads(demo_list()), "pulse", 3, bits=bits)
    assert joined(brought.sentences) in words_told
    setup = load_setup(made)
    assert setup.surface == BASE.surface
    assert [each.destinations for each in setup.voices] == [brought.voices[0].destinations]
    numbers = controller_numbers(setup, listening=brought.listening, fine=True)
    assert joined(numbers.sentences) in words_told
    assert "Closed on channel 3, because pulse listens there" in words_told


def test_both_sorts_of_lists_are_told_apart(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    entry = {"title": "Volume", "ctrlType": "cc", "ctrlIndex": [7]}
    several = tmp_path / "two.json"
    several.write_text(json.dumps([entry | {"channel": 2}, entry | {"Channel": 4}]))
    one = tmp_path / "one.json"
    one.write_text(json.dumps([entry]))
    assert main(["lists", str(several), str(one), "--json", "-"]) == 0
    answers = json.loads(capsys.readouterr().out)["answers"]
    found = [voice for each in answers.values() for voice in each.get("voices", ())]
    assert [(voice["name"], voice["channel"]) for voice in found] == [
        *(("two 2", 2), ("two 4", 4), ("one", 1))
    ]


@pytest.mark.parametrize(
    ("text", "error"),
    [
        ('{"knobpack": "setup"}', "give a list"),
        ("[{}]", "[0].title: is missing"),
        (
            '[{"title": "Volume", "ctrlType": "cc", "ctrlIndex": [7], "channel": 300}]',
            "[0].channel: 300 will not do",
        ),
    ],
)
def test_what_is_no_list_is_refused(
    text: str, error: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = tmp_path / "list.json"
    path.write_text(text)
    assert main(["lists", str(path)]) == 2
    err = capsys.readouterr().err
    assert error in err
    assert f"in the file '{path}'" in err
