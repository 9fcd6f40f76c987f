"""The same input gives the same answer: in every process, and in every order it is given in."""

from __future__ import annotations

import os
import random
import subprocess
import sys
from collections.abc import Iterable
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import attrs

from benchmarks.requests import eight_knobs, sized
from knobpack import Allocation, allocate_request
from knobpack.clash import find_clash
from knobpack.clash.every import every_clash
from knobpack.files import save_graph
from knobpack.midi import controller_numbers
from tests.clash.clash_requests import seeded, strict, watch
from tests.files.answers import allocation
from tests.midi.numbered_setups import plain
from tests.oracles.alterations import without_sequence
from tests.oracles.brute import least
from tests.oracles.problems import possible
from tests.oracles.strategies import seeded_request

ROOT = Path(__file__).parents[1]


def values_of(found: Allocation) -> tuple[int, ...]:
    return tuple(tier.value for tier in found.tiers)


ROOT = Path(__file__).parents[1]


def told() -> str:
    """One answer of each sort whose making goes through sets or hashes, requests among them."""
    requests = [eight_knobs(3), eight_knobs(7), sized(3, 16, 70), *map(seeded_request, (0, 2, 3))]
    clashing = [strict(seeded(seed)) for seed in range(40)]
    given = {"K2": 30, "K5": 16, "K7": 24}
    written = []
    with TemporaryDirectory() as folder:
        for ending in (".graphml", ".json"):
            path = Path(folder, f"graph{ending}")
            save_graph(path, allocation().graph)
            written.append(path.read_bytes())
    return repr(
        [
            *requests,
            *map(allocate_request, requests),
            *(find_clash(each, watch()) for each in clashing),
            *(every_clash(each, most=12) for each in clashing[:8]),
            controller_numbers(plain(9, bits=10), fine=True, previous=given),
            *written,
        ]
    )


def test_the_hash_seed_does_not_matter() -> None:
    code = "from tests.test_same_answer import told; print(told())"
    answers = {
        subprocess.run(  # noqa: S603 (our own code)
            [sys.executable, "-c", code],
            env={**os.environ, "PYTHONHASHSEED": hash_seed},
            cwd=ROOT,
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for hash_seed in ("1", "77")
    }
    assert answers == {f"{told()}\n"}


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
