"""The compact model: edits of a layout in use and ordinary requests, against brute force."""

from __future__ import annotations

from collections import Counter

import attrs
import pytest

from knobpack.allocator import allocate_request
from knobpack.checker import check
from knobpack.clash import ImpossibleDemands
from knobpack.definition.prices import IN_USE_TIERS, TIERS
from knobpack.errors import InputError
from knobpack.numbered.request import problem_of
from knobpack.solver.cp_sat.atoms_on_knobs import CutShortError
from knobpack.solver.cp_sat.compact_model import CompactModel
from knobpack.solver.cp_sat.in_use import compact
from knobpack.solver.evaluate import values_of
from knobpack.solver.outcome import ImpossibleError, NothingFoundError
from knobpack.solver.watch import Watch
from knobpack.words import (
    Alone,
    Destination,
    Fixed,
    KnobTravel,
    Layout,
    Request,
    Route,
    Snapshot,
    Surface,
    Travel,
    Voice,
)
from tests.oracles.amount import EXAMPLES
from tests.oracles.brute import Price, least, price
from tests.oracles.strategies import seeded_edit, seeded_request


def test_a_stop_is_heard_while_a_model_is_put_together() -> None:
    problem = problem_of(seeded_edit(0))
    watch = Watch(10.0)
    CompactModel(problem, watch=watch).cost("sharing")
    spent = 10.0 - watch.effort
    assert spent > 0
    with pytest.raises(CutShortError):
        CompactModel(problem, watch=Watch(spent / 2)).cost("sharing")
    with pytest.raises(CutShortError):
        CompactModel(problem, watch=Watch(10.0, cancelled=lambda: True))


def test_every_tier_of_an_edit_is_what_brute_force_finds() -> None:
    seen: Counter[str] = Counter()
    for seed in range(max(400, EXAMPLES)):
        asked = seeded_edit(seed)
        best = least(asked)
        if best is None:
            with pytest.raises(ImpossibleDemands) as caught:
                allocate_request(asked)
            assert caught.value.clash.demands
            seen["impossible"] += 1
            continue
        found = allocate_request(asked)
        assert tuple(tier.name for tier in found.tiers) == IN_USE_TIERS
        assert found.proven
        assert tuple(tier.value for tier in found.tiers) == best.totals, seed
        assert price(asked, found.layout) == Price(True, best.totals), seed
        # What is there already matters: the same as an edit that names all counts it.
        strict = attrs.evolve(asked, edited=tuple(asked.by_full_name))
        told = check(strict, found.layout)
        seen["break waived"] += bool(told.breaches)
        seen["break without a price"] += told.prices.total(TIERS[2]) > found.tiers[1].value
        seen["loss without a price"] += told.prices.total(TIERS[0]) > found.tiers[0].value
        wanted = {asked.wanted(route.destination) for route in found.routes}
        seen["travel kept"] += any(each.travel not in wanted for each in found.travels)
        seen["bundle parted"] += found.tiers[3].value > 0
        seen["changed"] += found.tiers[2].value > 0
    assert min(seen.values()) > 1, seen
    assert len(seen) == 7


