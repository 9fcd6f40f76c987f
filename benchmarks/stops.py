"""How soon a search stops when it is told to: ``python -m benchmarks.stops [--kinds plain-64]``.

Each seeded request is solved once as a whole, and then again and again, told to stop at moments
that are drawn at random. With ``--questions explain,budget`` these questions about its allocation
are asked in place of that. Reported are the worst latenesses, each with the function that the
search was in for most of that time:

* *between looks*: processor seconds between two looks at the call to stop, in the whole run;
* *after a stop*: processor seconds from the call to stop to the answer.

Processor seconds are those of all threads, so that other work on the machine counts for nothing.
"""

from __future__ import annotations

import argparse
import random
import sys
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from itertools import chain
from types import FrameType
from typing import TypeAlias

import attrs

from benchmarks.foreign_requests import FOREIGN
from benchmarks.generator import KINDS, SIZES
from knobpack import NoLayoutFound, Request, allocate_request
from knobpack.allocation import Allocation
from knobpack.limits import DEFAULT_EFFORT, Limits


def _of_size(make: Callable[[int, int], Request], knobs: int) -> Callable[[int], Request]:
    return lambda seed: make(seed, knobs)


REQUESTS: Mapping[str, Callable[[int], Request]] = {
    **{f"{kind}-{n}": _of_size(make, n) for kind, make in KINDS.items() for n in SIZES},
    **FOREIGN,
}
"""Requests by their kind, as the options name them."""

QUESTIONS: Mapping[str, Callable[[Allocation, Limits], object]] = {
    "explain": lambda found, limits: found.explain(limits=limits),
    "budget": lambda found, limits: found.knob_budget(limits=limits),
    "prices": lambda found, limits: found.price_of_demands(limits=limits),
    "layouts": lambda found, limits: found.best_layouts(limits=limits),
    "least": lambda found, limits: found.request.least_knobs(limits=limits),
    "clash": lambda found, limits: found.request.every_clash(limits=limits),
}
"""Questions by their names, as the option has them."""

Search: TypeAlias = Callable[[Limits], str]
"""What is searched until it is told to stop, and what came of it, in a word."""

SAMPLES = 0.005
"""Seconds between two looks at where the search is."""


@attrs.frozen(order=True)
class Late:
    """A time in which a call to stop was not, or would not have been, heard.

    Args:
        seconds: how long, of the processor.
        where: the function that the search was in for most of it.
        when: after so many seconds of the search.
    """

    seconds: float
    where: str
    when: float


class Looks:
    """A call to stop that notes when it is looked at.

    Args:
        stop: says yes from so many processor seconds on.
    """

    def __init__(self, stop: float = float("inf")) -> None:
        self._thread = threading.get_ident()
        self._seen: Counter[str] = Counter()
        self._stop = stop
        self._begun = self._last = time.process_time()
        self.late: list[Late] = []
        self._done = threading.Event()
        threading.Thread(target=self._sample, daemon=True).start()

    def __call__(self) -> bool:
        """Whether to stop."""
        self.look()
        return self.seconds >= self._stop

    @property
    def seconds(self) -> float:
        """How long it has been searched."""
        return time.process_time() - self._begun

    def look(self) -> None:
        """Note the time since the last look."""
        now = time.process_time()
        seen, self._seen = self._seen, Counter()
        if now - self._last > SAMPLES or self.seconds >= self._stop:
            where = seen.copy().most_common(1)
            self.late.append(Late(now - self._last, where[0][0] if where else "?", self.seconds))
        self._last = now

    def end(self) -> None:
        """Note the time since the last look, and look no more."""
        self.look()
        self._done.set()

    def _sample(self) -> None:
        while not self._done.wait(SAMPLES):
            frame = sys._current_frames().get(self._thread)
            self._seen[_where(frame)] += 1


