"""allocate_many(): many requests, on any executor, each answered or refused by itself."""

from __future__ import annotations

import queue
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import CancelledError, Executor, Future
from typing import Final

import attrs

from knobpack.allocation import Allocation
from knobpack.allocator import allocate_request
from knobpack.errors import InputError, KnobpackError, NoLayoutFound
from knobpack.limits import DEFAULT_EFFORT, check_limits
from knobpack.shown import Fielded
from knobpack.words import Request
from knobpack.words.converters import as_tuple
from knobpack.words.fields import check_whole

__all__ = ["NotAnswered", "Reply", "Tally", "allocate_many"]


_POLL = 0.1
"""Seconds between two questions whether to go on, while the executor works."""

_TASKS = 64
"""Tasks that a call is cut into, at least, so that no worker is idle for long at the end."""

CANCELLED: Final = "cancelled"
"""What stopped a request that was never begun, as the search itself says it."""

_MOST_A_TASK = 16
"""Requests that one task holds, at most: more would save nothing on the way there and back."""


class NotAnswered(KnobpackError):
    """There is no answer to a request, and not for a reason that lies in it.

    The executor was shut down, a worker was lost, or memory ran out.

    Args:
        why: what was said in place of an answer.
    """

    def __init__(self, why: str) -> None:
        super().__init__(why)
        self.why = why

    def __str__(self) -> str:
        return f"no answer was given: {self.why}; ask again, on a new executor if there was one"


@attrs.frozen
class Reply(Fielded):
    """What came of one request of many: an allocation, or the error in its place.

    Args:
        allocation: the answer; None where there is an error.
        error: what :func:`knobpack.allocate` raised; None where there is an answer.
    """

    allocation: Allocation | None
    error: KnobpackError | None = attrs.field(default=None, eq=repr)

    def get(self) -> Allocation:
        """The allocation, or the error in its place.

        Returns:
            The allocation, where there is one.

        Raises:
            KnobpackError: the error that stands in its place.
        """
        if self.allocation is None:
            raise self.error or KnobpackError("this reply holds no allocation and no error")
        return self.allocation


@attrs.frozen
class Tally(Fielded):
    """How far a call has come.

    Args:
        answered: requests with an allocation.
        failed: requests with an error.
        total: requests in all.
    """

    answered: int
    failed: int
    total: int


