"""allocate_many(): many requests, on any executor, each answered or refused by itself."""

from __future__ import annotations

import os
import platform
import queue
import tempfile
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import CancelledError, Executor, Future, wait
from contextlib import contextmanager, suppress
from functools import partial
from typing import Final, TypeVar

import attrs

from knobpack.allocation import Allocation
from knobpack.allocator import allocate_request
from knobpack.errors import InputError, KnobpackError, NoLayoutFound
from knobpack.limits import DEFAULT_EFFORT, Limits, begun, check_limits
from knobpack.text.shown import Fielded
from knobpack.words import Request
from knobpack.words.fields import as_list, check_whole

__all__ = ["NotAnswered", "Reply", "Tally", "allocate_many", "each_reply"]

_Found = TypeVar("_Found")

_POLL = 0.1
"""Seconds between two questions whether to go on, while the executor works."""

_MOMENT = 1.0
"""Seconds that workers have to say what they know once they are told to stop."""

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
        why = self.why.rstrip(".")
        return f"no answer was given: {why}; ask again, on a new executor if there was one"


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
    limits: Limits | None = None,
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
            those without an answer get NoLayoutFound. What is being solved gives its best so far,
            on an executor if it is there within a second: workers on this machine are told to stop,
            as they are by an interrupt.
        together: requests that one task holds, 1 to 10,000; None: 1 to 16, as many as leave every
            worker something to do.
        limits: in place of ``time_limit``, ``effort`` and ``cancel``, all three in one value.

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
    asked = _asked("allocate_many", requests, executor, together)
    each = _for_each("allocate_many", limits, time_limit, effort, cancel)
    check_limits("allocate_many", progress=progress)
    replies: list[Reply | None] = [None] * len(asked)
    counts = [0, 0]
    for start, some in _found(asked, executor, each, together):
        replies[start : start + len(some)] = some
        for reply in some:
            counts[reply.error is not None] += 1
        if progress is not None:
            progress(Tally(counts[0], counts[1], len(asked)))
    if progress is not None and sum(counts) < len(asked):  # cancelled: all that is left has failed
        progress(Tally(counts[0], len(asked) - counts[0], len(asked)))
    return tuple(reply or Reply(None, NoLayoutFound(CANCELLED)) for reply in replies)


def each_reply(
    requests: Iterable[Request],
    *,
    executor: Executor | None = None,
    time_limit: float | None = None,
    effort: float = DEFAULT_EFFORT,
    cancel: Callable[[], bool] | None = None,
    limits: Limits | None = None,
) -> Iterator[tuple[int, Reply]]:
    """Find the best layout for each of many requests, and give each reply as it comes.

    Args:
        requests: any number of them.
        executor: what solves them, as for :func:`allocate_many`.
        time_limit: seconds for each request, 0 to 10**9; None: none.
        effort: deterministic effort for each request, 0 to 10**9.
        cancel: asked several times a second; once it says yes, none comes any more but what is
            being solved, as for :func:`allocate_many`. Nothing comes once the iterator is closed.
        limits: in place of ``time_limit``, ``effort`` and ``cancel``, all three in one value.

    Returns:
        An iterator over the replies, each with the position of its request.

    Raises:
        InputError: something given is not what it must be. Nothing is begun then.

    Example:
        >>> from knobpack import Destination, Request, Surface, Voice
        >>> from knobpack.many import each_reply
        >>> pad = Voice("Glass pad", (Destination("cutoff", priority=1), Destination("level")))
        >>> requests = [Request(Surface.row(knobs), (pad,)) for knobs in (1, 2)]
        >>> for at, reply in each_reply(requests):
        ...     print(at, len({route.knob for route in reply.get().routes}))
        0 1
        1 2
    """
    asked = _asked("each_reply", requests, executor, 1)
    each = _for_each("each_reply", limits, time_limit, effort, cancel)
    found = _found(asked, executor, each, 1)
    return ((at, reply) for start, some in found for at, reply in enumerate(some, start))


def _asked(
    caller: str, requests: object, executor: object, together: object
) -> tuple[Request, ...]:
    """The requests; what else is given is looked at too.

    Raises:
        InputError: something is not what it must be.
    """
    given = as_list(f"{caller}.requests", requests, "give a list of Requests")
    for at, request in enumerate(given):
        if not isinstance(request, Request):
            raise InputError(f"{caller}.requests[{at}]", request, "give a Request")
    check_executor(caller, executor)
    if together is not None:
        check_whole(f"{caller}.together", together, 1, 10_000)
    return given


def check_executor(caller: str, executor: object) -> None:
    """Refuse what is neither an executor nor None, as an argument of ``caller``.

    Raises:
        InputError: it is something else.
    """
    is_class = isinstance(executor, type)
    if is_class or (executor is not None and not callable(getattr(executor, "submit", None))):
        right = "give an Executor, or None" + "; of a class, call it" * is_class
        raise InputError(f"{caller}.executor", executor, right)


