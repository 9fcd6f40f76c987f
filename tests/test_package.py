"""What the package offers at its top, and that it costs next to nothing to import."""

from __future__ import annotations

import ast
import importlib
import importlib.metadata
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

import knobpack

MODULES = ("files", "pictures", "tables")
"""What is offered as a module."""

STUB = Path(knobpack.__file__).with_suffix(".pyi")


def stubbed() -> dict[str, str]:
    """The module that type checkers are told for each name."""
    found = {}
    for node in ast.parse(STUB.read_text("utf-8")).body:
        if isinstance(node, ast.ImportFrom):
            for alias in node.names:
                assert alias.asname == alias.name
                found[alias.name] = str(node.module)
    return found


def test_type_checkers_are_told_what_is_there() -> None:
    assert sorted(stubbed()) == sorted([*knobpack.__all__, *MODULES])
    for name, module in stubbed().items():
        assert getattr(knobpack, name) is getattr(sys.modules[module], name)


def test_nothing_but_what_is_offered_is_listed() -> None:
    listed = {name for name in dir(knobpack) if not name.startswith("__")}
    assert listed == {*knobpack.__all__, *MODULES}
    assert "__version__" in dir(knobpack)


@pytest.mark.parametrize("module", MODULES)
def test_a_module_is_there_without_an_import_of_its_own(module: str) -> None:
    code = f"import knobpack\nprint(knobpack.{module}.__name__)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True)  # noqa: S603
    assert done.stdout.decode().strip() == f"knobpack.{module}"


def test_a_library_that_is_missing_is_named_in_one_line() -> None:
    code = "import sys\nsys.modules['cattrs'] = None\nsys.argv[1:] = ['demo', '--request', '-']\n"
    code += "from knobpack.__main__ import run\nsys.exit(run())"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, check=False)  # noqa: S603
    assert done.stdout == b""
    assert done.stderr.decode().splitlines() == [
        "knobpack: cattrs is not installed here: python -m pip install cattrs"
    ]
    assert done.returncode == 1


def test_the_command_is_installed_under_the_name_of_the_package() -> None:
    root = Path(knobpack.__file__).parents[1]
    project = tomllib.loads((root / "pyproject.toml").read_text("utf-8"))["project"]
    ((name, where),) = project["scripts"].items()
    module, _, function = where.partition(":")
    assert name == "knobpack"
    assert callable(getattr(importlib.import_module(module), function))


def test_a_name_that_is_not_there_is_refused() -> None:
    with pytest.raises(AttributeError, match="no attribute 'alocate'"):
        _ = knobpack.alocate  # type: ignore[attr-defined]


def test_the_version_is_that_of_the_distribution() -> None:
    assert knobpack.__version__ == importlib.metadata.version("knobpack")


def test_importing_it_loads_no_heavy_library() -> None:
    heavy = "{'ortools', 'numpy', 'pandas', 'networkx', 'cattrs', 'scipy'}"
    for statement in ("import knobpack", "from knobpack import *"):
        code = f"import sys\n{statement}\nprint(sorted({heavy} & set(sys.modules)))"
        done = subprocess.run([sys.executable, "-c", code], capture_output=True, check=True)  # noqa: S603
        assert done.stdout.decode().strip() == "[]"


def test_modules_may_be_imported_before_the_names_are_used() -> None:
    code = "import knobpack.allocator, knobpack.checker, knobpack.clash, knobpack\n"
    code += "assert callable(knobpack.allocate) and callable(knobpack.check)"
    subprocess.run([sys.executable, "-c", code], check=True)  # noqa: S603
