"""Every question holds for every request that is valid: snapshots that store all they can too."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator

from knobpack.allocation import Allocation
from knobpack.words.edits import only, without_knob, without_voice
from tests.explanation.test_reasons import every_answer
from tests.oracles.amount import EXAMPLES, often
from tests.oracles.reasons_cases import allocation_of
from tests.oracles.strategies import stored_request


def allocations() -> Iterator[Allocation]:
    return filter(None, map(allocation_of, map(stored_request, range(EXAMPLES // 5))))


def test_every_question_is_answered() -> None:
    seen: Counter[str] = Counter()
    for seed, found in enumerate(allocations()):
        request = found.request
        for answer in every_answer(found, random.Random(seed)):  # noqa: S311 (no secret)
            assert str(answer), (seed, type(answer))
        for stored in found.setup("Stored").snapshots:
            assert not {*stored.idle} & {*found.used}, seed
        seen.update(
            field
            for each in request.snapshots or ()
            for field in ("positions", "idle", "silent")
            if getattr(each, field)
        )
        seen.update(["rules"] * bool(request.rules), edit=request.in_use)
    assert min(seen.values()) > often(12), seen
    assert len(seen) == 5


def test_what_is_taken_away_is_named_nowhere() -> None:
    for request in map(stored_request, range(EXAMPLES)):
        for knob in request.surface.knob_names:
            for each in without_knob(request, knob).snapshots or ():
                assert knob not in {*each.stored, *each.idle}
        for voice in request.voices:
            for each in without_voice(request, voice.name).snapshots or ():
                assert voice.name not in {*each.moves, *each.silent}
        names = list(request.by_full_name)
        assert list(only(request, names[:2]).by_full_name) == names[:2]
