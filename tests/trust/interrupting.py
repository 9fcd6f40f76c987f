"""Interrupting: Ctrl-C at random moments of a search, once and twice, and what is left then.

It runs in a process of its own: ``python -m tests.trust.interrupting SEED ROUNDS`` prints the
seconds from each first Ctrl-C to the KeyboardInterrupt, as JSON, after all that must hold held.
"""

from __future__ import annotations

import json
import os
import random
import signal
import sys
import threading
import time
from contextlib import suppress
from typing import Final

import attrs

from benchmarks.requests import eight_knobs, sized
from knobpack import Request, allocate_request

LONGEST: Final = 0.3
"""Seconds from the start of a search to the first Ctrl-C, at most: so long each search takes."""

LET_END: Final = 60.0
"""Seconds after which a search that was told to end is taken for one that goes on."""

AGAIN: Final = 0.002
"""Seconds between two Ctrl-C."""


def searches() -> list[str]:
    """The searches that are still running."""
    found = [each for each in threading.enumerate() if each.name == "knobpack-solve"]
    for each in found:
        with suppress(RuntimeError):  # an interrupt came before it was started, and it never is
            each.join(LET_END)
    return [each.name for each in found if each.is_alive()]


def requests() -> tuple[Request, ...]:
    """Requests that are solved in different ways, and some that take all the effort there is."""
    general = eight_knobs(5)
    routes = len(general.by_full_name) - 1
    general = attrs.evolve(general, surface=attrs.evolve(general.surface, routes=routes))
    return eight_knobs(3), general, sized(2, 16, 60), sized(1, 32, 140)


def interrupted(request: Request, delay: float, *, twice: bool) -> float:
    """Search until Ctrl-C comes.

    Returns:
        The seconds from Ctrl-C to the KeyboardInterrupt.

    Raises:
        AssertionError: a search is still running, or the handler is another one.
    """
    handler = signal.getsignal(signal.SIGINT)
    pressed: list[float] = []
    begun, ended = threading.Event(), threading.Event()

    def press() -> None:
        begun.wait()
        time.sleep(delay)
        pressed.append(time.monotonic())
        os.kill(os.getpid(), signal.SIGINT)
        if twice:
            time.sleep(AGAIN)
            os.kill(os.getpid(), signal.SIGINT)
        ended.set()

    arrived: list[float] = []
    threading.Thread(target=press, daemon=True).start()
    try:
        try:
            begun.set()
            while True:
                allocate_request(request)
        except KeyboardInterrupt:
            arrived.append(time.monotonic())
        ended.wait()
        time.sleep(0.05)
    except KeyboardInterrupt:  # the second, wherever it came
        ended.wait()
    # An import that was begun goes on to its end; a search has ended, or ends before it begins.
    assert searches() == []
    assert signal.getsignal(signal.SIGINT) is handler
    return (arrived or [time.monotonic()])[0] - pressed[0]


def main(seed: int, rounds: int) -> None:
    """Press Ctrl-C so many times; the very first while the solver is being imported."""
    signal.signal(signal.SIGINT, signal.default_int_handler)  # ignored where begun with ``&``
    draw = random.Random(seed)  # noqa: S311 (no secret)
    asked = requests()
    seconds = [interrupted(asked[0], draw.random() * LONGEST, twice=draw.random() < 0.5)]
    for _ in range(rounds - 1):
        delay, twice = draw.random() * LONGEST, draw.random() < 0.5
        seconds.append(interrupted(draw.choice(asked), delay, twice=twice))
    # After all that the answers are what they always are.
    assert allocate_request(asked[0]).proven
    print(json.dumps(seconds))


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]))
