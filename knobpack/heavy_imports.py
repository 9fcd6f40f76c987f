"""Heavy imports: libraries imported where an interrupt cannot break them."""

from __future__ import annotations

import threading
from contextlib import suppress
from importlib import import_module

_POLL = 0.05
"""Seconds between two looks whether the import is done."""

_loaded: set[str] = set()
"""What was imported to its end. That a module is known to Python does not say so."""


def load(*modules: str) -> None:
    """Import modules, so that the import statements that follow find them there.

    An interrupt that comes while numpy, pandas or networkx is being imported leaves it half made,
    and no later import mends that in the same process. Interrupts reach the main thread alone: so
    the import is done in another, and goes on to its end whatever happens here.

    Args:
        modules: their full names. What goes wrong is left for the import statements to raise.
    """
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
