"""Heavy imports: names loaded when asked for; libraries, where an interrupt cannot break them.

To import it takes next to no time.
"""

from __future__ import annotations

import os
import sys
from collections.abc import Callable, Collection, Mapping
from importlib import import_module

_POLL = 0.05
"""Seconds between two looks whether the import is done."""

_loaded: set[str] = set()
"""What was imported to its end. That a module is known to Python does not say so."""


def on_demand(
    package: str, offered: Mapping[str, str], modules: Collection[str] = ()
) -> tuple[Callable[[str], object], Callable[[], list[str]]]:
    """What a module calls ``__getattr__`` and ``__dir__``: each name is loaded when asked for.

    They are made here and not written there, so that ``help()`` does not tell of them.

    Args:
        package: its full name, of a package or a module in one.
        offered: under the name of each module that names come from, those names in a row; ``*`` for
            all that its ``__all__`` names, looked up once that is asked for.
        modules: modules that are offered themselves; what stands in their ``__all__`` is pointed to
            where it is looked for in the package.
    """
    home = {name: module for module, names in offered.items() for name in names.split()}
    starred = [module for module, names in offered.items() if "*" in names.split()]
    home.pop("*", None)
    within = sys.modules[package].__package__

    def load_name(name: str) -> object:
        if name in modules:
            return import_module(f"{package}.{name}")
        # To "from package import *" all names are offered; to help() they would be too many.
        if name == "__all__" and sys._getframe(1).f_globals.get("__name__") != "pydoc":
            return sorted({*every_home(), *modules})
        # "from package import" looks here first for what is a module of its own.
        hidden = name.startswith("_") or is_module(name)
        if name not in home and (hidden or name not in every_home()):
            told = "" if hidden else elsewhere(name)
            raise AttributeError(f"module {package!r} has no attribute {name!r}{told}")
        found: object = getattr(import_module(f"{within}.{home[name]}"), name)
        vars(import_module(package))[name] = found
        return found

    def every_home() -> Mapping[str, str]:
        for module in starred:
            home.update(dict.fromkeys(import_module(f"{within}.{module}").__all__, module))
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
