"""The prices of the plain checker, one term after the other, against sums done by hand.

Every example is on a row of knobs K1, K2, … at 7 bits, so positions run from 0 to 127, with the
default weights.
"""

from __future__ import annotations

from collections import Counter

import attrs
import pytest

from knobpack.checker import check, follows
from knobpack.definition.prices import (
    TIERS,
    Break,
    BundlePrice,
    Change,
    KnobPrice,
    MovedBundle,
    PlacePrice,
    Reset,
)
from knobpack.words import (
    Alone,
    Apart,
    Barred,
    Destination,
    Fixed,
    Group,
    Knob,
    KnobTravel,
    Layout,
    Request,
    Route,
    Rule,
    Snapshot,
    Surface,
    Together,
    Travel,
    Voice,
    Weights,
)
from tests.oracles.example import ALL, SPLIT, a_request


def totals(request: Request, layout: Layout) -> tuple[int, ...]:
    """The tier values; the layout must be valid."""
    checked = check(request, layout)
    assert checked.breaches == ()
    return checked.prices.totals


def test_unplaced() -> None:
    # An essential destination costs 256, a low one 4, a hidden one nothing; it costs 99 in sharing.
    layout = Layout.of({"K1": ["Pad/level"], "K2": ["Pad/pan"]})
    assert totals(a_request(), layout)[:4] == (260, 0, 0, 99)
    assert [(each.price, each.hidden) for each in check(a_request(), layout).prices.omissions] == [
        *((256, 0), (4, 0), (0, 99)),
    ]


def test_independence_counts_the_smaller_side() -> None:
    # Pad moves, Bass is held. K1 carries three of Pad and one of Bass: it follows, and the one of
    # Bass is moved though held: 7. K2 carries nothing that breaks.
    pad = (Snapshot("pad", ("Pad",), break_weight=7),)
    layout = Layout.of({"K1": ALL[:4], "K2": ALL[4:]})
    checked = check(a_request(snapshots=pad), layout)
    assert checked.prices.breaks == (Break("pad", "K1", True, ("Bass/cutoff",), 7),)
    assert follows(a_request(snapshots=pad), layout, "pad") == ("K1",)
    # One and two: it is held, and the one of Pad is held though moved: 7. On K1 both of Pad follow.
    layout = Layout.of({"K1": ALL[:2], "K2": ALL[2:]})
    checked = check(a_request(snapshots=pad), layout)
    assert checked.prices.breaks == (Break("pad", "K2", False, ("Pad/pan",), 7),)
    assert follows(a_request(snapshots=pad), layout, "pad") == ("K1",)
    # One and one: a tie is held; the moved one is wronged.
    checked = check(a_request(snapshots=pad), Layout.of({"K1": ["Pad/pan", "Bass/drive"]}))
    assert checked.prices.breaks == (Break("pad", "K1", False, ("Pad/pan",), 7),)


def test_what_is_not_movable_is_held_in_every_snapshot() -> None:
    still = Voice("Pad", (Destination("cutoff"), Destination("level", movable=False)))
    request = a_request(voices=(still,), snapshots=(Snapshot("all", ("Pad",), break_weight=5),))
    layout = Layout.of({"K1": ["Pad/cutoff", "Pad/level"]})
    assert check(request, layout).prices.breaks == (Break("all", "K1", False, ("Pad/cutoff",), 5),)


def test_a_break_says_what_is_wronged() -> None:
    both = Break("all", "K1", True, ("Pad/a", "Pad/b"), 3)
    assert str(both) == "K1 follows, but should hold Pad/a and Pad/b"
    assert str(Break("all", "4", False, ("Pad/a",), 3)) == "knob 4 holds, but should move Pad/a"


def test_mixing_kinds_voices_and_crowding() -> None:
    # None has a knob in common with another, so each more than one is one joined more: 2000.
    # K1: cutoff, level: 1 kind more, 1 destination more: 300 + 100.
    # K2: pan, cutoff of two voices: 300 + 200 + 100. K3: nothing. In all 2400 + 2600 = 5000.
    checked = check(a_request(), SPLIT)
    assert checked.prices.knobs == (
        KnobPrice("K1", mix_kinds=300, join=2000, crowd=100),
        KnobPrice("K2", mix_kinds=300, mix_voices=200, join=2000, crowd=100),
        KnobPrice("K3"),
    )
    assert totals(a_request(), SPLIT)[3] == 5000
    # One kind in two voices: no kind more, 1 voice more, 1 destination more: 200 + 2000 + 100. The
    # hidden one is left out: 99.
    assert totals(a_request(), Layout.of({"K1": ["Pad/cutoff", "Bass/cutoff"]}))[3] == 2300 + 99


