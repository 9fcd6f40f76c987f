"""The watch: stops for the first reason it meets, and stays stopped."""

from __future__ import annotations

import math

import pytest

from knobpack.solver import watch as watching
from knobpack.solver.watch import CANCELLED, EFFORT, METHODS, TIME_LIMIT, Watch


class Clock:
    """A clock that stands where it is put."""

    def __init__(self) -> None:
        self.now = 100.0

    def monotonic(self) -> float:
        """The time, as the module ``time`` gives it."""
        return self.now


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    standing = Clock()
    monkeypatch.setattr(watching, "time", standing)
    return standing


def test_it_is_over_at_the_deadline(clock: Clock) -> None:
    watch = Watch(1.0, deadline=103.0)
    assert watch.seconds_left == 3.0
    assert not watch.over()
    clock.now = 103.0
    assert watch.over()
    assert watch.stopped == TIME_LIMIT
    clock.now = 200.0
    assert watch.seconds_left == 0.0


def test_without_a_deadline_time_never_runs_out(clock: Clock) -> None:
    watch = Watch(1.0)
    clock.now = 1e12
    assert not watch.over()
    assert watch.seconds_left == math.inf


def test_effort_runs_out() -> None:
    watch = Watch(1.0)
    watch.spend(0.75)
    assert not watch.over()
    watch.spend(0.25)
    assert watch.over()
    assert watch.stopped == EFFORT


def test_once_cancelled_it_stays_so_and_does_not_ask_again() -> None:
    answers = iter([False, True])
    watch = Watch(1.0, cancelled=lambda: next(answers))
    assert [watch.over() for _ in range(5)] == [False, True, True, True, True]
    watch.spend(5.0)
    assert watch.over()
    assert watch.stopped == CANCELLED


def test_it_tells_only_if_someone_listens() -> None:
    news: list[tuple[int, int | None, int]] = []
    Watch(1.0).tell(0, None, 0)
    watch = Watch(1.0, told=lambda *each: news.append(each))
    watch.tell(2, 70, 65)
    assert news == [(2, 70, 65)]


def test_a_share_that_was_cut_short_is_what_is_told_unless_the_whole_was() -> None:
    whole = Watch(10.0)
    assert whole.why == METHODS
    with whole.share(0.25) as part:
        part.spend(1.0)
    assert (whole.effort, whole.why) == (9.0, METHODS)
    with whole.share(0.5) as part:
        part.spend(4.5)
    assert (whole.effort, whole.why) == (4.5, EFFORT)
    cancelled = Watch(10.0, cancelled=lambda: True, short=EFFORT)
    assert cancelled.over()
    assert cancelled.why == CANCELLED
