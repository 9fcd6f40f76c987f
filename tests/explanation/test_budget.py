"""The knob budget: every entry against brute force, known and solved again, and what it says."""

from __future__ import annotations

import gc
import pickle
from collections import Counter
from collections.abc import Iterator
from itertools import combinations
from typing import Any

import attrs
import pytest

from benchmarks.requests import eight_knobs
from knobpack.allocation import Allocation
from knobpack.allocator import allocate_request
from knobpack.checked_search import allocate_short
from knobpack.checker import priced
from knobpack.clash import ImpossibleDemands
from knobpack.definition.prices import TIERS
from knobpack.errors import NoLayoutFound
from knobpack.explanation import budget as budgeting
from knobpack.explanation.budget import knob_budget, known_of
from knobpack.explanation.budget_answer import Budget
from knobpack.explanation.budget_entry import Entry, best_of
from knobpack.explanation.case import Case
from knobpack.explanation.families import UPPER, divided, request_of, shares
from knobpack.numbered.problem import bits
from knobpack.present.demo import demo_request
from knobpack.solver.value_functions import known
from knobpack.solver.value_functions.known import Known
from knobpack.solver.watch import Watch
from knobpack.words import (
    Apart,
    Barred,
    Destination,
    Layout,
    Request,
    Snapshot,
    Surface,
    Together,
    Voice,
)
from tests.oracles.amount import EXAMPLES, often
from tests.oracles.budget import wrong_in
from tests.oracles.cut_down import TooManyError, costs, cut, free_knobs
from tests.oracles.reasons_read import read_back
from tests.oracles.strategies import busy_request, seeded_request


def allocations(seeds: range, make: Any = seeded_request) -> Iterator[tuple[int, Allocation]]:
    """The allocations of the seeded requests that have one."""
    for seed in seeds:
        try:
            yield seed, allocate_request(make(seed))
        except ImpossibleDemands:
            continue


