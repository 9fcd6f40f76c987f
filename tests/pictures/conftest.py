"""Drawn without a window: the demo, and a rack of 64 knobs."""

from __future__ import annotations

from collections.abc import Iterator

import matplotlib as mpl
import pytest
from matplotlib import pyplot

from benchmarks.requests import sized
from knobpack import Allocation, Setup, allocate_request
from knobpack.present.demo import demo_request


@pytest.fixture(autouse=True)
def _no_window() -> Iterator[None]:
    mpl.use("Agg")
    yield
    pyplot.close("all")


@pytest.fixture(scope="module")
def allocation() -> Allocation:
    return allocate_request(demo_request())


@pytest.fixture(scope="module")
def setup(allocation: Allocation) -> Setup:
    return allocation.setup("Evening set")


@pytest.fixture(scope="module")
def large() -> Allocation:
    return allocate_request(sized(0, 64, 100), effort=0.2)
