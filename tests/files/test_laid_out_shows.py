"""Shows laid out as files: read back the same with their proofs, and checked again."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from knobpack import InputError, Setup, Surface, files
from knobpack.command.main import main
from knobpack.files import dumps, from_plain, loads, to_plain
from knobpack.show import ShowAllocation, allocate_show
from tests.files.test_allocations import at, leaves
from tests.oracles.differential_shows import a_show
from tests.show.evening import laid_out

PLAIN = to_plain(laid_out())


@pytest.mark.parametrize("seed", range(12))
def test_a_show_is_read_back_the_same_and_so_is_one_that_stays_as_it_is(seed: int) -> None:
    found = allocate_show(a_show(seed), more_joined=seed % 3)
    assert loads(dumps(found)) == found
    kept = allocate_show(found.as_laid_out())
    assert loads(dumps(kept)) == kept


def test_so_are_one_that_was_stopped_and_one_on_another_panel() -> None:
    stopped = allocate_show(laid_out().show, effort=0)
    assert stopped.stopped == "effort"
    for found in (stopped, laid_out().on_panel(Surface.row(2)).allocation):
        again = loads(dumps(found))
        assert again == found
        assert isinstance(again, ShowAllocation)
        assert again.sentences == found.sentences


def test_what_follows_from_the_rest_may_be_left_out() -> None:
    kept = ("knobpack", "version", "definition", "show", "songs", "alone", "tiers")
    short = {key: PLAIN[key] for key in kept}
    short["songs"] = [{"routes": each["routes"]} for each in PLAIN["songs"]]
    short["songs"][1]["travels"] = PLAIN["songs"][1]["travels"]
    with pytest.raises(InputError, match="does not follow"):
        from_plain(short)
    short["songs"] = PLAIN["songs"]
    assert from_plain(short) == laid_out()


def test_a_show_of_an_earlier_version_may_have_joined_more_than_songs_now_may() -> None:
    said = to_plain(allocate_show(a_show(2), more_joined=3))  # one joins more beside an essential
    del said["more_joined"]
    with pytest.raises(InputError, match="'S0' joins 1 more than it may"):
        from_plain(said)
    read = from_plain({**said, "definition": 5})
    assert isinstance(read, ShowAllocation)
    assert read.more_joined == 0
    assert [each.over for each in read.joined] == [1, 0, 0]
    assert not read.proven


def test_nothing_that_is_checked_can_be_altered() -> None:
    # A free layer is as good as another.
    checked = [
        path
        for key in ("songs", "prices", "stopped")
        for path in leaves(PLAIN[key], key)
        if path[-1] != "new"
    ]
    assert len(checked) > 100
    for path in checked:
        wrong = copy.deepcopy(PLAIN)
        value = at(wrong, path)
        at(wrong, path[:-1])[path[-1]] = value + 1 if type(value) is int else [value]
        with pytest.raises(InputError):
            from_plain(wrong)


@pytest.mark.parametrize(
    ("change", "field", "right"),
    [
        (lambda it: it["tiers"][3].update(value=0), "tiers[3].value", "the checker finds"),
        (lambda it: it["tiers"][3].update(bound=10**15), "tiers[3].bound", "a whole number up to"),
        (lambda it: it["tiers"][8].update(proven=1), "tiers[8].proven", "true only where"),
        (lambda it: it["songs"][0]["routes"][0].update(knob="K9"), "songs", "name a knob"),
        (lambda it: it["songs"][2]["routes"].pop(), "songs", "'Waltz' is worse than it is alone"),
        (lambda it: it["songs"].pop(), "songs", "give a list of 4 layouts, one for each song"),
        (lambda it: it["songs"].append(3), "songs", "give a list of 4 layouts"),
        (lambda it: it["songs"].__setitem__(0, 3), "songs[0]", "give an object"),
        (lambda it: it.pop("alone"), "alone", "this key must be there"),
        (lambda it: it["alone"][0].pop("tiers"), "alone[0].tiers", "this key must be there"),
        (lambda it: it["alone"][0]["tiers"][5].update(value=999), "alone[0].tiers[5].value", ""),
        (lambda it: it["show"]["songs"][0].update(name=3), "show.songs[0].name", "a name is text"),
        (lambda it: it.update(songz=[]), "songz", "close to it: songs"),
        (lambda it: it.update(more_joined=-1), "more_joined", "from 0 to 1000"),
        (lambda it: it.update(stopped="tea"), "stopped", "give null, or one of"),
        (lambda it: it.pop("show"), "show", "this key must be there"),
    ],
)
def test_what_is_false_in_one_is_named(
    change: Callable[[Any], object], field: str, right: str
) -> None:
    wrong = copy.deepcopy(PLAIN)
    change(wrong)
    with pytest.raises(InputError) as refused:
        from_plain(wrong)
    assert refused.value.field == field
    assert right in refused.value.right


def test_the_file_that_will_not_do_is_told(tmp_path: Path) -> None:
    path, wrong = tmp_path / "friday.json", copy.deepcopy(PLAIN)
    wrong["tiers"][3]["value"] = 0
    path.write_text(json.dumps(wrong))
    with pytest.raises(InputError) as refused:
        files.load(path)
    assert refused.value.file == str(path)


def test_the_verbs_take_a_show_that_was_saved(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    saved, into = str(tmp_path / "friday.json"), tmp_path / "again"
    files.save(saved, laid_out())
    assert main(["ask", saved, "worth-freeing", "then", "odd-songs"]) == 0
    assert main(["jumps", saved]) == 0
    assert main(["songs", saved, "--into", str(into)]) == 0
    again = files.load_show(into / "show.json")
    names = [song.name for song in laid_out().show.songs]
    assert [song.name for song in again.songs] == names
    for name, song in zip(names, again.songs, strict=True):
        assert isinstance(song.played, Setup)
        assert song.played.layout == laid_out().setup(name).layout
    capsys.readouterr()
    assert main(["ask", saved, "why-elsewhere", "Wals", "Organ/level"]) != 0
    assert "Waltz" in capsys.readouterr().err
    assert main(["audit", saved]) != 0
    assert "holds a show" in capsys.readouterr().err
