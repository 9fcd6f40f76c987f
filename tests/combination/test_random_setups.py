"""Random setups, sound and faulty: nothing is lost, the base stays, everything plays alone."""

from __future__ import annotations

from collections import Counter

import attrs
import pytest
from hypothesis import given
from hypothesis import strategies as st

from knobpack.auditing import causes
from knobpack.auditing.audit import audit
from knobpack.checker import check
from knobpack.clash import ImpossibleDemands
from knobpack.combination.answer import Combination
from knobpack.combination.combiner import combine
from knobpack.combination.report import Source
from knobpack.combination.taken_away import without_source
from knobpack.setups.as_read import lies_within
from knobpack.words import Setup, Surface
from tests.combination.setups import seeded_setup, setups
from tests.oracles.brute import least
from tests.oracles.combination import complaints
from tests.oracles.combination_sources import labels
from tests.oracles.reading_setups import bundle_of, knobs_of, reads

NAMES = ("Harbour set", "Attic set", "Evening set")
Case = tuple[Setup, list[Source], tuple[str, ...]]


@st.composite
def cases(draw: st.DrawFn) -> Case:
    """A base, up to two sources, some of whose voices are picked, and what is freed."""
    faulty = draw(st.booleans())
    base = draw(setups("Evening set", faulty))
    sources = []
    for _ in range(draw(st.integers(0, 2))):
        one = draw(setups(draw(st.sampled_from(NAMES)), faulty))
        names = tuple(voice.name for voice in one.voices)
        sources.append(Source(one, draw(st.sampled_from([None, names[:1], names[1:]]))))
    voices = [voice.name for voice in base.voices]
    return (
        base,
        sources,
        tuple(draw(st.lists(st.sampled_from(voices), unique=True))) if voices else (),
    )


def freed_of(base: Setup, free: tuple[str, ...], found: Combination) -> frozenset[str]:
    stuck = {e.name.split(" to ", 1)[1] for e in found.left if e.why.startswith("is not freed")}
    driven = {route.destination for route in base.routes if route.knob in knobs_of(base)}
    return reads(base, free) & driven - stuck


def combined(case: Case, *, free: bool = False, unreached: bool = False) -> Combination | None:
    """The combination of a case; None where what must be placed cannot be."""
    base, sources, freed = case
    freed = freed if free else ()
    try:
        return combine(base, *sources, free=freed, unreached=unreached, again=True)
    except ImpossibleDemands:
        # Nothing else can: what is freed where a snapshot tears its knob may find no other one.
        assert base.surface.reserved or freed
        return None


@given(cases(), st.booleans())
def test_nothing_is_lost_and_the_base_is_untouched(case: Case, unreached: bool) -> None:
    base, sources, free = case
    found = combined(case, free=True, unreached=unreached)
    if found is None:
        return
    freed = freed_of(base, free, found)
    assert complaints(base, sources, found, freed) == []
    assert {e.full_name for e in found.carried if e.source == base.name} == freed
    assert all(e.new_knob for e in found.carried if e.source == base.name)
    assert str(found)


@given(cases())
def test_the_audit_finds_nothing_that_is_new(case: Case) -> None:
    base, _, _ = case
    found = combined(case)
    if found is None:
        return
    before = {(f.cause, f.knobs, f.snapshots, f.missing) for f in audit(base).findings}
    for each in audit(found.setup).findings:
        if (each.cause, each.knobs, each.snapshots, each.missing) in before:
            continue
        # A snapshot that its player lets be broken may be, and then do what another does; the one
        # that is assumed where none is stored may be torn.
        costs = next(t.value for t in found.allocation.tiers if t.name == "independence")
        broken = each.severity == causes.DOUBTFUL and (
            costs > 0 if found.setup.snapshots else each.cause == causes.TORN
        )
        # What shares a knob takes its travel, be it too short for it: that is told with it.
        short = each.cause == causes.ONE_STEP and set(each.destinations) <= {
            e.full_name for e in found.carried if e.new_travel != e.wanted
        }
        assert each.cause in causes.UNUSED or broken or short, str(each)


@given(cases())
def test_a_source_taken_away_again_leaves_the_base(case: Case) -> None:
    found = combined(case, free=True)
    if found is None or not found.setup.arrivals:
        return
    setup = found.setup
    for arrival in setup.arrivals[len(case[0].arrivals) :][::-1]:
        setup = without_source(setup, arrival.source)
    assert setup == case[0]


@given(cases())
def test_knobs_are_taken_bundle_by_bundle_in_their_order(case: Case) -> None:
    """What one knob drove is on one; as many knobs as did something, where so many are free."""
    base, sources, _ = case
    found = combined(case)
    if found is None:
        return
    setup_of = dict(zip(labels(base, sources), (each.setup for each in sources), strict=True))
    panel = base.surface.knob_names
    used = {route.knob for route in base.routes} | set(base.surface.reserved)
    free = [knob for knob in panel if knob not in used]
    limited = base.surface.routes is not None or base.surface.destinations_per_knob is not None
    inner = found.request.by_full_name
    bundles: dict[tuple[str, object], list[str]] = {}
    for each in found.carried:
        if each.old_knob is not None:
            old = f"{each.voice}/{each.destination}"
            bundle = bundle_of(setup_of[each.source], old, each.old_knob)
            bundles.setdefault((each.source, bundle), []).append(each.full_name)
    # What may not move with the master parts from what does; so does what several knobs drove.
    snapshots = found.request.snapshots or ()
    moved = [found.request.moved(each) for each in snapshots if each.break_weight is None]
    ways = {name: (each.movable, *(name in m for m in moved)) for name, each in inner.items()}
    mixed = [b for b in bundles.values() if len({ways[name] for name in b}) > 1]
    if limited or mixed or len(free) < len(bundles):
        return
    knob_of = {each.full_name: each.new_knob for each in found.carried}
    went = {key: {knob_of[name] for name in names} for key, names in bundles.items()}
    assert all(len(knobs) == 1 for knobs in went.values())
    assert len(set().union(*went.values())) == len(bundles)
    taken = {key: next(iter(knobs)) for key, knobs in went.items()}
    for source in dict.fromkeys(source for source, _ in bundles):
        places = {e.source: e for e in found.carried}
        assert source in places
        mine = [
            (inner[bundles[key][0]].source_place or 0, panel.index(taken[key] or ""))
            for key in bundles
            if key[0] == source
        ]
        assert [place for _, place in sorted(mine)] == sorted(place for _, place in mine)