def _where(frame: FrameType | None) -> str:
    """The innermost functions of knobpack in a stack."""
    found: list[str] = []
    while frame is not None and len(found) < 3:
        module = frame.f_globals.get("__name__", "")
        if module.startswith("knobpack"):
            found.append(f"{module.removeprefix('knobpack.')}.{frame.f_code.co_name}")
        frame = frame.f_back
    return " < ".join(found)


def searches(request: Request, questions: Sequence[str], effort: float) -> Iterator[Search]:
    """What is searched of a request: a layout, or the answers to questions about the best."""

    def allocating(limits: Limits) -> str:
        found = allocate_request(request, cancel=limits.cancel, effort=limits.effort)
        return found.stopped or "proven"

    def asking(name: str) -> Search:
        return lambda limits: name if QUESTIONS[name](found, limits) is not None else "nothing"

    if not questions:
        yield allocating
        return
    found = allocate_request(request, effort=effort)
    yield from map(asking, questions)


def searched(search: Search, looks: Looks, effort: float) -> str:
    """What came of a search that is told to stop."""
    try:
        return search(Limits(cancel=looks, effort=effort))
    except NoLayoutFound:
        return "nothing"
    finally:
        looks.end()


def watched(
    search: Search, draw: random.Random, stops: int, effort: float
) -> Iterator[tuple[str, float, list[Late]]]:
    """What came of the whole run, and of each that was stopped.

    Yields:
        What was done, the seconds of the run, and the worst latenesses in it.
    """
    looks = Looks()
    told = searched(search, looks, effort)
    whole = looks.seconds
    yield f"whole run, {told}", whole, sorted(looks.late, reverse=True)[:5]
    for _ in range(stops):
        moment = draw.uniform(0, whole)
        looks = Looks(moment)
        searched(search, looks, effort)
        late = [each for each in looks.late if each.when >= moment]
        total = looks.seconds - moment
        most = max(late, default=Late(0, "?", 0))
        yield f"stopped at {moment:.2f}", looks.seconds, [Late(total, most.where, moment)]


def main(arguments: Sequence[str] | None = None) -> int:
    """Run it; 0 if no lateness is over ``--most``, else 1."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.stops", description=__doc__)
    usual = "plain-16,varied-16,tight-32,plain-64," + ",".join(k for k in FOREIGN if k != "huge")
    parser.add_argument("--kinds", default=usual, help=f"of {', '.join(REQUESTS)}")
    told = f"what is asked in place of a layout: of {','.join(QUESTIONS)}"
    parser.add_argument("--questions", type=lambda it: it.split(","), default=(), help=told)
    parser.add_argument("--first", type=int, default=0, help="the first seed (0)")
    parser.add_argument("--seeds", type=int, default=1, help="requests of each kind (1)")
    parser.add_argument("--stops", type=int, default=5, help="times each is stopped (5)")
    parser.add_argument("--effort", type=float, default=DEFAULT_EFFORT)
    parser.add_argument("--most", type=float, default=0.3, help="seconds that are borne (0.3)")
    given = parser.parse_args(arguments)
    worst: dict[str, Late] = {}
    for kind in given.kinds.split(","):
        for seed in range(given.first, given.first + given.seeds):
            draw = random.Random(f"stops {kind} {seed}")  # noqa: S311 (no secret)
            request = REQUESTS[kind](seed)
            print(f"{kind} {seed}: {len(request.by_full_name)} destinations", flush=True)
            every = searches(request, given.questions, given.effort)
            runs = (watched(search, draw, given.stops, given.effort) for search in every)
            for told, seconds, late in chain.from_iterable(runs):
                print(f"  {told}: {seconds:.2f} s", flush=True)
                for each in late:
                    if each.seconds > given.most / 3:
                        print(f"    {each.seconds:.2f} at {each.when:.2f} {each.where}", flush=True)
                    worst[each.where] = max(each, worst.get(each.where, each))
    print("worst:")
    for each in sorted(worst.values(), reverse=True)[:30]:
        print(f"  {each.seconds:.3f} {each.where}")
    return int(any(each.seconds > given.most for each in worst.values()))


if __name__ == "__main__":
    sys.exit(main())
