"""Set lists: a show is read back as it was written, and what is wrong is named by its path."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from knobpack import FileError, InputError, Layout, Request, allocate_request, files
from knobpack.show import Show, Song
from tests.show.evening import BASS, ORGAN, PANEL, PROGRAMMED, SHOW


def test_a_show_is_read_back(tmp_path: Path) -> None:
    allocation = allocate_request(Request(PANEL, [BASS, ORGAN]))
    songs = [
        *SHOW.songs,
        Song("A-B: 100 %", SHOW.songs[0].played, {"Organ": "Keys"}),
        Song("Bis", allocation, free=True),
        Song("Coda", PROGRAMMED, brings=["Bass"]),
    ]
    show = Show("Samstag", songs, ["Bis"])
    path = tmp_path / "show.json"
    files.save(path, show)
    assert files.load_show(path) == show
    assert sorted(each.name for each in tmp_path.iterdir()) == [
        *("01 Opener.json", "02 Ballad.json", "03 Waltz.json", "04 Encore.json"),
        *("05 A-B_ 100 _.json", "06 Bis.json", "07 Coda.json", "show.json"),
    ]
    again = path.read_bytes()
    files.save(path, files.load_show(path))
    assert path.read_bytes() == again


@pytest.mark.parametrize(
    ("changed", "field", "right"),
    [
        ({"knobpack": "setup"}, "knobpack", '"show"'),
        ({"nam": "x"}, "nam", "close to it: name"),
        ({"songs": "x"}, "songs", "a list"),
        ({"songs": ["x"]}, "songs[0]", '"file"'),
        ({"songs": [{"name": "A"}]}, "songs[0].file", "must be there"),
        ({"songs": [{"name": "A", "fil": "a"}]}, "songs[0].fil", "close to it: file"),
        ({"songs": [{"name": "A", "file": 3}]}, "songs[0].file", "a name"),
        ({"songs": [{"name": "A", "file": ".."}]}, "songs[0].file", "no path"),
        ({"songs": [{"name": "A", "file": "a\\b"}]}, "songs[0].file", "no path"),
        ({"songs": [{"name": "A", "file": "../a"}]}, "songs[0].file", "a name"),
        ({"songs": [{"name": "A", "file": "a", "free": 1}]}, "songs[0].free", "true"),
        ({"songs": [{"name": "A", "file": "a", "brings": [1]}]}, "songs[0].brings[0]", "give text"),
        ({"songs": [{"name": "A", "file": "a", "roles": [1]}]}, "songs[0].roles[0]", '"role"'),
        ({"name": ""}, "name", "a name"),
    ],
)
def test_what_is_wrong_is_named(
    changed: dict[str, Any], field: str, right: str, tmp_path: Path
) -> None:
    path = tmp_path / "show.json"
    whole = {"knobpack": "show", "version": 1, "name": "Friday", "songs": []}
    path.write_text(json.dumps(whole | changed))
    with pytest.raises(InputError) as refused:
        files.load_show(path)
    assert refused.value.field == field
    assert right in str(refused.value)


def test_songs_that_are_not_there_or_no_songs_are_named(tmp_path: Path) -> None:
    path = tmp_path / "show.json"
    listed = {"name": "A", "file": "a.json"}
    path.write_text(json.dumps({"knobpack": "show", "version": 1, "name": "F", "songs": [listed]}))
    with pytest.raises(FileError, match=r"a\.json"):
        files.load_show(path)
    files.save(tmp_path / "a.json", Layout())
    with pytest.raises(InputError, match="a request, an allocation or a setup"):
        files.load_show(path)
