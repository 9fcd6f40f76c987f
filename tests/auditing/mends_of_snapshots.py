"""Mends of snapshots and groups: each as its finding says."""

from __future__ import annotations

import re
from collections.abc import Collection

import attrs

from knobpack.auditing import causes
from knobpack.auditing.findings import Finding
from knobpack.words import Group, KnobPosition, Setup
from tests.auditing.altering import in_snapshots, left, mends, without_snapshots


def _stored(setup: Setup, finding: Finding, *positions: KnobPosition) -> Setup:
    """The setup with these positions in place of those of a finding."""
    of = {*finding.knobs, *finding.missing}
    return in_snapshots(
        setup,
        finding,
        lambda each: attrs.evolve(
            each, positions=(*(p for p in each.positions if p.knob not in of), *positions)
        ),
    )


@mends(causes.STRAY_POSITION, causes.IDLE_POSITION)
def _(setup: Setup, finding: Finding) -> Setup:
    assert re.search("take (it|the position) away", finding.mend)
    return _stored(setup, finding)


@mends(causes.POSITION_OUTSIDE)
def _(setup: Setup, finding: Finding) -> Setup:
    told = re.fullmatch(r"store one from 0 to (\d+)", finding.mend)
    assert told
    return _stored(setup, finding, KnobPosition(finding.knobs[0], int(told[1])))


@mends(causes.SNAPSHOT_NAMES)
def _(setup: Setup, finding: Finding) -> Setup:
    return _renamed(setup, finding, finding.missing)


@mends(causes.IMMOVABLE)
def _(setup: Setup, finding: Finding) -> Setup:
    return _renamed(setup, finding, finding.destinations)


def _renamed(setup: Setup, finding: Finding, gone: Collection[str]) -> Setup:
    return in_snapshots(
        setup,
        finding,
        lambda each: attrs.evolve(
            each,
            moves=left(each.moves, gone),
            silent=left(each.silent, gone),
            idle=left(each.idle, gone),
        ),
    )


@mends(causes.GROUP_NAMES)
def _(setup: Setup, finding: Finding) -> Setup:
    return _regrouped(setup, finding.groups, finding.missing)


@mends(causes.CIRCLE)
def _(setup: Setup, finding: Finding) -> Setup:
    return _regrouped(setup, finding.groups, finding.groups)


def _regrouped(setup: Setup, groups: Collection[str], gone: Collection[str]) -> Setup:
    """Some groups without some members; a group left with none goes, wherever it is named."""
    members = {g.name: left(g.members, gone if g.name in groups else ()) for g in setup.groups}
    while empty := [name for name in members if not members[name]]:
        members = {n: left(inner, empty) for n, inner in members.items() if n not in empty}
    lost = [group.name for group in setup.groups if group.name not in members]
    return attrs.evolve(
        setup,
        groups=tuple(Group(name, inner) for name, inner in members.items()),
        snapshots=tuple(attrs.evolve(s, moves=left(s.moves, lost)) for s in setup.snapshots),
    )


@mends(causes.SNAPSHOTS)
def _(setup: Setup, finding: Finding) -> Setup:
    told = re.match(r"take (\d+) snapshots? away", finding.mend)
    assert told
    return attrs.evolve(setup, snapshots=setup.snapshots[: -int(told[1])])


@mends(causes.IDENTICAL)
def _(setup: Setup, finding: Finding) -> Setup:
    assert f"keep '{finding.snapshots[0]}' alone" in finding.mend
    return without_snapshots(setup, finding.snapshots[1:])


@mends(causes.SILENT)
def _(setup: Setup, finding: Finding) -> Setup:
    assert "take it away" in finding.mend
    return without_snapshots(setup, finding.snapshots)


@mends(causes.MUTED)
def _(setup: Setup, finding: Finding) -> Setup:
    assert "let it sound in one" in finding.mend
    first, *rest = setup.snapshots
    first = attrs.evolve(first, silent=left(first.silent, finding.voices))
    return attrs.evolve(setup, snapshots=(first, *rest))


@mends(causes.IDLE, causes.NOT_IDLE)
def _(setup: Setup, finding: Finding) -> Setup:
    assert finding.mend in {"switch it off there", "switch them off there", "take the note away"}
    return in_snapshots(
        setup, finding, lambda each: attrs.evolve(each, idle=left(each.idle, finding.knobs))
    )
