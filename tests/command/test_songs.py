"""``songs``: a show from its files to a folder, and the next song put in between."""

from __future__ import annotations

import sys
from io import BytesIO, TextIOWrapper
from pathlib import Path

import pytest

from knobpack import (
    Request,
    Route,
    Setup,
    Surface,
    files,
    move_home,
)
from knobpack.command.main import main
from knobpack.present.show_text import in_songs
from knobpack.show import allocate_show
from tests.command.show_of_command import BASS, ORGAN, PANEL


def routes(folder: Path) -> dict[str, dict[str, str]]:
    return {
        path.name: {r.destination: r.knob for r in files.load_setup(path).routes}
        for path in sorted(folder.glob("0*.json"))
    }


def test_a_show_is_written_to_a_folder_and_stays_as_it_is_when_a_song_comes(
    songs: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    friday = tmp_path / "friday"
    assert main(["songs", *songs, "--name", "Friday", "--into", str(friday)]) == 0
    told = capsys.readouterr()
    assert "SHOW  Friday" in told.out
    assert "2 setups, 2 patch sheets, 'show.json' and 'all songs.html' are in" in told.err
    before = routes(friday)
    assert list(before) == ["01 Opener.json", "02 Ballad.json"]
    assert (friday / "01 Opener.html").read_text().startswith("<!DOCTYPE html>")
    new = tmp_path / "Waltz.json"
    files.save(new, Request(PANEL, [ORGAN, BASS]))
    order = [str(friday / "01 Opener.json"), str(new), str(friday / "02 Ballad.json")]
    saturday = tmp_path / "saturday"
    assert main(["songs", *order, "--into", str(saturday), "--quiet"]) == 0
    after = routes(saturday)
    assert list(after) == ["01 Opener.json", "02 Waltz.json", "03 Ballad.json"]
    assert after["01 Opener.json"] == before["01 Opener.json"]
    assert after["03 Ballad.json"] == before["02 Ballad.json"]
    assert not capsys.readouterr().err
    assert main(["songs", *order, "--into", str(saturday), "--force"]) == 0
    said = "No sheet for 'Opener' and 'Ballad': as given, nothing is to be programmed in them. All"
    assert said in capsys.readouterr().err
    # Only what is new is to be programmed.
    assert [path.name for path in sorted(saturday.glob("0*.html"))] == ["02 Waltz.html"]


def test_a_set_list_is_the_show_that_was_written(
    songs: list[str], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    into = str(tmp_path / "friday")
    assert main(["songs", *songs, "--name", "Friday", "--break", "Opener", "--into", into]) == 0
    first = capsys.readouterr().out
    assert main(["songs", f"{into}/show.json", "--details"]) == 0
    again = capsys.readouterr().out
    found, points = again.split("WHAT THE HAND FINDS")[1].split("POINTS  fewer are better")
    assert found.strip() == first.split("WHAT THE HAND FINDS")[1].split("CAUTION")[0].strip()
    told = [line.split() for line in points.splitlines()]
    assert ["to", "be", "relearned:", "destinations", "0", "proven"] in told
    assert "1  Opener  stays as it is, then a break" in again
    assert "2 songs on 4 knobs, proven best." in first
    assert "2 songs on 4 knobs, as they are." in again
    assert main(["songs", f"{into}/show.json", f"{into}/show.json"]) == 2
    assert "give one set list" in capsys.readouterr().err


def test_a_song_is_put_into_a_set_list_and_it_is_told_what_that_costs(
    friday: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    new, sunday = tmp_path / "Waltz.json", tmp_path / "sunday"
    files.save(new, Request(PANEL, [ORGAN, BASS]))
    put_in = ["songs", friday, str(new), "--new-after", "opener"]
    assert main(put_in) == 0
    told = capsys.readouterr().out
    assert "The break after 'Opener' is after 'Waltz' now." in told
    told = told.split("WHAT THE CHANGE COSTS")[1]
    assert "3 routes are to be programmed: 3 in 'Waltz'." in told
    assert "--details tells what freeing the songs beside it" in told
    assert main([*put_in, "--into", str(sunday), "--details"]) == 0
    told = capsys.readouterr().out
    show = files.load_show(sunday / "show.json")
    assert [song.name for song in show.songs] == ["Opener", "Waltz", "Ballad"]
    assert show.breaks == ("Waltz",)
    assert [path.name for path in sunday.glob("0*.html")] == ["02 Waltz.html"]
    costs = told.split("WHAT THE CHANGE COSTS")[1]
    assert "3 routes are to be programmed: 3 in 'Waltz'." in costs
    # A break keeps what follows apart from it.
    assert costs.index("With 'Opener' free") < costs.index("With every song free")
    assert main(["songs", friday, str(new), "--details", "--json", str(tmp_path / "w.json")]) == 0
    assert "3  Waltz" in capsys.readouterr().out
    assert '"question": "show change"' in (tmp_path / "w.json").read_text()


def test_a_song_is_moved_in_a_set_list_and_no_route_with_it(
    friday: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    into = tmp_path / "sunday"
    assert main(["songs", friday, "--move", "opener", "--into", str(into)]) == 0
    costs = capsys.readouterr().out.split("WHAT THE CHANGE COSTS")[1]
    assert "Nothing is to be programmed." in costs
    show = files.load_show(into / "show.json")
    assert [song.name for song in show.songs] == ["Ballad", "Opener"]
    assert main(["songs", friday, "--move", "Encore"]) == 2
    assert "--move" in capsys.readouterr().err


def test_a_setup_that_is_put_in_stays_until_it_is_freed_and_so_does_all_else(
    friday: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    new, into = tmp_path / "Waltz.json", tmp_path / "sunday"
    routes_of_it = [Route("Organ/level", "K4"), Route("Organ/drive", "K3")]
    files.save(new, Setup("Slow Waltz", PANEL, [ORGAN], routes=routes_of_it))
    assert main(["songs", friday, str(new)]) == 0
    told = capsys.readouterr().out
    assert "3 songs on 4 knobs, as they are." in told
    assert "'Slow Waltz' stays as it is; --free 'Slow Waltz' lays it out" in told
    ways = told.split("WHAT THE CHANGE COSTS")[1]
    assert ways.index("All else stays: more") < ways.index("With 'Slow Waltz' free: less")
    assert "2 routes are to be programmed: 2 in 'Slow Waltz'." in ways
    assert "--details" in told
    assert main(["songs", friday, str(new), "--free", "SLOW WALTZ"]) == 0
    told = capsys.readouterr().out
    assert "3 songs on 4 knobs, proven best." in told
    assert "2 of 2 destinations in several songs are on one knob throughout." in told
    assert "stays as it is;" not in told
    assert main(["songs", friday, str(new), "--free-all", "--into", str(into)]) == 0
    told = capsys.readouterr().out
    assert "stays as it is" not in told
    assert "With every song free: less" not in told
    assert "--details tells what freeing" not in told


def test_capitals_are_looked_at_where_two_songs_differ_in_them_alone(
    friday: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    new = tmp_path / "OPENER.json"
    files.save(new, Request(PANEL, [ORGAN]))
    assert main(["songs", friday, str(new), "--free", "opener"]) == 2
    assert "name a song; close to it: Opener" in capsys.readouterr().err
    assert main(["songs", friday, str(new), "--drop", "OPENER"]) == 0
    assert "2 songs on 4 knobs" in capsys.readouterr().out


def test_a_song_of_a_setup_that_is_played_already_is_called_as_its_file(tmp_path: Path) -> None:
    rig = Setup("House rig", PANEL, [ORGAN], routes=[Route("Organ/level", "K1")])
    for name in ("early", "late", "last"):
        files.save(tmp_path / f"{name}.json", rig)
    early, late, last = (str(tmp_path / f"{name}.json") for name in ("early", "late", "last"))
    into = tmp_path / "friday"
    assert main(["songs", early, late, "--into", str(into), "--quiet"]) == 0
    assert main(["songs", f"{into}/show.json", last, "--into", f"{into}2", "--quiet"]) == 0
    found = files.load_show(f"{into}2/show.json")
    assert [song.name for song in found.songs] == ["early", "late", "last"]


def test_a_song_is_dropped(friday: str, tmp_path: Path) -> None:
    into = tmp_path / "short"
    assert main(["songs", friday, "--drop", "Opener", "--into", str(into), "--quiet"]) == 0
    show = files.load_show(into / "show.json")
    assert ([song.name for song in show.songs], show.breaks) == (["Ballad"], ())
    assert list(into.glob("0*.html")) == []


def test_a_show_on_a_spare_panel_is_programmed_from_nothing(
    friday: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    spare, into = tmp_path / "spare.json", tmp_path / "away"
    files.save(spare, Setup("Spare", Surface.row(2)))
    assert main(["songs", friday, "--panel", str(spare), "--into", str(into)]) == 0
    told = capsys.readouterr().out
    assert "2 songs on 2 knobs" in told
    assert "\n  'Ballad':\n    K" in told.split("WHAT IS OTHERWISE THERE")[1]
    said = (
        "laid out anew here, as at home where they can be. At home, 2 of 2 destinations in several"
    )
    assert said in " ".join(told.split())
    assert len(list(into.glob("0*.html"))) == 2
    for path in into.glob("0*.json"):
        setup = files.load_setup(path)
        assert len(setup.surface.knobs) == 2
        assert setup.home is not None
        assert move_home(setup).setup == files.load_setup(Path(friday).parent / path.name)


def test_songs_of_different_panels_are_told_panel_by_panel_and_what_takes_one_to_another(
    friday: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    files.save(tmp_path / "small.json", Setup("Small", Surface.row(2), [ORGAN]))
    small, moved = str(tmp_path / "small.json"), str(tmp_path / "moved.json")
    opener = str(Path(friday).parent / "01 Opener.json")
    for given in ([opener, small], [friday, small], [small, opener, "--panel", small]):
        assert main(["songs", *given]) == 2
        told = capsys.readouterr().err
        assert "'Small' on 2 knobs (K1 and K2) at 7 bits" in told
        assert f" on {len(PANEL.knobs)} knobs (" in told
        assert "knobpack move FILE PANEL --setup FILE" in told
    assert main(["move", small, opener, "--setup", moved]) == 0
    assert main(["songs", opener, moved]) == 0


def test_what_is_written_besides(songs: list[str], tmp_path: Path) -> None:
    page, picture, told = (tmp_path / name for name in ("s.html", "s.svg", "s.json"))
    outputs = ["--page", str(page), "--picture", str(picture), "--json", str(told)]
    assert main(["songs", *songs, *outputs, "--break", "Opener", "--quiet"]) == 0
    assert "After the break that follows" in page.read_text()
    assert "<svg" in picture.read_text()
    assert '"question": "show"' in told.read_text()


@pytest.mark.parametrize("verb", ["show", "sheet", "midi", "audit", "edit", "combine"])
def test_where_a_set_list_will_not_do_a_song_of_it_is_named(
    verb: str, friday: str, capsys: pytest.CaptureFixture[str]
) -> None:
    song = str(Path(friday).parent / "01 Opener.json")
    more = {"edit": ["own", "Organ/level"], "combine": [song]}
    assert main([verb, friday, *more.get(verb, [])]) == 2
    assert f"'{song}'; songs, ask and jumps take a set list" in capsys.readouterr().err


def test_a_show_in_one_file_is_taken_wherever_a_set_list_is(
    friday: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    whole = str(tmp_path / "whole.json")
    files.save(whole, files.load_show(friday))
    for words in (["songs"], ["jumps"], ["ask", "odd-songs"]):
        told = []
        for path in (friday, whole, "-"):
            monkeypatch.setattr(sys, "stdin", TextIOWrapper(BytesIO(Path(whole).read_bytes())))
            assert main([words[0], path, *words[1:]]) == 0
            told.append(capsys.readouterr().out)
        assert told[0] == told[1] == told[2] != ""
    assert main(["show", whole]) == 2
    assert "files of their own with: knobpack songs FILE --into" in capsys.readouterr().err
    laid_out = str(tmp_path / "laid.json")
    files.save(laid_out, allocate_show(files.load_show(friday)))
    assert files.load_show(laid_out) == files.load(laid_out).as_laid_out()  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("more", "said"),
    [
        (["--free", "Balad"], "close to it: Ballad"),
        (["--break", "Encore"], "--break"),
        (["--drop", "Openr"], "close to it: Opener"),
        (["--new-after", "Opener"], "give a set list too"),
        (["--setup", "one.json"], "there is no one setup to write"),
        (["--sheet", "one.html"], "there is no one setup to write"),
    ],
)
def test_what_will_not_do_is_refused(
    songs: list[str],
    more: list[str],
    said: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    monkeypatch.chdir(tmp_path)
    there = set(tmp_path.iterdir())
    assert main(["songs", *songs, *more, "--into", "friday"]) == 2
    assert said in capsys.readouterr().err
    assert set(tmp_path.iterdir()) == there


def test_no_two_songs_are_called_alike(
    songs: list[str], capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["songs", songs[0], songs[0]]) == 2
    assert "give each song a name of its own" in capsys.readouterr().err


@pytest.mark.parametrize(
    ("numbers", "told"),
    [
        ((1, 2, 3), "1 to 3"),
        ((1, 2, 4, 5, 6, 8), "1, 2, 4 to 6 and 8"),
        ((2,), "2"),
        ((1, 2, 3, 4, 5, 6, 7, 8, 9), "all"),
    ],
)
def test_songs_are_told_by_their_numbers(numbers: tuple[int, ...], told: str) -> None:
    assert in_songs(numbers, 9) == told
