"""An audit and a sweep of one setup say the same: what works in one moves in the other."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

import attrs
import numpy as np
import pytest
from hypothesis import given

from knobpack.auditing import causes
from knobpack.auditing.audit import audit
from knobpack.setups import as_read
from knobpack.simulation import Sweep, sweep
from knobpack.words import Destination, KnobTravel, Route, Setup, Snapshot, Travel
from tests.auditing import faulty
from tests.oracles.audit_sweep import disagreements, working
from tests.simulation import setups

SEEDS = 120


def sweeps(setup: Setup) -> list[Sweep]:
    """Every snapshot swept, through every position of the master."""
    names = [each.name for each in setup.snapshots] or ["everything"]
    return [sweep(setup, name) for name in names]


def all_sounding(setup: Setup) -> Setup:
    """The setup without silent voices: no sweep shows which they are."""
    snapshots = tuple(attrs.evolve(each, silent=()) for each in setup.snapshots)
    return attrs.evolve(setup, snapshots=snapshots)


def seeded(count: int) -> Iterator[Setup]:
    """Setups of three sorts, most of them faulty."""
    for seed in range(count):
        yield all_sounding(faulty.seeded_setup(seed))
        yield setups.seeded_setup(seed)[0]
        yield tight(seed, (None, 2, 3))


def tight(seed: int, steps: tuple[int | None, ...]) -> Setup:
    """A setup whose travels are short or beyond, whose destinations stepped, and two knobs full.

    Args:
        seed: of the setup that it is made of.
        steps: how many steps there may be.
    """
    setup, choose = setups.seeded_setup(seed)
    top = setup.surface.top
    ends = (0, 1, top // 3, top // 2, top - 1, top, top + 1, top + 9)
    voices = tuple(
        attrs.evolve(
            voice,
            destinations=tuple(
                attrs.evolve(inner, steps=choose.pick(steps)) for inner in voice.destinations
            ),
        )
        for voice in setup.voices
    )
    travels = tuple(
        KnobTravel(knob, Travel(choose.pick(ends), choose.pick(ends)))
        for knob in setup.surface.knob_names
    )
    ends_of = [voice.full_name(inner) for voice in voices for inner in voice.destinations]
    crowded = setup.surface.knob_names[:2]
    more = tuple(Route(name, choose.pick(crowded)) for name in ends_of if crowded)
    everything = Snapshot("all", tuple(voice.name for voice in voices))
    return attrs.evolve(
        setup,
        voices=voices,
        routes=(*setup.routes, *more),
        travels=travels,
        snapshots=(*setup.snapshots, everything),
    )


@given(faulty.faulty_setups().map(all_sounding))
def test_an_audit_says_what_the_sweeps_show(setup: Setup) -> None:
    assert disagreements(audit(setup), sweeps(setup)) == []


def test_all_that_is_claimed_occurs_and_holds() -> None:
    seen: Counter[str] = Counter()
    for setup in seeded(SEEDS):
        said, shown = audit(setup), sweeps(setup)
        assert disagreements(said, shown) == []
        seen["live"] += len(said.live)
        seen["dead"] += len(said.dead)
        seen["live in part"] += sum(0 < len(use.driven) < len(use.carries) for use in said.by_knob)
        seen["assumed"] += said.assumed
        seen.update(each.cause for each in said.findings)
        # A knob may move, and nothing that it carries take notice.
        for each in shown:
            moving = {k for k, row in zip(each.knobs, each.positions, strict=True) if np.ptp(row)}
            seen["moves in vain"] += len(moving - set(working(each)))
    wanted = (
        *("live", "dead", "live in part", "assumed", "moves in vain", causes.ONE_STEP),
        *(causes.SILENT, causes.IDENTICAL, causes.UNREACHED, causes.DOUBLED, causes.OUTSIDE),
    )
    assert {each: seen[each] for each in wanted if seen[each] < 5} == {}


def _any_travel(travel: Travel, destination: Destination, bits: int) -> bool:
    """What an audit would go by if it took no account of steps."""
    del destination, bits
    return not travel.empty


def test_an_audit_that_overlooks_steps_is_caught(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(as_read, "stirs", _any_travel)
    found = [tight(seed, (None, 2, 3)) for seed in range(SEEDS)]
    assert sum(bool(disagreements(audit(setup), sweeps(setup))) for setup in found) > 5


def test_an_audit_that_overlooks_the_highest_position_is_caught(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    found = [tight(seed, (None,)) for seed in range(SEEDS)]
    shown = [sweeps(setup) for setup in found]
    monkeypatch.setattr(as_read.Reading, "led", as_read.Reading.over)
    said = [audit(setup) for setup in found]
    assert sum(map(bool, map(disagreements, said, shown))) > 5
