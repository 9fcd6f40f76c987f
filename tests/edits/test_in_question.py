"""Saved setups in question: what is answered of one is what the combination answered that made it.

The combination's own allocation, its offers, and a combination on a panel with one knob more are
what the answers are held against; none of these reads a setup back.
"""

from __future__ import annotations

from collections import Counter
from functools import cache
from typing import Any

import attrs
import pytest

from knobpack.allocation import Allocation
from knobpack.clash import ImpossibleDemands
from knobpack.combination.answer import Combination
from knobpack.combination.combiner import combine, taking
from knobpack.combination.taken_away import without_source
from knobpack.edits import Away, OnKnob, OutOfUse, Part, Swap, edit
from knobpack.edits.in_question import (
    InQuestion,
    as_it_stands,
    came_with,
    footing_told,
    in_question,
    last_edited,
    past_told,
    torn_knobs_told,
)
from knobpack.explanation.here import Here
from knobpack.limits import Run
from knobpack.words import (
    Destination,
    KnobTravel,
    Route,
    Setup,
    Snapshot,
    Surface,
    Travel,
    Voice,
    Weights,
)
from knobpack.words.edits import only, with_knobs
from tests.combination.setups import seeded_setup
from tests.edits.rehearsal import SETUP as REHEARSAL

LEVEL, CUTOFF, SEND = "level", "cutoff", "send"


def hall(knobs: int) -> Setup:
    """Five knobs that drive one thing each, and some that are free."""
    inner = {
        "Grand": [("level", LEVEL, 1, (0, 1023)), ("tone", CUTOFF, 2, (300, 1023))],
        "Pad": [
            ("level", LEVEL, 1, (0, 800)),
            ("cutoff", CUTOFF, 2, (1023, 0)),
            ("reverb", SEND, 3, (0, 1023)),
        ],
    }
    return _setup("Hall", inner, ["K1", "K2", "K3", "K4", "K5"], Surface.row(knobs, bits=10), (
        Snapshot("Full", ("Grand", "Pad/level")),
        Snapshot("Grand only", ("Grand",)),
    ))  # fmt: skip


def lead() -> Setup:
    """Four knobs, of which the second drives two cutoffs; one is turned round."""
    inner = {
        "Lead": [
            ("level", LEVEL, 1, (0, 127)),
            ("cutoff", CUTOFF, 1, (30, 127)),
            ("echo", SEND, 3, (0, 60)),
        ],
        "Sub": [("cutoff", CUTOFF, 2, (30, 127)), ("level", LEVEL, 2, (127, 0))],
    }
    return _setup("lead", inner, ["K1", "K2", "K3", "K2", "K4"], Surface.row(4), ())


def _setup(
    name: str,
    inner: dict[str, list[tuple[str, str, int, tuple[int, int]]]],
    knobs: list[str],
    surface: Surface,
    snapshots: tuple[Snapshot, ...],
) -> Setup:
    voices = tuple(
        Voice(voice, tuple(Destination(n, kind=k, priority=p) for n, k, p, _ in own))
        for voice, own in inner.items()
    )
    names = [full for voice in voices for full in voice.by_full_name]
    goes = [travel for own in inner.values() for *_, travel in own]
    travels = {knob: Travel(*travel) for knob, travel in zip(knobs, goes, strict=True)}
    return Setup(
        name,
        surface,
        voices,
        routes=tuple(Route(*each) for each in zip(names, knobs, strict=True)),
        travels=tuple(KnobTravel(*each) for each in travels.items()),
        snapshots=snapshots,
    )


@cache
def combined() -> Combination:
    """A level and a send share a knob, as knobs ran out."""
    return combine(hall(8), lead())


def questioned(setup: Setup, *about: str, **how: Any) -> InQuestion:
    """A setup in question, with what is better looked for."""
    return in_question(as_it_stands(setup, about, **how), Run())


def sets_of(allocation: Allocation) -> set[frozenset[str]]:
    """What shares a knob, whichever knob that is."""
    return {frozenset(allocation.on(knob)) for knob in allocation.used}


def test_what_came_is_asked_for_as_the_combination_asked_for_it() -> None:
    made = combined()
    found = questioned(made.setup)
    assert found.better is None
    assert found.sentences == ()
    assert found.allocation.routes == made.allocation.routes
    assert found.allocation.tiers == made.allocation.tiers
    # Only the layers are kept that the combination gave.
    asked = found.allocation.request
    layers = {place.voice: place.new for place in made.allocation.layers}
    voices = tuple(
        attrs.evolve(v, layer=layers[v.name]) if v.source else v for v in made.request.voices
    )
    keep = attrs.evolve(made.request.keep, layers=asked.keep.layers)
    assert asked == attrs.evolve(made.request, voices=voices, keep=keep)


