"""Questions about edits of setups in use: the answers are those of brute force, in their tiers.

Nothing that checks them is shared with what makes them; each oracle reads the request anew, in the
order of tiers of an edit, and waives what was there before.
"""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterator
from functools import cache

import attrs
import pytest

from knobpack.allocation import Allocation
from knobpack.clash import ImpossibleDemands
from knobpack.definition.prices import IN_USE_TIERS
from knobpack.edits.editor import edit
from knobpack.edits.other_panel import move_to_panel
from knobpack.edits.solution import Wish, solved
from knobpack.errors import InputError
from knobpack.explanation.best_layouts import best_layouts
from knobpack.explanation.budget import knob_budget
from knobpack.explanation.demand_prices import price_of_demands
from knobpack.explanation.here import why_here
from knobpack.explanation.least import least_knobs
from knobpack.explanation.not_there import why_not
from knobpack.explanation.shared import why_shared
from knobpack.explanation.unplaced import why_unplaced
from knobpack.explanation.whole import explain
from knobpack.limits import Run
from knobpack.words import Destination, KnobTravel, Route, Setup, Surface, Travel, Voice, Weights
from tests.edits.setups import small_setup, some_edit
from tests.explanation.least_asserted import assert_right
from tests.oracles import best_layouts as ties
from tests.oracles import budget as budgets
from tests.oracles.amount import EXAMPLES
from tests.oracles.least_knobs import least_by_trying, sharing_of
from tests.oracles.reasons_answers import wrong_in_here, wrong_in_not_there, wrong_in_unplaced
from tests.oracles.reasons_cases import allocation_of
from tests.oracles.reasons_graph import wrong_in_graph
from tests.oracles.reasons_shared import wrong_in_shared
from tests.oracles.reasons_solved import places_of, wrong_in_demand_prices
from tests.oracles.reasons_told import wrong_in_sentences
from tests.oracles.strategies import seeded_edit

MANY = max(600, EXAMPLES)


def edits(seeds: range) -> Iterator[tuple[int, Allocation]]:
    """The allocations of the seeded edits that are possible."""
    for seed in seeds:
        found = allocation_of(seeded_edit(seed))
        if found is not None:
            yield seed, found


