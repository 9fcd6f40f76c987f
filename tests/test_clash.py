"""Clashes: minimal, with the cheapest ways out, told in the caller's words; never a false one."""

from __future__ import annotations

import os
import pickle
import random
import subprocess
import sys
from collections.abc import Callable

import attrs
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from knobpack.clash import Clash, WayOut, find_clash, is_possible
from knobpack.errors import ImpossibleDemands, NoLayoutFound
from knobpack.solver.watch import Watch
from knobpack.words import (
    Alone,
    Apart,
    Barred,
    Destination,
    Fixed,
    Layout,
    Request,
    Rule,
    Snapshot,
    Surface,
    Together,
    Voice,
    Weights,
)
from knobpack.words.demand import Demand, demands_of
from tests.oracles.amount import EXAMPLES
from tests.oracles.clashes import Truth, faults, truth_of
from tests.oracles.strategies import PANELS, Choices, small_request

SMALL_PANELS = (*PANELS[:4], *PANELS[-3:])
OWN_PACE = [HealthCheck.too_slow, HealthCheck.filter_too_much]


def watch() -> Watch:
    return Watch(effort=100.0)


def clash_of(request: Request, ways: int = 5) -> Clash:
    clash = find_clash(request, watch(), ways=ways)
    assert clash is not None
    return clash


def told(clash: Clash) -> list[str]:
    return [str(demand) for demand in clash.demands]


def voices(count: int, each: int, priority: int = 3) -> tuple[Voice, ...]:
    """Voices V1, V2, … with destinations d1, d2, … that must be placed."""
    names = (f"d{number + 1}" for number in range(each))
    inner = tuple(Destination(name, priority=priority, must_place=True) for name in names)
    return tuple(Voice(f"V{number + 1}", inner) for number in range(count))


def pads(
    *rules: Rule, surface: Surface, snapshots: tuple[Snapshot, ...] = (), keep: Layout | None = None
) -> Request:
    """Two voices, Pad and Bass, with two destinations each that need not be placed."""
    inner = (Destination("cutoff"), Destination("level"))
    both = (Voice("Pad", inner), Voice("Bass", inner))
    return Request(surface, both, snapshots=snapshots, rules=rules, keep=keep or Layout())


def strict(request: Request) -> Request:
    """The same request, all of it required: most are then impossible."""
    return attrs.evolve(
        request,
        voices=tuple(
            attrs.evolve(
                voice,
                destinations=tuple(attrs.evolve(d, must_place=True) for d in voice.destinations),
            )
            for voice in request.voices
        ),
        snapshots=tuple(attrs.evolve(each, break_weight=None) for each in request.played),
        rules=tuple(attrs.evolve(rule, weight=None) for rule in request.rules),
    )


def drawn_request(choose: Choices) -> Request:
    """At most 4 destinations on 3 knobs, two in three of them strict."""
    request = small_request(choose, (1, 2, 3, 4, 4), SMALL_PANELS)
    return strict(request) if choose.chance(67) else request


@st.composite
def requests(draw: st.DrawFn) -> Request:
    return drawn_request(Choices(lambda low, high: draw(st.integers(low, high))))


def seeded(seed: int) -> Request:
    return drawn_request(Choices(random.Random(seed).randint))  # noqa: S311 (no secret)


# Against every layout ---------------------------------------------------------------------------


