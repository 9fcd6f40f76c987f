"""Random setups, sound and faulty: nothing of a source is lost, nothing of the base is changed."""

from __future__ import annotations

import os
from collections import Counter

import attrs
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from knobpack.auditing.audit import audit
from knobpack.checker import check
from knobpack.clash import ImpossibleDemands
from knobpack.combination.combine import combine
from knobpack.combination.report import Combination, Source
from knobpack.reading import within
from knobpack.words import Setup, Surface
from tests.combination.setups import seeded_setup, setups
from tests.oracles.combination import complaints
from tests.oracles.reading_setups import knobs_of, reads

EXAMPLES = int(os.environ.get("KNOBPACK_EXAMPLES", "60"))
MANY = settings(max_examples=EXAMPLES, deadline=None, suppress_health_check=list(HealthCheck))
NAMES = ("Harbour set", "Attic set", "Evening set")


@st.composite
def cases(draw: st.DrawFn) -> tuple[Setup, list[Source], tuple[str, ...]]:
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


@MANY
@given(cases(), st.booleans())
def test_nothing_is_lost_and_the_base_is_untouched(
    case: tuple[Setup, list[Source], tuple[str, ...]], unreached: bool
) -> None:
    base, sources, free = case
    try:
        found = combine(base, *sources, free=free, unreached=unreached)
    except ImpossibleDemands:
        # Nothing else can: what is freed where a snapshot tears its knob may find no other one.
        may_clash = any((base.surface.layers, base.surface.reserved, free))
        assert may_clash
        return
    freed = freed_of(base, free, found)
    assert complaints(base, sources, found, freed) == []
    assert {e.full_name for e in found.carried if e.source == base.name} == freed
    assert all(e.new_knob for e in found.carried if e.source == base.name)
    assert str(found)


@MANY
@given(cases())
def test_the_audit_finds_nothing_wrong_that_is_new(
    case: tuple[Setup, list[Source], tuple[str, ...]],
) -> None:
    base, sources, _ = case
    try:
        found = combine(base, *sources)
    except ImpossibleDemands:
        return
    told = "; ".join(str(each) for each in found.left if each.setup == base.name)
    before, after = (
        Counter(
            (f.cause, f.knobs, f.destinations) for f in audit(s).findings if f.severity == "wrong"
        )
        for s in (base, found.setup)
    )
    for cause, knobs, _names in after - before:
        # A base that mixes on one knob what may move with what may not tears any new snapshot.
        assert cause == "snapshot torn on a knob"
        assert all(f"{knob} takes nothing new" in told for knob in knobs)


@MANY
@given(cases())
def test_the_plain_checker_passes_what_a_request_can_hold(
    case: tuple[Setup, list[Source], tuple[str, ...]],
) -> None:
    base, sources, _ = case
    try:
        found = combine(base, *sources)
    except ImpossibleDemands:
        return
    stray = any(
        setting.knob not in knobs_of(base) or not within(setting.travel, base.surface.top)
        for setting in base.travels
    )
    if not stray and not any(e.setup == base.name and e.kind != "snapshot" for e in found.left):
        assert check(found.request, found.setup.layout).valid
    assert check(found.request, found.allocation.layout).valid


def wide(setup: Setup) -> Setup:
    """The setup on a surface on which everything fits."""
    return attrs.evolve(setup, surface=Surface.row(24, bits=14), travels=())


@pytest.mark.parametrize("seed", range(12))
def test_two_sources_at_once_or_one_after_the_other(seed: int) -> None:
    base = wide(seeded_setup(3 * seed, "Evening set", False))
    one = seeded_setup(3 * seed + 1, "Harbour set", False)
    other = seeded_setup(3 * seed + 2, "Attic set", False)
    once = combine(base, one, other)
    first = combine(base, one)
    assert not first.allocation.unplaced
    names = tuple(each.new for each in first.brought if each.kind == "voice")
    then = combine(first.setup, other, free=names)

    def wishes(found: Combination) -> dict[str, object]:
        return {
            name: (attrs.evolve(inner, must_place=False), found.request.voice_of[name].source)
            for name, inner in found.request.destinations.items()
        }

    assert wishes(then) == wishes(once)
    assert [v.layer for v in then.setup.voices] == [v.layer for v in once.setup.voices]


@pytest.mark.parametrize("seed", range(100, 112))
def test_the_order_of_sources_changes_no_price(seed: int) -> None:
    base = seeded_setup(3 * seed, "Evening set", False)
    base = attrs.evolve(base, surface=attrs.evolve(base.surface, layers=None, snapshots=None))
    one = seeded_setup(3 * seed + 1, "Harbour set", False)
    other = seeded_setup(3 * seed + 2, "Attic set", False)
    there, back = combine(base, one, other), combine(base, other, one)
    assert there.allocation.proven
    assert back.allocation.proven
    values = [[tier.value for tier in each.allocation.tiers[:3]] for each in (there, back)]
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


@pytest.mark.parametrize("seed", range(300, 306))
def test_the_same_input_gives_the_same_answer(seed: int) -> None:
    base, source = (seeded_setup(seed * 2 + k, NAMES[k], True) for k in (0, 1))
    assert combine(base, source) == combine(base, source)
