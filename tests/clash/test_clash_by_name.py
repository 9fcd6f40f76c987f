"""Clashes by name: one request for each way in which demands can clash, and what is said of it."""

from __future__ import annotations

import pytest

from knobpack.clash.find import find_clash
from knobpack.words import (
    Apart,
    Barred,
    Destination,
    Fixed,
    Layout,
    Request,
    Snapshot,
    Surface,
    Together,
    Voice,
)
from tests.clash.clash_requests import clash_of, pads, told, voices, watch
from tests.oracles.clashes import faults, truth_of


def test_two_kept_routes_that_a_snapshot_separates() -> None:
    clash = clash_of(
        pads(
            surface=Surface.row(8),
            snapshots=(Snapshot("verse", ("Pad",)),),
            keep=Layout.of({"K3": ["Pad/cutoff", "Bass/level"]}),
        )
    )
    assert told(clash) == [
        "snapshot 'verse' has what it moves and what it holds on different knobs",
        "Pad/cutoff is kept on K3",
        "Bass/level is kept on K3",
    ]
    assert (clash.rivals, clash.knobs) == (("Pad/cutoff", "Bass/level"), 1)
    assert [str(way) for way in clash.ways_out] == [
        "let snapshot 'verse' be broken, with a break weight",
        "free the base's Bass/level from K3",
        "free the base's Pad/cutoff from K3",
    ]
    assert clash.wider is None


def test_fixed_to_a_reserved_knob() -> None:
    request = pads(Fixed(("Pad/cutoff",), "K2"), surface=Surface.row(3, reserved=("K2", "K3")))
    assert told(clash_of(request)) == [
        "the rule fixed(Pad/cutoff; K2) holds",
        "K2 takes no new route",
    ]


def test_a_route_that_is_kept_on_a_reserved_knob_is_no_clash() -> None:
    keep = Layout.of({"K2": ["Pad/cutoff"]})
    assert find_clash(pads(surface=Surface.row(3, reserved=("K2",)), keep=keep), watch()) is None


def test_fixed_twice() -> None:
    request = pads(Fixed(("Pad",), "K1"), Fixed(("Pad/level",), "K2"), surface=Surface.row(2))
    clash = clash_of(request)
    assert told(clash) == [
        "the rule fixed(Pad; K1) holds",
        "the rule fixed(Pad/level; K2) holds",
    ]
    assert str(clash) == (
        "no layout meets every demand. These clash: the rule fixed(Pad; K1) holds; "
        "the rule fixed(Pad/level; K2) holds. No knob is left for Pad/level, whatever else is "
        "left out. To get out: "
        "drop the rule fixed(Pad/level; K2), or prefer it with a weight; or "
        "drop the rule fixed(Pad; K1), or prefer it with a weight."
    )


def test_fixed_where_it_is_barred() -> None:
    request = pads(
        Fixed(("Pad/level",), "K1"), Barred(("Pad",), ("K1", "K2")), surface=Surface.row(3)
    )
    assert [type(demand.subject) for demand in clash_of(request).demands] == [Fixed, Barred]


def test_together_across_snapshots_that_separate() -> None:
    request = pads(
        Together(("Pad/cutoff", "Bass/cutoff")),
        Fixed(("Bass/cutoff",), "K1"),
        surface=Surface.row(2),
        snapshots=(Snapshot("all", ("Pad", "Bass")), Snapshot("verse", ("Pad",))),
    )
    assert told(clash_of(request)) == [
        "the rule together(Pad/cutoff, Bass/cutoff) holds",
        "snapshot 'verse' has what it moves and what it holds on different knobs",
    ]


def test_apart_and_together() -> None:
    request = pads(
        Together(("Pad",)),
        Apart(("Pad/cutoff",), ("Pad/level",)),
        Fixed(("Pad/level",), "K2"),
        surface=Surface.row(4),
    )
    clash = clash_of(request)
    assert told(clash) == [
        "the rule together(Pad) holds",
        "the rule apart(Pad/cutoff; Pad/level) holds",
    ]
    assert clash.contradicted == (("Pad/cutoff", "Pad/level"),)
    assert "No knob is left for Pad/cutoff and Pad/level together" in str(clash)


@pytest.mark.parametrize(("count", "each"), [(9, 1), (9, 4), (40, 1)])
def test_nine_or_more_separated_voices_on_eight_knobs(count: int, each: int) -> None:
    clash = clash_of(Request(Surface.row(8), voices(count, each)))
    assert len(clash.rivals) == 9
    assert clash.knobs == 8
    assert clash.minimal
    assert [demand.subject for demand in clash.demands if demand.kind == "place"] == list(
        clash.rivals
    )
    assert "These 9 are separated from each other, and there are 8 knobs for them." in str(clash)
    # The cheapest: leave all the destinations of as many voices out as are too many.
    leave_out = (count - 8) * each
    assert all(len(way.demands) == leave_out for way in clash.ways_out)
    assert all(way.proven and way.price == 16 * leave_out for way in clash.ways_out)
    assert clash.wider == (9 if count == 9 else None)
    assert ("use a surface with 9 knobs" in str(clash)) == (count == 9)


def test_nine_separated_voices_on_eight_knobs_in_words() -> None:
    clash = clash_of(Request(Surface.row(8), voices(9, 1)), ways=1)
    # Each of the nine is as good to leave out.
    left_out = str(clash).split(" leave ")[1].split(" out")[0]
    assert left_out in {f"V{number}/d1" for number in range(1, 10)}
    assert str(clash) == (
        "no layout meets every demand. These clash: V1/d1, V2/d1, V3/d1, V4/d1, V5/d1, V6/d1, "
        "V7/d1, V8/d1 and V9/d1 must be placed; the snapshots 'only V1', 'only V2', 'only V3', "
        "'only V4', 'only V5', 'only V6', 'only V7' and 'only V8' have what they move and what "
        "they hold on different knobs. These 9 are separated from each other, and there are 8 "
        f"knobs for them. To get out: leave {left_out} out; or use a surface with 9 knobs."
    )


