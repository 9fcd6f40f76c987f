"""The price of two layouts, every term of every tier, against a reckoning by hand."""

from __future__ import annotations

import attrs
import pytest

from knobpack.checker import check
from knobpack.definition.layout_prices import knob_prices, place_prices
from knobpack.definition.prices import (
    KNOB_TERMS,
    Break,
    BundlePrice,
    Change,
    KnobPrice,
    MovedBundle,
    Omission,
    PlacePrice,
    Price,
    Prices,
    Reset,
    SpreadPrice,
)
from knobpack.errors import InputError
from knobpack.words import (
    Destination,
    KnobPosition,
    Layout,
    Request,
    Snapshot,
    Surface,
    Together,
    Travel,
    Voice,
    Weights,
)
from tests.numbered.test_problem_by_hand import REQUEST


def test_a_layout_that_leaves_one_out() -> None:
    prices = check(REQUEST, Layout.of({"K1": ["A/y"], "K2": ["A/x", "B/u"]})).prices
    assert prices == Prices(
        omissions=(Omission("B/z", 16),),
        bundles=(
            BundlePrice("parted", "bundle of S1 in Old", ("K1", "K2"), (), 1),
            BundlePrice("parted", "bundle of S1 in B", ("K2",), ("B/z",), 1),
        ),
        # x is to be moved and u held; as many of both, so the knob is held.
        breaks=(Break("loose", "K2", False, ("A/x",), 7),),
        knobs=(
            KnobPrice("K1"),  # it has the travel that y wants: none is kept there
            # Two voices of one kind, two destinations, of which x is essential; the kept travel 10
            # to 20 is 117 off 0 to 127 and leaves out 117: 234 of 127 are 184 hundredths, at 16 and
            # 8; two rules against the pair, and one against company.
            KnobPrice("K2", 0, 200, 2000, 0, 300 + 300, 100, 184 * 16 + 184 * 8, 9 + 4, 5),
        ),
        spreads=(SpreadPrice("together", "together(A)", ("K1", "K2"), 11),),
        # Two routes of before are still asked for, z of medium rank counting 2 and y, hidden, 0,
        # each on a knob of its own: a route costs 1 + 2 + 2 and what it counts, a bundle 3 * 5.
        changes=(Change("B/z", "gone", None, 5 + 2),),
        moved=(MovedBundle("gone", ("B/z",), 15),),
        resets=(Reset("K1", Travel(0, 5), Travel(127, 0)),),
        places=(
            PlacePrice("favour", "A/x", 2 * 4),  # K3 comes first in reach, then K1, then K2
            PlacePrice("habit", "A/x", 10),
            PlacePrice("favour", "B/u", 2 * 3),
            PlacePrice("habit", "B/u", 10),
            PlacePrice("barred", "barred(B; K2, K3)", 2),
        ),
    )
    assert prices.totals == (
        *(16, 2, 7, 200 + 2000 + 600 + 100 + 4416 + 13 + 5 + 11, 7 + 15 + 1, 8 + 10 + 6 + 10 + 2),
    )
    assert tuple(prices.total(tier) for tier in prices.order) == prices.totals
    assert [" ".join(told) for *told, price in prices.points if price] == [
        "unplaced omission B/z",
        *("bundles parted bundle of S1 in Old", "bundles parted bundle of S1 in B"),
        "independence break snapshot 'loose' on K2",
        *("sharing mix_voices K2", "sharing join K2", "sharing company K2", "sharing crowd K2"),
        *("sharing travel K2", "sharing apart K2", "sharing alone K2"),
        "sharing together together(A)",
        *("change change B/z", "change moved gone", "change reset K1"),
        *("layout favour A/x", "layout habit A/x", "layout favour B/u", "layout habit B/u"),
        "layout barred barred(B; K2, K3)",
    ]
    assert ("sharing", "omission", "A/y", 99) in check(REQUEST, Layout()).prices.points
    with pytest.raises(InputError) as refused:
        prices.total("cost")
    assert refused.value.field == "Prices.total.tier"
    assert refused.value.right.startswith("name a tier")