def test_every_answer_is_that_of_the_combination() -> None:
    told, made = questioned(combined().setup).allocation, combined().allocation
    names, knobs = made.request.by_full_name, made.request.surface.knob_names
    for name in names:
        assert told.why(name) == made.why(name)
        for knob in knobs:
            if made.knob_of(name) != knob:
                answer = told.why_not(name, knob)
                assert answer.sentences == made.why_not(name, knob).sentences
    assert told.why_shared("K7").sentences == made.why_shared("K7").sentences
    assert told.knob_budget() == made.knob_budget()
    assert told.price_of_demands().sentences == made.price_of_demands().sentences
    assert told.best_layouts() == made.best_layouts()


def test_what_else_could_share_is_told_with_what_each_would_lose() -> None:
    told = questioned(combined().setup).allocation
    shared = told.why_shared("K7")
    # The essential level has a knob of its own; the echo gives its travel up each time, or both
    # cutoffs theirs.
    assert [(set(each.names), each.missing) for each in shared.instead] == [
        ({"Lead/level", "Lead/echo"}, ("Lead/echo",)),
        ({"Lead/echo", "Sub/level"}, ("Lead/echo",)),
        ({"Lead/level", "Lead/cutoff", "Sub/cutoff"}, ("Lead/cutoff", "Sub/cutoff")),
    ]
    assert shared.next_best is not None
    assert shared.instead[0].comparison.amount == shared.next_best.price
    for name in shared.destinations:
        answer = told.why(name)
        assert isinstance(answer, Here)
        assert answer.instead == shared.instead
        assert f"{shared.instead[0]}." in answer.sentences
    alone = told.why("Sub/level")
    assert isinstance(alone, Here)
    assert alone.instead == ()


def test_without_something_it_is_as_the_offer_says_that_leaves_it_out() -> None:
    made = combined()
    offer = next(each for each in made.offers if each.names == ("Lead/echo",))
    assert offer.what == "leave"
    taken = taking(made, offer).allocation
    told = questioned(made.setup).allocation
    stays = [name for name in told.request.by_full_name if name not in offer.names]
    found = told.what_if(only(told.request, stays))
    assert found.allocation is not None
    assert found.allocation.routes == taken.routes
    assert found.allocation.travels == taken.travels
    assert found.after == taken.tiers
    assert set(found.eased) == set(offer.eases)
    assert found.tier == "sharing"
    assert -(found.price or 0) == made.allocation.tiers[3].value - taken.tiers[3].value > 0


def test_one_more_knob_is_worth_what_a_panel_with_one_more_gives() -> None:
    told = questioned(combined().setup, everything=True, left_out=True).allocation
    more = told.what_if(with_knobs(told.request, 1))
    wider = combine(hall(9), lead()).allocation
    assert more.allocation is not None
    assert sets_of(more.allocation) == sets_of(wider)
    assert more.eased == ("Lead/cutoff", "Lead/echo", "Sub/cutoff")
    assert [t.value for t in more.after[:5]] == [t.value for t in wider.tiers[:5]]
    assert all(wider.travel_of(n) == wider.request.wanted(n) for n in wider.request.by_full_name)
    budget = told.knob_budget()
    assert budget.more.change is not None
    assert budget.more.change[3] == more.price
    assert more.price is not None
    assert more.price < 0


def test_random_combinations_answer_as_they_were_combined() -> None:
    seen: Counter[str] = Counter()
    for seed in range(120):
        faulty = seed % 2 == 1
        sources = [seeded_setup(3 * seed + 1, "Harbour set", faulty)]
        if seed % 3:
            sources.append(seeded_setup(3 * seed + 2, "Attic set", faulty))
        base = seeded_setup(3 * seed, "Evening set", faulty)
        free = tuple(voice.name for voice in base.voices) if seed % 4 < 2 else ()
        try:
            made = combine(base, *sources, free=free, again=True)
        except ImpossibleDemands:
            continue
        if not made.setup.arrivals:
            continue
        found = questioned(made.setup)
        if torn_knobs_told(made.setup, made.setup.surface.knob_names):
            # The combination knew only a part of what such a knob drives.
            assert {*made.allocation.routes} <= {*found.allocation.routes}, seed
            seen["torn"] += 1
        # A snapshot that came to nothing is not in the setup, so nothing is reckoned for it.
        elif len(made.request.snapshots or ()) == len(made.setup.snapshots):
            assert found.allocation.prices.totals == made.allocation.prices.totals, seed
            assert found.better is None, seed
            seen["the same"] += 1
            seen["freed"] += made.request.previous is not None
            seen["left out"] += bool(made.without_knob)
            seen["several"] += len(made.setup.arrivals) > 1
    assert min(seen[each] for each in ("the same", "freed", "left out", "several")) > 1, seen
    assert seen["torn"] > 0


