"""Many requests at once: the same answers on every executor, and failures that stay alone."""

from __future__ import annotations

import multiprocessing
import os
import pickle
import signal
import threading
import time
from collections.abc import Callable
from concurrent.futures import (
    Executor,
    Future,
    InvalidStateError,
    ProcessPoolExecutor,
    ThreadPoolExecutor,
)
from contextlib import suppress
from operator import itemgetter
from typing import Any

import pytest

from benchmarks.foreign_requests import breakable
from benchmarks.requests import eight_knobs
from knobpack import (
    Destination,
    ImpossibleDemands,
    InputError,
    KnobpackError,
    NoLayoutFound,
    Request,
    Surface,
    Voice,
    allocate_many,
    allocate_request,
)
from knobpack.limits import Limits
from knobpack.many import NotAnswered, Reply, Tally, each_reply

IMPOSSIBLE = Request(Surface.row(0), (Voice("Pad", (Destination("cutoff", must_place=True),)),))
REQUESTS = tuple(eight_knobs(seed) for seed in range(6))


def pool(method: str, workers: int = 2) -> ProcessPoolExecutor:
    return ProcessPoolExecutor(workers, mp_context=multiprocessing.get_context(method))


def test_the_replies_are_those_of_the_requests_one_by_one_and_in_their_order() -> None:
    alone = [allocate_request(request) for request in REQUESTS]
    assert [reply.get() for reply in allocate_many(REQUESTS)] == alone


@pytest.mark.parametrize("method", ["spawn", "forkserver"])
def test_processes_give_the_same_replies(method: str) -> None:
    asked = (*REQUESTS[:3], IMPOSSIBLE, *REQUESTS[3:])
    alone = allocate_many(asked)
    with pool(method) as executor:
        for together in (None, 1, 4, 100):  # each time it is left open
            assert allocate_many(asked, executor=executor, together=together) == alone


def test_threads_give_the_same_replies() -> None:
    with ThreadPoolExecutor(4) as executor:
        assert allocate_many(REQUESTS, executor=executor) == allocate_many(REQUESTS)


def test_a_distributed_cluster_gives_the_same_replies() -> None:
    """The executor of a Dask client, on a real cluster of two processes on this machine."""
    distributed = pytest.importorskip("distributed")
    asked = (*REQUESTS[:3], IMPOSSIBLE)
    with (
        distributed.LocalCluster(
            n_workers=2, threads_per_worker=1, processes=True, dashboard_address=None
        ) as cluster,
        distributed.Client(cluster) as client,
    ):
        executor = client.get_executor()
        assert allocate_many(asked, executor=executor) == allocate_many(asked)


def test_what_is_impossible_fails_alone() -> None:
    first, second, third = allocate_many((REQUESTS[0], IMPOSSIBLE, REQUESTS[1]))
    assert first.get() == allocate_request(REQUESTS[0])
    assert third.get() == allocate_request(REQUESTS[1])
    assert second.allocation is None
    with pytest.raises(ImpossibleDemands) as caught:
        second.get()
    with pytest.raises(ImpossibleDemands) as alone:
        allocate_request(IMPOSSIBLE)
    assert str(caught.value) == str(alone.value)


def test_no_requests_have_no_replies() -> None:
    assert allocate_many(()) == ()


