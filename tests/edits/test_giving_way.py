"""Earlier edits and sources: what gives way so that nothing need be left out, and what holds."""

from __future__ import annotations

import random
from collections import Counter
from collections.abc import Iterable, Sequence
from itertools import product

import attrs

from knobpack import combine, edit, move_to_panel
from knobpack.clash import ImpossibleDemands
from knobpack.setups.as_read import read
from knobpack.words import (
    Alone,
    Apart,
    Destination,
    Fixed,
    Route,
    Rule,
    Setup,
    Snapshot,
    Surface,
    Together,
    Voice,
)
from knobpack.words.setup_edits import Away, BackInUse, OutOfUse, OwnKnob, Part
from tests.edits.every_layout import Cost, Where, cost, knob_of, layouts
from tests.edits.rehearsal import SETUP, on
from tests.edits.setups import small_setup
from tests.oracles.amount import EXAMPLES


def holds(rule: Rule, now: Where) -> bool:
    """Whether a layout meets a required rule; what is on no knob meets all but to be together."""
    match rule:
        case Alone(names=names):
            own = {now[name] for name in names if now.get(name) is not None}
            return not any(at in own for name, at in now.items() if name not in names)
        case Apart(first=first, second=second):
            pairs = ((a, b) for a, b in product(first, second) if a != b)
            return not any(now.get(a) is not None and now[a] == now.get(b) for a, b in pairs)
        case Together(names=names):
            return len({now.get(name) for name in names}) == 1
        case Fixed(names=names, knob=knob):
            return all(now.get(name) in (knob, None) for name in names)
    raise AssertionError(rule)


def kept_and_least(
    setup: Setup, rules: Sequence[Rule], shut: Iterable[str]
) -> tuple[list[Rule], Cost]:
    """The rules that can stay with the least lost, the newer the rather; and the least to do it."""
    every = [(cost(setup, now), now) for now in layouts(setup, shut={*shut})]
    least = min(found[0] for found, _ in every)
    if any(found[0] == least and all(holds(r, now) for r in rules) for found, now in every):
        stay = list(rules)
    else:
        stay = []
        for rule in reversed(rules):
            if any(
                found[0] == least and all(holds(r, now) for r in (rule, *stay))
                for found, now in every
            ):
                stay = [rule, *stay]
    return stay, min(found for found, now in every if all(holds(r, now) for r in stay))


def test_no_more_is_lost_than_must_and_the_newer_edits_stay() -> None:
    seen: Counter[str] = Counter()
    for seed in range(max(45, EXAMPLES // 6)):
        draw = random.Random(seed)  # noqa: S311 (no secret)
        setup = small_setup(seed, knobs=4)
        if seed % 2:
            setup = attrs.evolve(setup, snapshots=setup.snapshots[:1])
        for _ in range(draw.randint(1, 3)):
            names = draw.sample([route.destination for route in setup.routes], 2)
            what = OwnKnob(tuple(names[:1])) if draw.random() < 0.7 else Part(tuple(names))
            try:
                setup = edit(setup, what).setup
            except ImpossibleDemands:
                continue
        for knob in draw.sample(setup.surface.knob_names, 2):
            shut = {knob, *(each.knob for each in setup.broken)}
            stay, least = kept_and_least(setup, setup.agreed, shut)
            found = edit(setup, OutOfUse(knob))
            told = cost(setup, {**dict.fromkeys(knob_of(setup)), **knob_of(found.setup)})
            if told < least:  # what is torn goes along as one, so that nothing else moves for it
                assert any(each.knob == knob for each in read(setup).torn)
                break
            assert told == least, seed
            assert found.proven
            assert list(found.setup.agreed) == stay, seed
            assert list(found.gave_way) == [r for r in setup.agreed if r not in stay]
            if found.gave_way:
                assert edit(found.setup, BackInUse(knob)).setup.agreed == setup.agreed
                first = next(line for line in found.sentences if "is left out" not in line)
                assert "gives way: more would be left out else" in first
            seen["gave way"] += bool(found.gave_way)
            seen["some stayed"] += bool(found.gave_way and stay)
            seen["lost all the same"] += bool(least[0])
            seen["nothing had to"] += bool(setup.agreed and not found.gave_way)
            setup = found.setup
    assert min(seen.values()) > 3, seen
    assert len(seen) == 4


LATE = Setup(
    "Late set",
    Surface.row(4),
    (
        Voice(
            "Choir",
            (Destination("level", priority=1), Destination("breath"), Destination("air")),
            1,
        ),
    ),
    routes=(Route("Choir/level", "K1"), Route("Choir/breath", "K1"), Route("Choir/air", "K3")),
    snapshots=(Snapshot("Choir", ("Choir",)),),
)
ROOMY = attrs.evolve(
    SETUP, surface=Surface.row(9), voices=tuple(attrs.evolve(v, source=None) for v in SETUP.voices)
)


def test_a_late_source_takes_neither_a_broken_knob_nor_one_that_is_somebodys_own() -> None:
    edited = edit(edit(ROOMY, OwnKnob(("Bass/level",))).setup, OutOfUse("K6")).setup
    own = read(edited).knobs_of["Bass/level"][0]
    found = combine(edited, LATE).setup
    assert on(found, "K6") == set()
    assert on(found, own) == {"Bass/level"}
    assert {r for r in found.routes if r.destination.startswith("Choir")}
    assert found.agreed == edited.agreed
    assert found.broken == edited.broken
    later = edit(found, OutOfUse("K1")).setup
    assert on(later, "K6") == on(later, "K1") == set()
    assert on(later, own) == {"Bass/level"}


def test_what_was_parted_stays_parted_when_a_source_comes_and_goes() -> None:
    parted = edit(ROOMY, Part(("K2",))).setup
    whole = combine(parted, LATE).setup
    knobs = read(whole).knobs_of
    assert knobs["Bass/level"] != knobs["Bass/cutoff"]
    again = edit(whole, Away(("Late set",))).setup
    assert attrs.evolve(again, edits=parted.edits) == parted


def test_a_source_that_came_away_from_home_comes_home_with_the_setup() -> None:
    away = move_to_panel(ROOMY, Surface.row(9, bits=10)).setup
    whole = combine(away, LATE).setup
    home = move_to_panel(whole, ROOMY.surface).setup
    assert [voice.name for voice in home.voices] == [*(v.name for v in ROOMY.voices), "Choir"]
    there, here = read(whole).knobs_of, read(home).knobs_of
    assert {name: here[name] for name in here} == {name: there[name] for name in here}
    mended = edit(edit(home, OutOfUse("K1")).setup, BackInUse("K1")).setup
    assert set(mended.routes) == set(home.routes)
