"""Imports run one way: the table of DEVELOPERS.md says which, and this reads it."""

from __future__ import annotations

import ast
import re
from collections.abc import Iterator
from pathlib import Path

TOP = Path(__file__).parents[1]
DEVELOPERS = (TOP / "DEVELOPERS.md").read_text(encoding="utf-8")


def rows() -> dict[str, int]:
    """The row of each room: a folder or module right below ``knobpack``, by its name."""
    table = DEVELOPERS[DEVELOPERS.index("| place | what it holds |") :]
    table = table[: table.index("\n\n")]
    row_of: dict[str, int] = {}
    for number, line in enumerate(table.splitlines()[2:]):
        for place in re.findall(r"`([^`]+)`", line.split("|")[1]):
            room = place.removeprefix("knobpack/").strip("/").removesuffix(".py")
            row_of.setdefault(room, number)
    return row_of


def imports() -> Iterator[tuple[str, str, Path]]:
    """Each import of one room by another, with the file it stands in."""
    for path in sorted((TOP / "knobpack").rglob("*.py")):
        importer = path.relative_to(TOP / "knobpack").parts[0].removesuffix(".py")
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.ImportFrom) and node.module == "knobpack":
                imported = [alias.name for alias in node.names]
            elif isinstance(node, ast.ImportFrom) and (node.module or "").startswith("knobpack."):
                imported = [str(node.module).split(".")[1]]
            elif isinstance(node, ast.Import):
                imported = [
                    alias.name.split(".")[1]
                    for alias in node.names
                    if alias.name.startswith("knobpack.")
                ]
            else:
                continue
            for room in imported:
                if room != importer and not importer.startswith("__") and not room.startswith("__"):
                    yield importer, room, path


def test_every_room_has_a_row() -> None:
    rooms = {
        path.name.removesuffix(".py")
        for path in (TOP / "knobpack").iterdir()
        if not path.name.startswith(("_", "."))
        and (path.suffix == ".py" or (path / "__init__.py").exists())
    }
    assert rooms - set(rows()) == set()
    assert {place for place in rows() if "/" not in place} - rooms == {
        "tests",
        "notebooks",
        "benchmarks",
    }


def test_nothing_is_imported_from_a_row_below_but_what_the_text_names() -> None:
    row = rows()
    up = {(importer, room) for importer, room, _ in imports() if row[room] > row[importer]}
    named = set(re.findall(r"`(\w+)`\s→\s`(\w+)`", DEVELOPERS))
    assert up == named