@given(cases())
def test_small_combinations_are_as_good_as_any_layout_is(case: Case) -> None:
    found = combined(case)
    if found is None or len(found.request.by_full_name) > 5:
        return
    best = least(found.request)
    assert best is not None
    assert tuple(tier.value for tier in found.allocation.tiers) == best.totals


@given(cases())
def test_the_plain_checker_passes_what_a_request_can_hold(case: Case) -> None:
    base, _, _ = case
    found = combined(case)
    if found is None:
        return
    stray = any(
        setting.knob not in knobs_of(base) or not lies_within(setting.travel, base.surface.top)
        for setting in base.travels
    )
    if not stray and not any(e.setup == base.name and e.kind != "snapshot" for e in found.left):
        assert check(found.request, found.setup.layout).valid
    assert check(found.request, found.allocation.layout).valid


def wide(setup: Setup) -> Setup:
    """The setup on a surface on which everything fits."""
    return attrs.evolve(setup, surface=Surface.row(24, bits=14), travels=())


def held(setup: Setup) -> dict[str, dict[str, int]]:
    """Where each snapshot puts what it holds, destination by destination."""
    knob_of = {route.destination: route.knob for route in setup.routes}
    return {
        each.name: {
            name: each.stored[knob] for name, knob in knob_of.items() if knob in each.stored
        }
        for each in setup.snapshots
    }


@pytest.mark.parametrize("seed", range(12))
def test_two_sources_at_once_or_one_after_the_other(seed: int) -> None:
    base = wide(seeded_setup(3 * seed, "Evening set", False))
    one = seeded_setup(3 * seed + 1, "Harbour set", False)
    other = seeded_setup(3 * seed + 2, "Attic set", False)
    once = combine(base, one, other, again=True)
    then = combine(combine(base, one, again=True).setup, other, again=True)
    assert not then.allocation.unplaced
    for each in (once, then):
        new = each.setup.voices[len(base.voices) :]
        assert [v.name for v in new] == [v.name for v in once.setup.voices[len(base.voices) :]]
    assert then.setup.voices == once.setup.voices
    # What came later lies behind what came before, or between it, but moves none of it.
    assert then.setup.routes[: len(base.routes)] == base.routes
    on = [Counter(route.knob for route in each.setup.routes) for each in (once, then)]
    assert sorted(on[0].values()) == sorted(on[1].values())
    at_once, in_turn = held(once.setup), held(then.setup)
    both = at_once.keys() & in_turn.keys()
    assert [at_once[name] for name in both] == [in_turn[name] for name in both]


@pytest.mark.parametrize("seed", range(100, 112))
def test_the_order_of_sources_changes_no_price(seed: int) -> None:
    base = seeded_setup(3 * seed, "Evening set", False)
    base = attrs.evolve(base, surface=attrs.evolve(base.surface, layers=None, snapshots=None))
    one = seeded_setup(3 * seed + 1, "Harbour set", False)
    other = seeded_setup(3 * seed + 2, "Attic set", False)
    there, back = combine(base, one, other, again=True), combine(base, other, one, again=True)
    assert there.allocation.proven
    assert back.allocation.proven
    values = [[tier.value for tier in each.allocation.tiers[:4]] for each in (there, back)]
    assert values[0] == values[1]
    # Names that are taken may go to another voice; what each source drove is the same.
    wanted = [
        sorted((e.source, e.voice, e.destination, str(e.wanted)) for e in each.carried)
        for each in (there, back)
    ]
    assert wanted[0] == wanted[1]


@pytest.mark.parametrize("seed", range(200, 220))
def test_another_name_of_a_source_changes_names_alone(seed: int) -> None:
    base = seeded_setup(2 * seed, "Evening set", seed % 2 == 0)
    base = attrs.evolve(base, surface=attrs.evolve(base.surface, layers=None))
    source = seeded_setup(2 * seed + 1, "Quay set", seed % 2 == 0)
    plain = combine(base, source)
    again = combine(base, attrs.evolve(source, name="Pier set"))
    for one, other in zip(plain.carried, again.carried, strict=True):
        back = attrs.evolve(
            other,
            source="Quay set",
            new_voice=other.new_voice.replace("Pier set", "Quay set"),
            beside=tuple(name.replace("Pier set", "Quay set") for name in other.beside),
        )
        assert back == one
    assert str(again).replace("Pier set", "Quay set") == str(plain)
    assert plain.allocation.prices.totals == again.allocation.prices.totals