@settings(
    max_examples=max(50, EXAMPLES // 4),
    deadline=None,
    derandomize=True,
    suppress_health_check=OWN_PACE,
)
@given(requests())
def test_a_clash_is_what_looking_at_every_layout_shows(request: Request) -> None:
    truth = truth_of(request)
    clash = find_clash(request, watch())
    assert (clash is None) == truth.possible(truth.demands)
    assert is_possible(request, watch()) == (clash is None)
    if clash is not None:
        assert faults(request, truth, clash) == []


def test_every_kind_of_demand_clashes_and_is_given_up_in_seeded_requests() -> None:
    in_sets, in_ways, pigeonholes, wider, needed = set(), set(), 0, 0, 0
    for seed in range(150):
        request = seeded(seed)
        truth = truth_of(request)
        if truth.possible(truth.demands):
            assert find_clash(request, watch()) is None
            continue
        clash = clash_of(request)
        assert faults(request, truth, clash) == []
        needed = max(needed, len(clash.demands))
        in_sets |= {demand.kind for demand in clash.demands}
        in_ways |= {demand.kind for way in clash.ways_out for demand in way.demands}
        pigeonholes += bool(clash.rivals)
        wider += clash.wider is not None
    kinds = {"place", "keep", "rule", "separate", "reserved", "destinations per knob", "routes"}
    assert in_sets >= {*kinds, "layer", "layers", "store", "snapshots"}
    assert in_ways >= {*kinds, "layers", "store", "snapshots"}
    assert min(pigeonholes, wider) > 5
    assert needed >= 5


@settings(max_examples=60, deadline=None, derandomize=True, suppress_health_check=OWN_PACE)
@given(requests(), st.integers(1, 12))
def test_as_many_ways_out_are_told_as_are_asked_for(request: Request, ways: int) -> None:
    truth = truth_of(request)
    assume(not truth.possible(truth.demands))
    assert faults(request, truth, clash_of(request, ways), ways) == []


def test_ways_out_are_minimal_even_where_a_destination_may_be_left_out_for_nothing() -> None:
    """A price of nothing must not make the solver give up what nobody needs."""
    free = Weights(unplaced=(0, 0, 0, 0, 0))
    for seed in range(60):
        request = attrs.evolve(strict(seeded(seed)), weights=free)
        truth = truth_of(request)
        clash = find_clash(request, watch())
        assert (clash is None) == truth.possible(truth.demands)
        if clash is not None:
            assert faults(request, truth, clash) == []


# The judge is judged ----------------------------------------------------------------------------


def _clash_to_spoil() -> tuple[Request, Truth, Clash]:
    request = pads(
        Fixed(("Pad/cutoff",), "K1"),
        Fixed(("Bass/cutoff",), "K1"),
        Apart(("Pad",), ("Bass",)),
        Alone(("Pad/level",)),
        surface=Surface.row(2),
    )
    return request, truth_of(request), clash_of(request)


def _with_way(clash: Clash, demands: tuple[Demand, ...]) -> Clash:
    way = WayOut(demands, sum(demand.price for demand in demands))
    return attrs.evolve(clash, ways_out=(*clash.ways_out[:-1], way))


SPOILT: dict[str, Callable[[Clash, tuple[Demand, ...]], Clash]] = {
    "clashes without this too": lambda clash, all_: attrs.evolve(clash, demands=all_),
    "the set can be met": lambda clash, _: attrs.evolve(clash, demands=clash.demands[1:]),
    "not in asking order": lambda clash, _: attrs.evolve(clash, demands=clash.demands[::-1]),
    "not said to be minimal": lambda clash, _: attrs.evolve(clash, minimal=False),
    "less than this would do": _with_way,
    "this is no way out": lambda clash, all_: _with_way(clash, all_[-1:]),
    "the price is": lambda clash, _: attrs.evolve(
        clash, ways_out=(attrs.evolve(clash.ways_out[0], price=1), *clash.ways_out[1:])
    ),
    "is told twice": lambda clash, _: attrs.evolve(
        clash, ways_out=(clash.ways_out[0], *clash.ways_out)
    ),
    "the cheapest ways out cost": lambda clash, _: attrs.evolve(clash, ways_out=clash.ways_out[1:]),
    "wider is": lambda clash, _: attrs.evolve(clash, wider=3),
    "knobs enough for the rivals": lambda clash, _: attrs.evolve(clash, knobs=2),
    "these may share": lambda clash, _: attrs.evolve(clash, rivals=("Pad/cutoff", "Pad/level")),
}


@pytest.mark.parametrize("fault", SPOILT)
def test_a_wrong_clash_is_caught(fault: str) -> None:
    request, truth, clash = _clash_to_spoil()
    assert faults(request, truth, clash) == []
    spoilt = SPOILT[fault](clash, demands_of(request))
    assert [each for each in faults(request, truth, spoilt) if fault in each]


# By name ----------------------------------------------------------------------------------------


def test_two_kept_routes_that_a_snapshot_separates() -> None:
    clash = clash_of(
        pads(
            surface=Surface.row(8),
            snapshots=(Snapshot("verse", ("Pad",)),),
            keep=Layout.of({"K3": ["Pad/cutoff", "Bass/level"]}),
        )
    )
    assert told(clash) == [
        "snapshot 'verse' has what it moves and what it holds on different knobs",
        "Pad/cutoff is kept on K3",
        "Bass/level is kept on K3",
    ]
    assert (clash.rivals, clash.knobs) == (("Pad/cutoff", "Bass/level"), 1)
    assert [str(way) for way in clash.ways_out] == [
        "let snapshot 'verse' be broken, with a weight",
        "free the host's Bass/level from K3",
        "free the host's Pad/cutoff from K3",
    ]
    assert clash.wider is None


def test_fixed_to_a_reserved_knob() -> None:
    request = pads(Fixed(("Pad/cutoff",), "K2"), surface=Surface.row(3, reserved=("K2", "K3")))
    assert told(clash_of(request)) == [
        "the rule fixed(Pad/cutoff; K2) holds",
        "K2 takes no new route",
    ]


def test_a_route_that_is_kept_on_a_reserved_knob_is_no_clash() -> None:
    keep = Layout.of({"K2": ["Pad/cutoff"]})
    assert find_clash(pads(surface=Surface.row(3, reserved=("K2",)), keep=keep), watch()) is None


def test_fixed_twice() -> None:
    request = pads(Fixed(("Pad",), "K1"), Fixed(("Pad/level",), "K2"), surface=Surface.row(2))
    clash = clash_of(request)
    assert told(clash) == [
        "the rule fixed(Pad; K1) holds",
        "the rule fixed(Pad/level; K2) holds",
    ]
    assert str(clash) == (
        "no layout meets every demand. These clash: the rule fixed(Pad; K1) holds; "
        "the rule fixed(Pad/level; K2) holds. To get out: "
        "drop the rule fixed(Pad/level; K2), or prefer it with a weight; or "
        "drop the rule fixed(Pad; K1), or prefer it with a weight."
    )


def test_fixed_where_it_is_barred() -> None:
    request = pads(
        Fixed(("Pad/level",), "K1"), Barred(("Pad",), ("K1", "K2")), surface=Surface.row(3)
    )
    assert [type(demand.subject) for demand in clash_of(request).demands] == [Fixed, Barred]


def test_together_across_snapshots_that_separate() -> None:
    request = pads(
        Together(("Pad/cutoff", "Bass/cutoff")),
        Fixed(("Bass/cutoff",), "K1"),
        surface=Surface.row(2),
        snapshots=(Snapshot("all", ("Pad", "Bass")), Snapshot("verse", ("Pad",))),
    )
    assert told(clash_of(request)) == [
        "the rule together(Pad/cutoff, Bass/cutoff) holds",
        "the rule fixed(Bass/cutoff; K1) holds",
        "snapshot 'verse' has what it moves and what it holds on different knobs",
    ]


def test_what_must_be_together_and_cannot_is_left_out_if_it_may_be() -> None:
    request = pads(
        Together(("Pad/cutoff", "Bass/cutoff")),
        surface=Surface.row(2),
        snapshots=(Snapshot("verse", ("Pad",)),),
    )
    assert find_clash(request, watch()) is None


def test_apart_and_together() -> None:
    request = pads(
        Together(("Pad",)),
        Apart(("Pad/cutoff",), ("Pad/level",)),
        Fixed(("Pad/level",), "K2"),
        surface=Surface.row(4),
    )
    assert told(clash_of(request)) == [
        "the rule together(Pad) holds",
        "the rule apart(Pad/cutoff; Pad/level) holds",
        "the rule fixed(Pad/level; K2) holds",
    ]


@pytest.mark.parametrize(("count", "each"), [(9, 1), (9, 4), (40, 1)])
def test_nine_or_more_separated_voices_on_eight_knobs(count: int, each: int) -> None:
    clash = clash_of(Request(Surface.row(8), voices(count, each)))
    assert len(clash.rivals) == 9
    assert clash.knobs == 8
    assert clash.minimal
    assert [demand.subject for demand in clash.demands if demand.kind == "place"] == list(
        clash.rivals
    )
    assert "These 9 are separated from each other, and there are 8 knobs for them." in str(clash)
    # The cheapest: leave all the destinations of as many voices out as are too many.
    leave_out = (count - 8) * each
    assert all(len(way.demands) == leave_out for way in clash.ways_out)
    assert all(way.proven and way.price == 16 * leave_out for way in clash.ways_out)
    assert clash.wider == (9 if count == 9 else None)
    assert ("use a surface with 9 knobs" in str(clash)) == (count == 9)


def test_nine_separated_voices_on_eight_knobs_in_words() -> None:
    clash = clash_of(Request(Surface.row(8), voices(9, 1)), ways=1)
    assert str(clash) == (
        "no layout meets every demand. These clash: V1/d1, V2/d1, V3/d1, V4/d1, V5/d1, V6/d1, "
        "V7/d1, V8/d1 and V9/d1 must be placed; the snapshots 'only V1', 'only V2', 'only V3', "
        "'only V4', 'only V5', 'only V6', 'only V7' and 'only V8' have what they move and what "
        "they hold on different knobs. These 9 are separated from each other, and there are 8 "
        "knobs for them. To get out: leave V9/d1 out; or use a surface with 9 knobs."
    )


def test_reserved_knobs_are_not_counted_as_knobs() -> None:
    clash = clash_of(Request(Surface.row(8, reserved=("K1", "K5")), voices(7, 2)))
    assert (len(clash.rivals), clash.knobs, clash.wider) == (7, 6, 9)
    assert {"K1 takes no new route", "K5 takes no new route"} <= set(told(clash))


def test_together_is_more_than_one_knob_carries() -> None:
    rest = tuple(Destination(name) for name in ("level", "pan", "drive"))
    pad = Voice("Pad", (Destination("cutoff", must_place=True), *rest))
    surface = Surface.row(8, destinations_per_knob=3)
    request = Request(surface, (pad,), rules=(Together(("Pad",)),))
    assert told(clash_of(request)) == [
        "Pad/cutoff must be placed",
        "the rule together(Pad) holds",
        "a knob carries at most 3",
    ]


def test_more_destinations_than_the_knobs_carry() -> None:
    clash = clash_of(Request(Surface.row(2, destinations_per_knob=2), voices(1, 6)))
    assert [demand.kind for demand in clash.demands] == ["place"] * 5 + ["destinations per knob"]
    assert "There are 2 knobs, for 4 destinations in all." in str(clash)
    assert clash.ways_out[0].price == 2 * 16
    assert clash.wider == 3


def test_more_destinations_than_routes() -> None:
    clash = clash_of(Request(Surface.row(4, routes=2), voices(2, 2)))
    assert [demand.kind for demand in clash.demands] == ["place"] * 3 + ["routes"]
    assert [way.price for way in clash.ways_out[:1]] == [2 * 16]


def test_more_voices_than_layers() -> None:
    clash = clash_of(Request(Surface.row(8, layers=2), voices(4, 1)))
    assert [demand.kind for demand in clash.demands] == ["layer"] * 3 + ["layers"]
    assert str(clash).startswith(
        "no layout meets every demand. These clash: the voices 'V1', 'V2' and 'V3' need a layer "
        "each; the surface has 2 layers. To get out: use a surface of more than 2 layers; or "
        "leave the voices 'V3' and 'V4' out"
    )


def test_a_voice_that_holds_more_is_dearer_to_leave_out() -> None:
    rich, poor = Voice("Rich", voices(1, 3)[0].destinations), Voice("Poor")
    clash = clash_of(Request(Surface.row(8, layers=1), (rich, poor)))
    named = [[demand.subject for demand in way.demands] for way in clash.ways_out]
    assert named.index(["Poor"]) < named.index(["Rich"])


def test_more_snapshots_than_are_stored() -> None:
    scenes = tuple(Snapshot(f"Scene {n}", ("Pad",)) for n in range(3))
    request = pads(surface=Surface.row(8, snapshots=2), snapshots=scenes)
    clash = clash_of(request)
    assert [demand.kind for demand in clash.demands] == ["store"] * 3 + ["snapshots"]
    assert str(clash.ways_out[0]) == "drop snapshot 'Scene 2'"


def test_a_snapshot_that_may_be_broken_and_a_preferred_rule_demand_nothing() -> None:
    request = pads(
        Apart(("Pad",), ("Bass",), weight=1),
        Together(("Pad", "Bass"), weight=9),
        surface=Surface.row(1),
        snapshots=(Snapshot("verse", ("Pad",), 5),),
        keep=Layout.of({"K1": ["Pad/cutoff", "Bass/cutoff"]}),
    )
    assert find_clash(request, watch()) is None


def test_two_clashes_at_once_are_both_left_by_every_way_out() -> None:
    request = pads(
        Fixed(("Pad/cutoff",), "K1"),
        Fixed(("Pad/cutoff",), "K2"),
        Fixed(("Bass/cutoff",), "K1"),
        Fixed(("Bass/cutoff",), "K2"),
        surface=Surface.row(2),
    )
    clash = clash_of(request)
    assert len(clash.demands) == 2
    assert {len(way.demands) for way in clash.ways_out} == {2}
    assert len(clash.ways_out) == 4


def test_a_clash_that_no_crowd_shows() -> None:
    """An odd ring of destinations, each apart from the next, on two knobs: no three are rivals."""
    ring = voices(1, 5)
    rules = tuple(Apart((f"V1/d{n + 1}",), (f"V1/d{(n + 1) % 5 + 1}",)) for n in range(5))
    clash = clash_of(Request(Surface.row(2), ring, snapshots=(), rules=rules))
    assert len(clash.demands) == 10
    assert clash.rivals == ()
    assert clash.wider == 3
    assert "There are 2 knobs." in str(clash)


def test_apart_from_what_is_named_on_both_sides() -> None:
    request = Request(
        Surface.row(1),
        voices(1, 6),
        snapshots=(),
        rules=(
            Apart(("V1/d1", "V1/d2"), ("V1/d2", "V1/d3")),
            Apart(("V1/d2",), ("V1/d4", "V1/d5", "V1/d6")),
        ),
    )
    assert faults(request, truth_of(request), clash_of(request)) == []


def test_no_knobs_at_all() -> None:
    clash = clash_of(Request(Surface(()), voices(1, 1)))
    assert told(clash) == ["V1/d1 must be placed"]
    assert (clash.knobs, clash.wider) == (0, 1)


# Stopped, repeated, carried away ----------------------------------------------------------------


@pytest.mark.parametrize("seed", [3, 7, 12])
def test_wherever_it_is_stopped_nothing_false_is_said(seed: int) -> None:
    impossible = [each for each in map(seeded, range(seed, 90)) if find_clash(each, watch())]
    request = impossible[0]
    truth = truth_of(request)
    complete, unfinished = clash_of(request), 0
    for most in range(0, 400, 3):
        looks = iter(range(most))
        stopping = Watch(100.0, cancelled=lambda looks=looks: next(looks, None) is None)  # type: ignore[misc]
        try:
            clash = find_clash(request, stopping)
        except NoLayoutFound:
            assert stopping.stopped == "cancelled"
            continue
        assert clash is not None
        if stopping.stopped is None:
            assert clash == complete
            break
        unfinished += 1
        assert not truth.possible(clash.demands)
        if clash.minimal:
            assert clash.demands == complete.demands
        for way in clash.ways_out:
            assert truth.possible(set(truth.demands) - set(way.demands))
            if way.proven:
                assert way in complete.ways_out
        assert clash.wider in (None, complete.wider)
    else:
        pytest.fail("it never came to its end")
    assert unfinished > 3


def test_a_set_that_is_not_proven_minimal_says_so() -> None:
    request = pads(Fixed(("Pad",), "K1"), Fixed(("Pad",), "K2"), surface=Surface.row(2))
    clash = attrs.evolve(clash_of(request), minimal=False)
    assert "the search was stopped" in str(clash)


def test_no_effort_is_no_answer() -> None:
    request = Request(Surface.row(1), voices(2, 1))
    assert is_possible(request, Watch(effort=0.0)) is None
    with pytest.raises(NoLayoutFound, match="effort"):
        find_clash(request, Watch(effort=0.0))


_PRINT = """
from tests.test_clash import clash_of, seeded, strict
from knobpack.clash import find_clash
from knobpack.solver.watch import Watch
for seed in range(40):
    print(find_clash(strict(seeded(seed)), Watch(100.0)))
"""


def test_the_same_request_gives_the_same_clash_in_another_process() -> None:
    here = "".join(f"{find_clash(strict(seeded(seed)), watch())}\n" for seed in range(40))
    for hash_seed in ("1", "2"):
        environment = {**os.environ, "PYTHONHASHSEED": hash_seed, "PYTHONPATH": "."}
        ran = subprocess.run(  # noqa: S603 (our own text)
            [sys.executable, "-c", _PRINT],
            env=environment,
            capture_output=True,
            check=True,
            text=True,
        )
        assert ran.stdout == here


def test_a_clash_can_be_sent() -> None:
    clash = clash_of(Request(Surface.row(1), voices(2, 1)))
    error = pickle.loads(pickle.dumps(ImpossibleDemands(clash)))  # noqa: S301 (our own)
    assert error.clash == clash
    assert str(error) == str(clash)
    assert hash(clash) == hash(error.clash)


def test_to_import_clash_does_not_import_the_solver() -> None:
    code = "import sys, knobpack.clash; sys.exit('ortools' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0  # noqa: S603


# How much work ----------------------------------------------------------------------------------

LIVE: dict[str, Request] = {
    "12 voices of 2": Request(Surface.row(8), voices(12, 2)),
    "12 voices of 2, essential": Request(Surface.row(8), voices(12, 2, priority=1)),
    "2 on each knob": Request(Surface.row(8, destinations_per_knob=2), voices(3, 8, priority=1)),
    "12 routes": Request(Surface.row(8, routes=12), voices(3, 8, priority=1)),
    "2 on each knob, 10 voices": Request(Surface.row(8, destinations_per_knob=2), voices(10, 3)),
    "pins": Request(
        Surface.row(8, reserved=("K7", "K8")),
        voices(3, 8),
        rules=(
            *(Alone((f"V{n}/d1",)) for n in (1, 2, 3)),
            *(Fixed((f"V{n}/d2",), f"K{n}") for n in (1, 2)),
            *(Apart((f"V1/d{a}",), (f"V1/d{b}",)) for a, b in ((3, 4), (4, 5), (3, 5))),
        ),
    ),
}


@pytest.mark.parametrize("name", LIVE)
def test_a_live_setup_is_explained_with_little_work(name: str) -> None:
    """Measured on two slow cores: at most 0.33 of effort, which is exact, and 0.6 s each."""
    watching = watch()
    clash = find_clash(LIVE[name], watching)
    assert clash is not None
    assert clash.minimal
    assert len(clash.ways_out) == 5
    assert all(way.proven for way in clash.ways_out)
    assert 100.0 - watching.effort < 0.5