def allocate_many(
    requests: Iterable[Request],
    *,
    executor: Executor | None = None,
    time_limit: float | None = None,
    effort: float = DEFAULT_EFFORT,
    progress: Callable[[Tally], None] | None = None,
    cancel: Callable[[], bool] | None = None,
    together: int | None = None,
) -> tuple[Reply, ...]:
    """Find the best layout for each of many requests.

    The replies are those that :func:`knobpack.allocate_request` gives one by one, on every
    executor. What fails, fails alone: the error stands in the reply, the others are answered.

    Args:
        requests: any number of them.
        executor: what solves them: a pool of processes for the cores of one machine, or anything
            else with the interface of ``concurrent.futures.Executor``. It is left open. None:
            they are solved here, one after the other. Threads gain little: the interpreter runs
            one at a time.
        time_limit: seconds for each request, 0 to 10**9; None: none.
        effort: deterministic effort for each request, 0 to 10**9.
        progress: told after each task how far the call is, in the thread of the caller.
        cancel: asked several times a second; once it says yes, no further request is begun, and
            those without an answer get NoLayoutFound. Without an executor the one being solved
            gives its best so far; with one, those being solved are not waited for.
        together: requests that one task holds, 1 to 10,000; None: 1 to 16, as many as leave every
            worker something to do.

    Returns:
        A reply for each request, in their order.

    Raises:
        InputError: something given is not what it must be. Nothing is begun then.

    Example:
        >>> from knobpack import Destination, Request, Surface, Voice, allocate_many
        >>> pad = Voice("Glass pad", (Destination("cutoff", priority=1), Destination("level")))
        >>> bass = Voice("Round bass", (Destination("drive", priority=2),))
        >>> request = Request(Surface.row(2), (pad, bass))
        >>> narrow = Request(Surface.row(1), (pad, bass))
        >>> for reply in allocate_many((request, narrow)):
        ...     print(reply.get().unplaced)
        ()
        ('Round bass/drive',)
    """
    given = as_tuple(requests)
    if not isinstance(given, tuple):
        raise InputError("allocate_many.requests", given, "give a list of Requests")
    for at, request in enumerate(given):
        if not isinstance(request, Request):
            raise InputError(f"allocate_many.requests[{at}]", request, "give a Request")
    if executor is not None and not callable(getattr(executor, "submit", None)):
        raise InputError("allocate_many.executor", executor, "give an Executor, or None")
    check_limits("allocate_many", time_limit, effort, progress, cancel)
    if together is not None:
        check_whole("allocate_many.together", together, 1, 10_000)
    if together is None:
        together = min(max(1, len(given) // _TASKS), _MOST_A_TASK)
    replies: list[Reply | None] = [None] * len(given)
    counts = [0, 0]
    found = (
        _here(given, time_limit, effort, cancel)
        if executor is None
        else _there(executor, given, time_limit, effort, cancel, together)
    )
    for start, some in found:
        replies[start : start + len(some)] = some
        for reply in some:
            counts[reply.error is not None] += 1
        if progress is not None:
            progress(Tally(counts[0], counts[1], len(given)))
    return tuple(reply or Reply(None, NoLayoutFound(CANCELLED)) for reply in replies)


def _here(
    given: tuple[Request, ...],
    time_limit: float | None,
    effort: float,
    cancel: Callable[[], bool] | None,
) -> Iterator[tuple[int, list[Reply]]]:
    for at, request in enumerate(given):
        if cancel is not None and cancel():
            return
        yield at, [_reply(request, time_limit, effort, cancel)]


def _there(
    executor: Executor,
    given: tuple[Request, ...],
    time_limit: float | None,
    effort: float,
    cancel: Callable[[], bool] | None,
    together: int,
) -> Iterator[tuple[int, list[Reply]]]:
    """Hand out all tasks, and give the replies of each as it ends."""
    ended: queue.SimpleQueue[Future[list[Reply]]] = queue.SimpleQueue()
    tasks: dict[Future[list[Reply]], int] = {}
    try:
        for at in range(0, len(given), together):
            some = given[at : at + together]
            try:
                task = executor.submit(_replies, some, time_limit, effort)
            except Exception as error:  # an executor may refuse in a way of its own
                yield at, _lost(some, error)
                continue
            tasks[task] = at
            task.add_done_callback(ended.put)
        while tasks:
            if cancel is not None and cancel():
                return
            try:
                task = ended.get(timeout=_POLL)
            except queue.Empty:
                continue
            at = tasks.pop(task)
            # A task fails as a whole only where its worker was lost: a request that is refused
            # has its error in its reply.
            failure = CancelledError("cancelled") if task.cancelled() else task.exception()
            if failure is None:
                yield at, task.result()
            else:
                yield at, _lost(given[at : at + together], failure)
    finally:
        # However this ends, by an interrupt too, nothing is begun any more.
        for task in tasks:
            task.cancel()


def _lost(requests: tuple[Request, ...], error: BaseException) -> list[Reply]:
    return [Reply(None, NotAnswered(f"{type(error).__name__}: {error}")) for _ in requests]


def _replies(requests: tuple[Request, ...], time_limit: float | None, effort: float) -> list[Reply]:
    """What a worker does: it stands at the top of the module so that it can be sent there."""
    return [_reply(request, time_limit, effort, None) for request in requests]


def _reply(
    request: Request,
    time_limit: float | None,
    effort: float,
    cancel: Callable[[], bool] | None,
) -> Reply:
    try:
        return Reply(allocate_request(request, time_limit=time_limit, effort=effort, cancel=cancel))
    except KnobpackError as error:
        return Reply(None, error)
    except Exception as error:  # the others of its task must not be lost with it
        return Reply(None, NotAnswered(f"{type(error).__name__}: {error}"))
