"""Controller numbers and MIDI files, asked for on the command line."""

from __future__ import annotations

import importlib.util
import json
from pathlib import Path

import attrs
import pytest

from knobpack.command.main import main
from knobpack.definition.phrases import CAUTION
from knobpack.files import save, to_plain
from knobpack.midi import controller_numbers, sweep_files
from knobpack.words import Destination, KnobSending, Route, Setup, Surface, Voice
from tests.present.read_answers import fits, joined, told
from tests.present.samples_of_setups import BASE, ORGAN, combined


def files_in(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_the_numbers_are_told(paths: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    found = controller_numbers(ORGAN, channel=3)
    assert main(["midi", paths[1], "--channel", "3", "--details"]) == 0
    out, err = capsys.readouterr()
    assert told(out) == {"CONTROLLER NUMBERS Organ set": joined(found.sentences)}
    assert fits(out)
    assert err == ""
    # At 7 bits one number is enough, above it takes two.
    assert set(map(type, found.numbers.values())) == {int}
    fine = controller_numbers(BASE, fine=True)
    assert set(map(type, fine.numbers.values())) == {tuple}
    assert main(["midi", paths[0], "--json", "-"]) == 0
    answers = json.loads(capsys.readouterr().out)["answers"]
    assert answers == {"controller numbers": to_plain(fine)}


def test_a_file_for_each_snapshot_of_a_setup_is_written(
    paths: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "midi"
    numbers = controller_numbers(ORGAN, channel=16)
    made = sweep_files(ORGAN, numbers.numbers, channel=16, master_number=numbers.master_number)
    arguments = ["midi", paths[1], "--midi", str(folder), "--channel", "16", "--details"]
    assert main(arguments) == 0
    out, err = capsys.readouterr()
    assert files_in(folder) == {each.file_name: each.data for each in made}
    assert list(files_in(folder))
    assert fits(out)
    parts = told(out)
    for each in made:
        assert parts[f"MIDI FILE {each.file_name}"] == joined(each.sentences)
    assert "Check at low volume before you play it" in parts["MIDI FILE 02 all.mid"]
    assert err == f"2 MIDI files are in {folder}.\n"
    # Once more, over what is there, only where that is said; what else is in the folder stays.
    (folder / "01 organ.mid").write_bytes(b"what was there before")
    (folder / "mine.mid").write_bytes(b"mine")
    assert main([*arguments, "--quiet"]) == 2
    assert files_in(folder)["01 organ.mid"] == b"what was there before"
    assert main([*arguments, "--quiet", "--force"]) == 0
    expected = {each.file_name: each.data for each in made} | {"mine.mid": b"mine"}
    assert files_in(folder) == expected


def test_in_short_it_takes_ten_lines_with_the_caution(
    paths: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    numbers = controller_numbers(ORGAN)
    assert main(["midi", paths[1]]) == 0
    (short,) = told(capsys.readouterr().out).values()
    assert short.startswith(numbers.summary)
    sent = [f"{knob} on {number}" for knob, number in numbers.numbers.items()]
    assert f"{', '.join(sent)} and the master on {numbers.master_number}." in short
    assert main(["midi", paths[1], "--midi", str(tmp_path / "midi")]) == 0
    written_too = capsys.readouterr().out
    assert written_too.count("\n") <= 10
    assert f"Every file can be loud. {CAUTION}" in joined(written_too.split("\n"))
    # A panel larger than there are numbers, of voices on several channels.
    voice = Voice("Bass", tuple(Destination(f"d{n}") for n in range(200)), channel=2)
    routes = tuple(Route(f"Bass/d{n}", f"K{n + 1}") for n in range(200))
    other = (Route("Organ/tone", "K201"),)
    organ = Voice("Organ", (Destination("tone"),), channel=3)
    big = Setup("Big", Surface.row(201, bits=10), (voice, organ), routes=(*routes, *other))
    save(tmp_path / "big.json", big)
    assert main(["midi", str(tmp_path / "big.json"), "--midi", str(tmp_path / "more")]) == 0
    out, _ = capsys.readouterr()
    assert out.count("\n") <= 10
    assert fits(out)
    parts = joined(out.split("\n"))
    assert "On channel 2 K1 on 1/33, " in parts
    assert "Without a number: " in parts
    assert "can be loud" not in parts


def test_something_sounds_and_what_knobs_send_is_kept(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder, path = tmp_path / "midi", tmp_path / "quay.json"
    first, *rest = ORGAN.voices
    setup = attrs.evolve(
        ORGAN,
        voices=(attrs.evolve(first, channel=4), *rest),
        sending=(KnobSending(ORGAN.routes[0].knob, 77, channel=4),),
    )
    save(path, setup)
    numbers = controller_numbers(setup)
    assert numbers.numbers[ORGAN.routes[0].knob] == 77
    made = sweep_files(setup, numbers.numbers, master_number=numbers.master_number, notes=True)
    assert main(["midi", str(path), "--midi", str(folder), "--notes", "--details"]) == 0
    out, _ = capsys.readouterr()
    assert files_in(folder) == {each.file_name: each.data for each in made}
    assert f"Held throughout: {first.name}, key 60 on channel 4" in " ".join(out.split())


def test_a_combination_can_be_auditioned(
    paths: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    folder = tmp_path / "midi"
    base, organ, _ = paths
    assert main(["combine", base, organ, "--midi", str(folder), "--json", "-"]) == 0
    out, _ = capsys.readouterr()
    setup = combined(ORGAN).setup
    numbers = controller_numbers(setup, fine=True)
    made = sweep_files(setup, numbers.numbers, master_number=numbers.master_number)
    assert files_in(folder) == {each.file_name: each.data for each in made}
    assert len(made) == len(setup.snapshots)
    asked = json.loads(out)["answers"]
    told_of = asked["controller numbers"]
    assert told_of["sentences"] == list(numbers.sentences)


def test_without_mido_it_says_what_to_install(
    paths: list[str],
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.setattr(importlib.util, "find_spec", lambda _: None)
    folder = tmp_path / "midi"
    assert main(["midi", paths[0], "--midi", str(folder)]) == 2
    assert "--midi: mido is not installed; install it: pip" in capsys.readouterr().err
    assert not folder.exists()
    assert main(["midi", paths[0]]) == 0