def test_reserved_knobs_are_not_counted_as_knobs() -> None:
    clash = clash_of(Request(Surface.row(8, reserved=("K1", "K5")), voices(7, 2)))
    assert (len(clash.rivals), clash.knobs, clash.wider) == (7, 6, 9)
    assert {"K1 takes no new route", "K5 takes no new route"} <= set(told(clash))


def test_together_is_more_than_one_knob_carries() -> None:
    rest = tuple(Destination(name) for name in ("level", "pan", "drive"))
    pad = Voice("Pad", (Destination("cutoff", must_place=True), *rest))
    surface = Surface.row(8, destinations_per_knob=3)
    request = Request(surface, (pad,), rules=(Together(("Pad",)),))
    assert told(clash_of(request)) == [
        "the rule together(Pad) holds",
        "a knob carries at most 3",
    ]


def test_more_destinations_than_the_knobs_carry() -> None:
    clash = clash_of(Request(Surface.row(2, destinations_per_knob=2), voices(1, 6)))
    assert [demand.kind for demand in clash.demands] == ["place"] * 5 + ["destinations per knob"]
    assert "There are 2 knobs, for 4 destinations in all." in str(clash)
    assert clash.ways_out[0].price == 2 * 16
    assert clash.wider == 3


def test_more_destinations_than_routes() -> None:
    clash = clash_of(Request(Surface.row(4, routes=2), voices(2, 2)))
    assert [demand.kind for demand in clash.demands] == ["place"] * 3 + ["routes"]
    assert [way.price for way in clash.ways_out[:1]] == [2 * 16]


def test_more_voices_than_layers() -> None:
    clash = clash_of(Request(Surface.row(8, layers=2), voices(4, 1)))
    assert [demand.kind for demand in clash.demands] == ["layer"] * 3 + ["layers"]
    assert str(clash).startswith(
        "no layout meets every demand. These clash: the voices 'V1', 'V2' and 'V3' need a layer "
        "each; the surface has 2 layers. To get out: use a surface of more than 2 layers; or "
        "leave the voices 'V3' and 'V4' out"
    )


def test_a_voice_that_holds_more_is_dearer_to_leave_out() -> None:
    rich, poor = Voice("Rich", voices(1, 3)[0].destinations), Voice("Poor")
    clash = clash_of(Request(Surface.row(8, layers=1), (rich, poor)))
    named = [[demand.subject for demand in way.demands] for way in clash.ways_out]
    assert named.index(["Poor"]) < named.index(["Rich"])


def test_more_snapshots_than_are_stored() -> None:
    scenes = tuple(Snapshot(f"Scene {n}", ("Pad",)) for n in range(3))
    request = pads(surface=Surface.row(8, snapshots=2), snapshots=scenes)
    clash = clash_of(request)
    assert [demand.kind for demand in clash.demands] == ["store"] * 3 + ["snapshots"]
    assert str(clash.ways_out[0]) == "drop snapshot 'Scene 2'"


def test_a_snapshot_that_may_be_broken_and_a_preferred_rule_demand_nothing() -> None:
    request = pads(
        Apart(("Pad",), ("Bass",), weight=1),
        Together(("Pad", "Bass"), weight=9),
        surface=Surface.row(1),
        snapshots=(Snapshot("verse", ("Pad",), 5),),
        keep=Layout.of({"K1": ["Pad/cutoff", "Bass/cutoff"]}),
    )
    assert find_clash(request, watch()) is None


def test_two_clashes_at_once_are_both_left_by_every_way_out() -> None:
    request = pads(
        Fixed(("Pad/cutoff",), "K1"),
        Fixed(("Pad/cutoff",), "K2"),
        Fixed(("Bass/cutoff",), "K1"),
        Fixed(("Bass/cutoff",), "K2"),
        surface=Surface.row(2),
    )
    clash = clash_of(request)
    assert len(clash.demands) == 2
    assert {len(way.demands) for way in clash.ways_out} == {2}
    assert len(clash.ways_out) == 4


def test_a_clash_that_no_crowd_shows() -> None:
    """An odd ring of destinations, each apart from the next, on two knobs: no three are rivals."""
    ring = voices(1, 5)
    rules = tuple(Apart((f"V1/d{n + 1}",), (f"V1/d{(n + 1) % 5 + 1}",)) for n in range(5))
    clash = clash_of(Request(Surface.row(2), ring, snapshots=(), rules=rules))
    assert len(clash.demands) == 10
    assert clash.rivals == ()
    assert clash.wider == 3
    assert "There are 2 knobs." in str(clash)


def test_apart_from_what_is_named_on_both_sides() -> None:
    request = Request(
        Surface.row(1),
        voices(1, 6),
        snapshots=(),
        rules=(
            Apart(("V1/d1", "V1/d2"), ("V1/d2", "V1/d3")),
            Apart(("V1/d2",), ("V1/d4", "V1/d5", "V1/d6")),
        ),
    )
    assert faults(request, truth_of(request), clash_of(request)) == []


def test_no_knobs_at_all() -> None:
    clash = clash_of(Request(Surface(()), voices(1, 1)))
    assert told(clash) == ["V1/d1 must be placed"]
    assert (clash.knobs, clash.wider) == (0, 1)
