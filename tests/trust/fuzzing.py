"""Fuzzing: hostile files read by every loader."""

from __future__ import annotations

import random
import resource
import signal
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import Any, Final, NoReturn

import attrs

from knobpack import KnobpackError, Request, Setup, allocate_request, audit, patch_sheet
from knobpack.files import dumps, loads
from knobpack.midi import import_controllers
from tests.trust.hostile import LIST, MAP, ONE, spoiled

HANG: Final = 300.0
"""Seconds of processor time after which a reader is broken off, so that the seed can be told.

How long one takes is measured by ``python -m benchmarks.trust --fuzz``: a third of a second.
"""

SMALL: Final = 7
"""Destinations and knobs of a request that is allocated too, at most."""


class Escaped(AssertionError):  # noqa: N818 - it tells what happened
    """Something other than the two error types came out, or nothing did."""


@attrs.frozen
class Fuzzed:
    """What came of a run.

    Args:
        tried: how many files were read.
        outcomes: how many of them each loader took, and how many it refused.
        slowest: the most seconds of processor time that one took.
        memory: bytes of resident memory at its highest, all libraries in it.
    """

    tried: int
    outcomes: Counter[str]
    slowest: float
    memory: int


def word(content: Any) -> None:
    """Read a word, and write it the same."""
    found = loads(content)
    if loads(dumps(found)) != found:
        raise Escaped("what is written is not what was read")


def _all(content: Any) -> None:
    str(import_controllers(content, "Pad", maps={"wave": MAP}))


def _one(content: Any) -> None:
    str(import_controllers(content, "Pad"))


def _map(content: Any) -> None:
    str(import_controllers(LIST, "Pad", maps={"wave": content}))


LOADERS: Final[dict[str, Callable[[Any], None]]] = {
    "word": word,
    "all controllers": _all,
    "channel controllers": _one,
    "controller map": _map,
}

ORIGINALS: Final = {"all controllers": LIST, "channel controllers": ONE, "controller map": MAP}
"""What is spoiled for a loader; a word for the others."""


def fuzz(seeds: range, *, until: float = float("inf")) -> Fuzzed:
    """Read the hostile file of every seed, and put small words that can be read to use.

    Args:
        seeds: one for each file.
        until: the monotonic time after which no further file is begun.

    Raises:
        Escaped: names the seed.
    """
    outcomes: Counter[str] = Counter()
    slowest, tried = 0.0, 0
    for loader in LOADERS.values():
        outcome(loader, LIST)  # the first call imports what it needs
    for seed in seeds:
        if time.monotonic() > until:
            break
        draw = random.Random(seed)  # noqa: S311 (no secret)
        name = draw.choice(("word", *LOADERS))
        content = spoiled(draw, ORIGINALS.get(name))
        given = content if draw.random() < 0.7 else content.decode("utf-8", "replace")
        try:
            said, seconds = outcome(LOADERS[name], given)
            if said == "read" and name == "word":
                said = _used(given)
        except Exception as error:
            raise Escaped(f"seed {seed}, {name}: {type(error).__name__}: {error}") from error
        outcomes[f"{name}: {said}"] += 1
        slowest = max(slowest, seconds)
        tried += 1
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss * 1024
    return Fuzzed(tried, outcomes, slowest, peak)


def outcome(loader: Callable[[Any], None], given: Any) -> tuple[str, float]:
    """What a loader makes of something, and the seconds of processor time it takes.

    Returns:
        ``read``, or ``refused`` where the error is of knobpack and can be shown anywhere.

    Raises:
        Escaped: it hangs, or its error cannot be shown.
    """
    began = time.process_time()
    said = "read"
    with _no_hang():
        try:
            loader(given)
        except KnobpackError as error:
            said = "refused"
            _check_shown(error)
    return said, time.process_time() - began


def _check_shown(error: KnobpackError) -> None:
    """Refuse a message that would fill a screen, command a terminal or turn text round."""
    for text in (str(error), *getattr(error, "__notes__", ())):
        if not text.isprintable() or not 0 < len(text) < 1000:
            raise Escaped(f"not to be shown: {text[:200]!r}")


@contextmanager
def _no_hang() -> Iterator[None]:
    """Break off what uses far too much processor time."""

    def hung(*_: object) -> NoReturn:
        raise Escaped("hangs")

    before = signal.signal(signal.SIGPROF, hung)
    signal.setitimer(signal.ITIMER_PROF, HANG)
    try:
        yield
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
        signal.signal(signal.SIGPROF, before)


def _used(given: bytes | str) -> str:
    """Allocate a small request, audit a setup: whatever was read can be worked with."""
    found = loads(given)
    try:
        if isinstance(found, Setup):
            str(audit(found))
            patch_sheet(found, found).page()
        elif isinstance(found, Request) and _is_small(found):
            str(allocate_request(found, effort=0.02, time_limit=5))
    except KnobpackError as error:
        if "please report" in str(error):
            raise Escaped(str(error)) from error
        return "read, not to be used"
    return "read and used"


def _is_small(request: Request) -> bool:
    return max(len(request.by_full_name), len(request.surface.knobs)) <= SMALL
