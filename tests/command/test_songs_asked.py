"""A set list asked what shows are asked, and what jumps from song to song in it."""

from __future__ import annotations

import json
import re
import sys
from io import BytesIO, TextIOWrapper
from pathlib import Path

import pytest

from knobpack import (
    KnobTravel,
    Route,
    Setup,
    Travel,
    files,
)
from knobpack.command.main import main
from knobpack.show import allocate_show
from tests.command.show_of_command import ORGAN, PANEL


def test_a_set_list_is_asked_which_song_to_free_and_which_is_the_odd_one(
    friday: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    new, into = tmp_path / "Waltz.json", tmp_path / "sunday"
    routes_of_it = [Route("Organ/level", "K4"), Route("Organ/drive", "K3")]
    files.save(new, Setup("Waltz", PANEL, [ORGAN], routes=routes_of_it))
    assert main(["songs", friday, str(new), "--into", str(into), "--quiet"]) == 0
    sunday, told = f"{into}/show.json", tmp_path / "told.json"
    found = allocate_show(files.load_show(sunday))
    asked = ["worth-freeing", "then", "odd-songs"]
    assert main(["ask", sunday, *asked]) == 0
    text = " ".join(capsys.readouterr().out.split())
    for heading, answer in (
        ("WORTH FREEING", found.worth_freeing()),
        ("ODD SONGS", found.odd_songs()),
    ):
        assert " ".join((heading, *answer.sentences)) in text
    assert "With 'Waltz' free: less to relearn" in text
    assert main(["ask", sunday, *asked, "--json", str(told)]) == 0
    answers = json.loads(told.read_text())["answers"]
    assert list(answers) == ["worth-freeing", "odd-songs"]


def test_a_set_list_is_asked_why_something_is_elsewhere(
    friday: str, capsys: pytest.CaptureFixture[str]
) -> None:
    found = allocate_show(files.load_show(friday))
    here = found.song("Ballad").knob_of("Organ/drive")
    for knob in PANEL.knob_names:
        assert main(["ask", friday, "why-elsewhere", "ballad", "Organ/drive", knob]) == 0
        text = " ".join(capsys.readouterr().out.split())
        told = found.why_elsewhere("Ballad", "Organ/drive", knob)
        assert f"ELSEWHERE ballad Organ/drive {knob} Organ/drive is on {here} in" in text
        stays = "here all else of it may move, and the other songs stay."
        assert text.endswith(" ".join((stays, *told.sentences)))
        assert ("neither better nor worse" in text) == (knob == here)
    # The knob that it is on in the other song.
    assert main(["ask", friday, "why-elsewhere", "Ballad", "Organ/drive"]) == 0
    assert f"Organ/drive on {here} in 'Ballad'" in capsys.readouterr().out
    for wrong, said in (
        (["Balad", "Organ/drive"], "close to it: Ballad"),
        (["Ballad", "Organ/driv"], "why-elsewhere: 'Organ/driv' will not do; name a destination"),
        (["Ballad", "Organ/drive", "K9"], "why-elsewhere: 'K9' will not do; name a knob"),
    ):
        assert main(["ask", friday, "why-elsewhere", *wrong]) == 2
        assert said in capsys.readouterr().err
        others = ["odd-songs", "then", "why-elsewhere", *wrong, "then", "worth-freeing"]
        assert main(["ask", friday, *others]) == 2
        out, err = capsys.readouterr()
        assert said in err
        assert re.findall("^[A-Z ]{5,}$", out, re.MULTILINE) == ["ODD SONGS", "WORTH FREEING"]


def test_a_show_is_asked_what_shows_are_and_a_setup_is_not(
    friday: str, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["ask", friday, "why", "Organ/level"]) == 2
    assert "why: this is asked of a request or setup; here give" in capsys.readouterr().err
    assert main(["ask", str(Path(friday).parent / "01 Opener.json"), "odd-songs"]) == 2
    assert "odd-songs: this is asked of a set list" in capsys.readouterr().err
    monkeypatch.setattr(sys, "stdin", TextIOWrapper(BytesIO(Path(friday).read_bytes())))
    assert main(["ask", "-", "odd-songs"]) == 2
    assert "give one set list, as a file" in capsys.readouterr().err


def test_what_jumps_from_song_to_song_is_told_of_a_set_list(
    friday: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["jumps", friday]) == 0
    assert "Nothing that the master moves jumps" in capsys.readouterr().out
    down = KnobTravel("K2", Travel(127, 0))
    last = Setup("Coda", PANEL, [ORGAN], routes=[Route("Organ/level", "K2")], travels=[down])
    files.save(tmp_path / "Coda.json", last)
    into = tmp_path / "sunday"
    assert main(["songs", friday, str(tmp_path / "Coda.json"), "--into", str(into)]) == 0
    capsys.readouterr()
    assert main(["jumps", str(into / "show.json")]) == 0
    told = " ".join(capsys.readouterr().out.split())
    assert "JUMPS Tonight, from song to song; the worst first 'Coda' after 'Ballad'" in told
    assert "with the master at 0: Organ/level (K2) from 0 to 127 at once (100 %)." in told