def test_only_what_came_last_is_free_and_what_came_in_one_go_comes_together() -> None:
    other = attrs.evolve(lead(), name="other")
    at_once = combine(hall(8), lead(), other).setup
    later = combine(combine(hall(8), lead()).setup, other).setup
    assert [each.source for each in came_with(at_once)] == ["lead", "other"]
    assert [each.source for each in came_with(later)] == ["other"]
    assert came_with(hall(8)) == ()
    (told,) = footing_told(at_once)
    assert told.startswith("Here what came with lead and other may move, and the rest stays;")
    assert footing_told(hall(8)) == ()
    # What came before is asked about as it came; what was there before all is kept.
    assert [each.source for each in came_with(later, ("Lead/level",))] == ["lead"]
    assert [each.source for each in came_with(later, ("Grand/level",))] == ["other"]
    kept = {r.destination for r in as_it_stands(later).request.keep.routes}
    assert {"Lead/level", "Grand/level"} <= kept
    assert {r.destination for r in as_it_stands(at_once).request.keep.routes} == {
        route.destination for route in hall(8).routes
    }
    # Once the first has gone again, the second came by itself.
    assert [each.at_once for each in without_source(at_once, "lead").arrivals] == [False]


def test_what_an_edit_made_worse_is_told_with_its_price() -> None:
    three = combine(hall(9), lead()).setup
    swapped = edit(three, Swap("K6", "K8")).setup
    assert questioned(swapped).sentences == ()
    # The edit moved one thing, to the echo. With what was agreed on more could be moved; without
    # it the bundle would be whole.
    parted = edit(three, Part(("Lead/cutoff",), ("Sub/cutoff",))).setup
    first, eased, worse, last = questioned(parted).sentences
    assert first.startswith("It could be better, all else as it is: 88 points less in 'sharing")
    assert eased == "Then as wanted, and beside nothing else: Sub/cutoff."
    assert worse == "No longer as wanted, or beside others: Lead/level."
    assert last.startswith("That takes 5 routes to program: Lead/level goes from K6 to K7")
    forgotten = attrs.evolve(parted, agreed=())
    first, heard, second = questioned(forgotten).sentences
    assert first == (
        "It could be better, all else as it is: 1 point less in 'bundles parted', proven."
    )
    assert heard == "Then as wanted, and beside nothing else: Lead/echo and Sub/cutoff."
    assert second.startswith("That takes ")
    better = questioned(forgotten).best
    assert better.knob_of("Lead/cutoff") == better.knob_of("Sub/cutoff")


def test_what_was_put_away_is_not_missed_unless_it_is_asked_about() -> None:
    away = edit(combined().setup, Away(("Sub/level",))).setup
    standing = as_it_stands(away)
    assert "Sub/level" not in standing.request.by_full_name
    # What shares a knob, as knobs ran out, could now be as it was in its source.
    better = questioned(away).best
    assert [better.on(knob) for knob in ("K6", "K8")] == [("Lead/level",), ("Lead/echo",)]
    assert as_it_stands(away, ("Sub/level",)).unplaced == ("Sub/level",)


def by_hand() -> Setup:
    """Nothing came; two knobs drive two things each."""
    return attrs.evolve(
        hall(4),
        routes=(
            Route("Grand/level", "K1"),
            Route("Grand/tone", "K2"),
            Route("Pad/level", "K3"),
            Route("Pad/cutoff", "K4"),
            Route("Pad/reverb", "K4"),
        ),
    )