def travelled(*travels: Travel | None, bits: int = 7) -> Request:
    """One voice; the destinations want these travels, and have priority 1, 2, …; all one kind."""
    inner = tuple(
        Destination(f"d{number}", "level", priority=number, travel=travel)
        for number, travel in enumerate(travels, 1)
    )
    return Request(Surface.row(2, bits=bits), (Voice("Pad", inner),))


def test_a_reversed_travel_misses_by_200_hundredths() -> None:
    # |127 - 0| + |0 - 127| = 254 of 127: 200 hundredths. Priority 1 pays 5 for each, priority 2
    # pays 4, so the knob takes what priority 1 wants and pays 800; the other way it pays 1000.
    request = travelled(None, Travel(127, 0))
    layout = Layout.of({"K1": ["Pad/d1", "Pad/d2"]})
    checked = check(request, layout)
    assert checked.prices.knobs == (KnobPrice("K1", join=2000, crowd=100, travel=800),)
    assert checked.travels == (KnobTravel("K1", Travel(0, 127)),)
    other = Layout(layout.routes, (KnobTravel("K1", Travel(127, 0)),))
    assert check(request, other).prices.knobs == (
        KnobPrice("K1", join=2000, crowd=100, travel=1000),
    )


def test_the_travel_of_a_knob_is_one_of_those_wanted_on_it() -> None:
    # Alone, d2 wants the upper half: K2 has it, and misses nothing.
    request = travelled(None, Travel(64, 127))
    checked = check(request, Layout.of({"K1": ["Pad/d1"], "K2": ["Pad/d2"]}))
    assert checked.prices.totals[3] == 0
    assert checked.travels[1] == KnobTravel("K2", Travel(64, 127))


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
    # The full travel is kept for d1, which is essential; d2 misses its end and pays 4 for each.
    # A half cannot occur: 200 times whole over an odd number is never odd.
    top = 2**bits - 1
    request = travelled(None, Travel(0, top - missed), bits=bits)
    layout = Layout.of({"K1": ["Pad/d1", "Pad/d2"]})
    assert check(request, layout).prices.knobs[0].travel == 4 * hundredths


def test_a_kept_travel_holds_where_a_route_is_kept_and_only_there() -> None:
    request = travelled(None, None)
    travels = (KnobTravel("K1", Travel(127, 0)), KnobTravel("K2", Travel(127, 0)))
    kept = attrs.evolve(request, keep=Layout((Route("Pad/d1", "K1"),), travels))
    layout = Layout.of({"K1": ["Pad/d1"], "K2": ["Pad/d2"]})
    # K1 is set to 127 to 0 and d1 misses by 200, at 5 each; on K2 nothing is kept.
    assert check(kept, layout).prices.knobs == (KnobPrice("K1", travel=1000), KnobPrice("K2"))


def bundled(*sizes: tuple[str, str | None, int], priority: int = 3) -> Request:
    """Voices by name, source and number of destinations, all of which were on S1 there."""
    voices = []
    for name, source, count in sizes:
        inner = (Destination(f"d{i}", "level", priority, source_knob="S1") for i in range(count))
        voices.append(Voice(name, tuple(inner), source=source))
    return Request(Surface.row(3), tuple(voices), snapshots=())


def test_a_parted_bundle() -> None:
    # Three destinations of one source, of two voices, were on S1; now on three knobs: 3 - 1. The
    # fourth had the same knob in a voice without a source, which is no part of the bundle.
    request = bundled(("A", "Old", 2), ("B", "Old", 1), ("C", None, 1))
    layout = Layout.of({"K1": ["A/d0"], "K2": ["A/d1", "C/d0"], "K3": ["B/d0"]})
    (parted,) = check(request, layout).prices.bundles
    assert parted == BundlePrice("parted", "bundle of S1 in Old", ("K1", "K2", "K3"), (), 2)
    # Two knobs, and one left out: 2 + 1 - 1. On one knob: nothing. All left out: 3 - 1.
    layout = Layout.of({"K1": ["A/d0"], "K2": ["A/d1"]})
    assert check(request, layout).prices.bundles == (
        BundlePrice("parted", "bundle of S1 in Old", ("K1", "K2"), ("B/d0",), 2),
    )
    assert totals(request, Layout.of({"K2": ["A/d0", "A/d1", "B/d0", "C/d0"]}))[1] == 0
    assert totals(request, Layout.of({"K1": ["C/d0"]}))[1] == 2


