"""What shares a knob and where it lies, against sums done by hand.

Every example is on a row of knobs K1, K2, … at 7 bits, so positions run from 0 to 127, with the
default weights.
"""

from __future__ import annotations

from collections import Counter

import pytest

from knobpack.checker import check
from knobpack.definition.layout_prices import place_prices, prices_of
from knobpack.definition.prices import (
    TIERS,
    KnobPrice,
    PlacePrice,
)
from knobpack.words import (
    Alone,
    Apart,
    Barred,
    Destination,
    Fixed,
    Group,
    Knob,
    Layout,
    Request,
    Route,
    Rule,
    Surface,
    Together,
    Voice,
    Weights,
)
from tests.oracles.example import ALL, SPLIT, a_request, totals


def test_mixing_kinds_voices_and_crowding() -> None:
    # None has a knob in common with another, so each more than one is one joined more: 2000.
    # K1: cutoff, level: 1 kind more, 1 destination more, the cutoff not by itself: 300 + 100 + 300.
    # K2: pan, cutoff of two voices: 300 + 200 + 100. K3: nothing. In all 2700 + 2600 = 5300.
    checked = check(a_request(), SPLIT)
    assert checked.prices.knobs == (
        KnobPrice("K1", mix_kinds=300, join=2000, company=300, crowd=100),
        KnobPrice("K2", mix_kinds=300, mix_voices=200, join=2000, crowd=100),
        KnobPrice("K3"),
    )
    assert totals(a_request(), SPLIT)[3] == 5300
    # One kind in two voices: no kind more, 1 voice more, 1 destination more, one essential and not
    # by itself, nor in its voice alone: 200 + 2000 + 100 + 2 * 300. The hidden one is left out: 99.
    assert totals(a_request(), Layout.of({"K1": ["Pad/cutoff", "Bass/cutoff"]}))[3] == 2900 + 99


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


def test_preferred_rules_against_one_knob_are_added_up() -> None:
    # K2 carries Pad/pan and Bass/cutoff.
    rules = (Alone(("Bass",), 9), Alone(("Pad/pan",), 4), *(Apart(ALL[2:3], ALL[3:], 5),) * 2)
    k2 = check(a_request(rules=rules), SPLIT).prices.knobs[1]
    assert (k2.alone, k2.apart) == (9 + 4, 5 + 5)


def test_fixed_if_preferred_asks_nothing_of_what_is_left_out() -> None:
    request = a_request(rules=(Fixed(("Pad/cutoff",), "K1", 9),))
    assert "fixed" not in {place.term for place in check(request, Layout()).prices.places}


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


@pytest.mark.parametrize(
    ("about", "late"),
    [("abc", "bc"), ("a", "b"), ("b", "bc"), ("c", "c"), ("", "")],
)
def test_what_is_out_of_sequence_is_about_both_of_a_pair(about: str, late: str) -> None:
    # They came in the order a, b, c and lie in that of c, b, a.
    voice = Voice("A", tuple(Destination(n, source_knob=f"S{n}") for n in "abc"))
    request = Request(Surface.row(3), (voice,), snapshots=())
    knob_of = {"A/a": "K3", "A/b": "K2", "A/c": "K1"}
    found = place_prices(request, knob_of, {f"A/{name}" for name in about})
    assert [each for each in found if getattr(each, "term", "") == "sequence"] == [
        PlacePrice("sequence", f"A/{name}", 2000) for name in late
    ]
    # Without a, nothing comes before b.
    rest = prices_of(request, {"A/b": "K2", "A/c": "K1"}, {}, {}).places
    assert [each.what for each in rest if each.term == "sequence"] == ["A/c"]


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