@pytest.mark.parametrize(
    ("about", "how", "free"),
    [
        (("Pad/cutoff",), {}, {"Pad/cutoff", "Pad/reverb"}),
        (("Grand/tone",), {}, {"Grand/tone"}),
        ((), {}, {"Pad/cutoff", "Pad/reverb"}),
        ((), {"everything": True}, set(by_hand().layout.goes)),
    ],
)
def test_of_what_was_made_by_hand_what_is_asked_about_is_free(
    about: tuple[str, ...], how: dict[str, bool], free: set[str]
) -> None:
    setup = by_hand()
    standing = as_it_stands(setup, about, **how)
    kept = {route.destination for route in standing.request.keep.routes}
    assert {route.destination for route in setup.routes} - kept == free
    assert standing.layout.goes == setup.layout.goes
    assert standing.request.previous is not None


def test_what_shares_a_knob_by_hand_is_no_bundle_so_a_knob_more_parts_it() -> None:
    found = questioned(by_hand(), everything=True).allocation
    assert found.request.bundles == ()
    more = found.what_if(with_knobs(found.request, 1))
    assert more.tier == "sharing"
    # Two kinds of one voice shared it: separate control, kinds and crowding.
    weights = Weights()
    assert more.price == -(weights.join + weights.mix_kinds + weights.crowd)
    assert [each.destination for each in more.moved] in (["Pad/cutoff"], ["Pad/reverb"])


def test_what_a_snapshot_parts_on_one_knob_is_asked_about_like_all_else() -> None:
    # The knob drives what moves and what does not: no request could ask for that anew.
    torn = attrs.evolve(by_hand(), snapshots=(Snapshot("Half", ("Pad/cutoff",)),), travels=())
    for about in ((), ("Pad/cutoff",), ("Pad/reverb",)):
        standing = as_it_stands(torn, about)
        assert standing.on("K4") == ("Pad/cutoff", "Pad/reverb")
        assert standing.request.surface.reserved == torn.surface.reserved
        # On a knob of its own it would do what the snapshot says.
        better = in_question(standing, Run()).best
        assert better.knob_of("Pad/cutoff") != better.knob_of("Pad/reverb")
        assert better.tier("independence").value == 0 < standing.tier("independence").value
    told = "K4 takes nothing more, as snapshot 'Half' moves Pad/cutoff and holds Pad/reverb."
    assert torn_knobs_told(torn, ("K4",)) == (told,)
    # While it stays it takes nothing more: a combination puts nothing there, nor does a question.
    standing = as_it_stands(torn, ("Grand/tone",))
    assert standing.request.surface.reserved == ("K4",)
    assert not standing.why_not("Grand/tone", "K4").allowed
    assert torn_knobs_told(torn, ("K1", "K2", "K3")) == torn_knobs_told(by_hand(), ("K4",)) == ()


def test_what_became_of_what_is_asked_about_is_told() -> None:
    came = combine(hall(6), lead(), free=["Pad/reverb"]).setup
    was, now = (
        {route.destination: route.knob for route in each.routes} for each in (hall(6), came)
    )
    moved = [name for name in was if now.get(name) != was[name]]
    left = [f"{name} was on {was[name]} until 'lead' came." for name in moved]
    assert list(past_told(came, moved)) == left
    assert past_told(came, ["Grand/level"]) == ()
    broken = edit(came, OutOfUse("K1")).setup
    assert past_told(broken, ["Grand/level"]) == (
        "Grand/level was on K1 until K1 went out of use.",
    )
    assert past_told(broken, ["Lead/level"]) == ("K1 is out of use.",)


def test_what_is_kept_can_be_let_go_and_so_nothing_is_said_never_to_be() -> None:
    setup = hall(5)
    answer = as_it_stands(setup, ["Pad/cutoff"]).why_not("Pad/cutoff", "K1", solve=False)
    assert answer.may_yield
    assert answer.sentences[0].startswith(
        "Pad/cutoff cannot be on K1 as long as Grand/level is kept on K1"
    )
    there = edit(setup, OnKnob("Pad/cutoff", "K1")).setup
    assert Route("Pad/cutoff", "K1") in there.routes


def test_what_the_last_edit_moved_is_asked_about_as_that_put_it() -> None:
    done = edit(REHEARSAL, OutOfUse("K2"))
    again = last_edited(done.setup, ("Bass/level",))
    assert again == done.allocation
    assert last_edited(done.setup, ("Organ/level",)) is None
    assert last_edited(REHEARSAL, ("Bass/level",)) is None
    # What was programmed otherwise since is not as the edit left it.
    other = attrs.evolve(done.setup, routes=done.setup.routes[1:])
    assert last_edited(other, ("Bass/level",)) is None