def test_a_layout_that_spreads_everything() -> None:
    prices = check(REQUEST, Layout.of({"K1": ["B/z"], "K2": ["B/u", "A/x"], "K3": ["A/y"]})).prices
    assert prices.omissions == ()
    assert prices.bundles == (
        BundlePrice("parted", "bundle of S1 in Old", ("K2", "K3"), (), 1),
        BundlePrice("parted", "bundle of S1 in B", ("K1", "K2"), (), 1),
    )
    assert prices.spreads == (SpreadPrice("together", "together(A)", ("K2", "K3"), 11),)
    assert prices.changes == (Change("A/y", "K1", "K3", 5), Change("B/z", "gone", "K1", 7))
    assert prices.moved == (MovedBundle("K1", ("A/y",), 15), MovedBundle("gone", ("B/z",), 15))
    assert prices.resets == ()  # K1 keeps no route
    # A is on K2 and, a row below, on K3; the group is on all three, K1 and K2 side by side.
    assert prices.places == (
        PlacePrice("voice_runs", "A", 60),
        PlacePrice("group_runs", "G", 20),
        PlacePrice("favour", "A/x", 2 * 4),
        PlacePrice("habit", "A/x", 10),
        PlacePrice("favour", "B/z", 1 * 2),
        PlacePrice("favour", "B/u", 2 * 3),
        PlacePrice("habit", "B/u", 10),
        PlacePrice("fixed", "fixed(A/y; K1)", 6),
        PlacePrice("barred", "barred(B; K2, K3)", 2),
    )


def test_of_a_part_only_what_is_about_it_is_priced() -> None:
    layout = Layout.of({"K1": ["B/z"], "K2": ["B/u", "A/x"], "K3": ["A/y"]})
    knob_of = {route.destination: route.knob for route in layout.routes}
    whole = check(REQUEST, layout).prices
    prices = (whole.omissions, whole.bundles, whole.spreads, whole.changes, whole.moved)
    by_place = {each for some in (*prices, whole.places) for each in some}

    def part(*about: str) -> set[Price]:
        found = set(place_prices(REQUEST, knob_of, set(about)))
        assert found <= by_place
        return found

    of_x, of_z = part("A/x"), part("B/z")
    # y was on K1, z on a knob that is gone; x was nowhere.
    assert of_x - {*whole.places} == {whole.bundles[0], *whole.spreads}
    assert of_z - {*whole.places} == {whole.bundles[1], whole.changes[1], whole.moved[1]}
    assert {(each.term, each.what) for each in whole.places if each in of_x} == {
        *(("voice_runs", "A"), ("group_runs", "G"), ("favour", "A/x"), ("habit", "A/x")),
    }
    assert {(each.term, each.what) for each in whole.places if each in of_z} == {
        *(("group_runs", "G"), ("favour", "B/z"), ("barred", "barred(B; K2, K3)")),
    }
    assert part() == set()
    assert part(*REQUEST.by_full_name) == by_place
    # What is on a knob is priced by that alone.
    on_knob = set(knob_prices(REQUEST, "K2", ("B/u", "A/x"), Travel(10, 20)))
    assert on_knob == {*whole.breaks, whole.knobs[1]}
    assert Omission("B/z", 16) in set(place_prices(REQUEST, {"A/y": "K1"}, {"B/z"}))
    spread = attrs.evolve(REQUEST, rules=(Together(("A",), 11), Together(("B",), 3)))
    assert SpreadPrice("together", "together(B)", ("K1", "K2"), 3) in {
        *place_prices(spread, knob_of, {"B/u"})
    }


def test_what_the_base_has_on_one_knob_is_no_loss_there() -> None:
    piano = Voice("Piano", (Destination("level"), Destination("tone")))
    bass = Voice("Bass", (Destination("level"), Destination("drive")))
    request = Request(Surface.row(2), (piano, bass))
    base = Layout.of({"K1": ["Piano/level", "Bass/level"]})
    more = Layout.of({"K1": ["Piano/level", "Bass/level", "Bass/drive"], "K2": ["Piano/tone"]})
    for keep, lost in ((Layout(), 2), (base, 1)):
        asked = Request(request.surface, request.voices, keep=keep)
        price, other = check(asked, more).prices.knobs
        weights = request.weights
        assert (price.join, other.join) == (lost * weights.join + (lost - 1) * weights.heap, 0)


def test_each_load_more_on_a_knob_costs_more_than_the_one_before() -> None:
    voice = Voice("V", tuple(Destination(f"d{number}", "level") for number in range(5)))
    request = Request(Surface.row(2), (voice,), weights=Weights(crowd=0))
    names = [f"V/d{number}" for number in range(5)]
    joined = []
    for count in range(1, 6):
        layout = Layout.of({"K1": names[:count], "K2": names[count:]})
        joined.append(check(request, layout).prices.knobs[0].join)
    # One more, and one more than that: 2,000, then 800 more each time.
    assert joined == [0, 2_000, 4_800, 8_400, 12_800]


