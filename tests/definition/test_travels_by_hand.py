"""Travels that are missed, and what changes, against sums done by hand.

Every example is on a row of knobs K1, K2, … at 7 bits, so positions run from 0 to 127, with the
default weights.
"""

from __future__ import annotations

import attrs
import pytest

from knobpack import allocate
from knobpack.checker import check
from knobpack.definition.prices import (
    Change,
    KnobPrice,
    MovedBundle,
    Reset,
)
from knobpack.definition.travel_prices import chosen_travels, missed
from knobpack.words import (
    Destination,
    KnobTravel,
    Layout,
    Request,
    Route,
    Surface,
    Travel,
    Voice,
    Weights,
)
from tests.oracles.example import a_request, totals


def travelled(*travels: Travel | None, bits: int = 7) -> Request:
    """One voice; the destinations want these travels, and have priority 1, 2, …; all one kind."""
    inner = tuple(
        Destination(f"d{number}", "level", priority=number, travel=travel)
        for number, travel in enumerate(travels, 1)
    )
    return Request(Surface.row(2, bits=bits), (Voice("Pad", inner),))


def test_a_reversed_travel_misses_by_200_hundredths() -> None:
    # |127 - 0| + |0 - 127| = 254 of 127: 200 hundredths. Priority 1 pays 16 for each, priority 2
    # pays 8, so the knob takes what priority 1 wants and pays 1600; the other way it pays 3200.
    request = travelled(None, Travel(127, 0))
    layout = Layout.of({"K1": ["Pad/d1", "Pad/d2"]})
    checked = check(request, layout)
    price = KnobPrice("K1", join=2000, company=300, crowd=100, travel=1600)
    assert checked.prices.knobs == (price,)
    assert checked.travels == (KnobTravel("K1", Travel(0, 127)),)
    other = Layout(layout.routes, (KnobTravel("K1", Travel(127, 0)),))
    assert check(request, other).prices.knobs == (attrs.evolve(price, travel=3200),)


@pytest.mark.parametrize(
    ("wanted", "given", "hundredths"),
    [
        # Of 127: 64 off and 64 out of reach; 64 off and all of it in reach.
        *((Travel(0, 127), Travel(0, 63), 101), (Travel(0, 63), Travel(0, 127), 50)),
        # It stands still: 127 off wherever it is, and all 127 out of reach.
        *((Travel(0, 127), Travel(40, 40), 200), (Travel(0, 127), Travel(0, 0), 200)),
        # Turned round it reaches all; half of that is 191 off, and 63 are out of reach.
        *((Travel(0, 127), Travel(127, 0), 200), (Travel(0, 127), Travel(64, 0), 200)),
        # 20 + 20 off and none of the 10 in reach.
        (Travel(10, 20), Travel(30, 40), 39),
    ],
)
def test_what_is_out_of_reach_is_missed_twice(
    wanted: Travel, given: Travel, hundredths: int
) -> None:
    assert missed(wanted, given, 127) == hundredths


@pytest.mark.parametrize("wish", [(500, 510), (300, 500)])
def test_what_matters_less_does_not_narrow_two_levels_of_opposite_travels(
    wish: tuple[int, int],
) -> None:
    # Over any travel the ends of the two are off by as much, so that a send alone would choose it.
    horns = (Destination("level", priority=1), Destination("air", priority=4, travel=Travel(*wish)))
    bells = (Destination("level", priority=1, travel=Travel(1023, 0)),)
    request = Request(Surface.row(1, bits=10), (Voice("Horns", horns), Voice("Bells", bells)))
    checked = check(request, Layout.of({"K1": request.by_full_name}))
    assert checked.travels == (KnobTravel("K1", Travel(0, 1023)),)


def test_the_travel_of_a_knob_is_one_of_those_wanted_on_it() -> None:
    # Alone, d2 wants the upper half: K2 has it, and misses nothing.
    request = travelled(None, Travel(64, 127))
    checked = check(request, Layout.of({"K1": ["Pad/d1"], "K2": ["Pad/d2"]}))
    assert checked.prices.totals[3] == 0
    assert checked.travels[1] == KnobTravel("K2", Travel(64, 127))


