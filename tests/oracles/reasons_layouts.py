"""All valid layouts of a small request: what is never so in them, and what is best among some."""

from __future__ import annotations

import random
from collections.abc import Iterable, Mapping, Sequence
from functools import lru_cache
from itertools import combinations

import numpy as np

from knobpack.words import Request
from tests.oracles import brute
from tests.oracles.reading import Reading, bits, read

MOST = 60_000
"""Layouts of a request that are all looked at, at most."""


@lru_cache(maxsize=256)
def read_once(request: Request) -> Reading:
    """The request as bits."""
    return read(request)


def small(request: Request) -> bool:
    """Whether there are few enough layouts to look at them all."""
    return bool((1 + len(request.surface.knobs)) ** len(request.by_full_name) <= MOST)


@lru_cache(maxsize=32)
def _valid_layouts(request: Request) -> brute.Layouts:
    return brute.valid_layouts(read_once(request))


def ever_there(request: Request, wanted: Mapping[str, str]) -> bool:
    """Whether some valid layout of a small request has these destinations on these knobs."""
    reading, layouts = read_once(request), _valid_layouts(request)
    there = np.ones(len(layouts.left_out), dtype=bool)
    for knob, on in zip(reading.knobs, layouts.on, strict=True):
        mask = sum(1 << reading.names.index(n) for n, k in wanted.items() if k == knob.name)
        there &= (on & mask) == mask
    return bool(there.any())


def never_share(request: Request, pair: tuple[str, str]) -> bool:
    """Whether no valid layout of a small request has both on one knob."""
    names = read_once(request).names
    both = 1 << names.index(pair[0]) | 1 << names.index(pair[1])
    return not any(((on & both) == both).any() for on in _valid_layouts(request).on)


def least_apart(request: Request, names: Sequence[str]) -> tuple[int, ...] | None:
    """The best of the valid layouts of a small request in which these are not all on one knob."""
    reading, layouts = read_once(request), _valid_layouts(request)
    whole = sum(1 << reading.names.index(name) for name in names)
    for knob in range(len(layouts.on)):
        layouts = layouts.only((layouts.on[knob] & whole) != whole)
    found = brute.best_of(request, reading, layouts)
    return None if found is None else found[0]


@lru_cache(maxsize=4096)
def least(request: Request) -> tuple[int, ...] | None:
    """The values of the best layout of a small request; None if none is valid."""
    found = brute.least(request)
    return None if found is None else found.totals


def most_parted(pairs: Iterable[frozenset[str]], names: Sequence[str]) -> int:
    """How many of some names there are at most of which each two are a pair."""
    known = set(pairs)
    return max(
        count
        for count in range(len(names) + 1)
        if any(
            all(frozenset(pair) in known for pair in combinations(some, 2))
            for some in combinations(names, count)
        )
    )


def a_layout(request: Request, draw: random.Random) -> dict[str, str] | None:
    """Some valid layout of a small request; None if there is none."""
    reading, layouts = read_once(request), _valid_layouts(request)
    if not len(layouts.left_out) or least(request) is None:
        return None
    column = draw.randrange(len(layouts.left_out))
    at = {
        bit: knob.name
        for knob, on in zip(reading.knobs, layouts.on, strict=True)
        for bit in bits(int(on[column]))
    }
    return {name: at[bit] for bit, name in enumerate(reading.names) if bit in at}
