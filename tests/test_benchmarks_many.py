"""The benchmark of many requests: the same replies in every way, and cores that are counted."""

from __future__ import annotations

import attrs
import pytest

from benchmarks import many
from benchmarks.requests import eight_knobs
from knobpack import allocate_request


def test_every_way_gives_the_same_replies(capsys: pytest.CaptureFixture[str]) -> None:
    assert many.main(["--requests", "3", "--cores", "1"]) == 0
    printed = capsys.readouterr().out.splitlines()
    assert printed[1].split()[:4] == ["one", "after", "the", "other"]
    assert printed[2].split()[:2] == ["1", "processes"]
    assert printed[-1] == "the same replies"


def test_what_is_measured_is_what_was_asked() -> None:
    requests = [eight_knobs(seed) for seed in range(2)]
    for found in many.measured(requests, 1):
        assert [reply.get() for reply in found.replies] == list(map(allocate_request, requests))
        assert found.seconds > 0
        assert found.busy > 0


def test_another_reply_makes_the_status_1(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    honest = list(many.measured([eight_knobs(0)], 1))
    other = attrs.evolve(honest[1], replies=())
    monkeypatch.setattr(many, "measured", lambda *_: iter((honest[0], other)))
    assert many.main(["--requests", "1", "--cores", "1"]) == 1
    assert capsys.readouterr().out.splitlines()[-1] == "NOT the same replies"
