"""The meter: one line on a terminal, wiped off in the end, and nothing anywhere else."""

from __future__ import annotations

import io
import time

import pytest

from knobpack.command.meter import FIRST_SECONDS, Meter
from knobpack.limits import Progress
from tests.command.samples_of_command import screen


class Terminal(io.StringIO):
    """A stream that says it is a terminal."""

    def isatty(self) -> bool:
        """It always is one."""
        return True


def test_the_meter_shows_the_last_progress_and_leaves_nothing(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    now = [100.0]
    monkeypatch.setattr(time, "monotonic", lambda: now[0])
    stream = Terminal()
    meter = Meter(stream, "searching")
    assert screen(stream.getvalue()) == "searching"
    meter.tell(Progress("unplaced", None, 0, 0.1))
    now[0] += FIRST_SECONDS - 0.01
    assert meter.beat() is False
    assert screen(stream.getvalue()) == "searching"
    now[0] += 0.02
    meter.tell(Progress("sharing", 1_234_567, 1_200_000, 0.5))
    assert screen(stream.getvalue()).startswith("sharing knobs: 1,234,567 so far")
    meter.tell(Progress("sharing", 5, 5, 0.5))
    assert "1,234,567" in screen(stream.getvalue())  # not more often than can be read
    now[0] += 1
    assert meter.beat() is False
    # The shorter line covers the longer one whole.
    assert screen(stream.getvalue()) == "sharing knobs: 5 so far, cannot be below 5 (1.5 s)"
    meter.clear()
    assert screen(stream.getvalue()) == ""
    assert stream.getvalue().endswith("\r")
    assert "\n" not in stream.getvalue()


def test_the_meter_is_silent_off_a_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    now = [100.0]
    monkeypatch.setattr(time, "monotonic", lambda: now[0])
    stream = io.StringIO()
    for meter in (Meter(stream, "searching"), Meter(None, "searching")):
        now[0] += 10
        meter.tell(Progress("sharing", 5, 5, 10.0))
        meter.clear()
    assert stream.getvalue() == ""


def test_a_line_fits_a_narrow_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("COLUMNS", "40")
    stream = Terminal()
    meter = Meter(stream, "answering 1 of 3: WHY NOT  Strings/brightness on the third knob")
    assert 20 < len(screen(stream.getvalue())) < 40
    meter.clear()
    assert screen(stream.getvalue()) == ""