@pytest.mark.parametrize("together", [1, 2])
def test_progress_tells_how_far_it_is(together: int) -> None:
    told: list[Tally] = []
    asked = (REQUESTS[0], IMPOSSIBLE, REQUESTS[1])
    with ThreadPoolExecutor(2) as executor:
        allocate_many(asked, executor=executor, progress=told.append, together=together)
    assert len(told) == -(-len(asked) // together)
    assert told[-1] == Tally(answered=2, failed=1, total=3)
    sums = [tally.answered + tally.failed for tally in told]
    assert sums == sorted(set(sums))


def test_the_limits_are_those_of_each_request() -> None:
    every: tuple[dict[str, Any], ...] = ({"effort": 0.0}, {"time_limit": 0.0})
    for limits in every:
        with ThreadPoolExecutor(1) as executor:
            found = allocate_many(REQUESTS[:2], executor=executor, **limits)
        assert found == allocate_many(REQUESTS[:2], **limits)
        for reply, request in zip(found, REQUESTS, strict=False):
            assert reply.get() == allocate_request(request, **limits)
            assert reply.get().stopped
        assert allocate_many(REQUESTS[:2], limits=Limits(**limits)) == found


def test_what_is_told_of_one_search_is_not_told_of_many() -> None:
    with pytest.raises(InputError, match=r"allocate_many\.limits\.progress"):
        allocate_many(REQUESTS, limits=Limits(progress=print))


@pytest.mark.parametrize("threads", [0, 1])
def test_cancelled_it_begins_nothing_more_and_keeps_what_is_done(threads: int) -> None:
    told: list[Tally] = []

    def enough() -> bool:
        return bool(told)

    executor = ThreadPoolExecutor(threads) if threads else None
    asked = REQUESTS * 5
    found = allocate_many(asked, executor=executor, progress=told.append, cancel=enough, together=1)
    if executor:
        executor.shutdown(wait=True)
    assert len(found) == len(asked)
    assert found[0].get() == allocate_request(asked[0])
    for reply in found[2:]:
        with pytest.raises(NoLayoutFound, match="cancelled before any layout"):
            reply.get()
    assert told[-1].answered + told[-1].failed == told[-1].total == len(asked)


def interrupt(_: Tally) -> None:
    raise KeyboardInterrupt


def test_an_interrupt_takes_back_what_was_not_begun() -> None:
    over = threading.Event()
    with ThreadPoolExecutor(1) as executor:
        noted = Noted(executor, over)
        with pytest.raises(KeyboardInterrupt):
            allocate_many(REQUESTS * 5, executor=noted, progress=interrupt, together=1)
        over.set()
        assert sum(task.cancelled() for task in noted.tasks) >= len(noted.tasks) - 2


class Unsaid(Executor):
    """An executor that never says which task is under way, as that of a cluster does not."""

    def __init__(self) -> None:
        self.solved, self.asked = threading.Event(), threading.Event()

    def submit(self, call: Callable[..., Any], /, *given: Any, **more: Any) -> Future[Any]:
        found: Future[Any] = Future()

        def answer() -> None:
            known = call(*given, **more)
            self.solved.set()
            self.asked.wait(60)
            time.sleep(0.05)  # what is taken back now is lost
            with suppress(InvalidStateError):
                found.set_result(known)

        threading.Thread(target=answer, daemon=True).start()
        return found

    def cancelled(self) -> bool:
        """Asked by the call; it says yes once the first task is solved, before that is told."""
        if self.solved.is_set():
            self.asked.set()
        return self.asked.is_set()


def test_what_is_under_way_is_not_taken_back_where_no_executor_says_that_it_is() -> None:
    executor = Unsaid()
    (reply,) = allocate_many(REQUESTS[:1], executor=executor, cancel=executor.cancelled)
    assert reply.get() == allocate_request(REQUESTS[0])


class Noted(Executor):
    """An executor that keeps what was handed to it; all but the first task wait for an event."""

    def __init__(self, executor: Executor, over: threading.Event | None = None) -> None:
        self.executor, self.over = executor, over
        self.tasks: list[Future[Any]] = []

    def submit(self, task: Callable[..., Any], /, *given: Any, **more: Any) -> Future[Any]:
        if self.over and self.tasks:
            given, task = (self.over, task, *given), after
        self.tasks.append(self.executor.submit(task, *given, **more))
        return self.tasks[-1]


def after(event: threading.Event, task: Callable[..., Any], *given: Any) -> Any:
    """Do a task once something has come to pass."""
    event.wait()
    return task(*given)


@pytest.mark.parametrize("way", ["cancel", "interrupt", "closed"])
def test_workers_stop_once_the_call_is_over(way: str) -> None:
    """Each of these requests alone would take its worker until the effort of 100 is used up."""
    asked = [REQUESTS[0], *(breakable(seed) for seed in range(8))]
    with pool("forkserver") as executor:
        noted = Noted(executor)
        if way == "closed":
            replies = each_reply(asked, executor=noted, effort=100)
            assert next(replies) == (0, Reply(allocate_request(REQUESTS[0])))
            del replies
        elif way == "interrupt":
            with pytest.raises(KeyboardInterrupt):
                allocate_many(asked, executor=noted, effort=100, progress=interrupt, together=1)
        else:
            told: list[Tally] = []
            found = allocate_many(
                asked,
                executor=noted,
                effort=100,
                progress=told.append,
                cancel=lambda: bool(told),
                together=1,
            )
            known = [each.get().stopped for each in found[1:] if each.error is None]
            assert 0 < len(known) < len(asked) - 1
            assert set(known) == {"cancelled"}
    stopped = [task.result() for task in noted.tasks if not task.cancelled()]
    replies_of = [reply.get() for some in stopped[1:] for reply in some]
    assert [each.stopped for each in replies_of] == ["cancelled"] * len(replies_of)
    assert len(replies_of) < len(asked) - 1


def test_replies_come_as_they_are_there() -> None:
    asked = (*REQUESTS[:3], IMPOSSIBLE)
    with ThreadPoolExecutor(2) as executor:
        came = list(each_reply(asked, executor=executor))
    assert tuple(reply for _, reply in sorted(came, key=itemgetter(0))) == allocate_many(asked)
    assert list(each_reply(asked)) == list(enumerate(allocate_many(asked)))


def test_a_lost_worker_is_told_and_what_was_answered_stays() -> None:
    with pool("spawn", 1) as executor:
        worker = executor.submit(os.getpid).result()

        def kill(_: Tally) -> None:
            with suppress(ProcessLookupError):  # it is told again after that
                os.kill(worker, signal.SIGKILL)

        found = allocate_many(REQUESTS * 20, executor=executor, progress=kill, together=1)
    assert found[0].get() == allocate_request(REQUESTS[0])
    with pytest.raises(NotAnswered, match=r"BrokenProcessPool: .*; ask again, on a new executor"):
        found[-1].get()


def test_an_executor_that_is_shut_down_answers_nothing() -> None:
    executor = ThreadPoolExecutor(1)
    executor.shutdown()
    (reply,) = allocate_many(REQUESTS[:1], executor=executor)
    with pytest.raises(NotAnswered, match="RuntimeError: cannot schedule new futures"):
        reply.get()


def test_tasks_that_others_cancel_are_not_answered() -> None:
    class Closing(Executor):
        def submit(self, *_: Any, **__: Any) -> Future[Any]:
            found: Future[Any] = Future()
            found.cancel()
            return found

    (reply,) = allocate_many(REQUESTS[:1], executor=Closing())
    with pytest.raises(NotAnswered, match="CancelledError"):
        reply.get()


def test_a_fault_of_ours_in_one_request_leaves_the_others(monkeypatch: pytest.MonkeyPatch) -> None:
    def faulty(request: Request, **limits: Any) -> Any:
        if request == REQUESTS[1]:
            raise MemoryError("no more")
        return allocate_request(request, **limits)

    monkeypatch.setattr("knobpack.many.allocate_request", faulty)
    first, second, third = allocate_many(REQUESTS[:3])
    assert first.get().tiers
    assert third.get().tiers
    with pytest.raises(NotAnswered, match="MemoryError: no more"):
        second.get()


@pytest.mark.parametrize(
    ("given", "field", "right"),
    [
        ({"requests": 3}, "requests", "give a list of Requests"),
        ({"requests": (REQUESTS[0], "no")}, "requests[1]", "give a Request"),
        ({"executor": "here"}, "executor", "give an Executor, or None"),
        ({"effort": -1}, "effort", "give a number from 0"),
        ({"time_limit": "long"}, "time_limit", "give a number from 0"),
        ({"progress": 1}, "progress", "give a function, or None"),
        ({"cancel": 1}, "cancel", "give a function, or None"),
        ({"together": 0}, "together", "a whole number from 1 to 10000"),
    ],
)
def test_wrong_input_is_named_before_anything_begins(
    given: dict[str, Any], field: str, right: str
) -> None:
    asked: dict[str, Any] = {"requests": REQUESTS, "progress": pytest.fail} | given
    with pytest.raises(InputError, match=right) as caught:
        allocate_many(**asked)
    assert caught.value.field == f"allocate_many.{field}"


def test_replies_and_their_errors_survive_a_pickle() -> None:
    for reply in (
        *allocate_many((REQUESTS[0], IMPOSSIBLE)),
        Reply(None, NotAnswered("BrokenProcessPool: gone")),
    ):
        assert pickle.loads(pickle.dumps(reply)) == reply  # noqa: S301
    assert issubclass(NotAnswered, KnobpackError)
