"""Comparison: every term of any two layouts, recomputed; and how it is told."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Callable

import attrs
import pytest

from knobpack.checker import check
from knobpack.explanation.comparison import Comparison, TermChange, compared, listed_points
from knobpack.words import KnobTravel, Layout, Request, Travel
from tests.oracles.amount import EXAMPLES, often
from tests.oracles.example import SPLIT, a_request
from tests.oracles.layouts import random_layout
from tests.oracles.reasons_terms import Terms, terms_of, wrong_in_comparison
from tests.oracles.strategies import busy_request, seeded_request


def two(seed: int) -> tuple[Request, Comparison, Terms, Terms]:
    """Two layouts of a request, good or bad, compared; and the terms of both, recomputed."""
    draw = random.Random(seed)  # noqa: S311 (no secret)
    request = busy_request(seed) if seed % 5 == 0 else seeded_request(seed)
    layouts = [Layout(random_layout(draw, request).routes) for _ in range(2)]
    terms = [terms_of(request, {r.destination: r.knob for r in each.routes}) for each in layouts]
    prices = [check(request, each).prices for each in layouts]
    return request, compared(prices[0], prices[1]), terms[0], terms[1]


def test_every_term_of_two_layouts_is_compared() -> None:
    seen: Counter[str] = Counter()
    for seed in range(max(350, EXAMPLES)):
        _, answer, before, after = two(seed)
        assert list(wrong_in_comparison(answer, before, after)) == [], seed
        seen.update(term.term for term in answer.terms)
        seen["tie"] += answer.tier is None
    terms = {
        "omission", "parted", "intruding", "break", "mix_kinds", "mix_voices", "crowd", "travel",
        "apart", "alone", "together", "change", "moved", "reset", "sequence", "voice_runs",
        "group_runs", "favour", "habit", "fixed", "barred", "tie",
    }  # fmt: skip
    assert [term for term in sorted(terms) if seen[term] < often(10)] == []


def finder(before: Terms, after: Terms) -> Callable[[Comparison], list[str]]:
    """What finds out what is wrong in a comparison of these."""
    return lambda answer: list(wrong_in_comparison(answer, before, after))


def test_the_first_tier_that_differs_decides() -> None:
    answer = Comparison((0, 2, 3, 200, 1, 0), (0, 2, 3, 150, 9, 9), ())
    assert (answer.tier, answer.amount, answer.rank) == ("sharing", -50, (0, 0, 0, -50, 8, 9))
    assert answer.told == "50 points less in 'sharing knobs'"
    one = attrs.evolve(answer, after=(1, 0, 0, 0, 0, 0))
    assert (one.tier, one.told) == ("unplaced", "1 point more in 'destinations left out'")
    tie = attrs.evolve(answer, after=answer.before)
    assert (tie.tier, tie.amount, str(tie)) == (None, 0, "the same in every line: a tie")


@pytest.mark.parametrize(
    ("term", "what", "text"),
    [
        ("omission", "Pad/pan", "Pad/pan left out +1,300"),
        ("break", "snapshot 'all' on K1", "broken: snapshot 'all' on K1 +1,300"),
        ("parted", "bundle of S1 in Old", "parted: bundle of S1 in Old +1,300"),
        ("intruding", "Pad/air", "hidden, on a knob with others: Pad/air +1,300"),
        ("mix_kinds", "K2", "kinds mixed on K2 +1,300"),
        ("mix_voices", "K2", "voices mixed on K2 +1,300"),
        ("join", "K2", "separate control lost on K2 +1,300"),
        ("essential", "K2", "essentials joined on K2 +1,300"),
        ("company", "K2", "beside what is essential on K2 +1,300"),
        ("crowd", "K2", "crowding on K2 +1,300"),
        ("travel", "K2", "other travels than wanted on K2 +1,300"),
        ("apart", "K2", "not apart on K2 +1,300"),
        ("alone", "K2", "not alone on K2 +1,300"),
        ("together", "Pad/pan with Pad/air", "rule not met: Pad/pan with Pad/air +1,300"),
        ("change", "Pad/pan", "Pad/pan not where it was +1,300"),
        ("moved", "K3", "what K3 drove is not whole on it +1,300"),
        ("reset", "K3", "travel of K3 set anew +1,300"),
        ("sequence", "Pad/pan", "not directly after what came before it: Pad/pan +1,300"),
        ("voice_runs", "Pad", "voices not side by side: Pad +1,300"),
        ("group_runs", "leads", "groups not side by side: leads +1,300"),
        ("favour", "Pad/pan", "away from the best knobs to reach: Pad/pan +1,300"),
        ("habit", "Pad/pan", "kinds off their usual knobs: Pad/pan +1,300"),
        ("fixed", "Pad/pan on K1", "rules not met: Pad/pan on K1 +1,300"),
        ("barred", "Pad/pan off K1", "rules not met: Pad/pan off K1 +1,300"),
    ],
)
def test_a_term_is_told_with_what_it_is_about(term: str, what: str, text: str) -> None:
    assert str(TermChange("", term, what, 300, 1600)) == text
    assert str(TermChange("", term, what, 1, 0)) == text.replace("+1,300", "-1")


def test_the_terms_that_are_not_named_are_told_in_one_sum() -> None:
    terms = tuple(TermChange("sharing", "crowd", f"K{n}", 0, 100 - n) for n in range(7))
    later = TermChange("layout", "favour", "Pad/pan", 0, 7)
    total = sum(term.amount for term in terms)
    told = str(Comparison((0, 0, 0, 0, 0, 0), (0, 0, 0, total, 0, 7), (*terms, later)))
    assert told.startswith(f"{total} points more in 'sharing knobs' (crowding on K0 +100, ")
    assert told.endswith(f" {95 + 94:+,})")
    assert "Pad/pan" not in told


def test_a_hand_made_pair_of_layouts_is_compared_by_hand() -> None:
    request = a_request(knobs=3)
    names = [route.destination for route in SPLIT.routes]
    joined = Layout.of({"K1": names[:2], "K2": names[2:]})
    answer = compared(check(request, SPLIT).prices, check(request, joined).prices)
    # Bass/drive joins Pad/pan and Bass/cutoff on K2: one kind and one destination more. It is
    # hidden, so it were better left out.
    assert (answer.tier, answer.amount) == ("bundles", 1)
    assert answer.rank[3] == 300 + 2000 + 800 + 100
    assert [str(term) for term in answer.terms[:3]] == [
        "hidden, on a knob with others: Bass/drive +1",
        "separate control lost on K2 +2,800",
        "kinds mixed on K2 +300",
    ]


def test_points_are_listed_the_dearest_first() -> None:
    terms = (("mix_kinds", 300), ("crowd", 0), ("travel", 1250), ("alone", 450))
    assert (
        listed_points(terms) == "other travels than wanted 1,250, not alone 450 and kinds mixed 300"
    )
    assert listed_points(()) == ""


def test_a_travel_that_is_given_counts() -> None:
    request = a_request(knobs=3)
    given = attrs.evolve(SPLIT, travels=(KnobTravel("K3", Travel(0, 0)),))
    answer = compared(check(request, SPLIT).prices, check(request, given).prices)
    # It misses its end by all, and reaches nothing: twice a hundred hundredths.
    assert [(each.term, each.what, each.amount) for each in answer.terms] == [("travel", "K3", 200)]
