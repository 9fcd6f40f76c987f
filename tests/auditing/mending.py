"""Mending: a setup changed as a finding says, with the names and numbers that its mend tells."""

from __future__ import annotations

import re
from collections.abc import Callable, Collection
from typing import Any

import attrs

from knobpack.auditing import causes
from knobpack.auditing.findings import Finding
from knobpack.words import (
    Group,
    KnobLabel,
    KnobPosition,
    KnobTravel,
    Route,
    Setup,
    Span,
    Surface,
    Travel,
)

SETTERS: dict[str, Callable[[Setup, Finding], Setup]] = {}


def mended(setup: Setup, finding: Finding) -> Setup:
    """The setup after one mend, the first that the finding tells which needs no taste."""
    return SETTERS[finding.cause](setup, finding)


def _for(*names: str) -> Callable[[Callable[[Setup, Finding], Setup]], object]:
    def put(mend: Callable[[Setup, Finding], Setup]) -> object:
        SETTERS.update(dict.fromkeys(names, mend))
        return mend

    return put


def without_routes(setup: Setup, names: Collection[str], knobs: Collection[str]) -> Setup:
    """The setup without the routes from these knobs to these names."""
    left = [r for r in setup.routes if not (r.destination in names and r.knob in knobs)]
    return attrs.evolve(setup, routes=tuple(left))


@_for(causes.MISSING_KNOB)
def _(setup: Setup, finding: Finding) -> Setup:
    assert "take the route away" in finding.mend
    return without_routes(setup, finding.destinations, finding.missing)


@_for(causes.MISSING_VOICE, causes.MISSING_DESTINATION)
def _(setup: Setup, finding: Finding) -> Setup:
    assert "take the route away" in finding.mend
    return without_routes(setup, finding.missing, finding.knobs)


@_for(causes.REPEATED)
def _(setup: Setup, finding: Finding) -> Setup:
    assert finding.mend == "keep it once"
    ends = finding.destinations[0], finding.knobs[0]
    same = [each for each in setup.routes if (each.destination, each.knob) == ends]
    others = [each for each in setup.routes if each not in same]
    return attrs.evolve(setup, routes=(*others, same[0]))


@_for(causes.DOUBLED)
def _(setup: Setup, finding: Finding) -> Setup:
    told = re.fullmatch(r"keep (\w+), and take the route from ([\w, ]+) away", finding.mend)
    assert told
    gone = re.split(", | and ", told[2])
    assert {told[1], *gone} == set(finding.knobs)
    return without_routes(setup, finding.destinations, gone)


@_for(causes.TORN)
def _(setup: Setup, finding: Finding) -> Setup:
    assert all(name in finding.mend for name in finding.wronged)
    return without_routes(setup, finding.wronged, finding.knobs)


def _set(setup: Setup, knob: str, travel: Travel) -> Setup:
    others = [each for each in setup.travels if each.knob != knob]
    return attrs.evolve(setup, travels=(*others, KnobTravel(knob, travel)))


def _set_anew(setup: Setup, finding: Finding, travel: Travel | None) -> Setup:
    """The setup with another travel on the knob of a finding, or on its route."""
    if not finding.on_route:
        assert travel is not None
        return _set(setup, finding.knobs[0], travel)
    ends = finding.destinations[0], finding.knobs[0]
    routes = (
        attrs.evolve(each, travel=travel) if (each.destination, each.knob) == ends else each
        for each in setup.routes
    )
    return attrs.evolve(setup, routes=tuple(routes))


@_for(causes.OUTSIDE)
def _(setup: Setup, finding: Finding) -> Setup:
    told = re.fullmatch(r"set start and end anew, apart and from 0 to (\d+)", finding.mend)
    assert told
    return _set_anew(setup, finding, Travel(0, int(told[1])))


@_for(causes.EMPTY_TRAVEL)
def _(setup: Setup, finding: Finding) -> Setup:
    start = finding.numbers[0]
    return _set_anew(setup, finding, Travel(start, start - 1 if start else 1))


@_for(causes.ONE_STEP)
def _(setup: Setup, finding: Finding) -> Setup:
    assert finding.mend == "set start and end further apart"
    return _set_anew(setup, finding, Travel(0, setup.surface.top))


@_for(causes.MISPLACED)
def _(setup: Setup, finding: Finding) -> Setup:
    assert finding.mend.startswith("take it away")
    if finding.on_route:
        return _set_anew(setup, finding, None)
    left = tuple(each for each in setup.travels if each.knob not in finding.knobs)
    return attrs.evolve(setup, travels=left)


@_for(causes.STRAY_TRAVEL)
def _(setup: Setup, finding: Finding) -> Setup:
    left = tuple(each for each in setup.travels if each.knob not in finding.missing)
    return attrs.evolve(setup, travels=left)


@_for(causes.WISH_OUTSIDE)
def _(setup: Setup, finding: Finding) -> Setup:
    told = re.fullmatch(r"let it want a travel from 0 to (\d+)", finding.mend)
    assert told
    return changed(setup, finding.destinations, travel=Travel(0, int(told[1])))


