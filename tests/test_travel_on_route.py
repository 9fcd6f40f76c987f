"""Travels that are set on routes: nothing is missed by sharing, and each goes where it is wanted.

That many instruments set them so is common practice, no source.
"""

from __future__ import annotations

from typing import Any

import attrs
import numpy as np
import pytest

from knobpack.allocator import allocate, allocate_request
from knobpack.auditing import causes
from knobpack.auditing.audit import audit
from knobpack.checker import check
from knobpack.clash import ImpossibleDemands
from knobpack.errors import InputError
from knobpack.explanation.here import why_here
from knobpack.present.text import layout_text
from knobpack.sheets import patch_sheet
from knobpack.simulation import change, sweep
from knobpack.words import (
    Destination,
    KnobPosition,
    KnobTravel,
    Layout,
    Request,
    Route,
    Setup,
    Snapshot,
    Surface,
    Travel,
    Voice,
)
from tests.oracles.alterations import on_routes
from tests.oracles.amount import EXAMPLES
from tests.oracles.replay import in_order, replay
from tests.oracles.strategies import seeded_request

HALF, BACK = Travel(0, 64), Travel(127, 0)
ORGAN = Voice("organ", (Destination("drive", travel=HALF), Destination("level", travel=BACK)), 1)
ONE = Surface.row(1, travel_on="route")
ONE_OF_EACH = Setup(
    "Set",
    ONE,
    (ORGAN,),
    routes=(Route("organ/drive", "K1", HALF), Route("organ/level", "K1", BACK)),
    snapshots=(Snapshot("all", ("organ",)), Snapshot("held")),
)


def test_nothing_is_missed_by_sharing_and_each_goes_where_it_is_wanted() -> None:
    found = allocate((ORGAN,), ONE)
    assert {(r.destination, r.travel) for r in found.routes} == {
        ("organ/drive", HALF),
        ("organ/level", BACK),
    }
    assert found.travels == ()
    assert found.prices.knobs[0].travel == 0
    on_knob = allocate((ORGAN,), Surface.row(1))
    # 0 to 64 misses 127 to 0 by 191 of 127, 150 hundredths, at 4 points of priority 3.
    assert on_knob.prices.knobs[0].travel == 150 * 4
    assert on_knob.prices.totals[3] - found.prices.totals[3] == 600
    assert {route.travel for route in on_knob.routes} == {None}


def test_it_is_told_as_it_is() -> None:
    found = allocate((ORGAN,), ONE)
    assert (
        "K1, travel on each route: drives organ/drive over 0 to 64 (half), organ/level over "
        "127 to 0 (reversed)."
    ) in found.sentences
    here = why_here(found, "organ/level")
    assert (here.travel, here.missed) == (BACK, 0)
    text = layout_text(found)
    assert "over 127 to 0 (reversed)" in text
    assert "missed" not in text
    ends = [e for *_, e in found.graph.edges(data=True) if e["fact"] == "drives"]
    assert {(e["start"], e["end"]) for e in ends} == {(0, 64), (127, 0)}


def test_a_kept_route_keeps_its_travel() -> None:
    short = Route("organ/level", "K1", Travel(5, 6))
    found = allocate((ORGAN,), ONE, keep=(short,))
    assert short in found.routes
    other = Layout((attrs.evolve(short, travel=Travel(5, 7)),))
    (breach,) = check(found.request, other).breaches
    assert breach.found == "it goes over 5 to 7, not 5 to 6"
    again = allocate((ORGAN,), ONE, keep=found.layout)
    assert again.routes == found.routes


@pytest.mark.parametrize(
    ("surface", "keep", "field"),
    [
        (ONE, Layout(travels=(KnobTravel("K1", HALF),)), "Request.keep.travels[0]"),
        (
            Surface.row(1),
            Layout((Route("organ/level", "K1", HALF),)),
            "Request.keep.routes[0].travel",
        ),
        (
            ONE,
            Layout((Route("organ/level", "K1", Travel(0, 128)),)),
            "Request.keep.routes[0].travel.end",
        ),
    ],
)
def test_a_travel_that_has_no_place_is_refused(surface: Surface, keep: Layout, field: str) -> None:
    with pytest.raises(InputError) as caught:
        Request(surface, (ORGAN,), keep=keep)
    assert caught.value.field == field
    with pytest.raises(InputError) as caught:
        check(Request(surface, (ORGAN,)), keep)
    assert caught.value.field.startswith("Layout.")


@pytest.mark.parametrize("travel_on", ["knobs", "", None, 1])
def test_a_travel_is_on_the_knob_or_on_the_route(travel_on: Any) -> None:
    with pytest.raises(InputError, match="give one of 'knob', 'route'") as caught:
        Surface.row(1, travel_on=travel_on)
    assert caught.value.field == "Surface.travel_on"