@cache
def of_setups() -> tuple[Allocation, ...]:
    """What edits and moves of small setups come to."""
    found = []
    for seed in range(MANY // 20):
        setup, draw = small_setup(seed), random.Random(seed)  # noqa: S311 (no secret)
        try:
            done = edit(setup, some_edit(setup, draw))
        except (InputError, ImpossibleDemands):
            continue
        found += [done.allocation]
        if seed % 3 == 0:
            found.append(move_to_panel(setup, Surface.row(3, bits=10)).allocation)
    return tuple(found)


def asked(allocation: Allocation, *, solve: bool) -> Counter[str]:
    """Ask all that can be asked of single routes and knobs; each answer must be right."""
    request, places = allocation.request, places_of(allocation)
    seen: Counter[str] = Counter()
    for name in request.by_full_name:
        if name in places:
            here = why_here(allocation, name)
            assert wrong_in_here(allocation, here, name) == []
            assert wrong_in_sentences(request, here) == []
            seen["here"] += 1
            seen["pinned"] += bool(here.pins)
        else:
            out = why_unplaced(allocation, name, solve=solve)
            assert wrong_in_unplaced(allocation, out, name) == []
            assert wrong_in_sentences(request, out) == []
            seen["unplaced"] += 1
            seen["a way to place it"] += bool(out.ways)
        for knob in request.surface.knob_names:
            if places.get(name) != knob:
                there = why_not(allocation, name, knob, solve=solve and knob == "K1")
                assert wrong_in_not_there(allocation, there, (name, knob)) == []
                assert wrong_in_sentences(request, there) == []
                seen[there.comparison.tier or "tie" if there.comparison else "closed"] += 1
    for knob in allocation.used:
        if len(allocation.on(knob)) > 1:
            shared = why_shared(allocation, knob, solve=solve)
            assert wrong_in_shared(allocation, shared, knob) == []
            assert wrong_in_sentences(request, shared) == []
            seen["shared"] += 1
            seen["whole bundle"] += bool(shared.bundles)
    assert wrong_in_graph(allocation, allocation.graph) == []
    return seen


def test_why_here_why_not_why_shared_and_why_unplaced_are_right() -> None:
    seen: Counter[str] = Counter()
    for seed, allocation in edits(range(MANY // 4)):
        seen += asked(allocation, solve=seed % 3 == 0)
        assert tuple(tier.name for tier in allocation.tiers) == IN_USE_TIERS
    for allocation in of_setups():
        seen += asked(allocation, solve=False)
    wanted = ("here", "pinned", "unplaced", "a way to place it", "shared", "whole bundle")
    kinds = ("unplaced", "independence", "change", "bundles", "sharing", "layout", "tie", "closed")
    assert [each for each in (*wanted, *kinds) if seen[each] < 3] == []


def test_what_each_demand_is_worth_is_what_brute_force_finds() -> None:
    priced = 0
    for seed, allocation in edits(range(0, MANY // 5, 3)):
        answer = price_of_demands(allocation)
        assert wrong_in_demand_prices(allocation, answer) == [], seed
        assert wrong_in_sentences(allocation.request, answer) == []
        priced += sum(not each.free for each in answer.prices)
    assert priced > 20


def test_every_entry_of_the_budget_is_what_brute_force_finds() -> None:
    seen: Counter[str] = Counter()
    for seed, allocation in edits(range(MANY // 4)):
        answer = knob_budget(allocation)
        assert budgets.wrong_in(allocation.request, allocation, answer) == [], seed
        assert answer.now.proven
        seen["taker"] += bool(answer.more.takers)
        seen["giver"] += bool(answer.fewer and answer.fewer.givers and not answer.unused)
        seen["none can be given up"] += answer.fewer is None
        seen["unused"] += bool(answer.unused)
        seen["spares a change"] += bool(answer.more.change and answer.more.change[2] < 0)
        seen["spares a loss"] += bool(answer.more.change and answer.more.change[0] < 0)
        seen["no knob more is worth anything"] += not any(answer.more.change or ())
        seen["told that less would move"] += "in 'routes changed'" in answer.sentences[0]
        for family in answer.families:
            seen["worth a knob"] += any(family.more.change or ())
            seen["it can give none up"] += bool(family.knobs and family.fewer is None)
    assert [what for what, count in seen.items() if count < 2] == []
    assert len(seen) == 10


def test_the_budget_of_edited_setups_is_what_brute_force_finds() -> None:
    spared = 0
    for allocation in of_setups():
        answer = knob_budget(allocation)
        assert budgets.wrong_in(allocation.request, allocation, answer) == []
        spared += any(answer.more.change or ())
    assert spared > 1


def test_the_best_layouts_are_all_that_brute_force_finds() -> None:
    seen: Counter[str] = Counter()
    for seed, allocation in edits(range(0, MANY // 3, 2)):
        seen += told_right(allocation)
        draw = random.Random(seed)  # noqa: S311 (no secret)
        even = Weights(
            unplaced=(draw.randint(0, 1),) * 4,
            mix_kinds=draw.randint(0, 1),
            mix_voices=0,
            crowd=draw.randint(0, 1),
            travel=(0,) * 5,
            sequence=draw.randint(0, 1),
            voice_runs=0,
            group_runs=0,
            favour=0,
            habit=0,
        )
        alike = allocation_of(attrs.evolve(allocation.request, weights=even))
        seen += told_right(alike) if alike is not None else Counter()
    assert [what for what, count in seen.items() if count < 3] == []
    assert len(seen) == 4


def told_right(allocation: Allocation) -> Counter[str]:
    """What sort of answer there is, once brute force has found nothing wrong in it."""
    answer = best_layouts(allocation, most=10_000, places=True, effort=100)
    assert ties.wrong_in(allocation.request, answer) == []
    assert answer.proven
    return Counter(
        {
            "one way": answer.only,
            "more": answer.count > 1,
            "only there": any(place.only for place in answer.places),
            "elsewhere too": any(place.only is False for place in answer.places),
        }
    )


def test_full_independence_waives_what_shares_a_knob_in_use() -> None:
    fewer = 0
    for seed, allocation in edits(range(MANY // 10)):
        request = allocation.request
        number = least_by_trying(sharing_of(request))
        if number is None:
            with pytest.raises(ImpossibleDemands):
                least_knobs(request)
            continue
        answer = least_knobs(request)
        assert (answer.independent, answer.proven) == (number, True), seed
        assert_right(request, answer)
        bare = attrs.evolve(request, previous=None, in_use=False, edited=())
        alone = least_by_trying(sharing_of(bare))
        fewer += alone is None or number < alone
    assert fewer > 1


def test_explaining_an_edit_answers_every_question_at_once() -> None:
    for turn, allocation in enumerate(of_setups()):
        found = explain(allocation, solve=turn % 4 == 0)
        assert [each.destination for each in found.here] == [
            name for name in allocation.request.by_full_name if name in places_of(allocation)
        ]
        assert {each.destination for each in found.unplaced} == set(allocation.unplaced)
        assert found.budget == knob_budget(allocation)
        assert found.least is not None or found.clash is not None
        if turn % 4 == 0:
            assert found.ties == best_layouts(allocation)
            assert found.demand_prices == price_of_demands(allocation)


def joined_setup(knobs: int) -> Setup:
    """One knob that drives what two knobs of a source drove, over the travel of one of them."""
    level = Destination("level", priority=1, travel=Travel(0, 127), source_knob="1")
    inner = (level, *(Destination(n, source_knob="2", travel=Travel(10, 90)) for n in ("a", "b")))
    routes = tuple(Route(f"Bass/{each.name}", "K1") for each in inner)
    return Setup(
        "Evening set",
        Surface.row(knobs),
        (Voice("Bass", inner, layer=1, source="Late set"),),
        routes=routes,
        travels=(KnobTravel("K1", Travel(10, 90)),),
    )


def test_what_was_joined_is_not_told_as_what_was_wanted() -> None:
    setup = joined_setup(1)
    allocation = solved(setup, setup, Wish("as it is"), Run()).allocation
    level = why_here(allocation, "Bass/level")
    assert level.sentences[1] == (
        "There its travel is 10 to 90 (63 %), as it is now; it stays with Bass/a and Bass/b, as it "
        "was joined; in its source another knob drove Bass/a and Bass/b."
    )
    assert why_here(allocation, "Bass/a").joined == ("Bass/level",)
