"""Faulty setups at random: every finding and every knob against positions put side by side."""

from __future__ import annotations

import pickle
import re
from typing import Any

import attrs
import pytest
from hypothesis import given

from knobpack.auditing import causes
from knobpack.auditing.audit import audit
from knobpack.auditing.findings import Audit, Finding
from knobpack.words import Setup
from tests.auditing.faulty import faulty_setups, seeded_setup
from tests.auditing.mending import mended
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
def test_a_mend_that_is_told_mends_and_makes_nothing_worse(setup: Setup) -> None:
    check_mends(setup)


def test_each_cause_is_mended_in_many_setups() -> None:
    mends = [cause for seed in SEEDS for cause in check_mends(seeded_setup(seed))]
    assert min(mends.count(cause) for cause in causes.CAUSES) >= 5


def check_mends(setup: Setup) -> list[str]:
    """Mend each finding alone, and look at what is left."""
    before = audit(setup)
    for finding in before.findings:
        after = audit(mended(setup, finding))
        assert not any(covers(finding, each) for each in after.findings), finding
        if setup.snapshots and after.assumed:
            # Nothing is stored any more: what is then assumed was not asked for.
            continue
        for each in after.findings:
            worse = causes.SEVERITIES.index(each.severity) < causes.SEVERITIES.index(
                finding.severity
            ) and not {each.cause, finding.cause} <= set(causes.UNUSED)
            assert not worse or known(each, before) or told_apart(setup, finding, each), (
                finding,
                each,
            )
    return [finding.cause for finding in before.findings]


def covers(one: Finding, other: Finding) -> bool:
    """Whether two findings are of one thing, whoever else has to do with it."""
    mine: tuple[object, ...] = (one.cause, one.knobs)
    its: tuple[object, ...] = (other.cause, other.knobs)
    if one.cause not in (causes.ROUTES, causes.SNAPSHOTS, causes.TORN):
        mine += (one.groups, one.missing, one.numbers[:1])
        its += (other.groups, other.missing, other.numbers[:1])
    same_snapshots = one.snapshots == other.snapshots or one.cause == causes.SNAPSHOTS
    same_voices = one.voices == other.voices or one.cause == causes.SHARED_LAYER
    same_names = one.destinations == other.destinations or bool(one.knobs)
    if one.cause in (causes.DOUBLED, causes.REPEATED) or one.on_route:
        same_names = one.destinations == other.destinations
    return mine == its and same_snapshots and same_voices and same_names


def known(each: Finding, before: Audit) -> bool:
    """Whether a finding, or a larger one of the same kind, was there before the mend."""
    moving = {name for use in before.by_knob if use.driven for name in use.follows}
    if each.cause == causes.IDENTICAL and moving.isdisjoint(each.snapshots):
        return True  # they moved the same before, namely nothing
    if each.cause == causes.IDLE:
        # Of what had been said of them wrongly, something has become true.
        idle = {(f.knobs, f.snapshots) for f in before.findings if f.cause == causes.NOT_IDLE}
        idle |= {
            ((knob,), f.snapshots)
            for f in before.findings
            for knob in f.knobs
            if f.cause == causes.IDLE
        }
        return all(((knob,), each.snapshots) in idle for knob in each.knobs)
    return any(
        (earlier.cause, earlier.severity) == (each.cause, each.severity)
        and (each.cause == causes.IDENTICAL or set(earlier.knobs) >= set(each.knobs))
        and set(earlier.missing) >= set(each.missing)
        and set(earlier.snapshots) >= set(each.snapshots)
        for earlier in before.findings
    )


def told_apart(setup: Setup, mended: Finding, after: Finding) -> bool:
    """Whether what is found now was told apart by what is mended alone.

    Snapshots that did something, or something else, only to that; a number that was sent on the
    channel of what it drove. Which way a travel goes that is set anew is a matter of taste.
    """
    if after.cause == causes.TURNED:
        return mended.cause in (causes.UNREACHED, causes.UNSET, *causes.WHY_DEAD)
    if after.cause == causes.SAME_NUMBER:
        return not set(mended.knobs).isdisjoint(after.knobs)
    return after.cause in (causes.SILENT, causes.IDENTICAL) and any(
        name in (*mended.knobs, *mended.voices)
        for each in setup.snapshots
        if each.name in after.snapshots
        for name in (*(place.knob for place in each.positions), *each.silent)
    )


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


WRONG_FIELDS: dict[str, Any] = {
    "severity": "mild",
    "cause": causes.SILENT,
    "knobs": ("K77",),
    "destinations": ("Pad/nothing",),
    "voices": ("Nobody",),
    "snapshots": ("Never",),
    "groups": ("None",),
    "missing": ("Nought",),
    "wronged": ("Pad/nothing",),
    "numbers": (77,),
    "free_layers": (77,),
}


@pytest.mark.parametrize("field", WRONG_FIELDS)
def test_a_falsified_finding_is_caught(field: str) -> None:
    tried = 0
    for seed in range(12):
        setup = seeded_setup(seed)
        answer = audit(setup)
        for place, finding in enumerate(answer.findings):
            false = attrs.evolve(finding, **{field: WRONG_FIELDS[field]})
            if false == finding:
                continue
            findings = (*answer.findings[:place], false, *answer.findings[place + 1 :])
            assert untrue(setup, attrs.evolve(answer, findings=findings))
            tried += 1
    assert tried > 100


def test_a_falsified_audit_is_caught() -> None:
    tried = 0
    for seed in range(25):
        setup = seeded_setup(seed)
        answer = audit(setup)
        assert untrue(setup, attrs.evolve(answer, assumed=not answer.assumed))
        assert untrue(setup, attrs.evolve(answer, setup="Other"))
        for place, finding in enumerate(answer.findings):
            less = (*answer.findings[:place], *answer.findings[place + 1 :])
            assert untrue(setup, attrs.evolve(answer, findings=less))
            assert untrue(setup, attrs.evolve(answer, findings=(*answer.findings, finding)))
        if len({finding.severity for finding in answer.findings}) > 1:
            assert untrue(setup, attrs.evolve(answer, findings=answer.findings[::-1]))
        for place, use in enumerate(answer.by_knob):
            swapped = () if use.driven else ("Pad/level",)
            falsified = (
                attrs.evolve(use, driven=swapped),
                attrs.evolve(use, carries=(*use.carries, "Pad/more")),
                attrs.evolve(use, follows=(*use.follows, "Never")),
                attrs.evolve(use, why_dead=(*use.why_dead, causes.TORN)),
            )
            for false in falsified:
                uses = (*answer.by_knob[:place], false, *answer.by_knob[place + 1 :])
                assert untrue(setup, attrs.evolve(answer, by_knob=uses))
                tried += 1
    assert tried > 100