def test_each_destination_goes_over_the_travel_of_its_route() -> None:
    found = sweep(ONE_OF_EACH, "all", master=3)
    assert found.positions.tolist() == [[0, 64, 127]]
    # 64 · 64 / 127 = 32.3; 127 - 64 = 63.
    assert (found.received * 127).round(9).tolist() == [[0, 32, 64], [127, 63, 0]]
    assert (
        "K1 follows over 0 to 127 (full) and moves organ/drive over 0 to 64 (half)"
        in (found.sentences[1])
    )
    # Held at 127: drive at 64, and level, which goes down as the knob goes up, at 0.
    held = attrs.evolve(
        ONE_OF_EACH,
        snapshots=(
            ONE_OF_EACH.snapshots[0],
            Snapshot("held", (), None, (KnobPosition("K1", 127),)),
        ),
    )
    drive, level = sorted(change(held, "all", "held", 0), key=lambda jump: jump.destination)
    assert (drive.from_position, drive.to_position, drive.share) == (0, 127, 64 / 127)
    assert (level.from_received, level.to_received, level.share) == (1.0, 0.0, 1.0)


def test_the_quiet_end_of_a_level_that_goes_down_is_the_top() -> None:
    found = sweep(ONE_OF_EACH, "held", master=2)
    assert (found.positions.tolist(), found.supposed) == ([[127, 127]], ("K1",))
    up = attrs.evolve(ONE_OF_EACH, routes=(ONE_OF_EACH.routes[0], Route("organ/level", "K1")))
    assert sweep(up, "held", master=2).positions.tolist() == [[0, 0]]


def test_the_sweeps_of_what_is_allocated_are_what_is_wanted() -> None:
    seen = 0
    for seed in range(max(60, EXAMPLES // 4)):
        request = on_routes(seeded_request(seed))
        try:
            found = allocate_request(request)
        except ImpossibleDemands:
            continue
        setup = found.setup("Made")
        kept = {route.destination: route.travel for route in request.keep.routes}
        top = request.surface.top
        for snapshot in request.played:
            swept = sweep(setup, snapshot.name, master=2)
            for route, received in zip(swept.routes, swept.received, strict=True):
                wanted = kept.get(route.destination) or request.wanted(route.destination)
                if (
                    route.knob in swept.follows
                    and request.by_full_name[route.destination].steps is None
                ):
                    assert np.array_equal(received * top, [wanted.start, wanted.end])
                    seen += 1
        assert not [f for f in audit(setup).findings if f.cause == causes.MISPLACED]
    assert seen > 100


def test_an_audit_finds_what_is_amiss_with_the_travel_of_a_route() -> None:
    routes = (Route("organ/drive", "K1", Travel(9, 9)), Route("organ/level", "K1", Travel(0, 200)))
    faulty = attrs.evolve(ONE_OF_EACH, routes=routes, travels=(KnobTravel("K1", HALF),))
    told = audit(faulty).sentences
    for sentence in (
        (
            "Wrong: the travel of the route from K1 to organ/level is 0 to 200, beyond the highest "
            "position, 127; set start and end anew, apart and from 0 to 127."
        ),
        (
            "Dead: the travel of the route from K1 to organ/drive starts where it ends (9 to 9), "
            "so organ/drive stays put; set start and end apart."
        ),
    ):
        assert sentence in told
    (use,) = audit(faulty).by_knob
    assert (use.driven, use.travel) == (("organ/level",), None)
    on_knob = attrs.evolve(ONE_OF_EACH, surface=Surface.row(1))
    assert sweep(on_knob, "all", master=2).received.tolist() == [[0, 1], [0, 1]]
    assert "and this surface sets travels on knobs." in sweep(on_knob, "all").remarks[0]
    stepped = attrs.evolve(
        ONE_OF_EACH, voices=(Voice("organ", (Destination("drive", steps=2),)),), routes=routes[:1]
    )
    stepped = attrs.evolve(stepped, routes=(Route("organ/drive", "K1", Travel(3, 9)),))
    assert (
        "Dead: organ/drive stays at one step over the travel of its route from K1 (3 to 9); set "
        "start and end further apart."
    ) in audit(stepped).sentences


def test_the_sheet_sets_the_travel_of_each_route() -> None:
    bare = Setup("Set", ONE, (ORGAN,), snapshots=ONE_OF_EACH.snapshots)
    sheet = patch_sheet(bare, ONE_OF_EACH)
    assert sheet.sentences == (
        "K1: route it to organ/drive on layer 1 over 0 to 64 (half).",
        "K1: route it to organ/level on layer 1 over 127 to 0 (reversed).",
    )
    assert replay(bare, sheet.steps) == ONE_OF_EACH
    set_anew = (ONE_OF_EACH.routes[0], Route("organ/level", "K1", HALF))
    after = attrs.evolve(ONE_OF_EACH, routes=set_anew)
    other = patch_sheet(ONE_OF_EACH, after)
    assert other.sentences == (
        (
            "K1: set the travel of its route to organ/level 0 to 64 (half); it was 127 to 0 "
            "(reversed)."
        ),
    )
    assert replay(ONE_OF_EACH, other.steps) == after
    back = patch_sheet(after, ONE_OF_EACH)
    assert in_order(replay(after, back.steps)) == in_order(ONE_OF_EACH)
    for text in (sheet.text(), sheet.markdown()):
        plain = " ".join(text.split())
        assert (
            "K1, travel on each route: drives organ/drive on layer 1 over 0 to 64 (half)" in plain
        )
    carried = "<bdi>organ</bdi>/<bdi>level</bdi> on layer 1 over 127 to 0 (reversed)</dd>"
    assert carried in sheet.page()
