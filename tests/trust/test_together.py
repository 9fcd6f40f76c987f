"""Together: threads and processes make no difference, and no memory is lost."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import threading
from pathlib import Path

import pytest

from tests.trust.saving import ROOT
from tests.trust.together import answer, in_processes, in_threads, requests

FLAT = 12_000_000
"""Bytes that memory may grow in some hundred calls: less than a seventh of one solver's import."""


def test_sixteen_threads_answer_as_one_does() -> None:
    asked = requests(32)
    assert in_threads(asked) == list(map(answer, asked))
    assert [each.name for each in threading.enumerate() if each.name == "knobpack-solve"] == []


def test_four_processes_answer_as_one_does() -> None:
    asked = requests(16)
    assert in_processes(asked, "spawn") == list(map(answer, asked))


FORK = """
import json
from tests.trust.together import answer, in_processes, in_threads, requests
asked = requests(24)
alone = list(map(answer, asked))  # the solver has run in this process before it forks
in_threads(asked[:4])
print(json.dumps(in_processes(asked, "fork") == alone))
"""


def child(code: str) -> str:
    """What code of ours prints in a process of its own."""
    return subprocess.run(  # noqa: S603 (our own code)
        [sys.executable, "-c", code],
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
        timeout=280,
    ).stdout


@pytest.mark.skipif(not hasattr(os, "fork"), reason="there is no fork here")
def test_forked_processes_answer_as_one_does() -> None:
    assert json.loads(child(FORK)) is True


@pytest.mark.skipif(not Path("/proc/self/statm").exists(), reason="memory is read from /proc")
def test_memory_is_flat_over_many_calls() -> None:
    code = "from tests.trust.together import growth\nprint(growth(240, 80))"
    assert int(child(code)) < FLAT