def test_what_shares_with_something_essential_costs() -> None:
    # The bundle has its level on one knob and its tone on the other.
    organ = Voice(
        "Organ",
        (
            Destination("level", priority=1, source_knob="S1"),
            Destination("tone", priority=2, source_knob="S1"),
        ),
    )
    inner = (Destination("level", priority=1), Destination("air", priority=4))
    others = [Voice(name, inner) for name in ("Bass", "Lead")]
    request = Request(Surface.row(2), (organ, *others))
    for names, price, company in (
        (("Bass/air", "Lead/air"), 0, 0),
        (("Bass/level", "Bass/air"), 0, 300),
        (("Organ/level", "Organ/tone"), 0, 300),
        # The one voice that has something essential there is beside another.
        (("Bass/level", "Bass/air", "Lead/air"), 0, 300 + 300),
        (("Organ/tone", "Bass/level"), 0, 300 + 300),
        (("Organ/level", "Bass/level"), 1_000, 2 * 300),
        (("Organ/level", "Organ/tone", "Bass/level"), 1_000, 300 + 2 * 300),
        (("Organ/level", "Bass/level", "Lead/level"), 2_000, 3 * 300),
        (("Organ/level", "Bass/level", "Lead/air"), 1_000, 300 + 2 * 300),
    ):
        layout = Layout.of({"K1": list(names)})
        found = check(request, layout).prices.knobs[0]
        assert (found.essential, found.company) == (price, company)


def test_what_would_stand_otherwise_where_it_is_held() -> None:
    """Base/room stands at 40 in "solo"; a level of which nothing is known is to be silent there."""
    base = Voice(
        "Base", (Destination("room", priority=4), Destination("level"), Destination("air"))
    )
    new = Voice("New", (Destination("level"), Destination("tone")))
    keep = Layout.of({"K1": ["Base/room"], "K2": ["Base/level"]})
    held = Snapshot("solo", positions=(KnobPosition("K1", 40), KnobPosition("K2", 0)))
    moving = Snapshot("all", ("Base", "New"))
    request = Request(Surface.row(3), (base, new), snapshots=(moving, held), keep=keep)
    assert request.stances == (
        frozenset({"Base/room"}),
        frozenset({"Base/level", "New/level"}),
    )

    def price(*names: str) -> int:
        full = Travel(0, 127)
        (found,) = (p for p in knob_prices(request, "K1", names, full) if isinstance(p, KnobPrice))
        return found.held

    assert price("Base/room", "New/level") == Weights().held
    assert price("Base/room", "New/tone") == price("Base/air", "New/level") == 0
    assert price("Base/level", "New/level") == 0
    elsewhere = attrs.evolve(held, positions=(KnobPosition("K1", 40),))
    apart = attrs.evolve(request, snapshots=(moving, held, attrs.evolve(elsewhere, name="more")))
    # In "more" Base/level stands as in "solo", which says where; so does what is to be silent.
    assert apart.stances == request.stances
    assert attrs.evolve(request, snapshots=(moving,)).stances == ()


def test_what_an_edit_names_is_no_part_of_a_bundle_that_moves() -> None:
    """K1 drove x, y and z: with z named, z alone may go, and x and y are the bundle that moved."""
    voice = Voice("A", tuple(Destination(name) for name in "xyz"))
    previous = Layout.of({"K1": ["A/x", "A/y", "A/z"]})
    asked = Request(
        Surface.row(2), (voice,), snapshots=(), previous=previous, in_use=True, edited=("A/z",)
    )
    gone = check(asked, Layout.of({"K1": ["A/x", "A/y"], "K2": ["A/z"]})).prices
    assert (gone.moved, [each.destination for each in gone.changes]) == ((), ["A/z"])
    moved = check(asked, Layout.of({"K1": ["A/x", "A/z"], "K2": ["A/y"]})).prices.moved
    assert [(each.knob, each.names) for each in moved] == [("K1", ("A/x", "A/y"))]


def test_each_term_of_a_shared_knob_has_its_own_words() -> None:
    assert KNOB_TERMS["held"] == "other positions where it is held"
    assert len(set(KNOB_TERMS.values())) == len(KNOB_TERMS)