def _stored(setup: Setup, finding: Finding, *positions: KnobPosition) -> Setup:
    """The setup with these positions in place of those of a finding."""
    of = {*finding.knobs, *finding.missing}
    snapshots = tuple(
        attrs.evolve(each, positions=(*(p for p in each.positions if p.knob not in of), *positions))
        if each.name in finding.snapshots
        else each
        for each in setup.snapshots
    )
    return attrs.evolve(setup, snapshots=snapshots)


@_for(causes.STRAY_POSITION, causes.IDLE_POSITION)
def _(setup: Setup, finding: Finding) -> Setup:
    assert re.search("take (it|the position) away", finding.mend)
    return _stored(setup, finding)


@_for(causes.POSITION_OUTSIDE)
def _(setup: Setup, finding: Finding) -> Setup:
    told = re.fullmatch(r"store one from 0 to (\d+)", finding.mend)
    assert told
    return _stored(setup, finding, KnobPosition(finding.knobs[0], int(told[1])))


def changed(setup: Setup, names: Collection[str], **change: Any) -> Setup:
    """The setup with something changed at the destinations named."""
    voices = tuple(
        attrs.evolve(
            voice,
            destinations=tuple(
                attrs.evolve(inner, **change) if voice.full_name(inner) in names else inner
                for inner in voice.destinations
            ),
        )
        for voice in setup.voices
    )
    return attrs.evolve(setup, voices=voices)


def _left(moves: Collection[str], names: Collection[str]) -> tuple[str, ...]:
    return tuple(name for name in moves if name not in names)


@_for(causes.SNAPSHOT_NAMES)
def _(setup: Setup, finding: Finding) -> Setup:
    return _renamed(setup, finding, finding.missing)


@_for(causes.IMMOVABLE)
def _(setup: Setup, finding: Finding) -> Setup:
    return _renamed(setup, finding, finding.destinations)


def _renamed(setup: Setup, finding: Finding, gone: Collection[str]) -> Setup:
    snapshots = tuple(
        attrs.evolve(
            each,
            moves=_left(each.moves, gone),
            silent=_left(each.silent, gone),
            idle=_left(each.idle, gone),
        )
        if each.name in finding.snapshots
        else each
        for each in setup.snapshots
    )
    return attrs.evolve(setup, snapshots=snapshots)


@_for(causes.GROUP_NAMES)
def _(setup: Setup, finding: Finding) -> Setup:
    return _regrouped(setup, finding.groups, finding.missing)


@_for(causes.CIRCLE)
def _(setup: Setup, finding: Finding) -> Setup:
    return _regrouped(setup, finding.groups, finding.groups)


def _regrouped(setup: Setup, groups: Collection[str], gone: Collection[str]) -> Setup:
    """Some groups without some members; a group left with none goes, wherever it is named."""
    members = {g.name: _left(g.members, gone if g.name in groups else ()) for g in setup.groups}
    while empty := [name for name in members if not members[name]]:
        members = {n: _left(inner, empty) for n, inner in members.items() if n not in empty}
    lost = [group.name for group in setup.groups if group.name not in members]
    return attrs.evolve(
        setup,
        groups=tuple(Group(name, inner) for name, inner in members.items()),
        snapshots=tuple(attrs.evolve(s, moves=_left(s.moves, lost)) for s in setup.snapshots),
    )


@_for(causes.SHARED_LAYER, causes.LAYER_BEYOND)
def _(setup: Setup, finding: Finding) -> Setup:
    leave = finding.voices[1:] or finding.voices
    to = dict(zip(leave, finding.free_layers, strict=False))
    assert all(f"put '{name}' at layer {layer}" in finding.mend for name, layer in to.items())
    out = [name for name in leave if name not in to]
    assert all(f"'{name}'" in finding.mend.split("leave ")[-1] for name in out)
    voices = tuple(
        attrs.evolve(voice, layer=to.get(voice.name, voice.layer))
        for voice in setup.voices
        if voice.name not in out
    )
    return attrs.evolve(setup, voices=voices)


@_for(causes.CROWDED)
def _(setup: Setup, finding: Finding) -> Setup:
    told = re.match(r"route (\d+) of them to other knobs, or take them off", finding.mend)
    assert told
    return without_routes(setup, finding.destinations[: int(told[1])], finding.knobs)


@_for(causes.ROUTES)
def _(setup: Setup, finding: Finding) -> Setup:
    told = re.match(r"take (\d+) routes? away", finding.mend)
    assert told
    return attrs.evolve(setup, routes=setup.routes[: -int(told[1])])


@_for(causes.SNAPSHOTS)
def _(setup: Setup, finding: Finding) -> Setup:
    told = re.match(r"take (\d+) snapshots? away", finding.mend)
    assert told
    return attrs.evolve(setup, snapshots=setup.snapshots[: -int(told[1])])


def without_snapshots(setup: Setup, names: Collection[str]) -> Setup:
    """The setup without some snapshots."""
    left = tuple(each for each in setup.snapshots if each.name not in names)
    return attrs.evolve(setup, snapshots=left)