@pytest.mark.parametrize(
    ("priority", "others", "first"),
    [
        # What it would no longer reach counts twice. At 16, 8, 4, 2 and 1 points a hundredth:
        # 32 : 8, 32 : 32 twice, 16 : 16, 8 : 8 and 4 : 4.
        *((1, (3, 4, 4), True), (1, (2,) * 4, True), (1, (2, 2, 3, 3, 3, 4, 4), True)),
        *((2, (3,) * 4, True), (3, (4,) * 4, True), (4, (5,) * 4, True)),
        # 32 : 34 and 16 : 18.
        *((1, (2, 2, 2, 2, 4), False), (2, (3, 3, 3, 3, 4), False)),
    ],
)
@pytest.mark.parametrize("last", [False, True])
def test_what_matters_keeps_its_travel_from_several_that_matter_less(
    priority: int, others: tuple[int, ...], first: bool, last: bool
) -> None:
    level = Destination("level", priority=priority, travel=Travel(0, 127))
    narrow = [
        Destination(f"send {n}", "send", priority=each, travel=Travel(0, 60))
        for n, each in enumerate(others)
    ]
    voice = Voice("Organ", [*narrow, level] if last else [level, *narrow])
    checked = check(Request(Surface.row(1), [voice]), Layout.of({"K1": voice.by_full_name}))
    assert checked.travels == (KnobTravel("K1", Travel(0, 127) if first else Travel(0, 60)),)


def test_of_as_cheap_travels_the_most_important_that_wants_one_counts_for_it() -> None:
    # 2 + 8 + 8 points a hundredth want it turned round, 16 + 2 do not.
    turned = [Destination(f"a{at}", "pan", p, Travel(127, 0)) for at, p in enumerate((4, 2, 2))]
    full = [Destination(f"b{at}", "pan", p, Travel(0, 127)) for at, p in enumerate((1, 4))]
    voice = Voice("Organ", [*turned, *full])
    checked = check(Request(Surface.row(1), [voice]), Layout.of({"K1": voice.by_full_name}))
    assert checked.travels == (KnobTravel("K1", Travel(0, 127)),)


def test_of_as_cheap_travels_the_one_that_matters_most_and_then_the_one_it_had() -> None:
    # 8 + 8 points a hundredth want it turned round, 16 do not.
    turned = [Destination(f"a{at}", "pan", 2, Travel(127, 0)) for at in range(2)]
    voice = Voice("Organ", [*turned, Destination("b", "pan", 1, Travel(0, 127))])
    checked = check(Request(Surface.row(1), [voice]), Layout.of({"K1": voice.by_full_name}))
    assert checked.travels == (KnobTravel("K1", Travel(0, 127)),)
    # What comes matters as much as what is there.
    comes, there = Destination("c", "pan", 3, Travel(0, 127)), Destination("d", "pan", 3)
    there = attrs.evolve(there, travel=Travel(127, 0))
    had = Layout([Route("Organ/d", "K1")], [KnobTravel("K1", Travel(127, 0))])
    voice = Voice("Organ", [comes, there])
    asked = Request(Surface.row(1), [voice], previous=had, in_use=True, edited=("Organ/c",))
    checked = check(asked, Layout.of({"K1": voice.by_full_name}))
    assert checked.travels == (KnobTravel("K1", Travel(127, 0)),)


@pytest.mark.parametrize(
    ("bits", "missed", "hundredths"),
    [
        (7, 64, 50),  # 6400 / 127 = 50.39
        (7, 1, 1),  # 100 / 127 = 0.79
        (14, 81, 0),  # 8100 / 16383 = 0.494
        (14, 82, 1),  # 8200 / 16383 = 0.5005
        (32, 2**31, 50),  # 50.00000001
    ],
)
def test_hundredths_are_the_nearest(bits: int, missed: int, hundredths: int) -> None:
    # The full travel is kept for d1, which is essential; d2 misses its end and pays 8 for each.
    # A half cannot occur: 200 times whole over an odd number is never odd.
    top = 2**bits - 1
    request = travelled(None, Travel(0, top - missed), bits=bits)
    layout = Layout.of({"K1": ["Pad/d1", "Pad/d2"]})
    assert check(request, layout).prices.knobs[0].travel == 8 * hundredths


def test_a_kept_travel_holds_where_a_route_is_kept_and_only_there() -> None:
    request = travelled(None, None)
    travels = (KnobTravel("K1", Travel(127, 0)), KnobTravel("K2", Travel(127, 0)))
    kept = attrs.evolve(request, keep=Layout((Route("Pad/d1", "K1"),), travels))
    layout = Layout.of({"K1": ["Pad/d1"], "K2": ["Pad/d2"]})
    # K1 is set to 127 to 0 and d1 misses by 200, at 16 each; on K2 nothing is kept.
    assert check(kept, layout).prices.knobs == (KnobPrice("K1", travel=3200), KnobPrice("K2"))


