"""Patch sheets as files: the name says in which form, whole or not at all."""

from __future__ import annotations

from pathlib import Path

import pytest

from knobpack.errors import InputError
from knobpack.files import save
from knobpack.sheets import PatchSheet, patch_sheet
from knobpack.words import Setup, Surface, Voice

SHEET = patch_sheet(
    Setup("Vorher", Surface.row(2)), Setup("Nachher №1", Surface.row(2), (Voice("明", (), 1),))
)


@pytest.mark.parametrize(
    ("name", "form"),
    [
        ("sheet.html", PatchSheet.page),
        ("sheet.md", PatchSheet.markdown),
        ("sheet.txt", PatchSheet.text),
        ("my sheet.v2.HTML", PatchSheet.page),
    ],
)
def test_the_name_says_in_which_form(name: str, form: object, tmp_path: Path) -> None:
    assert callable(form)
    path = tmp_path / name
    path.write_text("what was there before")
    save(path, SHEET)
    assert path.read_bytes() == form(SHEET).encode("utf-8")
    assert list(tmp_path.iterdir()) == [path]


@pytest.mark.parametrize("name", ["sheet.pdf", "sheet.csv", "sheet.mid"])
def test_another_ending_is_refused(name: str, tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"ends in \.json, \.html, \.md or \.txt"):
        save(tmp_path / name, SHEET)
    assert list(tmp_path.iterdir()) == []


def test_a_file_that_cannot_be_written_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="give a file that can be written") as caught:
        save(tmp_path / "none" / "sheet.md", SHEET)
    assert caught.value.field == str(tmp_path / "none" / "sheet.md")
    (tmp_path / "folder.md").mkdir()
    with pytest.raises(InputError, match="give a file that can be written"):
        save(tmp_path / "folder.md", SHEET)
    assert [path.name for path in tmp_path.iterdir()] == ["folder.md"]