def test_a_voice_without_a_source_has_bundles_of_its_own() -> None:
    request = bundled(("A", None, 2), ("B", None, 2))
    layout = Layout.of({"K1": ["A/d0", "B/d0", "B/d1"], "K2": ["A/d1"]})
    assert check(request, layout).prices.bundles == (
        BundlePrice("parted", "bundle of S1 in A", ("K1", "K2"), (), 1),
    )


def test_what_is_hidden_joins_nothing_but_its_bundle() -> None:
    hidden = Voice("Noise", (Destination("hiss", priority=5), Destination("hum", priority=5)))
    request = bundled(("A", "Old", 2), priority=5)
    request = attrs.evolve(request, voices=(*request.voices, hidden))
    # The bundle is whole on K1, each of the others alone.
    apart = Layout.of({"K1": ["A/d0", "A/d1"], "K2": ["Noise/hiss"], "K3": ["Noise/hum"]})
    assert totals(request, apart)[1] == 0
    # On one knob both of them intrude; beside the bundle, all that are there do.
    both = Layout.of({"K1": ["A/d0", "A/d1"], "K2": ["Noise/hiss", "Noise/hum"]})
    assert check(request, both).prices.bundles == (
        BundlePrice("intruding", "Noise/hiss", ("K2",), (), 1),
        BundlePrice("intruding", "Noise/hum", ("K2",), (), 1),
    )
    beside = Layout.of({"K1": ["A/d0", "Noise/hiss"], "K2": ["A/d1"]})
    assert [(each.term, each.what) for each in check(request, beside).prices.bundles] == [
        *(("parted", "bundle of S1 in Old"), ("intruding", "A/d0"), ("intruding", "Noise/hiss")),
    ]
    # Where it is demanded it may join.
    must = attrs.evolve(
        hidden, destinations=(attrs.evolve(hidden.destinations[0], must_place=True),)
    )
    asked = attrs.evolve(request, voices=(must,))
    fixed = (Fixed(("Noise/hiss",), "K1"),)
    for each in (asked, attrs.evolve(request, rules=fixed)):
        names = [name for name in each.destinations if name != "Noise/hum"]
        assert "Noise/hiss" not in {
            price.what for price in check(each, Layout.of({"K1": names})).prices.bundles
        }


@pytest.mark.parametrize(
    ("rule", "price_of_it", "tier"),
    [
        # SPLIT: K1 Pad/cutoff, Pad/level; K2 Pad/pan, Bass/cutoff; K3 Bass/drive.
        (Together(("Pad",), 9), 9, 3),  # two knobs: one more
        (Together(("Pad", "Bass"), 9), 18, 3),  # three knobs
        (Together(("Pad/cutoff", "Pad/level"), 9), 0, 3),
        (Apart(("Pad",), ("Bass",), 9), 9, 3),  # one pair, on K2
        (Apart(("Pad",), ("Pad",), 9), 9, 3),  # the pair on K1, once
        (Apart(("Pad", "Bass"), ("Bass", "Pad"), 9), 18, 3),  # both pairs, each once
        (Apart(("Pad/cutoff",), ("Pad/pan",), 9), 0, 3),
        (Alone(("Bass",), 9), 9, 3),  # K2 has another as well; K3 has not
        (Alone(("Pad/cutoff", "Bass/cutoff"), 9), 18, 3),  # K1 and K2
        (Alone(("Pad", "Bass/cutoff"), 9), 0, 3),
        (Fixed(("Pad",), "K1", 9), 9, 5),  # pan is elsewhere
        (Fixed(("Bass",), "K1", 9), 18, 5),
        (Barred(("Pad",), ("K1", "K3"), 9), 18, 5),  # cutoff and level
        (Barred(("Pad",), ("K3",), 9), 0, 5),
    ],
)
def test_preferred_rules(rule: Rule, price_of_it: int, tier: int) -> None:
    # What is preferred together is one load: what joining costs is not looked at here.
    free = Weights(join=0)
    plain = totals(a_request(weights=free), SPLIT)
    asked = totals(a_request(rules=(rule,), weights=free), SPLIT)
    expected = [0] * len(TIERS)
    expected[tier] = price_of_it
    assert [now - before for now, before in zip(asked, plain, strict=True)] == expected