def test_the_usual_order_of_tiers_is_solved_as_well() -> None:
    impossible = 0
    for seed in range(5000, 5000 + max(80, EXAMPLES // 2)):
        asked = seeded_request(seed)
        free = attrs.evolve(asked.surface, layers=None, snapshots=None)
        asked = attrs.evolve(asked, surface=free)
        best, problem = least(asked), problem_of(asked)
        if best is None:
            with pytest.raises(ImpossibleError):
                compact(problem, Watch(100.0))
            impossible += 1
            continue
        outcome = compact(problem, Watch(100.0))
        assert (outcome.values, all(outcome.proven)) == (best.totals, True), seed
        assert values_of(problem, outcome.knobs) == outcome.values
    assert impossible > 2


def test_with_no_effort_left_the_bounds_still_hold() -> None:
    for seed in range(40):
        asked = seeded_edit(seed)
        best = least(asked)
        for effort in (0.0, 0.0002, 0.002):
            try:
                outcome = compact(problem_of(asked), Watch(effort))
            except (ImpossibleError, NothingFoundError):
                continue
            if best is None:  # the surface has too few layers, say
                continue
            assert outcome.values >= best.totals
            for tier, bound in enumerate(outcome.bounds):
                if outcome.values[:tier] != best.totals[:tier]:
                    break
                assert bound <= best.totals[tier]


ORGAN = Voice(
    "Organ",
    (
        Destination("level", priority=1),
        Destination("drive"),
    ),
    layer=1,
)
BASS = Voice("Bass", (Destination("cutoff", priority=2), Destination("level")), layer=2)
BOTH = Layout(
    (
        Route("Organ/level", "K1"),
        Route("Organ/drive", "K1"),
        Route("Bass/cutoff", "K2"),
        Route("Bass/level", "K2"),
    ),
    (KnobTravel("K1", Travel(10, 90)), KnobTravel("K2", Travel(0, 127))),
)


def edit(**asked: object) -> Request:
    whole = {"previous": BOTH, "in_use": True, **asked}
    return Request(Surface.row(3), (ORGAN, BASS), **whole)  # type: ignore[arg-type]


def test_an_edit_that_asks_for_nothing_moves_nothing() -> None:
    found = allocate_request(edit())
    assert set(found.routes) == set(BOTH.routes)
    assert set(found.travels) == set(BOTH.travels)
    assert [tier.value for tier in found.tiers][:4] == [0, 0, 0, 0]


def test_a_break_that_is_there_is_no_clash_until_it_is_named() -> None:
    solo = (Snapshot("Solo", ("Organ/level",)),)
    found = allocate_request(edit(snapshots=solo))
    assert set(found.routes) == set(BOTH.routes)
    found = allocate_request(edit(snapshots=solo, edited=("Organ/level",)))
    assert found.on("K3") in (("Organ/level",), ("Organ/drive",))
    assert found.on("K2") == ("Bass/cutoff", "Bass/level")


def test_one_bundle_moves_rather_than_two() -> None:
    # To have Organ/level alone on K2, what is there moves whole to K3, and Organ/drive stays.
    rules = (Alone(("Organ/level",)), Fixed(("Organ/level",), "K2"))
    found = allocate_request(edit(rules=rules, edited=("Organ/level",)))
    assert found.on("K1") == ("Organ/drive",)
    assert found.on("K3") == ("Bass/cutoff", "Bass/level")
    assert KnobTravel("K1", Travel(10, 90)) in found.travels


def test_what_was_left_out_costs_nothing_until_it_is_named() -> None:
    less = attrs.evolve(BOTH, routes=BOTH.routes[:-1])
    no_room = Surface.row(3, routes=3)
    found = allocate_request(attrs.evolve(edit(previous=less), surface=no_room))
    assert found.unplaced == ("Bass/level",)
    assert found.tiers[0].value == 0
    named = edit(previous=less, edited=("Bass/level",))
    found = allocate_request(named)
    assert found.unplaced == ()


@pytest.mark.parametrize(
    ("asked", "field"),
    [
        ({"previous": None}, "Request.previous"),
        ({"in_use": False, "edited": ("Organ",)}, "Request.edited"),
        ({"edited": ("Orgam",)}, "Request.edited[0]"),
        (
            {"previous": attrs.evolve(BOTH, travels=(KnobTravel("K1", Travel(0, 128)),))},
            "Request.previous.travels[0].travel.end",
        ),
    ],
)
def test_what_an_edit_cannot_be_is_refused(asked: dict[str, object], field: str) -> None:
    with pytest.raises(InputError) as caught:
        edit(**asked)
    assert caught.value.field == field
