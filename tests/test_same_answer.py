"""The same input gives the same answer: in every process, and in every order it is given in."""

from __future__ import annotations

import os
import random
import subprocess
import sys
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import attrs

from benchmarks.requests import eight_knobs
from knobpack import (
    Allocation,
    allocate_request,
)
from tests.oracles.alterations import without_sequence
from tests.oracles.brute import least
from tests.oracles.problems import possible
from tests.oracles.strategies import seeded_request

ROOT = Path(__file__).parents[1]


def values_of(found: Allocation) -> tuple[int, ...]:
    return tuple(tier.value for tier in found.tiers)


def in_a_process(code: str, hash_seed: str = "random") -> str:
    return subprocess.run(  # noqa: S603 (our own code)
        [sys.executable, "-c", code],
        env={**os.environ, "PYTHONHASHSEED": hash_seed},
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=True,
    ).stdout


def test_the_hash_seed_does_not_matter() -> None:
    code = (
        "from tests.test_same_answer import *\n"
        "requests = [eight_knobs(3), eight_knobs(7), *map(seeded_request, (0, 2, 3))]\n"
        "print([allocate_request(each) for each in requests])"
    )
    answers = {in_a_process(code, hash_seed) for hash_seed in ("1", "77")}
    requests = [eight_knobs(3), eight_knobs(7), *map(seeded_request, (0, 2, 3))]
    here = repr([allocate_request(each) for each in requests])
    assert answers == {here + "\n"}


def test_the_order_of_rules_and_voices_does_not_matter_to_the_values() -> None:
    reordered = 0
    for each in possible(range(140)):
        draw = random.Random(each.seed)  # noqa: S311 (no secret)
        # The order in which the knobs of a source are named is their order there.
        request = without_sequence(each.request)
        best = least(request)
        assert best is not None

        def shuffled(words: Iterable[Any], draw: random.Random = draw) -> tuple[Any, ...]:
            left = list(words)
            draw.shuffle(left)
            return tuple(left)

        other = attrs.evolve(
            request,
            voices=tuple(
                attrs.evolve(voice, destinations=shuffled(voice.destinations))
                for voice in shuffled(request.voices)
            ),
            rules=shuffled(request.rules),
            groups=shuffled(request.groups),
            keep=attrs.evolve(request.keep, routes=shuffled(request.keep.routes)),
        )
        found = allocate_request(other)
        assert values_of(found) == best.totals, each.seed
        assert found.proven
        reordered += other != request
    assert reordered > 60


def test_importing_it_imports_no_solver() -> None:
    code = "import sys, knobpack; print([m for m in sys.modules if m.split('.')[0] == 'ortools'])"
    assert in_a_process(code).strip() == "[]"
    used = "import knobpack as k; k.allocate([], k.Surface.row(0)); import sys; "
    assert in_a_process(used + "print('ortools' in sys.modules)").strip() == "True"
