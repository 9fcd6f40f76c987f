"""Whereabouts: where everything that was brought, or freed, is now."""

from __future__ import annotations

from collections.abc import Sequence

from knobpack.allocation import Allocation
from knobpack.combination.base import KeptBase
from knobpack.combination.contribution import Contribution
from knobpack.combination.report import GROWN, Brought, Carried, Played
from knobpack.combination.result import Result
from knobpack.combination.snapshots import SnapshotPlan
from knobpack.words import Setup, Travel, Voice


def stayed(base: KeptBase, setup: Setup, allocation: Allocation) -> list[Carried]:
    """Where each destination of the base is that was freed."""
    over, name = base.reading.over, base.setup.name
    return [
        _where(setup, allocation, route.destination, name, voice, route.knob, over(route))
        for voice in base.setup.voices
        for route in map(base.freed.get, voice.by_full_name)
        if route is not None
    ]


def carried_over(
    brought: Sequence[Contribution], setup: Setup, allocation: Allocation
) -> list[Carried]:
    """Where each destination of the sources is that is to be driven."""
    return [
        _where(setup, allocation, one.new_name(it), one.label, it.voice, it.knob, it.travel)
        for one in brought
        for it in one.wishes
    ]


def _where(
    setup: Setup,
    allocation: Allocation,
    full: str,
    source: str,
    voice: Voice,
    old_knob: str | None,
    old_travel: Travel | None,
) -> Carried:
    """Where a destination is now, by its full name, that was in a voice and on a knob there."""
    new_voice, destination = full.split("/", 1)
    knob = next((r.knob for r in allocation.routes if r.destination == full), None)
    return Carried(
        source=source,
        voice=voice.name,
        destination=destination,
        old_layer=voice.layer,
        old_knob=old_knob,
        old_travel=old_travel,
        new_voice=new_voice,
        new_layer=_layer(setup, new_voice),
        wanted=allocation.request.wanted(full),
        new_knob=knob,
        new_travel=allocation.layout.goes.get(full),
        beside=tuple(name for name in allocation.on(knob) if name != full) if knob else (),
    )


def _layer(setup: Setup, voice: str) -> int | None:
    """The layer of a voice of the result; None: it is one of the base that has none."""
    return next(each.layer for each in setup.voices if each.name == voice)


def brought_over(brought: Sequence[Contribution], setup: Setup) -> list[Brought]:
    """The voices and groups of the sources, as they are called now."""
    found = []
    for one in brought:
        for voice in one.old_voices:
            new = one.names[voice.name]
            layer = _layer(setup, new)
            found.append(Brought(one.label, "voice", voice.name, new, voice.layer, layer))
        voices = {voice.name for voice in one.old_voices}
        found += [
            Brought(one.label, "group", old, new)
            for old, new in one.names.items()
            if old not in voices
        ]
    return found


def snapshots_brought(found: Result) -> list[Brought]:
    """The snapshots of the sources, as they are called now."""
    return [
        Brought(each.owners[0], "snapshot", each.old, each.snapshot.name)
        for each in found.new
        if each.old is not None
    ]


def played_anew(
    base: str, brought: Sequence[Contribution], plans: SnapshotPlan, found: Result
) -> tuple[Played, ...]:
    """The snapshots that were grown or added, and are in the result."""
    driven = {route.destination for route in found.setup.routes}
    sources = tuple(one.label for one in brought if not driven.isdisjoint(one.moves))
    grown = (Played(name, GROWN, sources, base) for name in plans.grown if sources)
    added = (Played(e.snapshot.name, e.added, e.owners, base) for e in found.new if e.added)
    return (*grown, *added)
