"""The docstrings of what knobpack offers are complete, true to the signatures, and run.

One rule for all. A class or function says under ``Args:`` what every parameter of its signature is,
and nothing else; a function or method that gives something back says what under ``Returns:``; a
property is told by its first line. ``Raises:`` names the errors, ``Source:`` the open standard that
is followed. Every example in the package runs.
"""

from __future__ import annotations

import ast
import builtins
import doctest
import importlib
import inspect
import pkgutil
import re
import textwrap
import types
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, is_typeddict

import attrs
import matplotlib
import pytest
from matplotlib import pyplot

import knobpack

matplotlib.use("Agg")

NAMED = ("files", "pictures", "tables", "words.edits")
"""Modules that are named where what they offer is used."""

TOP = {name: getattr(knobpack, name) for name in dir(knobpack) if not name.startswith("__")}
MODULES = (*(name for name, value in TOP.items() if inspect.ismodule(value)), "words.edits")

SECTIONS = ("Args", "Returns", "Raises", "Source", "Example")

STANDARDS = re.compile(r"\bM2-\d+|\bDLS\b|\bSoundFont\b|\bRP-\d+|\bCA-\d+|\bMIDI 1\.0\b")

PLAIN = """
files.from_plain files.load_allocation files.load_request files.load_setup files.schema
files.to_plain load_recording layout_graph tables.loads
"""
"""Functions that need no example, beside those of ``words.edits``: another shows the same."""

FOLLOWING = """
Curve Destination Imported KnobSending Listening Position Sent Span Voice controller_numbers
import_controllers
scaled scaled_array scaled_travel step_at
step_position sweep sweep_file zero_extended Control hear_positions hear_travels read_recording
"""
"""What follows an open standard, and says which."""


def offered() -> dict[str, Any]:
    """Every public class and function, under the name it is reached by first.

    That of a module stands before it where it is no name of its own: ``files.load``.
    """
    found = dict(TOP)
    for module in MODULES:
        home = importlib.import_module(f"knobpack.{module}")
        for name in home.__all__:
            found[f"{module}.{name}" if module in NAMED else name] = getattr(home, name)
    first: dict[int, str] = {}
    for name, value in found.items():
        if inspect.isclass(value) or inspect.isfunction(value):
            first.setdefault(id(value), name)
    return {name: found[name] for name in first.values()}


def plain(value: Any) -> Any:
    """The function behind a property, a class method or itself."""
    return value.fget if isinstance(value, property) else getattr(value, "__func__", value)


def members(owner: type) -> Iterator[tuple[str, Any]]:
    """The public methods and properties of a class, those it inherits within knobpack too."""
    for name, value in inspect.getmembers_static(owner):
        inner = plain(value)
        if not name.startswith("_") and inspect.isfunction(inner):
            yield name, value


def described() -> dict[str, Any]:
    """Every public class, function, method and property."""
    found = offered()
    for name, value in offered().items():
        if inspect.isclass(value):
            found |= {f"{name}.{each}": member for each, member in members(value)}
    return found


DESCRIBED = described()
FUNCTIONS = {
    name: plain(value)
    for name, value in DESCRIBED.items()
    if not inspect.isclass(value) and not isinstance(value, property)
}


def docstring(value: Any) -> str:
    """The own docstring: no class may pass for described by what it inherits."""
    own = vars(value).get("__doc__") if inspect.isclass(value) else value.__doc__
    return inspect.cleandoc(own or "")


def sections(text: str) -> dict[str, str]:
    """What stands under each heading at the left edge."""
    heading = re.compile(rf"^({'|'.join(SECTIONS)}):\n", re.MULTILINE)
    _, *parts = heading.split(text)
    names, bodies = parts[::2], parts[1::2]
    assert len(names) == len(set(names)), "a section stands there twice"
    found = zip(names, bodies, strict=True)
    return {name: textwrap.dedent(body.strip("\n")).strip() for name, body in found}


def entries(body: str) -> dict[str, str]:
    """What is said of each name in a section."""
    parts = re.split(r"^\*{0,2}(\w+):[ \n]", body, flags=re.MULTILINE)
    return dict(zip(parts[1::2], map(str.strip, parts[2::2]), strict=True))


def is_protocol(value: type) -> bool:
    """Whether a class says of others what they have, and nothing is made of it."""
    return getattr(value, "_is_protocol", False)


