"""The benchmark of shows: seeded, and beside the obvious ways never more to relearn."""

from __future__ import annotations

from benchmarks.shows import measured, obvious, relearning, seeded
from knobpack import allocate_request


def test_the_same_seed_gives_the_same_show() -> None:
    assert seeded(3, 4, 6) == seeded(3, 4, 6)
    assert seeded(3, 4, 6) != seeded(4, 4, 6)


def test_no_obvious_way_leaves_less_to_relearn() -> None:
    found, _ = measured(1, 3, 5, 0.3)
    assert relearning(found.show, [song.layout for song in found.songs]) == found.prices.relearning
    ways = obvious(found.show)
    assert set(ways) == {"alone", "previous", "usual"}
    assert all(found.prices.relearning <= way for way in ways.values())
    assert any(found.prices.relearning < way for way in ways.values())
    alone = [allocate_request(song.played).layout for song in found.show.songs]  # type: ignore[arg-type]
    assert relearning(found.show, alone) == ways["alone"]
