"""The recipes of DEVELOPERS.md name the files that are to be touched, no more and no fewer."""

from __future__ import annotations

import ast
import re
from collections.abc import Callable
from pathlib import Path

import pytest

TOP = Path(__file__).parents[1]
DEVELOPERS = (TOP / "DEVELOPERS.md").read_text(encoding="utf-8")
TOUCHED = DEVELOPERS[DEVELOPERS.index("## What to touch") :].partition("\n## ")[0]
RECIPES = {each.partition("**")[0]: each for each in TOUCHED.split("\n* **")[1:]}
PACKAGE = sorted((TOP / "knobpack").rglob("*.py"))
OTHERS = [
    *(TOP / "knobpack").rglob("*.pyi"),
    *(TOP / "knobpack").rglob("*.json"),
    *(TOP / "tests").rglob("*.py"),
    *(TOP / "benchmarks").rglob("*.py"),
]


def named(recipe: str) -> list[Path]:
    """The files that a recipe names, each by the end of its path."""
    found = []
    for name in re.findall(r"`([\w/]+\.(?:pyi?|json))`", RECIPES[recipe]):
        paths = [each for each in (*PACKAGE, *OTHERS) if str(each).endswith(f"/{name}")]
        assert paths, name
        found += paths
    return found


def code_of(path: Path, name: str) -> list[ast.AST]:
    """All nodes of a file; none where it does not have the name at all, be it as a term."""
    text = path.read_text(encoding="utf-8")
    return list(ast.walk(ast.parse(text))) if name.lower() in text.lower() else []


def has(path: Path, name: str) -> bool:
    """Whether the code of a file, its docstrings apart, has a name."""
    kinds = ("id", "attr", "arg", "name")
    return any(name == getattr(node, kind, "") for node in code_of(path, name) for kind in kinds)


def tells_apart(path: Path, name: str) -> bool:
    """Whether a file has a class, or does for it what it does not for others."""
    for node in code_of(path, name):
        if isinstance(node, ast.ClassDef) and node.name == name:
            return True
        keys = node.keys if isinstance(node, ast.Dict) else []
        if name.lower() in [getattr(each, "value", "") for each in keys]:
            return True  # its term has words of its own
        asked: ast.AST | None = node.cls if isinstance(node, ast.MatchClass) else None
        if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "isinstance":
            asked = node.args[1]
        if asked and any(name == getattr(part, "id", "") for part in ast.walk(asked)):
            return True
    return False


@pytest.mark.parametrize("recipe", RECIPES)
def test_every_file_that_is_named_is_there(recipe: str) -> None:
    assert named(recipe)


@pytest.mark.parametrize("name", ["per_knob", "intrusions"])
def test_what_a_new_sort_of_effect_goes_by_is_read_all_over_the_solver(name: str) -> None:
    assert f"`{name}`" in RECIPES["A new sort of effect"]
    solver = TOP / "knobpack" / "solver"
    assert sum(has(each, name) for each in PACKAGE if solver in each.parents) > 5


@pytest.mark.parametrize(
    ("recipe", "name", "touched"),
    [
        ("A question", "why_shared", has),
        ("A rule", "Barred", tells_apart),
        ("A cost term", "mix_kinds", has),
        ("A cost term of another shape", "heap", has),
    ],
)
def test_what_came_so_stands_in_the_files_of_its_recipe(
    recipe: str, name: str, touched: Callable[[Path, str], bool]
) -> None:
    files = named(recipe)
    offering = [each for each in files if each.stem == "__init__"]
    # Of a folder that is named it is left open which of its files are touched.
    folders = re.findall(r"`([\w/]+/)`", RECIPES[recipe])
    there = [each for each in PACKAGE if not any(f"/{folder}" in str(each) for folder in folders)]
    assert {each for each in files if each in there and each not in offering} == {
        each for each in there if touched(each, name)
    }
    assert all(name.lower() in each.read_text(encoding="utf-8").lower() for each in files)