def test_fixed_if_preferred_asks_nothing_of_what_is_left_out() -> None:
    request = a_request(rules=(Fixed(("Pad/cutoff",), "K1", 9),))
    assert "fixed" not in {place.term for place in check(request, Layout()).prices.places}


def test_change_counts_bundles_then_routes_that_are_no_more() -> None:
    # K1 keeps cutoff; level was on K2, pan on a knob that is gone, drive is now left out: three
    # routes and three bundles of one, K1 being whole. Gone/level is no longer asked for: passed
    # over. Bass/cutoff is new: not a change. Of 4 routes each costs 5, and a bundle 5 * 5.
    before = {"K1": ["Pad/cutoff"], "K2": ["Pad/level"], "K9": ["Pad/pan"], "K3": ["Bass/drive"]}
    previous = Layout.of({**before, "K4": ["Gone/level"]})
    now = Layout.of({"K1": ["Pad/cutoff", "Pad/level"], "K2": ["Pad/pan", "Bass/cutoff"]})
    checked = check(a_request(previous=previous), now)
    assert checked.prices.changes == (
        Change("Pad/level", "K2", "K1", 5),
        Change("Pad/pan", "K9", "K2", 5),
        Change("Bass/drive", "K3", None, 5),
    )
    assert checked.prices.moved == (
        *(MovedBundle("K2", ("Pad/level",), 25), MovedBundle("K9", ("Pad/pan",), 25)),
        MovedBundle("K3", ("Bass/drive",), 25),
    )
    assert checked.prices.totals[4] == 3 * 5 + 3 * 25


def test_a_bundle_of_before_is_moved_once_however_much_of_it_is() -> None:
    previous = Layout.of({"K1": ["Pad/cutoff", "Pad/level"], "K2": ["Pad/pan"]})
    one = Layout.of({"K1": ["Pad/cutoff"], "K2": ["Pad/pan"], "K3": ["Pad/level"]})
    both = Layout.of({"K2": ["Pad/pan"], "K3": ["Pad/cutoff", "Pad/level"]})
    # Three routes: each costs 4, the bundle 16.
    assert totals(a_request(previous=previous), one)[4] == 16 + 4
    assert totals(a_request(previous=previous), both)[4] == 16 + 2 * 4


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
    assert totals(asked, moved)[4] == 16 + 4 + 1
    # They change places: nothing stays, so no travel is set anew.
    swapped = Layout.of({"K2": ["Pad/d1", "Pad/d3"], "K1": ["Pad/d2"]})
    assert totals(asked, swapped)[4] == 2 * 16 + 3 * 4
    # Of two that cost the same that of before stands, though the other is wanted first.
    free = attrs.evolve(asked, weights=Weights(travel=(0,) * 5))
    joined = Layout.of({"K2": ["Pad/d1", "Pad/d2"]})
    assert check(free, joined).travels == (KnobTravel("K2", Travel(127, 0)),)
    # Where the knob keeps no route, or there is none before, the first one does.
    for earlier in (Layout((Route("Pad/d3", "K2"),), travels), None):
        other = attrs.evolve(free, previous=earlier)
        assert check(other, joined).travels == (KnobTravel("K2", Travel(0, 127)),)


def places(request: Request, layout: Layout) -> dict[str, int]:
    """What each term of the layout tier costs."""
    found: Counter[str] = Counter()
    for place in check(request, layout).prices.places:
        found[place.term] += place.price
    return dict(found)