def _for_each(
    caller: str,
    limits: Limits | None,
    time_limit: float | None,
    effort: float,
    cancel: Callable[[], bool] | None,
) -> Limits:
    """What may cut each request short.

    Raises:
        InputError: something given is not what it must be.
    """
    if isinstance(limits, Limits) and limits.progress is not None:
        right = "it is told of one search; of requests, allocate_many takes progress="
        raise InputError(f"{caller}.limits.progress", limits.progress, right)
    run = begun(caller, effort, limits, time_limit, None, cancel)
    return Limits(run.time_limit, run.effort, None, run.cancel)


def _found(
    given: tuple[Request, ...], executor: Executor | None, limits: Limits, together: int | None
) -> Iterator[tuple[int, list[Reply]]]:
    """The replies of each task as it ends, with the position of its first request."""
    if executor is None:
        return _here(given, limits)
    each = min(max(1, len(given) // _TASKS), _MOST_A_TASK) if together is None else together
    return _there(executor, given, limits, each)


@attrs.frozen
class _Going:
    """A file that is there as long as a call goes on, for its workers to look at.

    No other sign reaches a worker on every executor. On another machine nobody looks.

    Args:
        machine: on which it is.
        path: where it is there.
    """

    machine: str
    path: str

    def over(self) -> bool:
        """Whether the call is over, as far as can be told here."""
        return self.machine == platform.node() and not os.path.exists(self.path)  # noqa: PTH110


@contextmanager
def _going() -> Iterator[_Going | None]:
    """A call that goes on until this is left; None where no file can be made."""
    try:
        handle, path = tempfile.mkstemp(prefix="knobpack-")
    except OSError:
        yield None
        return
    os.close(handle)
    try:
        yield _Going(platform.node(), path)
    finally:
        with suppress(OSError):
            os.unlink(path)  # noqa: PTH108


def _here(given: tuple[Request, ...], limits: Limits) -> Iterator[tuple[int, list[Reply]]]:
    for at, request in enumerate(given):
        if limits.cancel is not None and limits.cancel():
            return
        yield at, [_reply(request, limits)]


def _there(
    executor: Executor, given: tuple[Request, ...], limits: Limits, together: int
) -> Iterator[tuple[int, list[Reply]]]:
    """Hand out all tasks, and give the replies of each as it ends."""
    starts = range(0, len(given), together)
    sent = attrs.evolve(limits, cancel=None)
    tasks = [partial(_replies, given[at : at + together], sent) for at in starts]
    for at, found in handed_out(executor, tasks, limits.cancel):
        some = given[starts[at] : starts[at] + together]
        # A task fails as a whole only where its worker was lost: a request that is refused
        # has its error in its reply.
        yield starts[at], _lost(some, found) if isinstance(found, BaseException) else found


def handed_out(
    executor: Executor,
    tasks: Sequence[Callable[[Callable[[], bool] | None], _Found]],
    cancel: Callable[[], bool] | None,
) -> Iterator[tuple[int, _Found | BaseException]]:
    """Hand out tasks, and give what came of each as it ends, or the error in its place.

    Args:
        executor: what does them.
        tasks: each takes what it asks now and then whether to stop; it can be sent to a worker.
        cancel: asked several times a second; once it says yes, what is known by then is given.
    """
    ended: queue.SimpleQueue[Future[_Found]] = queue.SimpleQueue()
    under_way: dict[Future[_Found], int] = {}
    # However this ends, by an interrupt too, nothing is begun any more, and what is being solved
    # is told to stop.
    with _going() as going:
        try:
            for at, task in enumerate(tasks):
                try:
                    future = executor.submit(_done, task, going)
                except Exception as error:  # an executor may refuse in a way of its own
                    yield at, error
                    continue
                under_way[future] = at
                future.add_done_callback(ended.put)
            while under_way:
                if cancel is not None and cancel():
                    break
                try:
                    future = ended.get(timeout=_POLL)
                except queue.Empty:
                    continue
                at = under_way.pop(future)
                failure = CancelledError("cancelled") if future.cancelled() else future.exception()
                yield at, future.result() if failure is None else failure
        except BaseException:
            for future in under_way:
                future.cancel()
            raise
    # What tasks that were told to stop know by then; what begins now ends at once. They are not
    # taken back before: some executors give up what is under way, too.
    wait(under_way, _MOMENT if going is not None else 0)
    for future, at in under_way.items():
        if not future.cancel():
            with suppress(Exception):
                yield at, future.result(0)


def _done(task: Callable[[Callable[[], bool] | None], _Found], going: _Going | None) -> _Found:
    """What a worker does: it stands at the top of the module so that it can be sent there."""
    return task(None if going is None else going.over)


def _lost(requests: tuple[Request, ...], error: BaseException) -> list[Reply]:
    return [Reply(None, NotAnswered(f"{type(error).__name__}: {error}")) for _ in requests]


def _replies(
    requests: tuple[Request, ...], limits: Limits, cancel: Callable[[], bool] | None
) -> list[Reply]:
    its = attrs.evolve(limits, cancel=cancel)
    return [reply for _, some in _here(requests, its) for reply in some]


def _reply(request: Request, limits: Limits) -> Reply:
    try:
        return Reply(allocate_request(request, limits=limits))
    except KnobpackError as error:
        return Reply(None, error)
    except Exception as error:  # the others of its task must not be lost with it
        return Reply(None, NotAnswered(f"{type(error).__name__}: {error}"))