def parameters(value: Any) -> list[str]:
    """What it is called with, ``self`` and ``cls`` left out."""
    if isinstance(value, property):
        return []
    if inspect.isclass(value):
        if (
            is_typeddict(value)
            or is_protocol(value)
            or value.__init__ in {object.__init__, Exception.__init__}
        ):
            return []
        value = value.__init__
    names = list(inspect.signature(plain(value)).parameters)
    return [name for name in names if name not in {"self", "cls"}]


@pytest.mark.parametrize("name", DESCRIBED)
def test_it_is_told_what_it_is_takes_gives_back_raises_and_follows(name: str) -> None:
    value = DESCRIBED[name]
    text = docstring(value)
    told = sections(text)
    first, *rest = text.split("\n")
    assert first.endswith(".")
    assert rest[:1] in ([], [""])
    takes = entries(told.get("Args", ""))
    assert list(takes) == parameters(value)
    assert all(takes.values())
    gives = name in FUNCTIONS and inspect.signature(FUNCTIONS[name]).return_annotation != "None"
    assert bool(told.get("Returns")) == gives
    errors = entries(told.get("Raises", ""))
    known = vars(builtins) | vars(knobpack.errors) | TOP
    assert all(issubclass(known[each], Exception) for each in errors)
    if inspect.isclass(value):
        assert ("InputError" in errors) == checks_its_fields(value)
    else:
        assert raised(plain(value)) <= set(errors)
    followed = STANDARDS.search(told.get("Source", "")) is not None
    assert followed == (STANDARDS.search(text) is not None) == (name in FOLLOWING.split())
    assert types_of(value) - PUBLIC == set()


def checks_its_fields(kind: type) -> bool:
    """Whether a class of attrs refuses a wrong value where it is built."""
    return attrs.has(kind) and (
        hasattr(kind, "__attrs_post_init__")
        or any(field.validator is not None for field in attrs.fields(kind) if field.init)
    )


def raised(function: Callable[..., Any]) -> set[str]:
    """The errors that the body raises, or that a function named for checking raises for it."""
    found = set()
    for node in ast.walk(ast.parse(textwrap.dedent(inspect.getsource(function)))):
        if isinstance(node, ast.Raise) and isinstance(node.exc, ast.Call):
            found.add(ast.unparse(node.exc.func).removesuffix(".of"))
        if isinstance(node, ast.Call) and re.search(
            r"(^|\.)_?check(_|ed_array)", ast.unparse(node.func)
        ):
            found.add("InputError")
    return {error for error in found if error[:1].isupper()}


BESIDE = """
Any Axes Callable Collection Executor Future Iterable Iterator Literal Mapping MultiDiGraph NDArray
None OSError PathLike Sequence SupportsIndex Unpack ValueError Path Wanted
"""
"""What stands in signatures and is of Python or another library; what a combination was asked is
its own affair."""
PUBLIC = {*TOP, *BESIDE.split()}.union(
    *(importlib.import_module(f"knobpack.{module}").__all__ for module in MODULES)
)
"""All types that a caller can import from where things are offered, and those."""


def types_of(value: Any) -> set[str]:
    """The types that stand in the signature of a function, or in the fields of a class."""
    if inspect.isclass(value):
        told = [field.type for field in attrs.fields(value)] if attrs.has(value) else []
    else:
        signature = inspect.signature(plain(value))
        told = [each.annotation for each in signature.parameters.values()]
        told.append(signature.return_annotation)
    return {each for text in told for each in re.findall(r"(?<![\w.'])[A-Z]\w+", str(text))}


def test_what_does_the_work_is_shown_by_an_example() -> None:
    for name, value in offered().items():
        shown = ">>>" in docstring(value)
        assert shown == ("Example" in sections(docstring(value))), name
        if inspect.isfunction(value) and not name.startswith("words.edits."):
            assert shown == (name not in PLAIN.split()), name


def modules() -> Iterator[types.ModuleType]:
    for found in pkgutil.walk_packages(knobpack.__path__, "knobpack."):
        if not found.name.endswith("__main__"):
            yield importlib.import_module(found.name)


RUNS = {
    each.name: each
    for module in modules()
    for each in doctest.DocTestFinder().find(module, module.__name__)
    if each.examples
}


@pytest.mark.parametrize("name", RUNS)
def test_the_example_runs(name: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """In a folder of its own, knowing nothing but what it imports."""
    monkeypatch.chdir(tmp_path)
    found = RUNS[name]
    assert any(example.want for example in found.examples)
    found.globs = {"__name__": "__main__"}
    told: list[str] = []
    failed = doctest.DocTestRunner().run(found, out=told.append).failed
    pyplot.close("all")
    assert not failed, "".join(told)


# That the rules above can fail is shown on docstrings that break them.