def test_change_counts_bundles_then_routes_that_are_no_more() -> None:
    # K1 keeps cutoff; level was on K2, pan on a knob that is gone, drive is now left out: three
    # routes and three bundles of one, K1 being whole. Gone/level is no longer asked for: passed
    # over. Bass/cutoff is new: not a change. Of 4 routes, by importance 8, 4, 2 and 0, on 4 knobs
    # each costs 1 + 14 + 4 and its own importance, and a bundle 5 * 19.
    before = {"K1": ["Pad/cutoff"], "K2": ["Pad/level"], "K9": ["Pad/pan"], "K3": ["Bass/drive"]}
    previous = Layout.of({**before, "K4": ["Gone/level"]})
    now = Layout.of({"K1": ["Pad/cutoff", "Pad/level"], "K2": ["Pad/pan", "Bass/cutoff"]})
    checked = check(a_request(previous=previous), now)
    assert checked.prices.changes == (
        Change("Pad/level", "K2", "K1", 19 + 4),
        Change("Pad/pan", "K9", "K2", 19 + 2),
        Change("Bass/drive", "K3", None, 19),
    )
    assert checked.prices.moved == (
        *(MovedBundle("K2", ("Pad/level",), 95), MovedBundle("K9", ("Pad/pan",), 95)),
        MovedBundle("K3", ("Bass/drive",), 95),
    )
    assert checked.prices.totals[4] == 3 * 19 + 4 + 2 + 3 * 95


def test_a_bundle_of_before_is_moved_once_however_much_of_it_is() -> None:
    previous = Layout.of({"K1": ["Pad/cutoff", "Pad/level"], "K2": ["Pad/pan"]})
    one = Layout.of({"K1": ["Pad/cutoff"], "K2": ["Pad/pan"], "K3": ["Pad/level"]})
    both = Layout.of({"K2": ["Pad/pan"], "K3": ["Pad/cutoff", "Pad/level"]})
    # Three routes, by importance 8, 4 and 2, on two knobs: each costs 17 and that, the bundle 68.
    assert totals(a_request(previous=previous), one)[4] == 68 + 17 + 4
    assert totals(a_request(previous=previous), both)[4] == 68 + 2 * 17 + 8 + 4


def test_of_two_one_of_which_must_move_the_more_important_stays() -> None:
    """On a panel whose knobs carry one each; what is shared, and how it lies, is the same."""
    for names in (("Pad/cutoff", "Bass/cutoff"), ("Bass/cutoff", "Pad/cutoff")):
        surface = Surface.row(3, destinations_per_knob=1)
        previous = Layout.of({"K1": [*names], "K2": ["Pad/level"]})
        for in_use in (True, False):
            found = allocate(a_request(surface=surface, previous=previous, in_use=in_use))
            assert found.knob_of("Pad/cutoff") == "K1"
            assert found.tier("change").proven


def test_a_travel_counts_where_its_knob_keeps_a_route() -> None:
    request = travelled(None, Travel(127, 0), None)
    before = Layout.of({"K1": ["Pad/d1", "Pad/d3"], "K2": ["Pad/d2"]})
    travels = (KnobTravel("K1", Travel(5, 90)), KnobTravel("K2", Travel(127, 0)))
    asked = attrs.evolve(request, previous=Layout(before.routes, travels))
    # K1 was set to 5 to 90, which nothing wants; K2 stays. Nothing else is another: 1.
    checked = check(asked, before)
    assert checked.prices.resets == (Reset("K1", Travel(5, 90), Travel(0, 127)),)
    assert checked.prices.totals[4] == 1
    # d3 leaves K1 for K2: the bundle, the route and the travel of K1, which keeps a route.
    moved = Layout.of({"K1": ["Pad/d1"], "K2": ["Pad/d2", "Pad/d3"]})
    assert totals(asked, moved)[4] == 68 + 17 + 2 + 1
    # They change places: nothing stays, so no travel is set anew.
    swapped = Layout.of({"K2": ["Pad/d1", "Pad/d3"], "K1": ["Pad/d2"]})
    assert totals(asked, swapped)[4] == 2 * 68 + 3 * 17 + 8 + 4 + 2
    # Of two that cost the same that of before stands, though the other is wanted first.
    free = attrs.evolve(asked, weights=Weights(travel=(0,) * 5))
    joined = Layout.of({"K2": ["Pad/d1", "Pad/d2"]})
    assert check(free, joined).travels == (KnobTravel("K2", Travel(127, 0)),)
    # Where the knob keeps no route, or there is none before, the first one does.
    for earlier in (Layout((Route("Pad/d3", "K2"),), travels), None):
        other = attrs.evolve(free, previous=earlier)
        assert check(other, joined).travels == (KnobTravel("K2", Travel(0, 127)),)


