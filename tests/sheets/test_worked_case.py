"""The worked case: what is to be set is what was added, nothing else (common practice, no source).

The half travel: 64 of 127 is 512 of 1023 by the min-center-max rule of M2-115-U 1.0.2, 3.3.1.
"""

from __future__ import annotations

import attrs
import pytest

from knobpack.combination.answer import Combination
from knobpack.combination.combine import combine
from knobpack.definition.phrases import CAUTION
from knobpack.sheets import in_order, patch_sheet, replay
from knobpack.words import KnobTravel, Travel
from tests.combination.cases import BASE, GUEST, LATER


@pytest.fixture(scope="module")
def first() -> Combination:
    return combine(BASE, GUEST)


def test_the_steps_are_what_was_added(first: Combination) -> None:
    sheet = patch_sheet(BASE, first.setup)
    assert replay(BASE, sheet.steps) == attrs.evolve(first.setup, arrivals=())
    added = {what: [s for s in sheet.steps if s.what == what] for what in ("voice", "route")}
    assert [(s.before, s.after) for s in added["voice"]] == [
        (None, voice) for voice in first.setup.voices[1:]
    ]
    assert [(s.where, s.before, s.after) for s in added["route"]] == [
        (route.knob, None, route.destination) for route in first.setup.routes[2:]
    ]
    travels = {s.where: (s.before, s.after) for s in sheet.steps if s.what == "travel"}
    assert travels == {each.knob: (None, each.travel) for each in first.setup.travels[1:]}
    assert (None, Travel(0, 512)) in travels.values()
    stored = [(s.before, s.after) for s in sheet.steps if s.what == "snapshot"]
    # The base's one snapshot takes in what came; all else that is set is new.
    assert stored == [
        (BASE.snapshots[0], first.setup.snapshots[0]),
        *((None, each) for each in first.setup.snapshots[1:]),
    ]
    assert len(sheet.steps) == 3 + 6 + 4 + 4
    assert sum(s.before is not None for s in sheet.steps) == 1


def test_the_base_back_again(first: Combination) -> None:
    sheet = patch_sheet(first.setup, BASE)
    assert in_order(replay(first.setup, sheet.steps)) == in_order(BASE)
    assert sum(s.after is not None for s in sheet.steps) == 1


def test_the_sheet_says_what_to_set(first: Combination) -> None:
    text = patch_sheet(BASE, first.setup).text()
    assert "set the travel 0 to 512 (half); none was set." in text
    assert "Voice 'Low drone' from 'Harbour set': add it on layer 3." in text
    assert "then K3, K4, K5 and K6 follow the master" in " ".join(text.split())
    assert CAUTION in " ".join(text.split())


def test_what_moves_to_other_knobs_is_set_anew(first: Combination) -> None:
    free = ("Glass pad", "Low drone", "Reed lead")
    second = combine(first.setup, LATER, name="Night set", free=free)
    sheet = patch_sheet(first.setup, second.setup)
    assert in_order(replay(first.setup, sheet.steps)) == in_order(second.setup)
    went = {each.full_name: (each.old_knob, each.new_knob) for each in second.carried}
    moved = {name for name, (old, new) in went.items() if name.startswith(free) and old != new}
    away = {step.before for step in sheet.steps if step.what == "route" and step.after is None}
    assert away == moved
    assert sheet.sentences[-1] == "Setup 'Evening set': store it as 'Night set'."


def test_a_knob_is_given_its_travel_between_the_old_and_the_new(first: Combination) -> None:
    half = attrs.evolve(first.setup, travels=(KnobTravel("K7", Travel(0, 512)),))
    second = combine(half, LATER)
    sentences = [s for s in patch_sheet(half, second.setup).sentences if s.startswith("K7")]
    assert sentences[:2] == [
        "K7: set the travel 0 to 1023 (full); it was 0 to 512 (half).",
        "K7: route it to Pulse bass/cutoff on layer 5.",
    ]