def test_runs_of_voices_and_groups() -> None:
    # Pad is on K1 and K3: two runs, 60. Bass is on K2 and K4: two runs, 60. The group of both is
    # on K1 to K4: one run.
    request = a_request(knobs=4, groups=(Group("Both", ("Pad", "Bass")),))
    layout = Layout.of({"K1": ALL[:1], "K2": ALL[3:4], "K3": [*ALL[1:3]], "K4": ALL[4:]})
    found = places(request, layout)
    assert (found["voice_runs"], found.get("group_runs", 0)) == (120, 0)
    # A group of Pad/cutoff (K1), Bass/drive (K4) is found in two runs: 20.
    ends = a_request(knobs=4, groups=(Group("Ends", ("Pad/cutoff", "Bass/drive")),))
    assert places(ends, layout)["group_runs"] == 20


def test_a_run_ends_with_its_row_and_at_a_gap() -> None:
    routes = {"K2": ["Pad/cutoff"], "K3": ["Pad/level"]}
    # K1 K2 over K3 K4: K2 and K3 follow each other, but are not side by side.
    assert places(a_request(surface=Surface.grid(2, 2)), Layout.of(routes))["voice_runs"] == 60
    gap = Surface((Knob("K1", 1, 1), Knob("K2", 1, 2), Knob("K3", 1, 4)))
    assert places(a_request(surface=gap), Layout.of(routes))["voice_runs"] == 60
    assert "voice_runs" not in places(a_request(), Layout.of(routes))


@pytest.mark.parametrize(
    ("on", "price"),
    [
        # Two rows of two: K1 K2 over K3 K4. 1,000 for what does not come directly after what came
        # before it in its source, 2,000 for what comes earlier.
        (("K1", "K2"), 0),
        (("K3", "K4"), 0),
        (("K2", "K2"), 0),
        (("K2", "K3"), 1000),  # next, but not beside it
        (("K1", "K4"), 1000),
        (("K2", "K1"), 2000),
        (("K4", "K1"), 2000),
        (("K1", None), 0),
        ((None, "K1"), 0),
    ],
)
def test_sequence(on: tuple[str | None, str | None], price: int) -> None:
    inner = tuple(
        Destination(f"d{place}", source_knob=f"S{place}", source_place=place) for place in (2, 1)
    )
    request = Request(Surface.grid(2, 2), (Voice("A", inner, source="Old"),), snapshots=())
    routes = (Route(f"A/d{at}", knob) for at, knob in enumerate(on, 1) if knob)
    assert places(request, Layout(tuple(routes))).get("sequence", 0) == price


def test_each_knob_of_a_source_follows_the_one_before_it() -> None:
    # The second knob of the source had two destinations: what stands for them is the first named.
    voices = (
        Voice("A", tuple(Destination(n, source_knob=k) for n, k in ("a1", "b2", "c2", "d3"))),
        Voice("B", (Destination("x", source_knob="1"), Destination("y", source_knob="2"))),
    )
    request = Request(Surface.row(6), voices, snapshots=())
    names = ("A/a", "A/c", "A/b", "A/d", "B/x", "B/y")
    layout = Layout(tuple(Route(name, f"K{at}") for at, name in enumerate(names, 1)))
    # b comes a knob late after a, d directly after b: 1,000. B is a source of its own.
    assert [each for each in check(request, layout).prices.places if each.term == "sequence"] == [
        PlacePrice("sequence", "A/b", 1000),
    ]


def test_favour() -> None:
    # Reach: K3 first, then K1, K2. Essential on K1: 1 step * (5 - 1) = 4; priority 2 on K2:
    # 2 steps * (5 - 2) = 6; hidden on K2: 0; priority 3 on K3: 0 steps.
    request = a_request(surface=Surface.row(3, favoured=("K3",)))
    routes = {"K1": ["Pad/cutoff"], "K2": ["Pad/level", "Bass/drive"], "K3": ["Pad/pan"]}
    assert places(request, Layout.of(routes))["favour"] == 10


def test_habit() -> None:
    # Cutoff is usual on K1 alone: each cutoff elsewhere costs 10. Level and pan are usual
    # nowhere, so they cost nothing anywhere.
    knobs = (Knob("K1", 1, 1, ("cutoff", "drive")), Knob("K2", 1, 2, ("drive",)))
    request = a_request(surface=Surface(knobs))
    layout = Layout.of({"K1": ["Pad/level"], "K2": [*ALL[:1], *ALL[2:]]})
    assert places(request, layout)["habit"] == 20
    assert "habit" not in places(request, Layout.of({"K1": ALL}))
