"""What became of bundles, as it is told, against a plain recount."""

from __future__ import annotations

import pytest

from knobpack import Allocation, allocate, allocate_request
from knobpack.checker import check
from knobpack.clash import ImpossibleDemands
from knobpack.explanation.free_knob import free_knob_offers
from knobpack.reasons.bundle_changes import joined_told
from knobpack.words import (
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
from tests.oracles.strategies import seeded_request

ORGAN = Voice(
    "Organ",
    (
        Destination("level", priority=1, source_knob="1", source_place=1),
        Destination("drive", priority=2, source_knob="1", source_place=1),
        Destination("tremolo", priority=3, source_knob="2", source_place=2),
    ),
    source="Church",
)
STRINGS = Voice(
    "Strings",
    (Destination("level", priority=1, source_knob="4"), Destination("tone", source_knob="4")),
    source="Hall",
)


def test_a_bundle_stays_whole_though_a_knob_is_free() -> None:
    found = allocate((ORGAN,), Surface.row(4))
    assert found.on("K1") == ("Organ/level", "Organ/drive")
    assert found.on("K2") == ("Organ/tremolo",)
    assert not found.parted
    assert not found.joined


def test_what_a_free_knob_could_be_used_for_is_offered() -> None:
    found = allocate((ORGAN,), Surface.row(4))
    best, other = free_knob_offers(found)
    assert {best.names, other.names} == {("Organ/level",), ("Organ/drive",)}
    assert best.knob == "K3"
    assert best.now == "K1"
    # One kind and one destination fewer on K1, and nothing beside what is essential: 300, 100 and
    # 300 points, with the default weights.
    assert best.saved == 700
    taken = allocate((ORGAN,), Surface.row(4), rules=(best.rule,))
    assert len(taken.on(next(r.knob for r in taken.routes if r.destination == best.names[0]))) == 1


def test_a_snapshot_that_parts_a_bundle_is_named() -> None:
    snapshots = (Snapshot("all", ("Organ",)), Snapshot("lead", ("Organ/level", "Organ/tremolo")))
    found = allocate((ORGAN,), Surface.row(4), snapshots=snapshots)
    (parted,) = found.parted
    assert str(parted) == (
        "The bundle of knob 1 in Church is parted: it is on K1 and K3, because snapshot 'lead' "
        "moves Organ/level and holds Organ/drive."
    )
    assert found.sentences[0] == str(parted)


def test_the_capacity_of_a_knob_is_named() -> None:
    found = allocate((ORGAN,), Surface.row(4, destinations_per_knob=1))
    (parted,) = found.parted
    assert "a knob may carry 1 at most" in str(parted)


def test_bundles_joined_because_knobs_ran_out_are_said_first() -> None:
    together = (Snapshot("all", ("Organ", "Strings")),)
    found = allocate((ORGAN, STRINGS), Surface.row(2), snapshots=together)
    assert len(found.joined) == 1
    assert found.sentences[0].startswith("Joined because knobs ran out")
    assert joined_told(found.joined) == found.sentences[:1]


def test_a_rule_that_joins_is_named() -> None:
    rule = Together(("Organ/level", "Strings/level"))
    found = allocate((ORGAN, STRINGS), Surface.row(8), rules=(rule,))
    (joined,) = found.joined
    assert joined.because == (str(rule),)
    assert not joined.ran_out
    assert joined_told(found.joined) == found.sentences[:1]


@pytest.mark.parametrize("weight", [None, 1])
def test_what_was_asked_for_is_not_mourned_and_costs_no_less_than_nothing(
    weight: int | None,
) -> None:
    inner = [Destination(name, source_knob=knob) for name, knob in (("a", "1"), ("b", "2"))]
    rule = Together("Choir", weight)
    found = allocate([Voice("Choir", inner)], Surface.row(1), rules=[rule])
    assert found.headlines == ("2 of 2 destinations on 1 knob, proven best.",)
    (joined,) = found.joined
    assert joined.asked
    assert found.sentences[1] == str(joined)
    assert f"because {rule} says so" in str(joined)
    assert {each.price for each in found.price_of_demands()} == {0}


def _allocations(first: int, count: int) -> list[Allocation]:
    found = []
    for seed in range(first, first + count):
        try:
            found.append(allocate_request(seeded_request(seed)))
        except ImpossibleDemands:
            continue
    return found


@pytest.mark.parametrize("first", [0, 120, 240])
def test_what_is_told_is_what_the_prices_count(first: int) -> None:
    parted = joined = 0
    for found in _allocations(first, 120):
        request, prices = found.request, found.prices
        of_bundle = {each.what: each for each in prices.bundles if each.term == "parted"}
        for each in found.parted:
            price = of_bundle[str(each.bundle)]
            assert (each.knobs, each.left_out) == (price.knobs, price.left_out)
            parted += 1
        told = {str(each.bundle) for each in found.parted}
        assert all(not of_bundle[each].knobs for each in of_bundle.keys() - told)
        for here in found.joined:
            origins = {_origin(request, name) for name in found.on(here.knob)} - {None}
            assert len(origins) == len(here.bundles) > 1
            joined += 1
        shared = {here.knob for here in found.joined}
        for knob in request.surface.knob_names:
            origins = {_origin(request, name) for name in found.on(knob)} - {None}
            assert (len(origins) > 1) == (knob in shared)
    assert parted > 2
    assert joined > 5


def _origin(request: Request, name: str) -> tuple[str, str] | None:
    knob = request.by_full_name[name].source_knob
    voice = request.voice_of[name]
    return None if knob is None else (voice.source or f"/{voice.name}", knob)


@pytest.mark.parametrize("first", [0, 150])
def test_offers_cost_what_they_say(first: int) -> None:
    seen = 0
    for found in _allocations(first, 150):
        for offer in free_knob_offers(found):
            seen += 1
            assert not found.on(offer.knob)
            routes = tuple(
                Route(r.destination, offer.knob if r.destination in offer.names else r.knob)
                for r in found.routes
            )
            checked = check(found.request, Layout(routes))
            assert checked.valid
            after, before = checked.prices.totals, found.prices.totals
            assert after == offer.comparison.after
            assert before[3] - after[3] == offer.saved > 0
            # A free knob is used as soon as that is better and parts nothing.
            assert not found.proven or after > before
    assert seen > 5


def test_where_knobs_run_out_what_is_joined_is_spread_and_not_heaped() -> None:
    carried = {
        "A1": ("Bass/attack", "Bass/tune"),
        "A2": ("Bass/rate", "Bass/resonance", "Bass/level"),
        "A3": ("Choir/cutoff", "Choir/attack"),
        "A4": ("Choir/rate",),
        "A5": ("Choir/tune", "Choir/level"),
    }
    voices = [
        Voice(
            voice,
            [
                Destination(name.removeprefix(f"{voice}/"), source_knob=knob)
                for knob, names in carried.items()
                for name in names
                if name.startswith(voice)
            ],
            source="Loft set",
        )
        for voice in ("Bass", "Choir")
    ]
    bundles_on = {}
    for heap in (0, Weights().heap):
        found = allocate(voices, Surface.row(3), snapshots=(), weights=Weights(heap=heap))
        assert found.proven
        on = [set(found.on(knob)) for knob in found.used]
        whole = [[set(names) <= own for names in carried.values()] for own in on]
        bundles_on[heap] = sorted(map(sum, whole))
    # Alone, the second bundle with a kind is cheapest where that kind is: three on one knob.
    assert bundles_on == {0: [1, 1, 3], Weights().heap: [1, 2, 2]}


def test_levels_of_several_voices_on_one_knob_are_told_by_what_is_heard() -> None:
    every = (Snapshot("all", ("Organ", "Strings")),)
    (joined,) = allocate((ORGAN, STRINGS), Surface.row(1), snapshots=every).joined
    assert joined.levels == ("Organ", "Strings")
    said = "K1: the levels of Organ and Strings move as one"
    assert str(joined) == f"{said}, because knobs ran out."
    assert joined_told([joined])[0].endswith(f"no longer to be moved apart: {said}.")
    # The level of one voice with what else it has moves nothing as one with it.
    (own,) = allocate((ORGAN,), Surface.row(1)).joined
    assert str(own).startswith("K1 carries what knobs 1 and 2 of Church drove")


def test_a_snapshot_that_keeps_all_of_it_off_every_other_knob_is_named() -> None:
    """The strings alone are held in it: knobs did not run out for them, that snapshot took them."""
    snapshots = (Snapshot("all", ("Organ", "Strings")), Snapshot("Church", ("Organ",)))
    inner = tuple(Destination(n, source_knob=n, priority=1) for n in ("level", "tone"))
    strings = Voice("Strings", inner, source="Hall")
    found = allocate((ORGAN, strings), Surface.row(3), snapshots=snapshots)
    (joined,) = found.joined
    assert joined.kept_off == ("Church",)
    cause = "because snapshot 'Church' keeps it off every other knob"
    assert str(joined).endswith(f"{cause}: they can no longer be moved apart.")
    soft = (snapshots[0], Snapshot("Church", ("Organ",), break_weight=9_999))
    (joined,) = allocate((ORGAN, strings), Surface.row(3), snapshots=soft).joined
    assert (joined.kept_off, joined.ran_out) == ((), True)
