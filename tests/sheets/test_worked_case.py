"""The worked case: what is to be set is what was added, nothing else (common practice, no source).

The half travel: 64 of 127 is 512 of 1023 by the min-center-max rule of M2-115-U 1.0.2, 3.3.1.
"""

from __future__ import annotations

import pytest

from knobpack.combination.combine import combine
from knobpack.combination.report import Combination
from knobpack.sheets import in_order, patch_sheet, replay
from knobpack.wording import CAUTION
from knobpack.words import Travel
from tests.combination.cases import BASE, GUEST, LATER


@pytest.fixture(scope="module")
def first() -> Combination:
    return combine(BASE, GUEST)


def test_the_steps_are_what_was_added(first: Combination) -> None:
    sheet = patch_sheet(BASE, first.setup)
    assert replay(BASE, sheet.steps) == first.setup  # as it is, order and all
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
    stored = [s.after for s in sheet.steps if s.what == "snapshot"]
    assert stored == list(first.setup.snapshots[1:])
    assert len(sheet.steps) == 3 + 6 + 6 + 3
    assert all(s.before is None for s in sheet.steps)  # the base is untouched


def test_the_base_back_again(first: Combination) -> None:
    sheet = patch_sheet(first.setup, BASE)
    assert replay(first.setup, sheet.steps) == BASE
    assert all(s.after is None for s in sheet.steps)


def test_the_sheet_says_what_to_set(first: Combination) -> None:
    text = patch_sheet(BASE, first.setup).text()
    assert "set the travel 0 to 512 (half); it was 0 to 1023 (full)." in text
    assert "Voice 'Low drone' from 'Harbour set': add it on layer 3." in text
    assert "then K5 and K6 follow the master" in " ".join(text.split())
    assert CAUTION in " ".join(text.split())


def test_a_knob_is_given_its_travel_between_the_old_and_the_new(first: Combination) -> None:
    free = ("Glass pad", "Low drone", "Reed lead")
    second = combine(first.setup, LATER, name="Night set", free=free)
    sheet = patch_sheet(first.setup, second.setup)
    assert in_order(replay(first.setup, sheet.steps)) == in_order(second.setup)
    assert [s for s in sheet.sentences if s.startswith("K7")][:3] == [
        "K7: take away its route to Low drone/cutoff.",
        "K7: set the travel 0 to 1023 (full); it was 0 to 512 (half).",
        "K7: route it to Pulse bass/cutoff on layer 5.",
    ]
    text = " ".join(sheet.text().split())
    # What 'only Harbour set' moves has moved from K7 to K8.
    assert "Snapshot 'only Harbour set' moves what it moved, on other knobs: now K3, " in text
    assert sheet.sentences[-1] == "Setup 'Evening set': store it as 'Night set'."
