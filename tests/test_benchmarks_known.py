"""The instances known from outside are built as their sources say, and knobpack agrees."""

from __future__ import annotations

import attrs
import pytest

from benchmarks import known
from benchmarks.known import (
    Found,
    Known,
    colourings,
    main,
    solved,
    triplets,
)
from knobpack import allocate_request
from knobpack.words.edits import with_knobs


def test_as_many_knobs_as_bins_place_all_and_one_fewer_does_not() -> None:
    request = triplets(1, 3, 20, 0.2)
    for more, unplaced in ((2, False), (1, True)):
        found = allocate_request(with_knobs(request, more))
        assert found.tiers[0].proven
        assert bool(found.unplaced) is unplaced


def test_a_refuted_answer_is_seen() -> None:
    each = next(iter(colourings()))
    right, told = each.knobs, solved(each).least
    for value, bound, proven, agrees in (
        (right, right, True, True),
        (right + 1, right, False, True),
        (right + 1, right + 1, True, False),
        (right - 1, right - 1, True, False),
        (right + 2, right + 1, False, False),
    ):
        said = attrs.evolve(told, independent=value, independent_bound=bound)
        assert said.proven is proven
        assert Found(each, said, 0.1).agrees is agrees


def test_the_command_prints_each_and_fails_on_a_wrong_one(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def few(*, hard: bool) -> list[Known]:
        return [] if hard else list(colourings())[:1]

    found = solved(few(hard=False)[0])
    monkeypatch.setattr(known, "colourings", few)
    monkeypatch.setattr(known, "packings", lambda *, hard: [])  # noqa: ARG005
    assert main([]) == 0
    assert "queen5_5" in capsys.readouterr().out

    def wrong(each: Known) -> Found:
        said = attrs.evolve(found.least, independent=9, independent_bound=9)
        return Found(each, said, 0.1)

    monkeypatch.setattr(known, "solved", wrong)
    assert main([]) == 1
    assert "WRONG" in capsys.readouterr().out
