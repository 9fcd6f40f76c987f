"""What the knob budget says, by hand, and in which words."""

from __future__ import annotations

import re
from typing import Any

import attrs
import pytest

from benchmarks.requests import eight_knobs
from knobpack.allocation import Allocation
from knobpack.allocator import allocate_request
from knobpack.explanation.budget import knob_budget
from knobpack.words import (
    Alone,
    Apart,
    Destination,
    Layout,
    Request,
    Route,
    Snapshot,
    Surface,
    Together,
    Voice,
    Weights,
)
from tests.explanation.test_budget import allocations
from tests.oracles.budget import wrong_in


def pads(knobs: int, *rules: Any, **changes: Any) -> Allocation:
    """Two voices that move apart, of two kinds each: sharing costs 2,000 + 300 + 100."""
    kinds = (Destination("cutoff"), Destination("level"))
    voices = (Voice("Pad", kinds), Voice("Reed", (*kinds, Destination("pan"))))
    scenes = (Snapshot("low", ("Pad",)), Snapshot("high", ("Reed",)))
    asked = Request(Surface.row(knobs), voices, snapshots=scenes, rules=rules, **changes)
    return allocate_request(asked)


def test_a_budget_by_hand() -> None:
    # Three knobs: Pad takes one, Reed two, or the other way round: 2400 + 2400, or 0 + 4800.
    answer = knob_budget(pads(3))
    pad, reed = answer.families
    assert answer.now.values == (0, 0, 0, 4800)
    assert answer.more.values == (0, 0, 0, 2400)
    assert answer.more.change == (0, 0, 0, -2400)
    assert answer.fewer is not None
    assert answer.fewer.values == (0, 0, 0, 7200 + 800)  # the third on one knob
    assert (pad.name, reed.name) == ("Pad", "Reed")
    assert answer.solved_again == 0
    mostly_reed = len(reed.knobs) == 2
    assert [each.change for each in (pad.more, reed.more)] == [
        (0, 0, 0, -2400 if mostly_reed else 0),
        (0, 0, 0, -2400),
    ]
    assert answer.more.takers == ((0, 1) if mostly_reed else (1,))
    assert answer.fewer.givers == ((1,) if mostly_reed else (0,))
    # With its one knob, Pad loses two destinations of priority 3: 16 points each by default.
    only = pad if mostly_reed else reed
    assert only.fewer is not None
    assert only.fewer.values == (32 if mostly_reed else 48, 0, 0, 0)
    taker = "Pad, or just as well Reed" if mostly_reed else "Reed"
    giver = "Reed" if mostly_reed else "Pad"
    assert answer.sentences[:2] == (
        f"One more knob would save 2,400 points in 'sharing knobs'; it would go to {taker}.",
        (
            f"Giving one knob up costs least if taken from {giver}: 3,200 points more in "
            "'sharing knobs'."
        ),
    )


def test_what_laying_out_anew_saves_is_not_told_as_what_a_knob_more_saves() -> None:
    # Four destinations have a knob each, and the fifth has none: one left out of priority 3. Laid
    # out anew nothing is, on three knobs at 4,800 points (as above), on five at none.
    asked = pads(4).request
    on = (("Pad/cutoff", "K1"), ("Pad/level", "K2"), ("Reed/cutoff", "K3"), ("Reed/level", "K4"))
    answer = knob_budget(Allocation.of(asked, Layout(tuple(Route(*each) for each in on))))
    assert not answer.now.proven
    assert answer.now.values == (16, 0, 0, 0)
    assert answer.more.change == (-16, 0, 0, 0)
    assert answer.fewer is not None
    assert answer.fewer.change == (-16, 0, 0, 4800)
    told = answer.sentences[1:3]
    assert told[0].startswith("Even one knob fewer would save 16 points in 'destinations left out'")
    assert told[1] == (
        "What one knob more saves by itself is at most 4,800 points in 'sharing knobs'."
    )


