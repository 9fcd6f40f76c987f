"""What holds for all tests: Ctrl-C works in them, and what is drawn is drawn again each time.

How long an example takes is the machine's affair, and fails no test.
"""

from __future__ import annotations

import os
import signal

import pytest
from hypothesis import HealthCheck, settings

if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:
    # A shell lets what it begins in the background ignore Ctrl-C, and what is ignored is inherited.
    signal.signal(signal.SIGINT, signal.default_int_handler)

settings.register_profile(
    "same on every machine",
    max_examples=int(os.environ.get("KNOBPACK_EXAMPLES", "60")),
    deadline=None,
    derandomize=True,
    suppress_health_check=list(HealthCheck),
)
settings.load_profile("same on every machine")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """Marks the tests of every module that asks how many examples are to be tried."""
    for item in items:
        module = getattr(item, "module", None)
        if isinstance(getattr(module, "EXAMPLES", None), int):
            item.add_marker("drawn")
