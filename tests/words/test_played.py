"""The snapshots of a request that gives none part nothing that belongs together."""

from __future__ import annotations

import attrs
import pytest

from knobpack.words import Destination, Group, Request, Surface, Together, Voice
from tests.oracles.strategies import seeded_request


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