def test_knobs_to_spare_and_families_that_need_theirs() -> None:
    answer = knob_budget(pads(7))
    assert answer.unused == tuple(
        name for name in pads(7).request.surface.knob_names if not pads(7).on(name)
    )
    assert len(answer.unused) == 2
    assert answer.fewer is not None
    assert not any(answer.fewer.change or (1,))
    assert answer.sentences[0] == "One more knob would save nothing."
    assert re.fullmatch(
        r"Giving one knob up costs nothing: K\d and K\d carry nothing\.", answer.sentences[1]
    )
    must = Voice("Pad", (Destination("level", must_place=True),))
    needed = knob_budget(allocate_request(Request(Surface.row(1), (must,))))
    assert needed.fewer is None
    assert needed.sentences == (
        "One more knob would save nothing.",
        "No knob can be given up, all else as it is asked.",
        "Pad, on K1: one knob more would save nothing; as asked, it can give none up.",
    )


def test_offers_that_are_not_told_one_by_one_are_counted() -> None:
    inner = tuple(Destination(name, source_knob="K1") for name in "abcde")
    answer = knob_budget(allocate_request(Request(Surface.row(2), (Voice("Pad", inner),))))
    told = [each for each in answer.sentences if "could have K2" in each]
    assert answer.sentences[2:6] == (*told, "2 more such offers, no better.")
    assert len(answer.offers) == len(told) + 2


def test_what_may_be_on_no_knob_is_a_family_that_a_knob_more_could_take() -> None:
    on = (("Pad/cutoff", "K1"), *((f"Reed/{name}", "K2") for name in ("cutoff", "level", "pan")))
    asked = attrs.evolve(
        pads(2).request,
        surface=Surface.row(2, reserved=("K1", "K2")),
        keep=Layout(tuple(Route(*each) for each in on)),
    )
    answer = knob_budget(allocate_request(asked))
    assert [family.name for family in answer.families] == ["Pad/cutoff", "Reed", "Pad/level"]
    lost = answer.families[2]
    assert lost.knobs == ()
    assert lost.now.values == (16, 0, 0, 0)
    assert lost.more.values == (0, 0, 0, 0)
    assert lost.fewer is None
    assert answer.more.takers == (2,)
    assert "on no knob: one knob more would save 16 points in 'destinations left out'." in str(lost)


def test_a_voice_names_the_family_that_holds_most_of_it() -> None:
    inner = tuple(Destination(f"D{at}", "level") for at in range(3))
    held = attrs.evolve(inner[0], movable=False)
    asked = Request(
        Surface.row(4),
        (Voice("Pad", (held, *inner[1:])), Voice("Reed", inner[:1])),
        rules=(Apart(("Reed",), ("Pad/D0",)),),
        snapshots=(Snapshot("all", ("Pad", "Reed")),),
    )
    answer = knob_budget(allocate_request(asked))
    assert [family.name for family in answer.families] == ["Pad/D0", "Pad and Reed"]


def test_what_spans_families_is_told_once() -> None:
    found = pads(5, Together(("Pad/level", "Reed/level"), weight=70))
    answer = knob_budget(found)
    assert answer.between_families == 70
    assert answer.now.values == (0, 0, 0, 70)
    assert [family.now.values for family in answer.families] == [(0, 0, 0, 0), (0, 0, 0, 0)]
    assert answer.sentences[-1] == (
        "Rules that span families cost 70 points in 'sharing knobs' besides."
    )


def test_a_bundle_that_snapshots_part_is_told_once() -> None:
    inner = (Destination("level", source_knob="S1"),)
    voices = tuple(Voice(name, inner, source="Old") for name in ("Pad", "Reed"))
    scenes = (Snapshot("low", ("Pad",)), Snapshot("high", ("Reed",)))
    answer = knob_budget(allocate_request(Request(Surface.row(3), voices, snapshots=scenes)))
    assert answer.bundles_between_families == 1
    assert answer.now.values == (0, 1, 0, 0)
    assert [family.now.values for family in answer.families] == [(0, 0, 0, 0), (0, 0, 0, 0)]
    assert answer.sentences[-1] == (
        "Bundles that span families cost 1 point in 'bundles parted' besides."
    )


