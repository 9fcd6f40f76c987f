"""Allocations to ask about, and answers made false on purpose."""

from __future__ import annotations

import random
from collections.abc import Callable, Iterable, Iterator
from contextlib import suppress
from functools import lru_cache
from typing import Any

import attrs

from knobpack.allocation import Allocation
from knobpack.allocator import allocate_request
from knobpack.clash import ImpossibleDemands
from knobpack.errors import InputError
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
    """An answer with one thing in it changed, each time another one, and where.

    A number becomes one more, a name one that nothing has, a flag the other one, what may be none
    is none; and of a list one item is left out, the first comes twice, or all are turned round.
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
        for field in attrs.fields(type(answer)):
            value = getattr(answer, field.name)
            if not field.init or field.name in _LEFT:
                continue
            if field.default is None and value is not None:
                yield f".{field.name}=None", attrs.evolve(answer, **{field.name: None})
            for where, other in falsified(value):
                with suppress(InputError):  # a word that refuses it can be in no answer
                    yield f".{field.name}{where}", attrs.evolve(answer, **{field.name: other})


def _falsified_items(items: tuple[Any, ...]) -> Iterator[tuple[str, Any]]:
    for at, each in enumerate(items):
        before, after = items[:at], items[at + 1 :]
        yield f"[-{at}]", (*before, *after)
        for where, other in falsified(each):
            yield f"[{at}]{where}", (*before, other, *after)
    if items:
        yield "[twice]", (*items, items[0])
        yield "[turned]", items[::-1]


def tried(
    answer: Any, wrong_in: Callable[[Any], object], *, most: int = 30, seed: int = 0
) -> Iterator[tuple[str, bool]]:
    """Where an answer was made false, and whether that was found out; so many places are tried.

    What cannot even be held against the request, as it names what is not there, is found out.
    """
    assert not wrong_in(answer), wrong_in(answer)
    false = [each for each in falsified(answer) if each[1] != answer]
    random.Random(seed).shuffle(false)  # noqa: S311 (no secret)
    for where, other in false[:most]:
        try:
            yield where, bool(wrong_in(other))
        except (LookupError, ValueError):
            yield where, True
