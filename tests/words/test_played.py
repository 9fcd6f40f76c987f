"""The snapshots of a request that gives none part nothing that belongs together."""

from __future__ import annotations

import attrs
import pytest

from knobpack.words import Destination, Group, Request, Surface, Together, Voice
from tests.oracles.strategies import seeded_request


def voice(name: str, *knobs: str, source: str = "Hall") -> Voice:
    inner = tuple(Destination(f"d{at}", source_knob=knob) for at, knob in enumerate(knobs, 1))
    return Voice(name, inner, source=source)


def names(request: Request) -> list[str]:
    return [each.name for each in request.played]


def test_voices_that_a_bundle_joins_count_as_one() -> None:
    joined = Request(
        Surface.row(4), (voice("Low", "1"), voice("High", "1", "2"), voice("Pad", "3"))
    )
    assert names(joined) == ["everything", "only Low and High", "only Pad"]
    assert joined.played[1].moves == ("Low", "High")


def test_so_do_those_that_a_rule_joins() -> None:
    voices = (voice("Low", "1"), voice("High", "2"))
    request = Request(Surface.row(4), voices, rules=(Together(("Low/d1", "High/d1")),))
    assert names(request) == ["everything"]
    preferred = attrs.evolve(request, rules=(Together(("Low/d1", "High/d1"), 5),))
    assert names(preferred) == ["everything", "only Low", "only High"]


def test_a_group_takes_in_the_rest_of_what_it_holds_a_part_of() -> None:
    request = Request(
        Surface.row(4),
        (voice("Low", "1", "1"), voice("High", "2")),
        groups=(Group("Bass", ("Low/d1",)),),
    )
    assert names(request) == ["everything", "only Bass", "only High"]
    assert request.moved(request.played[1]) == {"Low/d1", "Low/d2"}


def test_what_is_not_movable_is_not_named_by_itself() -> None:
    inner = (Destination("a", source_knob="1"), Destination("b", source_knob="1", movable=False))
    request = Request(Surface.row(4), (Voice("Low", inner),), groups=(Group("G", ("Low/a",)),))
    assert attrs.evolve(request, snapshots=request.played).played == request.played


@pytest.mark.parametrize("first", range(0, 400, 100))
def test_no_default_snapshot_parts_a_bundle_or_what_is_bound(first: int) -> None:
    seen = 0
    for seed in range(first, first + 100):
        request = attrs.evolve(seeded_request(seed), snapshots=None)
        movable = {name for name, inner in request.destinations.items() if inner.movable}
        bound = [set(each.names) & movable for each in request.bundles]
        bound += [
            set(request.named(rule.names)) & movable
            for rule in request.rules
            if isinstance(rule, Together) and rule.weight is None
        ]
        played = [request.moved(each) for each in request.played]
        assert len(set(played)) == len(played)
        assert len({each.name for each in request.played}) == len(played)
        for moved in played:
            assert all(part <= moved or part.isdisjoint(moved) for part in bound)
            seen += any(part <= moved for part in bound if len(part) > 1)
        assert attrs.evolve(request, snapshots=request.played).played == request.played
    assert seen > 20
