"""Folders: several files are written, all of them or none of the new ones."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from knobpack.errors import InputError
from knobpack.present.folders import write_all


def refuse(path: Path) -> None:
    raise InputError(str(path), "full", "give more room")


def test_a_folder_is_made_for_the_files(tmp_path: Path) -> None:
    folder = tmp_path / "new"
    write_all(str(folder), {"a": lambda path: path.write_text("one"), "b": Path.touch})
    assert {path.name: path.read_text() for path in folder.iterdir()} == {"a": "one", "b": ""}


def test_a_folder_that_was_not_there_is_gone_again(tmp_path: Path) -> None:
    folder = tmp_path / "new"
    with pytest.raises(InputError, match="give more room"):
        write_all(str(folder), {"a": Path.touch, "b": refuse})
    assert list(tmp_path.iterdir()) == []


def test_what_was_there_stays(tmp_path: Path) -> None:
    (tmp_path / "a").write_text("old")
    (tmp_path / "mine").write_text("mine")
    writes: dict[str, Callable[[Path], object]] = {
        "a": lambda path: path.write_text("new"),
        "b": lambda path: path.touch(),
        "c": refuse,
    }
    with pytest.raises(InputError, match="give more room"):
        write_all(str(tmp_path), writes)
    assert {path.name: path.read_text() for path in tmp_path.iterdir()} == {
        "a": "new",
        "mine": "mine",
    }


@pytest.mark.parametrize("folder", ["none/new", "file/new", "x" * 5000, "two\0parts"])
def test_a_folder_that_cannot_be_made_is_refused(folder: str, tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    with pytest.raises(InputError, match="give a folder that can be made"):
        write_all(f"{tmp_path}/{folder}", {"a": Path.touch})
    assert [path.name for path in tmp_path.iterdir()] == ["file"]