def test_every_entry_is_what_brute_force_finds_known_or_solved_again() -> None:
    seen: Counter[str] = Counter()
    for seed, found in allocations(range(max(150, EXAMPLES // 4))):
        answer = knob_budget(found)
        told = read_back(found.request, answer.graph)
        assert wrong_in(found.request, found, told) == [], seed
        seen["known"] += answer.solved_again == 0
        seen["solved again"] += answer.solved_again > 0
        seen["taker"] += bool(answer.more.takers)
        seen["no single taker"] += any(answer.more.change or ()) and not answer.more.takers
        seen["giver"] += bool(answer.fewer and answer.fewer.givers and not answer.unused)
        seen["none can be given up"] += answer.fewer is None
        seen["unused"] += bool(answer.unused)
        seen["between"] += bool(answer.between_families)
        for family in answer.families:
            seen["it can give none up"] += bool(family.knobs and family.fewer is None)
            seen["on no knob"] += not family.knobs
            seen["on no knob, worth one"] += not family.knobs and any(family.more.change or ())
    assert [what for what, count in seen.items() if count < often(2)] == []
    assert len(seen) == 11


def test_what_a_family_costs_is_what_the_checker_says_of_it_alone() -> None:
    """Preferred rules and bundles that span families included, as each holds a part of them."""
    seen: Counter[str] = Counter()
    for seed, found in allocations(range(120)):
        case = Case(found)
        layout = divided(case)
        costs = shares(case, layout)
        for family in layout.families:
            own = [route for route in found.routes if route.destination in family.destinations]
            alone = request_of(found.request, family.destinations, family.knobs, None)
            prices = priced(alone, Layout(tuple(own)))
            assert costs[family.destinations] == prices.totals[:UPPER], seed
            seen.update(tier for tier in TIERS[:UPPER] if prices.total(tier))
        seen["spanning"] += bool(layout.between or layout.bundles)
    assert [what for what in (*TIERS[:UPPER], "spanning") if seen[what] < 5] == []


def test_larger_families_too() -> None:
    known = solved = 0
    for seed, found in allocations(range(EXAMPLES // 20), busy_request):
        answer = knob_budget(found)
        told = read_back(found.request, answer.graph)
        assert wrong_in(found.request, found, told) == [], seed
        known += answer.solved_again == 0
        solved += answer.solved_again > 0
    assert min(known, solved) >= often(5)


def test_all_that_the_search_hands_out_is_what_brute_force_finds() -> None:
    seen: Counter[str] = Counter()
    for seed, found in allocations(range(EXAMPLES // 4)):
        assert pickle.loads(pickle.dumps(found)) == found  # noqa: S301 (our own bytes)
        handed_out = known_before(found)
        if handed_out is None:
            continue
        for frontier in (*handed_out.families, handed_out.whole):
            names = [list(found.request.by_full_name)[item] for item in bits(frontier.items)]
            pinned, free = free_knobs(found.request, names)
            for knobs, values in frontier.costs:
                panel = [*pinned, *free[:knobs]]
                more = max(0, knobs - len(free))
                try:
                    true = costs(cut(found.request, names, panel, more=more))
                except TooManyError:
                    continue
                assert values == true, (seed, names, knobs)
                seen["more" if more else "fewer" if knobs < len(free) else "as many"] += 1
                seen["impossible"] += values is None
                seen["left out"] += bool(values and values[0])
                seen["parted"] += bool(values and values[1])
                seen["broken"] += bool(values and values[2])
    assert min(seen.values()) >= EXAMPLES // 120
    assert len(seen) == 7


def knowing_nothing(found: Allocation) -> Budget:
    """The budget with everything solved again."""
    with pytest.MonkeyPatch.context() as patched:
        patched.setattr(budgeting, "known_of", lambda *_: None)
        return knob_budget(found)


def known_before(found: Allocation) -> Known | None:
    """What the search hands out of other numbers of knobs."""
    case = Case(found)
    return known_of(case, divided(case), Watch(10.0))


# Nothing is solved again that the search knew -----------------------------------------------------


def plain(request: Request) -> bool:
    """Whether the knobs are alike for everything, and no snapshot may be broken."""
    alike = not any(isinstance(rule, Barred) and rule.weight is None for rule in request.rules)
    return alike and not any(snapshot.break_weight for snapshot in request.played)


def test_the_budget_of_eight_knobs_takes_no_solve(monkeypatch: pytest.MonkeyPatch) -> None:
    requests = [demo_request(), *filter(plain, map(eight_knobs, range(48)))]
    found = [allocate_request(request) for request in requests]
    assert len(found) > 35

    def refuse(*_: Any, **__: Any) -> None:
        pytest.fail("something was solved again")

    monkeypatch.setattr(budgeting, "allocate_short", refuse)
    monkeypatch.setattr("ortools.sat.python.cp_model.CpSolver.solve", refuse)
    monkeypatch.setattr("knobpack.solver.solve.solve", refuse)
    monkeypatch.setattr("knobpack.solver.value_functions.subset_dp.subset_table_of", refuse)
    for allocation in found:
        answer = knob_budget(allocation)
        assert answer.solved_again == 0
        assert all(family.more.proven for family in answer.families)
        assert answer.more.proven


@pytest.mark.parametrize("seed", [19, 33, 42, 46, 49])
def test_families_that_a_broken_snapshot_would_join_take_no_solve_either(seed: int) -> None:
    request = eight_knobs(seed)
    assert any(snapshot.break_weight for snapshot in request.played)
    assert knob_budget(allocate_request(request)).solved_again == 0


def test_a_family_that_left_out_its_part_of_a_rule_is_solved_again() -> None:
    # Two of three fit on the knob of Pad. To have A and B there is cheapest for Pad alone, but A
    # is then not with Reed, and so B and C are better for all: 100 more, and 170 saved.
    kinds = (Destination("A", "level"), Destination("B", "level"), Destination("C", "level"))
    asked = Request(
        Surface.row(2, destinations_per_knob=2),
        (Voice("Pad", kinds), Voice("Reed", (Destination("A", "level"),))),
        snapshots=(Snapshot("low", ("Pad",)), Snapshot("high", ("Reed",))),
        rules=(
            Together(("Pad/A", "Reed/A"), weight=170),
            Apart(("Pad/C",), ("Pad/B",), weight=100),
            Barred(("Reed",), ("K1",)),
            Barred(("Pad",), ("K2",)),
        ),
    )
    found = allocate_request(asked)
    assert found.unplaced == ("Pad/A",)
    for answer in (knob_budget(found), knowing_nothing(found)):
        assert answer.families[0].now.values == (16, 0, 0, 2100)
        assert answer.now.values == (16, 0, 0, 2200)
        assert wrong_in(asked, found, answer) == []


def test_with_one_knob_more_a_bundle_may_still_be_left_out() -> None:
    # Of four that part from each other but not from E, two fit on one knob and one more.
    parted = tuple(Destination(f"D{at}", source_knob=str(at // 2)) for at in range(4))
    rules = [Apart((f"Pad/D{a}",), (f"Pad/D{b}",)) for a, b in combinations(range(4), 2)]
    asked = Request(
        Surface.row(1), (Voice("Pad", (*parted, Destination("E"))),), rules=tuple(rules)
    )
    found = allocate_request(asked)
    answer = knob_budget(found)
    assert answer.families[0].more.values == (32, 2, 0, 2400)
    assert wrong_in(asked, found, answer) == []


def test_what_is_counted_as_solved_is_solved(monkeypatch: pytest.MonkeyPatch) -> None:
    asked = []

    def counted(request: Request, *limits: Any, **others: Any) -> Allocation | None:
        asked.append(request)
        return allocate_short(request, *limits, **others)

    monkeypatch.setattr(budgeting, "allocate_short", counted)
    total = 0
    for seed, found in allocations(range(50)):
        asked.clear()
        assert knob_budget(found).solved_again == len(asked), seed
        total += len(asked)
    assert total > 30


def test_forgetting_what_is_known_gives_the_same_answer() -> None:
    for seed, found in allocations(range(0, 90, 2)):
        again = knowing_nothing(found)
        known = knob_budget(found)
        assert attrs.evolve(again, solved_again=0) == attrs.evolve(known, solved_again=0), seed
        assert again.solved_again >= known.solved_again


def test_what_was_solved_is_remembered_while_its_allocation_is_there_and_changes_nothing() -> None:
    for seed in range(6):
        found = allocate_request(eight_knobs(seed))
        identity = id(found)
        assert identity in known._SOLVED
        again_read = pickle.loads(pickle.dumps(found))  # noqa: S301 (made here)
        assert id(again_read) not in known._SOLVED
        assert known_before(found) == known_before(again_read)
        assert str(knob_budget(found)) == str(knob_budget(again_read))
        del found
        gc.collect()
        assert identity not in known._SOLVED


# A search that is stopped ------------------------------------------------------------------------


def test_a_stopped_search_is_marked_and_its_bounds_hold() -> None:
    seen: Counter[str] = Counter()
    # With some of these nothing at all is found for a family by itself, which is seldom.
    for seed in (*range(60), 144, 1098, 2397):
        request = seeded_request(seed)
        for effort in (0.0, 0.002):
            try:
                found = allocate_request(request, effort=effort)
            except (ImpossibleDemands, NoLayoutFound):
                continue
            answer = knob_budget(found, effort=0.0)
            assert wrong_in(request, found, answer) == [], (seed, effort)
            entries = [each for f in answer.families for each in (f.now, f.more, f.fewer) if each]
            entries += [answer.fewer] if answer.fewer else []
            seen["not proven"] += any(not each.proven for each in entries)
            seen["nothing found"] += any(each.values is None for each in entries)
            seen["now not proven"] += not answer.now.proven
            seen["said"] += "not proven" in str(answer)
            seen["not known"] += "what is not known" in str(answer)
    assert min(seen.values()) >= 2
    assert len(seen) == 5


def test_the_bounds_of_the_best_choice_hold_for_all_choices() -> None:
    order = TIERS[:3]
    now = Entry((0, 0, 5), (0, 0, 5), True, None, order)
    best = Entry((1, 0, 9), (1, 0, 9), True, None, order)
    worse = Entry((4, 0, 0), (2, 0, 0), False, None, order)
    unsure = Entry((4, 0, 7), (1, 0, 3), False, None, order)
    nothing = Entry(None, (0, 0, 0), False, None, order)
    # The other choice leaves out 2 or more, so nothing of it comes near.
    assert best_of([best, worse], now) == best
    # It may leave out 1 and share for nothing.
    assert best_of([best, unsure], now) == Entry((1, 0, 9), (1, 0, 0), False, None, order)
    assert best_of([best, nothing], now) == Entry((1, 0, 9), (0, 0, 0), False, None, order)
    assert best_of([nothing, None], now) == nothing
    assert best_of([None, None], now) is None
    assert best_of([worse, now], now) == now
