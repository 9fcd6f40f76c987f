"""Mutation testing: ``python -m benchmarks.mutate [PART ...] [--processes N]``.

Changes one small thing at a time in the code that decides what is right (the plain checker, the
prices, those of shows, what is contradicted, the numbering of problems), and runs the tests that
come by there until one fails: the one that noticed the change before it, then the quickest first.
A change that none of them notices survives, and is printed.

The tests are collected once; each change is made in a fork, where the code of the function is
exchanged before the tests run. What is in no function is changed while its module is imported.
"""

from __future__ import annotations

import argparse
import gc
import math
import os
import pickle
import resource
import signal
import sys
import time
import warnings
from collections.abc import Callable, Iterable, Iterator, Sequence
from importlib.machinery import SourceFileLoader
from multiprocessing.sharedctypes import RawArray
from pathlib import Path
from types import CodeType, FrameType, FunctionType

import attrs
import pytest
from _pytest.runner import runtestprotocol

from benchmarks.mutations import Mutation, mutations

ROOT = Path(__file__).parents[1]
CHANGED = (
    "knobpack/checker.py",
    "knobpack/definition/contradictions.py",
    "knobpack/definition/importance_prices.py",
    "knobpack/definition/layout_prices.py",
    "knobpack/definition/prices.py",
    "knobpack/definition/rule_prices.py",
    "knobpack/definition/travel_prices.py",
    "knobpack/numbered/less.py",
    "knobpack/numbered/problem.py",
    "knobpack/numbered/request.py",
    "knobpack/show/definition.py",
)
TESTS = (
    "tests/definition/test_prices_by_hand.py",
    "tests/definition/test_losses_by_hand.py",
    "tests/definition/test_travels_by_hand.py",
    "tests/definition/test_places_by_hand.py",
    "tests/numbered/test_problem_by_hand.py",
    "tests/numbered/test_problem_numbers.py",
    "tests/test_checker_words.py",
    "tests/text/test_shown.py::test_a_request_a_layout_and_a_check_tell_themselves",
    "tests/explanation/test_comparison.py::test_a_term_is_told_with_what_it_is_about",
    "tests/numbered/test_problem.py",
    "tests/test_checker.py",
    "tests/definition/test_contradictions.py",
    "tests/test_travel_on_route.py",
    "tests/show/test_definition.py",
)
NO_OTHER = {
    "_Numbering._atoms: ' for number, (_, *more) in enumerate(sets) if more'"
    " => ' for number, (_, *more) in enumerate(sets)'": "it takes longer alone",
    "Problem.heaped: 'self.heap and items' => 'items'": "likewise",
}
"""The changes that change nothing a test could notice, and why: that they survive is checked."""

EXAMPLES = "150"
"""``KNOBPACK_EXAMPLES`` for these tests: as few as the tests themselves allow."""

_PYTEST = ("-q", "-n0", "--assert=plain", "--tb=native", "-p", "no:cacheprovider")
_MEMORY = 4 << 30
_PATIENCE = 2.0
"""The processor seconds that a test may take beyond ten times what it takes unchanged."""


@attrs.frozen
class Seen:
    """What a test does while nothing is changed.

    Args:
        seconds: of the processor.
        came_by: the functions of the changed files that it calls: file, name, first line.
        failed: whether it failed.
    """

    seconds: float
    came_by: frozenset[tuple[str, str, int]]
    failed: bool


class Mutating:
    """A pytest plugin: in the place of a run of all tests, one for each change to a function.

    Args:
        changes: the changes, each with its file.
        processes: how many changes are tried at the same time.
        quick: the longest that a test may take, in processor seconds.
    """

    def __init__(
        self, changes: Sequence[tuple[str, Mutation]], processes: int, quick: float
    ) -> None:
        self.changes, self.processes, self.quick = changes, processes, quick
        self.survivors: list[tuple[str, Mutation]] = []

    def pytest_collection(self) -> None:
        """What fails need not be made smaller: that takes most of the time."""
        from hypothesis import Phase, settings

        settings.register_profile("no shrinking", phases=(Phase.explicit, Phase.generate))
        settings.load_profile("no shrinking")

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        """Look which test comes by where, then try each change."""
        seen: list[Seen] = pickle.loads(_told(lambda: pickle.dumps(_watched(session.items))))  # noqa: S301 (our own)
        for item, told in zip(session.items, seen, strict=True):
            if told.failed:
                raise pytest.UsageError(f"{item.nodeid} fails though nothing is changed")
        tests = sorted(zip(session.items, seen, strict=True), key=lambda each: each[1].seconds)
        tests = [(item, told) for item, told in tests if told.seconds <= self.quick]
        functions: dict[tuple[str, str, int], list[FunctionType]] = {}
        for each in [each for each in gc.get_objects() if isinstance(each, FunctionType)]:
            functions.setdefault(_named(each.__code__), []).append(each)
        at = {name: number for number, name in enumerate(functions)}
        noticed_last = RawArray("i", len(at))  # shared with the forks
        gc.freeze()  # else the collector touches, and so copies, all of it in each fork

        def noticed(change: tuple[str, Mutation]) -> Callable[[], bool]:
            code = change[1].code
            name = _named(code)
            come_by = [
                (number, item, 10 * told.seconds + _PATIENCE)
                for number, (item, told) in enumerate(tests)
                if name in told.came_by
            ]
            come_by.sort(key=lambda each: each[0] != noticed_last[at[name]])

            def fails() -> bool:
                for each in functions[name]:
                    each.__code__ = code
                resource.setrlimit(resource.RLIMIT_DATA, (_MEMORY, _MEMORY))
                for number, item, seconds in come_by:
                    if _fails(item, seconds):
                        noticed_last[at[name]] = number
                        return True
                return False

            return fails

        self.survivors += survivors(self.changes, noticed, self.processes)
        return True


