"""Whatever is saved: the ending of the name says in which form; what has none is refused."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest

from knobpack import files, pictures, tables
from knobpack.errors import InputError
from knobpack.words import Setup
from tests.files.answers import allocation

FOUND = allocation()
SETUP: Setup = FOUND.setup("Tonight")


@pytest.mark.parametrize(
    ("name", "value", "starts"),
    [
        ("t.json", SETUP, b"{"),
        ("t", SETUP, b"{"),
        ("t.csv", SETUP, b"\xef\xbb\xbfknob"),
        ("why.html", FOUND.explain(), b"<!doctype html>"),
        ("why.json", FOUND.explain(), b"{"),
        ("panel.svg", pictures.draw_surface(SETUP), b"<?xml"),
        ("panel.pdf", pictures.draw_surface(SETUP), b"%PDF"),
        ("panel.PNG", pictures.draw_surface(SETUP).get_figure(), b"\x89PNG"),
    ],
)
def test_the_name_says_in_which_form(name: str, value: Any, starts: bytes, tmp_path: Path) -> None:
    files.save(tmp_path / name, value)
    assert (tmp_path / name).read_bytes().lower().startswith(starts.lower())
    assert [path.name for path in tmp_path.iterdir()] == [name]
    files.save(tmp_path / f"again {name}", value)
    assert (tmp_path / f"again {name}").read_bytes() == (tmp_path / name).read_bytes()


def test_a_setup_is_the_same_as_a_table(tmp_path: Path) -> None:
    files.save(tmp_path / "t.csv", SETUP)
    assert tables.load(tmp_path / "t.csv", SETUP) == SETUP


@pytest.mark.parametrize(
    ("name", "value", "right"),
    [
        ("r.csv", FOUND.request, r"Request: give a file that ends in \.json"),
        ("r.docx", SETUP, r"Setup: give a file that ends in \.json or \.csv"),
        ("r.html", SETUP, r"Setup: give a file that ends in \.json or \.csv"),
        ("why.mid", FOUND.explain(), r"that ends in \.json or \.html"),
        ("panel.json", pictures.draw_surface(SETUP), r"that ends in \.svg, \.png or \.pdf"),
    ],
)
def test_what_has_no_such_form_is_refused(
    name: str, value: Any, right: str, tmp_path: Path
) -> None:
    with pytest.raises(InputError, match=right) as refused:
        files.save(tmp_path / name, value)
    assert refused.value.field == "save.path"
    assert list(tmp_path.iterdir()) == []
