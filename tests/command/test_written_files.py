"""Files are written all together, or none."""

from __future__ import annotations

from pathlib import Path

import pytest

from knobpack.command.written_files import write_all
from knobpack.errors import InputError
from knobpack.storage.disk import write_together


def held(folder: Path) -> dict[str, bytes]:
    return {path.name: path.read_bytes() for path in folder.iterdir()}


def test_a_folder_is_made_for_the_files(tmp_path: Path) -> None:
    folder = tmp_path / "new"
    write_all({folder / "a": b"one", folder / "b": b""}, force=False)
    assert held(folder) == {"a": b"one", "b": b""}


def test_a_folder_that_was_not_there_is_gone_again(tmp_path: Path) -> None:
    folder = tmp_path / "new"
    (tmp_path / "b").mkdir()
    with pytest.raises(InputError, match="Is a directory"):
        write_all({tmp_path / "c": b"", folder / "a": b"", tmp_path / "b": b""}, force=True)
    assert [path.name for path in tmp_path.iterdir()] == ["b"]


def test_what_was_there_stays(tmp_path: Path) -> None:
    (tmp_path / "a").write_text("old")
    (tmp_path / "mine").write_text("mine")
    contents = {tmp_path / name: b"new" for name in ("a", "c")}
    with pytest.raises(InputError, match="--force"):
        write_all(contents, force=False)
    assert held(tmp_path) == {"a": b"old", "mine": b"mine"}
    with pytest.raises(InputError, match="No such file"):
        write_together([*contents.items(), (tmp_path / "none" / "b", b"new")])
    assert held(tmp_path) == {"a": b"old", "mine": b"mine"}
    write_all(contents, force=True)
    assert held(tmp_path) == {"a": b"new", "c": b"new", "mine": b"mine"}


@pytest.mark.parametrize("folder", ["none/new", "file/new", "x" * 5000, "two\0parts"])
def test_a_folder_that_cannot_be_made_is_refused(folder: str, tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(InputError, match="give a folder that can be made"):
        write_all({Path(f"{tmp_path}/{folder}/a"): b""}, force=False)
    assert [path.name for path in tmp_path.iterdir()] == ["file"]
