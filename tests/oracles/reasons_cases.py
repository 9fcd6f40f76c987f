"""Allocations to ask about, and answers made false on purpose."""

from __future__ import annotations

import random
import re
from collections.abc import Callable, Iterable, Iterator
from functools import lru_cache
from typing import Any

import attrs

from knobpack.allocation import Allocation
from knobpack.allocator import allocate_request
from knobpack.clash import ImpossibleDemands
from knobpack.words import Request
from tests.oracles.strategies import seeded_request

_LEFT = ("allocation", "request", "rivals", "subject")
"""Parts of an answer that say nothing by themselves, or that other tests hold to account."""


@lru_cache(maxsize=4096)
def allocation_of(request: Request) -> Allocation | None:
    """The allocation of a request; None if it is impossible."""
    try:
        return allocate_request(request)
    except ImpossibleDemands:
        return None


def possible(seeds: Iterable[int]) -> Iterator[Allocation]:
    """The allocations of the seeded requests that are possible."""
    return (found for seed in seeds if (found := allocation_of(seeded_request(seed))))


def falsified(answer: Any) -> Iterator[tuple[str, Any]]:
    """An answer with one number, name or flag in it changed, each time another one, and where.

    A number becomes one more, a name one that nothing has, a flag the other one, and of a list one
    item is left out.
    """
    if isinstance(answer, bool):
        yield "!", not answer
    elif isinstance(answer, int):
        yield "+1", answer + 1
    elif isinstance(answer, str):
        yield "?", f"{answer}?"
    elif isinstance(answer, tuple):
        yield from _falsified_items(answer)
    elif attrs.has(type(answer)):
        names = [field.name for field in attrs.fields(type(answer)) if field.init]
        for name in names:
            for where, other in falsified(None if name in _LEFT else getattr(answer, name)):
                yield f".{name}{where}", attrs.evolve(answer, **{name: other})


def _falsified_items(items: tuple[Any, ...]) -> Iterator[tuple[str, Any]]:
    for at, each in enumerate(items):
        before, after = items[:at], items[at + 1 :]
        yield f"[-{at}]", (*before, *after)
        for where, other in falsified(each):
            yield f"[{at}]{where}", (*before, other, *after)


STILL_TRUE = re.compile(
    r"obstacles\[-\d+\]$"  # one reason is enough
    r"|facts\[\d+\]\.destinations\[-\d+\]$"  # what holds of some holds of fewer
    r"|pins\[-\d+\]$"  # it may be kept and fixed both
    r"|ways_out\[-\d+\]$|clash\.knobs\+1$"  # for the tests of clashes
)
"""Where what is changed leaves an answer that is poorer, but right."""


def uncaught(
    answer: Any, wrong_in: Callable[[Any], object], *, most: int = 30, seed: int = 0
) -> list[str]:
    """Where an answer can be made false without its being found out; so many places are tried."""
    if wrong := wrong_in(answer):
        return [f"it is wrong as it is: {wrong}"]
    false = list(falsified(answer))
    random.Random(seed).shuffle(false)  # noqa: S311 (no secret)
    tried = [each for each in false if not STILL_TRUE.search(each[0])][:most]
    return [where for where, other in tried if not wrong_in(other)]


def falsified_by_hand(
    answers: Iterable[tuple[Any, Callable[[Any], object]]], change: Callable[[Any], Any]
) -> int:
    """How many answers a change, where it can be made, makes wrong; it must make each wrong.

    Args:
        answers: each with what finds out what is wrong in it.
        change: makes another answer; None where it cannot.
    """
    made = 0
    for answer, wrong_in in answers:
        other = change(answer)
        if other is None or other == answer:
            continue
        assert not wrong_in(answer), wrong_in(answer)
        assert wrong_in(other), other
        made += 1
        if made == ENOUGH:
            break
    return made


ENOUGH = 6
"""So many answers are falsified in one way."""
