"""What cuts a show short: the best so far is given back, checked, and marked."""

from __future__ import annotations

import pickle
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from multiprocessing import get_context

import pytest

from benchmarks.shows import seeded
from knobpack import Destination, ImpossibleDemands, InputError, Request, Surface, Voice
from knobpack.limits import Limits, Progress
from knobpack.show import SHOW_TIERS, Show, Song, allocate_show, stages
from tests.oracles.differential_shows import a_show
from tests.show.evening import SHOW, laid_out


@pytest.mark.parametrize(
    ("limits", "why"),
    [
        (Limits(cancel=lambda: True), "cancelled"),
        (Limits(time_limit=0), "time limit"),
        (Limits(effort=0), "effort"),
    ],
)
def test_a_show_that_is_cut_short_at_once_has_each_song_by_itself(limits: Limits, why: str) -> None:
    found = allocate_show(SHOW, limits=limits)
    assert found.stopped == why
    assert not found.proven
    assert found.songs == found.alone


@pytest.mark.parametrize("effort", [1e-6, 1e-4, 1e-3, 1e-2, 0.1])
def test_any_effort_gives_a_show(effort: float) -> None:
    found = allocate_show(SHOW, effort=effort)
    assert found.tier("relearning").value >= laid_out().tier("relearning").value
    assert found.tier("relearning").bound <= laid_out().tier("relearning").value


def test_what_is_known_once_every_song_is_laid_out_is_given_back() -> None:
    show = a_show(2)
    told: list[Progress] = []
    cut = allocate_show(show, progress=told.append, cancel=lambda: bool(told))
    assert cut.stopped == "cancelled"
    assert not cut.proven
    whole = allocate_show(show)
    values = [tier.value for tier in whole.tiers]
    assert [tier.value for tier in cut.tiers] >= values
    for tier, value in zip(cut.tiers, values, strict=True):
        if not tier.proven:
            assert tier.bound <= value
            break
        assert tier.value == value


@pytest.mark.parametrize("workers", [0, 2])
def test_a_song_that_has_no_layout_is_named(workers: int) -> None:
    voice = Voice("Organ", [Destination("level", must_place=True), Destination("drive")])
    clashing = Request(Surface.row(1, reserved=["K1"]), [voice])
    fine = Request(Surface.row(1), [voice])
    show = Show("Evening", [Song("Opener", fine), Song("Ballad", clashing)])
    executor = ThreadPoolExecutor(workers) if workers else None
    with pytest.raises(ImpossibleDemands) as refused:
        allocate_show(show, executor=executor)
    assert refused.value.song == "Ballad"
    assert refused.value.__notes__ == ["This is about the song 'Ballad'."]


def test_progress_names_the_tiers_of_a_show() -> None:
    told: list[Progress] = []
    allocate_show(a_show(0), progress=told.append)
    assert {"relearning", "moves", "sharing", "layout"} <= {each.tier for each in told}
    assert all(each.tier in SHOW_TIERS for each in told)


def test_an_interrupt_comes_through_and_leaves_nothing_behind() -> None:
    def interrupt(_: Progress) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        allocate_show(a_show(0), progress=interrupt)
    assert allocate_show(SHOW) == laid_out()


@pytest.mark.parametrize("workers", [1, 2, 5])
def test_the_same_answer_whatever_the_number_of_workers(workers: int) -> None:
    with ThreadPoolExecutor(workers) as pool:
        assert allocate_show(SHOW, executor=pool) == laid_out()


def test_the_same_answer_in_processes_and_pickled() -> None:
    found = laid_out()
    with ProcessPoolExecutor(2, get_context("spawn")) as pool:
        assert allocate_show(SHOW, executor=pool) == found
    assert pickle.loads(pickle.dumps(found)) == found  # noqa: S301 - made here


@pytest.mark.parametrize("workers", [1, 3])
def test_a_long_show_is_begun_alike_by_any_number_of_workers(
    workers: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(stages, "_MOST_PLACES", 0)
    show = seeded(1, 4, 6)
    found = allocate_show(show, effort=0.1)
    assert found.tier("relearning").value
    with ProcessPoolExecutor(workers, get_context("spawn")) as pool:
        assert allocate_show(show, effort=0.1, executor=pool) == found
    with ThreadPoolExecutor(workers) as threads:
        stop = iter([False] * 20)
        cut = allocate_show(show, executor=threads, cancel=lambda: next(stop, True))
    assert cut.stopped == "cancelled"
    assert cut.tier("relearning").bound <= found.tier("relearning").value


def test_more_may_be_joined_where_the_caller_lets_it() -> None:
    show = a_show(1, 2)
    few, more = allocate_show(show), allocate_show(show, more_joined=2)
    assert [each.allowed + 2 for each in few.joined] == [each.allowed for each in more.joined]
    assert more.tier("relearning").value <= few.tier("relearning").value


@pytest.mark.parametrize("wrong", [-1, 1_001, True, None])
def test_what_more_may_be_joined_is_a_count(wrong: int) -> None:
    with pytest.raises(InputError, match=r"allocate_show\.more_joined"):
        allocate_show(SHOW, more_joined=wrong)