def _told(tell: Callable[[], bytes]) -> bytes:
    """What a fork says, so that nothing it did is left in this process."""
    out, into = os.pipe()
    if not os.fork():
        os.close(out)
        with os.fdopen(into, "wb") as file:
            file.write(tell())
        os._exit(0)
    os.close(into)
    with os.fdopen(out, "rb") as file:
        told = file.read()
    os.wait()
    return told


def _watched(items: Iterable[pytest.Item]) -> list[Seen]:
    """What each test does while nothing is changed."""
    changed, seen = {str(ROOT / path) for path in CHANGED}, []
    for item in items:
        calls: set[CodeType] = set()

        def note(frame: FrameType, event: str, _: object, calls: set[CodeType] = calls) -> None:
            if event == "call":
                calls.add(frame.f_code)

        began = time.process_time()
        sys.setprofile(note)
        failed = _fails(item)
        sys.setprofile(None)
        came_by = frozenset(_named(code) for code in calls if code.co_filename in changed)
        seen.append(Seen(time.process_time() - began, came_by, failed))
    return seen


def _fails(item: pytest.Item, seconds: float = 0) -> bool:
    """Whether a test fails; the process ends where it takes more than so many processor seconds."""
    signal.setitimer(signal.ITIMER_VIRTUAL, seconds)
    return any(report.failed for report in runtestprotocol(item, log=False, nextitem=None))


def _named(code: CodeType) -> tuple[str, str, int]:
    return code.co_filename, code.co_qualname, code.co_firstlineno


def survivors(
    changes: Sequence[tuple[str, Mutation]],
    noticed: Callable[[tuple[str, Mutation]], Callable[[], bool]],
    processes: int,
) -> Iterator[tuple[str, Mutation]]:
    """Those of some changes that are not noticed, each tried in a fork, printed as they are found.

    Args:
        changes: the changes, each with its file.
        noticed: what to do in the fork for a change; what it says is whether a test failed.
        processes: how many forks there are at the same time.
    """
    running: dict[int, tuple[str, Mutation]] = {}
    waiting = list(reversed(changes))
    while waiting or running:
        while waiting and len(running) < processes:
            change = waiting.pop()
            fails = noticed(change)
            child = os.fork()
            if not child:
                _silent()
                os._exit(1 if fails() else 0)
            running[child] = change
        child, status = os.wait()
        change = running.pop(child)
        if status == 0:
            print(f"{change[0]}:{change[1]}", flush=True)
            yield change


def _silent() -> None:
    nothing = os.open(os.devnull, os.O_WRONLY)
    os.dup2(nothing, 1)
    os.dup2(nothing, 2)


def _at_import(change: tuple[str, Mutation]) -> Callable[[], bool]:
    """Run one file of tests after the other where a module is imported with a change."""
    path, mutation = str(ROOT / change[0]), change[1]
    plain = SourceFileLoader.get_code

    def get_code(self: SourceFileLoader, fullname: str) -> CodeType | None:
        return mutation.code if self.path == path else plain(self, fullname)

    def fails() -> bool:
        SourceFileLoader.get_code = get_code  # type: ignore[assignment,method-assign]
        signal.setitimer(signal.ITIMER_VIRTUAL, 30)
        return any(pytest.main(["-x", *_PYTEST, test]) != pytest.ExitCode.OK for test in TESTS)

    return fails


def changes_of(parts: Sequence[str] = ()) -> list[tuple[str, Mutation]]:
    """All changes, each with its file.

    Args:
        parts: only what is in a file or function with one of these in its name; none: all.
    """
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", SyntaxWarning)  # "is" beside what is no longer None
        found = [
            (path, mutation)
            for path in CHANGED
            for mutation in mutations((ROOT / path).read_text("utf-8"), str(ROOT / path))
        ]
    return [
        (path, mutation)
        for path, mutation in found
        if not parts or any(part in f"{path}:{mutation.owner or 'module'}" for part in parts)
    ]


def main(arguments: Sequence[str] | None = None) -> int:
    """Print every survivor and the figures; whether any survived that changes something."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.mutate", description=__doc__)
    parser.add_argument("parts", nargs="*", metavar="PART", help="files or functions (all)")
    parser.add_argument("--processes", type=int, default=os.cpu_count() or 1, help="(every core)")
    parser.add_argument(
        "--quick",
        type=float,
        default=math.inf,
        metavar="SECONDS",
        help="only tests that take so many processor seconds at most (all)",
    )
    given = parser.parse_args(arguments)
    os.environ["KNOBPACK_EXAMPLES"] = EXAMPLES
    os.chdir(ROOT)
    changes = changes_of(given.parts)
    outside = [each for each in changes if not each[1].owner]
    # Before anything of the package is imported here.
    left = list(survivors(outside, _at_import, given.processes))
    plugin = Mutating([each for each in changes if each[1].owner], given.processes, given.quick)
    if plugin.changes and pytest.main([*_PYTEST, *TESTS], plugins=[plugin]) != pytest.ExitCode.OK:
        raise SystemExit("the tests cannot be run, or fail though nothing is changed")
    left += plugin.survivors
    print(f"{len(changes)} changes, {len(changes) - len(left)} noticed, {len(left)} survive")
    told = {str(each).split(" ", 1)[1] for _, each in left}
    asked = {str(each).split(" ", 1)[1] for _, each in changes}
    wrong = told ^ asked.intersection(NO_OTHER)
    print(*(["not as NO_OTHER says:"] if wrong else []), *sorted(wrong), sep="\n", end="")
    return int(bool(wrong))


if __name__ == "__main__":
    sys.exit(main())
