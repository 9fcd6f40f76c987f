"""Faulty setups at random: every finding and every knob against positions put side by side."""

from __future__ import annotations

import pickle
import re

from hypothesis import given

from knobpack.auditing import causes
from knobpack.auditing.audit import audit
from knobpack.words import Setup
from tests.auditing.faulty import faulty_setups, seeded_setup
from tests.oracles.audit import untrue

SEEDS = range(400)


@given(faulty_setups())
def test_an_audit_says_what_the_positions_say(setup: Setup) -> None:
    answer = audit(setup)
    assert untrue(setup, answer) == []
    assert audit(setup) == answer == pickle.loads(pickle.dumps(answer))  # noqa: S301 (our own)


def test_every_cause_and_every_reason_to_be_dead_occurs() -> None:
    answers = [audit(seeded_setup(seed)) for seed in SEEDS]
    found = {finding.cause for each in answers for finding in each.findings}
    assert found == set(causes.CAUSES)
    why = {cause for each in answers for use in each.by_knob for cause in use.why_dead}
    assert why == set(causes.WHY_DEAD)
    for setup, answer in zip(map(seeded_setup, SEEDS), answers, strict=True):
        assert untrue(setup, answer) == []


@given(faulty_setups())
def test_sentences_hold_no_number_but_those_of_the_finding(setup: Setup) -> None:
    answer = audit(setup)
    names = {knob.name for knob in setup.surface.knobs}
    names |= {word for route in setup.routes for word in (route.knob, route.destination)}
    names |= {place.knob for each in setup.snapshots for place in each.positions}
    names |= {each.knob for each in setup.travels} | {each.name for each in setup.snapshots}
    names |= {label.knob for label in setup.labels} | {sent.knob for sent in setup.sending}
    names |= {knob for each in setup.snapshots for knob in each.idle}
    for finding in answer.findings:
        text = str(finding)
        heads = {causes.NO_ROUTE: "Free", causes.UNREACHED: "Not driven"}
        assert text.startswith(heads.get(finding.cause, finding.severity.capitalize()))
        assert text.endswith(".")
        for name in sorted(names, key=len, reverse=True):
            text = text.replace(name, "")
        allowed = {0, *finding.numbers, *finding.free_layers}
        assert {int(found) for found in re.findall(r"\d+", text)} <= allowed, text
    verdict, *rest = answer.sentences
    assert f"{len(answer.live)} of {len(setup.surface.knobs)} knob" in verdict
    assert ("nothing needs mending" in verdict) == answer.clean
    assert str(answer).splitlines() == [verdict, *rest]
    assert {*answer.live, *answer.dead} == set(setup.surface.knob_names)
