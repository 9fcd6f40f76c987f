"""What one knob of a source drove: an edit that parts other things keeps it on one knob.

That it does so where nothing more is lost, be it that more moves, is common practice, no source.
"""

from __future__ import annotations

import random
from collections import Counter

import attrs
import pytest

from knobpack import Destination, Route, Setup, Snapshot, Surface, Voice, edit
from knobpack.clash import ImpossibleDemands
from knobpack.edits.answer import Edited
from knobpack.words.setup_edits import Edit, OnKnob, OwnKnob, Part
from tests.edits.every_layout import Where, cost, knob_of, layouts
from tests.edits.setups import small_setup
from tests.oracles.amount import EXAMPLES


def _voice(name: str, layer: int, **knobs: str) -> Voice:
    inner = (Destination(each, source_knob=knob) for each, knob in knobs.items())
    return Voice(name, tuple(inner), layer, source="Bells set")


BELL, MALLET = _voice("Bell", 1, level="1", decay="2"), _voice("Mallet", 2, level="1")
DRONE, WIND = _voice("Drone", 3, level="3", cutoff="2"), _voice("Wind", 4, level="3")
VOICES = (BELL, MALLET, DRONE, WIND)
EVENING = Setup(
    "Evening set",
    Surface.row(3),
    VOICES,
    routes=tuple(Route(name, "K1") for voice in VOICES for name in voice.by_full_name),
    snapshots=(Snapshot("All", tuple(voice.name for voice in VOICES)),),
)


def _together(found: Edited) -> set[frozenset[str]]:
    now = knob_of(found.setup)
    return {frozenset(n for n, at in now.items() if at == knob) for knob in now.values()}


def test_what_came_on_one_knob_goes_along_and_that_is_said() -> None:
    found = edit(EVENING, Part(("Bell", "Drone")))
    assert _together(found) == {
        frozenset({"Bell/level", "Bell/decay", "Mallet/level"}),
        frozenset({"Drone/level", "Drone/cutoff", "Wind/level"}),
    }
    told = str(found)
    proven = "proven: less will not do, bundles kept whole, weighed by importance."
    assert f"3 routes move, from K1; {proven}" in told
    assert "as it stays with" in told
    # What the edit itself says is to be parted is said once; all else is whole.
    parted = [line for line in found.sentences if line.startswith("Parted")]
    (line,) = parted
    assert line.startswith("Parted, though knob 2 of Bells set drove them together: Bell/decay on")
    assert found.setup.agreed == edit(found.setup, OnKnob(("Bell/level",), "K3")).setup.agreed[:1]


@pytest.mark.parametrize(
    ("what", "told"),
    [
        (OwnKnob(("Bell/level",)), "knob 1 of Bells set"),
        (OnKnob(("Wind",), "K3"), "knob 3 of Bells set"),
    ],
)
def test_every_edit_says_what_it_parts(what: Edit, told: str) -> None:
    found = edit(EVENING, what)
    (line,) = [line for line in found.sentences if line.startswith("Parted")]
    assert line.startswith(f"Parted, though {told} drove them together: ")
    assert all(f"on {knob}" in line for knob in set(knob_of(found.setup).values()))
    # What is parted already is not told again.
    again = edit(found.setup, OwnKnob(("Drone/cutoff",)))
    assert told not in str(again)


def test_a_bundle_is_parted_where_more_would_be_lost_or_a_snapshot_forces_it() -> None:
    alone = attrs.evolve(EVENING, snapshots=(*EVENING.snapshots, Snapshot("Mallet", ("Mallet",))))
    found = edit(alone, Part(("Bell", "Drone")))
    assert [line for line in found.sentences if line.startswith("Parted, though knob 1")]
    assert "bundles kept whole" in str(found)  # that of knob 3
    narrow = attrs.evolve(EVENING, surface=Surface.row(2, destinations_per_knob=6))
    assert not edit(narrow, Part(("Bell", "Drone"))).left_out


def _sourced(seed: int) -> tuple[Setup, Part]:
    """A small setup, what one knob drives having come from two, and two things to part."""
    draw = random.Random(seed)  # noqa: S311 (no secret)
    setup = small_setup(seed, knobs=3 if seed % 2 else 4)
    came = {
        voice.full_name(inner): draw.choice("AB")
        for voice in setup.voices
        for inner in voice.destinations
    }
    voices = (
        attrs.evolve(
            voice,
            source="Bells set",
            destinations=tuple(
                attrs.evolve(inner, source_knob=came[voice.full_name(inner)])
                for inner in voice.destinations
            ),
        )
        for voice in setup.voices
    )
    routed = [route.destination for route in setup.routes]
    return attrs.evolve(setup, voices=tuple(voices)), Part(tuple(draw.sample(routed, 2)))


def _least(setup: Setup, what: Part) -> tuple[tuple[int, int, int], list[set[str]]] | None:
    """The least lost and moved, as many bundles whole as can be without more lost, in order."""
    before = knob_of(setup)
    one, other = what.names

    def will_do(now: Where) -> bool:
        return None not in (now[one], now[other]) and now[one] != now[other]

    every = list(layouts(setup, edited=what.names, will_do=will_do))
    if not every:
        return None
    least, whole = min(cost(setup, now)[0] for now in every), list[set[str]]()
    of = {v.full_name(inner): inner.source_knob for v in setup.voices for inner in v.destinations}
    for came in dict.fromkeys(of.values()):
        for knob in dict.fromkeys(before[n] for n in of if n in before and of[n] == came):
            names = {n for n in of if of[n] == came and before.get(n) == knob}
            if len(names) < 2 or len(names & {one, other}) != 1:
                continue
            those = [now for now in every if len({now[n] for n in names}) == 1]
            if any(cost(setup, now)[0] == least for now in those):
                every, whole = those, [*whole, names]
    return min(cost(setup, now, what.names) for now in every), whole


def test_as_much_stays_whole_as_can_and_beside_that_the_least_moves() -> None:
    seen: Counter[str] = Counter()
    for seed in range(max(60, EXAMPLES // 3)):
        setup, what = _sourced(seed)
        try:
            found = edit(setup, what)
        except ImpossibleDemands:
            assert _least(setup, what) is None, seed
            continue
        expected = _least(setup, what)
        assert expected is not None, seed
        before, now = knob_of(setup), knob_of(found.setup)
        least, whole = expected
        assert cost(setup, {**dict.fromkeys(before), **now}, what.names) == least, seed
        assert all(set(names) in whole for names in found.whole), seed
        assert all(len({now.get(name) for name in names}) == 1 for names in whole)
        seen["whole"] += bool(whole)
        seen["moved for it"] += bool(found.whole)
        seen["lost"] += bool(found.left_out)
        seen["parted"] += "Parted, though" in str(found)
    assert min(seen.values()) > 2, seen
    assert len(seen) == 4, seen