def test_a_family_that_comes_back_brings_its_part_of_a_rule_back() -> None:
    # Pad/level has no knob; if it gets one, the rule with Reed is broken and costs 70.
    rules = (Together(("Pad/level", "Reed/level"), weight=70), Alone(("Reed/level",)))
    voices = (
        Voice("Pad", (Destination("level", priority=4),)),
        Voice("Reed", (Destination("level"),)),
    )
    scenes = (Snapshot("low", ("Pad",)),)
    found = allocate_request(Request(Surface.row(1), voices, snapshots=scenes, rules=rules))
    assert found.unplaced == ("Pad/level",)
    answer = knob_budget(found)
    assert answer.families[1].more.values == (0, 0, 0, 0)
    assert answer.more.values == (0, 0, 0, 70)
    assert answer.more.takers == (1,)
    assert answer.sentences[0] == (
        "One more knob would save 4 points in 'destinations left out', at 70 points in "
        "'sharing knobs' more; it would go to Pad."
    )


def test_a_family_that_goes_takes_its_part_of_a_rule_along() -> None:
    # What is hidden costs 99 points in sharing where it is left out, and the rule no more 70.
    voices = (
        Voice("Pad", (Destination("level", priority=5),)),
        Voice("Reed", (Destination("level"),)),
    )
    rules = (Together(("Pad/level", "Reed/level"), weight=70),)
    scenes = (Snapshot("low", ("Pad",)),)
    answer = knob_budget(
        allocate_request(Request(Surface.row(2), voices, snapshots=scenes, rules=rules))
    )
    assert answer.fewer is not None
    assert answer.fewer.change == (0, 0, 0, 99 - 70)
    assert answer.fewer.givers == (1,)


def test_what_costs_nothing_to_leave_out_is_not_known_and_solved_again() -> None:
    free = Weights(unplaced=(256, 64, 16, 0))
    inner = tuple(Destination(f"D{at}", f"K{at}", 4, source_knob=str(at // 2)) for at in range(4))
    asked = Request(Surface.row(2), (Voice("Pad", inner),), weights=free)
    found = allocate_request(asked)
    answer = knob_budget(found)
    assert wrong_in(asked, found, answer) == []


def numbers_in(word: Any) -> set[int]:
    """Every whole number that a plain value holds."""
    if isinstance(word, dict):
        word = tuple(word.values())
    if isinstance(word, tuple | list):
        return {number for each in word for number in numbers_in(each)}
    return {abs(word)} if isinstance(word, int) else set()


@pytest.mark.parametrize("effort", [0.0, 10.0])
def test_every_number_in_a_sentence_is_a_field(effort: float) -> None:
    told = 0
    for seed, found in allocations(range(120)):
        answer = knob_budget(found, effort=effort)
        plain_answer = attrs.asdict(answer)
        text = str(answer)
        names = [*(f.name for f in answer.families), *found.request.surface.knob_names]
        names += [*found.request.by_full_name]
        for name in sorted(names, key=len, reverse=True):
            text = text.replace(name, "")
        numbers = {int(each.replace(",", "")) for each in re.findall(r"\d[\d,]*", text)}
        # What an offer saves is the difference of two of its fields.
        saved = {offer.comparison.before[3] - offer.comparison.after[3] for offer in answer.offers}
        if answer.fewer is not None and answer.fewer.change and answer.more.change:
            pairs = zip(answer.fewer.change, answer.more.change, strict=True)
            saved |= {less - gain for less, gain in pairs}  # by the knob itself
        assert numbers <= numbers_in(plain_answer) | saved, seed
        told += len(numbers)
        jargon = r"frontier|cluster|atom|variable|infeasible|clique|objective|optim"
        assert not re.search(jargon, text), seed
    assert told > 150


def test_the_families_are_told_by_what_a_knob_more_is_worth() -> None:
    answer = knob_budget(allocate_request(eight_knobs(4)))
    told = [line for line in answer.sentences if ": one knob more would save" in line]
    ranked = sorted(answer.families, key=lambda each: each.more.change or ())
    assert told == [str(family) for family in ranked]
    assert len({family.more.change for family in ranked}) > 2