@_for(causes.IDENTICAL)
def _(setup: Setup, finding: Finding) -> Setup:
    assert f"keep '{finding.snapshots[0]}' alone" in finding.mend
    return without_snapshots(setup, finding.snapshots[1:])


@_for(causes.SILENT)
def _(setup: Setup, finding: Finding) -> Setup:
    assert "take it away" in finding.mend
    return without_snapshots(setup, finding.snapshots)


@_for(causes.NEVER_FOLLOWS, causes.BY_HAND)
def _(setup: Setup, finding: Finding) -> Setup:
    assert f"take the routes from {finding.knobs[0]} away" in finding.mend
    return without_routes(setup, finding.destinations, finding.knobs)


@_for(causes.NO_ROUTE)
def _(setup: Setup, finding: Finding) -> Setup:
    assert "reserve it" in finding.mend
    reserved = (*setup.surface.reserved, *finding.knobs)
    return attrs.evolve(setup, surface=attrs.evolve(setup.surface, reserved=reserved))


@_for(causes.UNREACHED)
def _(setup: Setup, finding: Finding) -> Setup:
    surface = setup.surface
    used = {route.knob for route in setup.routes} | {each.knob for each in setup.travels}
    count = len(surface.knobs)
    wider: Surface = Surface.row(count + len(finding.destinations), bits=surface.bits)
    fresh = [f"New {number}" for number, _ in enumerate(finding.destinations)]
    assert not used & set(fresh)
    added = [
        attrs.evolve(knob, name=name) for knob, name in zip(wider.knobs[count:], fresh, strict=True)
    ]
    routes = zip(finding.destinations, fresh, strict=True)
    return attrs.evolve(
        setup,
        surface=attrs.evolve(surface, knobs=(*surface.knobs, *added), routes=None),
        routes=(*setup.routes, *(Route(name, knob) for name, knob in routes)),
    )


@_for(causes.SAME_NUMBER)
def _(setup: Setup, finding: Finding) -> Setup:
    assert finding.mend == "let each send a number of its own"
    own = dict(zip(finding.knobs[1:], range(64, 96), strict=False))
    used = {number for each in setup.sending for number in each.numbers}
    assert not used & set(own.values())
    return attrs.evolve(
        setup,
        sending=tuple(
            attrs.evolve(each, number=own[each.knob], fine=False) if each.knob in own else each
            for each in setup.sending
        ),
    )


@_for(causes.SAME_LABEL)
def _(setup: Setup, finding: Finding) -> Setup:
    assert finding.mend == "give each a label of its own"
    return _relabelled(setup, {knob: f"x{knob}" for knob in finding.knobs[1:]})


@_for(causes.LONG_LABEL)
def _(setup: Setup, finding: Finding) -> Setup:
    assert finding.mend == f"shorten it to {finding.numbers[1]} or fewer"
    return _relabelled(setup, {knob: f"x{knob}" for knob in finding.knobs})


def _relabelled(setup: Setup, own: dict[str, str]) -> Setup:
    labels = tuple(KnobLabel(each.knob, own.get(each.knob, each.label)) for each in setup.labels)
    return attrs.evolve(setup, labels=labels)


@_for(causes.STRAY_PANEL)
def _(setup: Setup, finding: Finding) -> Setup:
    assert "take it away" in finding.mend
    return attrs.evolve(
        setup,
        labels=tuple(each for each in setup.labels if each.knob not in finding.missing),
        sending=tuple(each for each in setup.sending if each.knob not in finding.missing),
    )


@_for(causes.NO_KEY, causes.NO_VELOCITY)
def _(setup: Setup, finding: Finding) -> Setup:
    right: dict[str, Any] = {"keys" if finding.cause == causes.NO_KEY else "velocities": Span(1, 1)}
    voices = tuple(
        attrs.evolve(voice, **right) if voice.name in finding.voices else voice
        for voice in setup.voices
    )
    return attrs.evolve(setup, voices=voices)


@_for(causes.MUTED)
def _(setup: Setup, finding: Finding) -> Setup:
    assert "let it sound in one" in finding.mend
    first, *rest = setup.snapshots
    first = attrs.evolve(first, silent=_left(first.silent, finding.voices))
    return attrs.evolve(setup, snapshots=(first, *rest))


@_for(causes.IDLE, causes.NOT_IDLE)
def _(setup: Setup, finding: Finding) -> Setup:
    assert finding.mend in {
        "switch it off there",
        "switch them off there",
        "take the note away",
    }
    snapshots = tuple(
        attrs.evolve(each, idle=_left(each.idle, finding.knobs))
        if each.name in finding.snapshots
        else each
        for each in setup.snapshots
    )
    return attrs.evolve(setup, snapshots=snapshots)


@_for(causes.NO_POSITION)
def _(setup: Setup, finding: Finding) -> Setup:
    assert finding.mend == "let it send another number"
    sending = tuple(
        attrs.evolve(each, number=70 + setup.surface.knob_names.index(each.knob), fine=False)
        if each.knob in finding.knobs
        else each
        for each in setup.sending
    )
    return attrs.evolve(setup, sending=sending)
