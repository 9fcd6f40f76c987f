"""The benchmark of many requests: the same replies in every way, and cores that are counted."""

from __future__ import annotations

import attrs
import pytest

from benchmarks import many
from benchmarks.requests import eight_knobs
from knobpack import allocate_request


def test_every_way_gives_the_replies_that_were_asked_for_and_another_is_noticed(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    requests = [eight_knobs(seed) for seed in range(2)]
    honest = list(many.measured(requests, 1))
    for found in honest:
        assert [reply.get() for reply in found.replies] == list(map(allocate_request, requests))
        assert found.seconds > 0
        assert found.busy > 0
    false = [honest[0], attrs.evolve(honest[1], replies=())]
    for told, status, last in ((honest, 0, "the same replies"), (false, 1, "NOT the same replies")):
        monkeypatch.setattr(many, "measured", lambda *_, told=told: iter(told))
        assert many.main(["--requests", "2", "--cores", "1"]) == status
        printed = capsys.readouterr().out.splitlines()
        assert printed[1].split()[:4] == ["one", "after", "the", "other"]
        assert printed[2].split()[:2] == ["1", "processes"]
        assert printed[-1] == last