def test_in_an_edit_a_knob_may_keep_the_travel_that_it_had() -> None:
    # At 5 and 4 points: 0 to 127, which none wants, misses both by 50 hundredths, 450 points; 0 to
    # 64 the other by 127 + 63 of 127, 150, which is 600; 64 to 127 by 127 + 64, 750.
    wanted = (Travel(0, 64), Travel(64, 127))
    names = ["Pad/d1", "Pad/d2"]
    travels = (KnobTravel("K1", Travel(0, 127)), KnobTravel("K2", Travel(127, 127)))
    before = Layout(Layout.of({"K2": names}).routes, travels)
    weights = Weights(travel=(5, 4, 3, 2, 1))
    request = attrs.evolve(travelled(*wanted), previous=before, weights=weights)
    edit = attrs.evolve(request, in_use=True)
    for asked, knob, travel in (
        (request, "K1", Travel(0, 64)),
        (edit, "K1", Travel(0, 127)),
        # Where it keeps a route it keeps its travel, whatever is missed.
        (edit, "K2", Travel(127, 127)),
        (request, "K2", Travel(0, 64)),
    ):
        checked = check(asked, Layout.of({knob: names}))
        assert checked.travels == (KnobTravel(knob, travel),)
        changed = asked is request and knob == "K2"
        assert len(checked.prices.resets) == changed
    # What is wanted is taken where it is cheaper, or costs the same.
    assert check(edit, Layout.of({"K1": names[1:2]})).travels == (KnobTravel("K1", wanted[1]),)
    free = attrs.evolve(edit, weights=Weights(travel=(0,) * 5))
    assert check(free, Layout.of({"K1": names})).travels == (KnobTravel("K1", wanted[0]),)


def test_what_comes_onto_a_knob_in_an_edit_need_not_take_the_travel_that_is_there() -> None:
    full, reversed_ = Travel(0, 127), Travel(127, 0)
    drawn = (Destination("level", priority=1), Destination("tone", priority=2, travel=reversed_))
    voice = Voice("Pad", (*drawn, Destination("mouth", priority=1, travel=reversed_)))
    before = Layout(
        Layout.of({"K1": ["Pad/level"], "K2": ["Pad/tone"], "K3": ["Pad/mouth"]}).routes,
        tuple(KnobTravel(f"K{at}", reversed_) for at in (1, 2, 3)),
    )
    edit = Request(Surface.row(3), (voice,), previous=before, in_use=True)

    def travel(knob: str, *names: str) -> Travel:
        checked = check(edit, Layout.of({knob: [f"Pad/{each}" for each in names]}))
        assert not checked.prices.resets
        return checked.travels[0].travel

    assert travel("K2", "level", "tone") == full  # what comes is the more important
    assert travel("K1", "level", "tone") == full
    assert travel("K3", "level", "mouth") == full  # of two as important a level goes first
    assert travel("K2", "tone", "mouth") == reversed_
    assert travel("K1", "level") == reversed_  # nothing comes, and it stays


def test_where_routes_have_travels_every_knob_goes_all_the_way() -> None:
    surface = Surface.row(2, bits=10, travel_on="route")
    request = attrs.evolve(travelled(Travel(3, 9)), surface=surface)
    on = {"K2": ["Pad/d1"]}
    assert chosen_travels(request, Layout(), on) == {"K2": Travel(0, 1023)}
    # So none is set anew, though the knob had one of its own on another panel.
    there = Layout((Route("Pad/d1", "K2"),), (KnobTravel("K2", Travel(3, 9)),))
    moved = check(attrs.evolve(request, previous=there), Layout(there.routes)).prices
    assert (moved.resets, moved.totals[3:5]) == ((), (0, 0))
