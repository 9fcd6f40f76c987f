"""What the package offers at its top, and that it costs next to nothing to import."""

from __future__ import annotations

import ast
import importlib.metadata
import subprocess
import sys
from pathlib import Path

import pytest

import knobpack

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
    assert sorted(stubbed()) == sorted(knobpack.__all__)
    for name, module in stubbed().items():
        assert getattr(knobpack, name) is getattr(sys.modules[module], name)
    assert set(knobpack.__all__) <= set(dir(knobpack))


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
