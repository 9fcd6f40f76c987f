"""What an audit ought to say, from the positions that a setup puts everything at.

What moves is not derived: the master is put at the bottom and at the top in every snapshot, and the
positions are compared.
"""

from __future__ import annotations

from collections.abc import Iterator

import attrs

from knobpack.auditing import causes
from knobpack.auditing.findings import Audit, KnobUse
from knobpack.words import Setup
from tests.oracles.audit_positions import (
    ends,
    follows,
    moved_by,
    on,
    on_routes,
    states,
    taken_apart,
    top_of,
    travel,
    voice_is_missing,
)
from tests.oracles.audit_truths import truths


def uses(setup: Setup) -> tuple[KnobUse, ...]:
    """What every knob does."""
    found = []
    for knob in (each.name for each in setup.surface.knobs):
        carries = tuple(on(setup, knob))
        if any(follows(setup, state, knob) for state in states(setup)):
            every = [moved_by(setup, state) for state in states(setup)]
            moved = {n for each in every for n, knobs in each.items() if knob in knobs}
        else:  # it is turned by hand
            moved = {n for n in carries if taken_apart(setup, n, *ends(setup, knob, n))}
        found.append(
            KnobUse(
                knob,
                carries,
                tuple(name for name in carries if name in moved),
                None if on_routes(setup) else travel(setup, knob, ""),
                tuple(s.name for s in states(setup) if follows(setup, s, knob)),
                () if moved else tuple(why_dead(setup, knob)),
            )
        )
    return tuple(found)


def why_dead(setup: Setup, knob: str) -> Iterator[str]:
    """Every reason for which a knob does nothing, in the order of the constants."""
    carries, top = on(setup, knob), top_of(setup)
    led = [r.destination for r in setup.routes if r.knob == knob]
    if not carries:
        if not led:
            yield causes.NO_ROUTE
        kinds = {voice_is_missing(setup, name) for name in led}
        yield from [causes.MISSING_VOICE] * (True in kinds)
        yield from [causes.MISSING_DESTINATION] * (False in kinds)
        return
    asked = [travel(setup, knob, name) for name in carries]
    if any(each.start == each.end for each in asked):
        yield causes.EMPTY_TRAVEL
    if any(each.start != each.end and min(each.start, each.end) >= top for each in asked):
        yield causes.OUTSIDE
    if any(
        first != last and not taken_apart(setup, name, first, last)
        for name in carries
        for first, last in [ends(setup, knob, name)]
    ):
        yield causes.ONE_STEP


def untrue(setup: Setup, answer: Audit) -> list[str]:
    """What an audit says that is not so, or leaves out; mends are not looked at."""
    said = sorted(repr(attrs.evolve(finding, mend="")) for finding in answer.findings)
    right = sorted(repr(finding) for finding in truths(setup))
    wrong = [f"said: {each}" for each in said if said.count(each) > right.count(each)]
    wrong += [f"not said: {each}" for each in right if right.count(each) > said.count(each)]
    wrong += [
        f"{one} is no {other}"
        for one, other in zip(answer.by_knob, uses(setup), strict=False)
        if one != other
    ]
    if len(answer.by_knob) != len(setup.surface.knobs):
        wrong.append("not one entry for each knob")
    if answer.assumed != (not setup.snapshots) or answer.setup != setup.name:
        wrong.append("not of this setup")
    panel = [each.name for each in setup.surface.knobs]
    ranks = []
    for finding in answer.findings:
        places = [panel.index(knob) for knob in finding.knobs if knob in panel]
        severity = {"wrong": 0, "doubtful": 1, "dead": 2, "by hand": 3}.get(finding.severity, 4)
        ranks.append((severity, min(places, default=len(panel))))
    if ranks != sorted(ranks):
        wrong.append("not in order")
    return wrong
