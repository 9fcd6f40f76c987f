"""Feasible: right for any part of the demands, fast where it matters, and never simply believed."""

from __future__ import annotations

import random

import attrs
import pytest
from ortools.sat.python import cp_model

from knobpack.checker import check
from knobpack.clash import mcs
from knobpack.clash.crowds import Class, CrowdLimit, crowd_of
from knobpack.clash.effects import pieces_under
from knobpack.clash.feasible import Feasible, Verdict
from knobpack.clash.find import find_clash
from knobpack.clash.mus import confirmed, grow, shrink, unmet_by
from knobpack.errors import KnobpackError
from knobpack.solver.cp_sat.cp_model import CpModel
from knobpack.solver.cp_sat.packing import order_knobs, pack
from knobpack.solver.rivals import Pieces
from knobpack.solver.watch import Watch
from knobpack.words import Layout, Request, Surface
from knobpack.words.demand import Demand
from tests.clash.clash_requests import seeded, strict, voices
from tests.oracles.amount import EXAMPLES
from tests.oracles.clashes import faults, truth_of

MANY = range(max(60, EXAMPLES // 6))


def feasible_for(request: Request) -> Feasible:
    return Feasible(request, Watch(effort=100.0))


def part_of(demands: tuple[Demand, ...], seed: int) -> tuple[Demand, ...]:
    """A part of the demands, most of them in it."""
    chance = random.Random(seed)  # noqa: S311 (no secret)
    return tuple(demand for demand in demands if chance.random() < 0.8)


def pieces_of(request: Request) -> Pieces:
    feasible = feasible_for(request)
    return pieces_under(feasible.effects, feasible.demands)


# Right for any part -----------------------------------------------------------------------------


@pytest.mark.parametrize("seed", MANY)
def test_any_part_of_the_demands_is_answered_as_every_layout_shows(seed: int) -> None:
    request = seeded(seed)
    truth, feasible = truth_of(request), feasible_for(request)
    wanted = part_of(feasible.demands, seed)
    verdict = feasible.ask(wanted)
    assert verdict.possible == truth.possible(wanted)
    if verdict.layout is not None:
        breached = {breach.demand for breach in check(request, verdict.layout).breaches}
        stored = sum(1 for demand in wanted if demand.kind == "store")
        assert all(d.kind == "snapshots" and stored <= d.subject for d in breached & set(wanted))
        assert unmet_by(request, verdict.layout, wanted) == []
    else:
        assert set(verdict.core) <= set(wanted)
        assert not truth.possible(verdict.core)


def test_a_crowd_says_nothing_false_of_what_can_be_met() -> None:
    """Of each layout the classes that are whole are no more than the knobs, opened ones too."""
    classes, opened, several = 0, 0, 0
    for seed in range(max(300, EXAMPLES // 2)):
        request = strict(seeded(seed))
        truth, feasible = truth_of(request), feasible_for(request)
        wanted = part_of(feasible.demands, seed)
        verdict = feasible.ask(wanted)
        if not verdict.crowd:
            continue
        crowd = crowd_of(feasible.effects, wanted, verdict.crowd)
        for breached in truth.breached:
            met = set(feasible.demands).difference(breached)
            whole = [
                each
                for each in crowd.classes
                if not met.isdisjoint(each.placing) and met.issuperset(each.needed)
            ]
            room = crowd.room + len(set(crowd.closing).difference(met))
            assert len(whole) <= room
            opened += len(whole) > crowd.room
        met = set(wanted)
        assert all(met.issuperset(each.needed) for each in crowd.classes)
        classes += len(crowd.classes) > crowd.room + 1
        several += any(len(each.placing) > 1 for each in crowd.classes)
    assert min(classes, several) > 5
    assert opened


@pytest.mark.parametrize("seed", MANY)
def test_a_part_that_clashes_is_made_minimal_and_what_is_given_up_too(seed: int) -> None:
    request = seeded(seed)
    # On the panel as it is, a part of what can be met can be met.
    truth, feasible = truth_of(request), attrs.evolve(feasible_for(request), opening=False)
    wanted = part_of(feasible.demands, seed)
    if truth.possible(wanted):
        left = grow(feasible, set(feasible.demands).difference(wanted))
        assert left.proven
        assert frozenset(left.demands) in truth.breached
    else:
        part = shrink(feasible, wanted)
        assert part.proven
        assert not truth.possible(part.demands)
        for demand in part.demands:
            assert truth.possible(set(part.demands) - {demand})


def test_where_the_solver_finds_no_way_out_in_time_one_is_grown(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(mcs, "_ROUNDS", 0)
    grown = 0
    for seed in range(40):
        request = strict(seeded(seed))
        truth = truth_of(request)
        clash = find_clash(request, Watch(effort=100.0))
        for way in clash.ways_out if clash else ():
            assert frozenset(way.demands) in truth.ways
            grown += not way.proven
    assert grown > 10


# Fast where it matters --------------------------------------------------------------------------


@pytest.mark.parametrize(("count", "knobs"), [(9, 8), (40, 8), (65, 64)])
def test_too_many_rivals_are_refuted_without_the_solver(count: int, knobs: int) -> None:
    feasible = feasible_for(Request(Surface.row(knobs), voices(count, 1)))
    assert feasible.ask(feasible.demands).possible is False
    assert feasible.watch.effort == 100.0
    rivals, room = feasible.crowd(feasible.demands)
    assert (len(rivals), len(room)) == (knobs + 1, knobs)


@pytest.mark.parametrize(("count", "knobs"), [(9, 8), (40, 8), (31, 30)])
def test_too_many_rivals_are_refuted_by_the_solver_alone(count: int, knobs: int) -> None:
    """Without the order of alike knobs this takes the solver hours (the pigeonhole formulas).

    A. Haken, "The intractability of resolution", Theoretical Computer Science 39, 1985: they
    have no short resolution proof. (Cited from memory.)
    """
    watch = Watch(effort=100.0)
    assert pack(pieces_of(Request(Surface.row(knobs), voices(count, 1))), None, watch) == (
        False,
        None,
    )
    assert 100.0 - watch.effort < 0.05


def test_capacity_of_classes_is_counted_without_the_solver() -> None:
    """Three voices of 3 on 5 knobs of 2: each voice needs two knobs, so 6 in all; 9 <= 10."""
    feasible = feasible_for(Request(Surface.row(5, destinations_per_knob=2), voices(3, 3)))
    assert feasible.ask(feasible.demands).possible is False
    assert feasible.watch.effort == 100.0


@pytest.mark.parametrize(("count", "knobs", "partitions"), [(4, 3, 14), (5, 3, 41), (5, 2, 16)])
def test_ordering_alike_knobs_keeps_one_layout_of_each_sort(
    count: int, knobs: int, partitions: int
) -> None:
    """What is left are the ways to part a set: the sums of Stirling numbers of the second kind.

    S(4,1..3) = 1, 7, 6; S(5,1..3) = 1, 15, 25 (Abramowitz and Stegun, table 24.4).
    """
    model = CpModel()
    places = [{knob: model.new_bool_var("") for knob in range(knobs)} for _ in range(count)]
    for on in places:
        model.add_exactly_one(on.values())
    order_knobs(model, places, range(knobs))
    seen: set[tuple[int, ...]] = set()

    class Note(cp_model.CpSolverSolutionCallback):
        def on_solution_callback(self) -> None:
            seen.add(tuple(k for on in places for k in on if self.boolean_value(on[k])))

    solver = cp_model.CpSolver()
    solver.parameters.catch_sigint_signal = False  # or the next interrupt kills the process
    solver.parameters.num_workers = 1
    solver.parameters.enumerate_all_solutions = True
    solver.solve(cp_model.CpModel(model.model_proto), Note())
    assert len(seen) == partitions


# Never simply believed --------------------------------------------------------------------------


def test_a_layout_that_the_checker_refuses_is_a_defect(monkeypatch: pytest.MonkeyPatch) -> None:
    request = Request(Surface.row(2), voices(1, 1))
    monkeypatch.setattr(Feasible, "ask", lambda *_: Verdict(True, Layout()))
    feasible = feasible_for(request)
    with pytest.raises(KnobpackError, match="V1/d1 must be placed"):
        confirmed(feasible, feasible.demands)


@pytest.mark.parametrize("lie", ["nothing", "the first", "half"])
def test_a_wrong_core_changes_nothing(monkeypatch: pytest.MonkeyPatch, lie: str) -> None:
    ask = Feasible.ask

    def lying(feasible: Feasible, wanted: tuple[Demand, ...]) -> Verdict:
        verdict = ask(feasible, wanted)
        part = verdict.core
        told = {"nothing": (), "the first": part[:1], "half": part[::2]}[lie]
        return attrs.evolve(verdict, core=told)

    monkeypatch.setattr(Feasible, "ask", lying)
    tried = 0
    for seed in range(30):
        request = strict(seeded(seed))
        clash = find_clash(request, Watch(effort=100.0))
        if clash is not None:
            tried += 1
            assert faults(request, truth_of(request), clash) == []
    assert tried > 10


def test_a_crowd_that_cannot_be_got_out_of_is_a_defect(monkeypatch: pytest.MonkeyPatch) -> None:
    none = CrowdLimit((Class((), ()),), -1, ())
    monkeypatch.setattr(mcs, "crowd_of", lambda *_: none)
    with pytest.raises(KnobpackError, match="to give everything up is one"):
        find_clash(Request(Surface.row(2), voices(4, 1)), Watch(effort=100.0))
