"""What the package offers at its top, and that it costs next to nothing to import."""

from __future__ import annotations

import ast
import importlib
import importlib.metadata
import io
import pydoc
import re
import subprocess
import sys
import tomllib
from pathlib import Path

import attrs
import pytest
from hatchling.metadata.core import ProjectMetadata
from hatchling.plugin.manager import PluginManager

import knobpack

STUB = Path(knobpack.__file__).with_suffix(".pyi")


def stubbed(stub: Path = STUB) -> dict[str, str]:
    """The module that type checkers are told for each name."""
    found: dict[str, str] = {}
    imports = [n for n in ast.parse(stub.read_text("utf-8")).body if isinstance(n, ast.ImportFrom)]
    for module, alias in ((str(node.module), alias) for node in imports for alias in node.names):
        if alias.name == "*":
            found |= dict.fromkeys(importlib.import_module(module).__all__, module)
        else:
            assert alias.asname == alias.name
            found[alias.name] = module
    return found


NAMES = set(stubbed())
SCREEN = 100, 50
"""Columns and lines of a screen."""

MODULES = {name for name, module in stubbed().items() if module == "knobpack"}


def test_type_checkers_are_told_what_is_there() -> None:
    listed = {name for name in dir(knobpack) if not name.startswith("__")}
    assert listed == NAMES
    assert "__version__" in dir(knobpack)
    for name, module in stubbed().items():
        home = importlib.import_module(f"knobpack.{name}" if name in MODULES else module)
        there = getattr(knobpack, name)
        assert there is (home if name in MODULES else getattr(home, name))


def test_the_top_is_small_and_its_index_names_all_of_it() -> None:
    told = str(knobpack.__doc__)
    assert {name for name in NAMES if not re.search(rf"\b{name}\b", told)} == set()
    assert len(NAMES - MODULES) <= 46
    help_text = io.StringIO()
    pydoc.Helper(output=help_text).help("knobpack")
    lines = help_text.getvalue().splitlines()
    assert sum(1 + len(line) // SCREEN[0] for line in lines) <= 2 * SCREEN[1]


@pytest.mark.parametrize("module", sorted(MODULES))
def test_a_module_is_there_without_an_import_of_its_own(
    module: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    getattr(knobpack, module)
    monkeypatch.delattr(knobpack, module)
    monkeypatch.delitem(sys.modules, f"knobpack.{module}")
    assert getattr(knobpack, module).__name__ == f"knobpack.{module}"


@pytest.mark.parametrize("module", sorted(MODULES))
def test_a_module_offers_what_it_says_and_no_more_in_two_places(module: str) -> None:
    home = importlib.import_module(f"knobpack.{module}")
    assert len(home.__all__) == len(set(home.__all__))
    for name in home.__all__:
        there = getattr(home, name)
        assert getattr(knobpack, name, there) is there or module in BESIDE
        # Every value shows itself in a notebook.
        assert not attrs.has(there) or hasattr(there, "_repr_html_"), name


def test_a_star_imports_what_stands_at_the_top() -> None:
    found: dict[str, object] = {}
    exec("from knobpack import *", found)  # noqa: S102 - our own text
    told = {name for name in dir(knobpack) if not name.startswith("_")}
    assert {name for name in found if not name.startswith("_")} == told


BESIDE = {"files", "tables"}
"""Modules whose functions are called as in others: they are used by the name of the module."""


def test_a_library_that_is_missing_is_named_in_one_line() -> None:
    code = "import sys\nsys.modules['numpy'] = None\nsys.argv[1:] = ['demo']\n"
    code += "from knobpack.__main__ import run\nsys.exit(run())"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, check=False)  # noqa: S603
    assert done.stdout == b""
    assert done.stderr.decode().splitlines() == [
        "knobpack: numpy is not installed here: python -m pip install numpy"
    ]
    assert done.returncode == 1


def test_the_command_is_installed_under_the_name_of_the_package() -> None:
    root = Path(knobpack.__file__).parents[1]
    project = tomllib.loads((root / "pyproject.toml").read_text("utf-8"))["project"]
    ((name, where),) = project["scripts"].items()
    module, _, function = where.partition(":")
    assert name == "knobpack"
    assert callable(getattr(importlib.import_module(module), function))


def test_no_link_of_the_metadata_leads_nowhere() -> None:
    root = Path(knobpack.__file__).parents[1]
    text = ProjectMetadata(str(root), PluginManager()).core.readme
    assert re.findall(r"\]\((?!https?://)", text) == []
    told = re.sub(r"!\[.*\)\n+|\[(.*?)\]\(.*?\)", r"\1", (root / "README.md").read_text("utf-8"))
    assert text == told
    assert "for_players" in text


def test_a_name_that_is_not_there_is_refused() -> None:
    with pytest.raises(AttributeError, match="no attribute 'alocate'"):
        _ = knobpack.alocate  # type: ignore[attr-defined]
    with pytest.raises(AttributeError, match=r"in knobpack\.questions"):
        getattr(knobpack, "why_not")  # noqa: B009 - checkers know it is not there


def test_the_version_is_that_of_the_distribution() -> None:
    assert knobpack.__version__ == importlib.metadata.version("knobpack")


HEAVY = {"ortools", "numpy", "pandas", "networkx", "scipy", "mido"}
LIGHT = {
    "import knobpack": HEAVY,
    "import knobpack.questions, knobpack.types, knobpack.midi": HEAVY,
    "import knobpack.files": {"ortools", "networkx"},
    "import knobpack.clash.every, knobpack.explanation.best_layouts": {"ortools"},
    "from knobpack.setups.as_read import read; from knobpack import Setup, Surface; "
    "assert read(Setup('Bare', Surface.row(1))).plays": HEAVY,
    "from knobpack import Travel; from knobpack.positions import *; "
    "scaled(5, 7, 14), Position(5, 7).at(9), step_at(5, 3, 7), step_position(1, 3, 7); "
    "reach(Travel(0, 127), Curve('concave'), 1, 7)": HEAVY,
}
"""What is done, and what it does not load."""


@pytest.mark.parametrize("done", LIGHT)
def test_what_is_slow_to_import_is_loaded_where_it_is_needed_only(done: str) -> None:
    code = f"import sys\n{done}\nprint(sorted({LIGHT[done]} & {{*sys.modules}}))\n"
    told = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True)  # noqa: S603
    assert told.stdout.decode() == "[]\n"


def test_modules_may_be_imported_before_the_names_are_used() -> None:
    code = "import sys, knobpack.allocator, knobpack.checker, knobpack.clash, knobpack\n"
    code += "assert callable(knobpack.checker.check) and 'ortools' not in sys.modules\n"
    code += "knobpack.allocate([], knobpack.Surface.row(0))\nassert 'ortools' in sys.modules"
    subprocess.run([sys.executable, "-c", code], check=True)  # noqa: S603
