"""Heavy imports: names loaded when asked for; libraries, where an interrupt cannot break them.

To import it takes next to no time.
"""

from __future__ import annotations

import os
import re
import sys
from collections.abc import Callable, Mapping
from importlib import import_module
from types import MethodType
from typing import Any, Final

_POLL = 0.05
"""Seconds between two looks whether the import is done."""

_loaded: set[str] = set()
"""What was imported to its end. That a module is known to Python does not say so."""


_OFFERED: Final = re.compile(r"^ *from (knobpack\S*) import (?:(\w+) as \2\b|(\*))", re.MULTILINE)
"""What a module offers, as type checkers are told."""


class BoundQuestion:
    """A function as a method, loaded when it is first asked for.

    Args:
        told: its row in the help of the command: its word and what follows that, two spaces, what
            it is for; empty: the command does not ask it.
        room: the module within knobpack that offers it.
        name: its name there; empty: that of the method.
    """

    def __init__(self, told: str = "", room: str = "questions", name: str = "") -> None:
        self.told, self.room, self.name = told, room, name

    def __set_name__(self, owner: type, name: str) -> None:
        self.name = self.name or name

    def __get__(self, about: object, owner: type | None = None) -> Any:
        """The function; of what is asked about, with that as its first argument."""
        function = getattr(import_module(f"knobpack.{self.room}"), self.name)
        return function if about is None else MethodType(function, about)


def on_demand(package: str) -> tuple[Callable[[str], object], Callable[[], list[str]]]:
    """What a module calls ``__getattr__`` and ``__dir__``: each name is loaded when asked for.

    The names are those that type checkers are told, in the stub beside the module or, where there
    is none, in its own text. What stands in the ``__all__`` of a module that is offered itself is
    pointed to where it is looked for in the package. The two are made here and not written there,
    so that ``help()`` does not tell of them.

    Args:
        package: its full name, of a package or a module in one.
    """
    path = str(sys.modules[package].__file__)
    path = f"{path}i" if os.path.exists(f"{path}i") else path  # noqa: PTH110 - pathlib takes time
    with open(path, encoding="utf-8") as file:  # noqa: PTH123
        offered = _OFFERED.findall(file.read())
    modules = {name for module, name, _ in offered if module == package}
    home = {name: module for module, name, _ in offered if name and module != package}
    starred = [module for module, _, star in offered if star]

    def load_name(name: str) -> object:
        if name in modules:
            return import_module(f"{package}.{name}")
        # To "from package import *" all names are offered; to help() they would be too many.
        asker = sys._getframe(1).f_globals.get("__name__")
        if name == "__all__" and not (asker == "pydoc" and starred):
            return sorted({*every_home(), *modules})
        # "from package import" looks here first for what is a module of its own.
        hidden = name.startswith("_") or is_module(name)
        if name not in home and (hidden or name not in every_home()):
            told = "" if hidden else elsewhere(name)
            raise AttributeError(f"module {package!r} has no attribute {name!r}{told}")
        found: object = getattr(import_module(home[name]), name)
        vars(import_module(package))[name] = found
        return found

    def every_home() -> Mapping[str, str]:
        for module in starred:
            home.update(dict.fromkeys(import_module(module).__all__, module))
        return home

    def is_module(name: str) -> bool:
        paths = [f"{folder}/{name}" for folder in vars(import_module(package)).get("__path__", ())]
        # pathlib would take its time to import.
        return any(os.path.exists(at) or os.path.exists(f"{at}.py") for at in paths)  # noqa: PTH110

    def elsewhere(name: str) -> str:
        there = (each for each in modules if name in import_module(f"{package}.{each}").__all__)
        return next((f"; it is in {package}.{each}" for each in there), "")

    def names() -> list[str]:
        own = (name for name in vars(import_module(package)) if name.startswith("__"))
        return sorted({*own, *every_home(), *modules})

    return load_name, names


def load(*modules: str) -> None:
    """Import modules, so that the import statements that follow find them there.

    An interrupt that comes while numpy, pandas or networkx is being imported leaves it half made,
    and no later import mends that in the same process. Interrupts reach the main thread alone: so
    the import is done in another, and goes on to its end whatever happens here.

    Args:
        modules: their full names. What goes wrong is left for the import statements to raise.
    """
    import threading
    from contextlib import suppress

    if _loaded.issuperset(modules) or threading.current_thread() is not threading.main_thread():
        return
    done = threading.Event()

    def work() -> None:
        try:
            with suppress(Exception):
                for module in modules:
                    import_module(module)
                    _loaded.add(module)
        finally:
            done.set()

    threading.Thread(target=work, name="knobpack-load", daemon=True).start()
    while not done.wait(_POLL):
        pass
