"""Supply: nothing is evaluated, unpickled, fetched or run, and dependencies are pinned by range."""

from __future__ import annotations

import ast
import sys
import tomllib
from collections.abc import Iterator
from pathlib import Path

import knobpack

PACKAGE = Path(knobpack.__file__).parent
PROJECT = PACKAGE.parent / "pyproject.toml"

CALLS = {"eval", "exec", "compile", "__import__", "input", "breakpoint"}
"""What runs text as code, or waits for somebody."""

MODULES = {
    *("pickle", "marshal", "shelve", "dill", "cloudpickle", "joblib", "yaml", "code", "codeop"),
    *("socket", "ssl", "http", "urllib", "ftplib", "smtplib", "requests", "httpx", "aiohttp"),
    *(
        "xmlrpc",
        "telnetlib",
        "webbrowser",
        "asyncio",
        "socketserver",
        "subprocess",
        "pty",
        "ctypes",
    ),
    *(
        "multiprocessing",
        "runpy",
        "pip",
        "ensurepip",
        "xml",
        "lxml",
        "zipfile",
        "tarfile",
        "shutil",
    ),
}
"""What unpickles, talks to a network, starts a program, or reads or removes more than one file."""

METHODS = {"system", "popen", "fork", "execv", "execve", "spawnv", "startfile", "rmtree"}
"""Methods that do so."""

CORE = {"attrs", "attr", "networkx", "numpy", "ortools"}
OPTIONAL = {"mido", "matplotlib", "shtab"}


def faults(source: str) -> Iterator[str]:
    """What source does that knobpack may not do."""
    for node in ast.walk(ast.parse(source)):
        match node:
            case ast.Call(func=ast.Name(id=name)) if name in CALLS:
                yield name
            case ast.Attribute(attr=name) if name in METHODS:
                yield name
            case ast.Call(func=ast.Attribute(value=of, attr="loads")) if ast.unparse(of) != "json":
                yield "loads"
            case ast.Import() | ast.ImportFrom():
                yield from (name for name in _imported(node) if name in MODULES)


def _imported(node: ast.Import | ast.ImportFrom) -> Iterator[str]:
    if isinstance(node, ast.Import):
        yield from (alias.name.split(".")[0] for alias in node.names)
    elif node.level == 0:
        yield (node.module or "").split(".")[0]


def sources() -> list[Path]:
    found = sorted(PACKAGE.rglob("*.py*"))
    return [path for path in found if path.suffix in {".py", ".pyi"}]


def test_nothing_is_evaluated_unpickled_fetched_or_run() -> None:
    found = {str(path): list(faults(path.read_text("utf-8"))) for path in sources()}
    assert {path: told for path, told in found.items() if told} == {}
    assert len(found) > 100


def test_only_what_is_declared_is_imported() -> None:
    found = set()
    for path in sources():
        for node in ast.walk(ast.parse(path.read_text("utf-8"))):
            if isinstance(node, ast.Import | ast.ImportFrom):
                found |= set(_imported(node))
    outside = found - set(sys.stdlib_module_names) - {"knobpack", "_typeshed"}
    assert outside <= CORE | OPTIONAL
    assert outside >= {"attrs", "networkx", "numpy", "ortools"}


def test_each_dependency_has_a_lowest_version_and_the_solver_a_highest() -> None:
    project = tomllib.loads(PROJECT.read_text("utf-8"))["project"]
    names = {each.split(">=")[0]: each for each in project["dependencies"]}
    assert set(names) == CORE - {"attr"}
    for line in names.values():
        assert ">=" in line
    assert ",<" in names["ortools"]  # its next major version changes how it is called
    optional = project["optional-dependencies"]
    for extra in ("pictures", "notebooks", "cluster"):
        assert all(">=" in each or each.startswith("knobpack[") for each in optional[extra])
