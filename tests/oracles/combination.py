"""A combination gone over again, from the setups alone; shares nothing with what made it.

``complaints`` says all that is wrong with a combination: something of the base changed, something
of a source lost or there twice or not counted, a travel told wrongly, a name not followed through,
a snapshot that a new route breaks, something that cannot be played alone. An empty list means that
none of this is so.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from knobpack.combination.answer import Combination
from knobpack.combination.report import Source
from knobpack.words import Route, Setup, Travel
from tests.oracles.combination_playable import playable
from tests.oracles.combination_sources import (
    conserved,
    groups,
    labels,
    same_voices,
    snapshots,
    travels,
)
from tests.oracles.playing import widest
from tests.oracles.reading_setups import inner_of, knobs_of, moves, reads


def complaints(
    base: Setup,
    sources: Sequence[Source],
    found: Combination,
    freed: frozenset[str] = frozenset(),
) -> list[str]:
    """All that is wrong.

    Args:
        base: the base as it was.
        sources: the sources, in order.
        found: what is to be checked.
        freed: full names of the base's destinations that were freed.
    """
    told = [*_base(base, found), *_base_meaning(base, found), *_base_routes(base, found, freed)]
    for source, label in zip(sources, labels(base, sources), strict=True):
        told += conserved(source, label, found)
        told += same_voices(source, label, found)
        told += groups(source, label, found)
        told += snapshots(source, label, found)
        told += travels(source.setup, label, found)
    told += _counted(base, sources, found)
    told += playable(base, sources, found)
    told += _new_routes(base, found, freed)
    told += _layers(base, found)
    told += _independent(base, found, freed)
    return told


def _base(base: Setup, found: Combination) -> Iterator[str]:
    now = found.setup
    if now.surface != base.surface:
        yield "the surface is another"
    if now.voices[: len(base.voices)] != base.voices:
        yield "the voices of the base are others"
    if now.groups[: len(base.groups)] != base.groups:
        yield "the groups of the base are others"
    grown = []
    new_voices = {voice.name for voice in now.voices[len(base.voices) :]}
    for old, new in zip(base.snapshots, now.snapshots, strict=False):
        more = new.moves[len(old.moves) :]
        if (new.name, new.moves[: len(old.moves)]) != (old.name, old.moves):
            yield f"the snapshot {old.name} of the base is another"
        if (new.break_weight, new.silent) != (old.break_weight, old.silent):
            yield f"the snapshot {old.name} of the base is kept otherwise"
        grown += [new.name] if more else []
        if any(name.split("/")[0] not in new_voices for name in more):
            yield f"the snapshot {old.name} takes in {more}"
    if len(now.snapshots) < len(base.snapshots):
        yield "a snapshot of the base is gone"
    if grown and grown != [widest(base)]:
        yield f"{grown} were grown, and the widest is {widest(base)}"


def _base_meaning(base: Setup, found: Combination) -> Iterator[str]:
    now = found.setup
    for group in base.groups:
        if reads(base, [group.name]) != reads(now, [group.name]):
            yield f"the group {group.name} of the base holds something else"
    for snapshot in base.snapshots:
        here = next((each for each in now.snapshots if each.name == snapshot.name), snapshot)
        if moves(base, snapshot) != moves(now, here) & set(inner_of(base)):
            yield f"the snapshot {snapshot.name} of the base moves something else"


def _base_routes(base: Setup, found: Combination, freed: frozenset[str]) -> Iterator[str]:
    now = found.setup
    staying = _staying(base, found, freed)
    if list(now.routes[: len(staying)]) != staying:
        yield "the routes of the base are others"
    driven = {r.destination for r in staying if r.knob in knobs_of(base)}
    if driven & {r.destination for r in now.routes[len(staying) :]}:
        yield "a destination that the base drives is driven anew"
    live = {r.knob for r in staying if r.destination in inner_of(base)}
    told = {each.name for each in found.left if (each.setup, each.kind) == (base.name, "travel")}
    for setting in base.travels:
        if setting not in now.travels and (
            setting.knob in live or f"{setting.travel} of {setting.knob}" not in told
        ):
            yield f"the travel of {setting.knob} is another"


def _new_routes(base: Setup, found: Combination, freed: frozenset[str]) -> Iterator[str]:
    staying = _staying(base, found, freed)
    new = found.setup.routes[len(staying) :]
    said = {(e.full_name, e.new_knob) for e in found.carried if e.new_knob is not None}
    if {(r.destination, r.knob) for r in new} != said or len(new) != len(said):
        yield "the routes of the result are not those that are told"
    settings = {setting.knob: setting.travel for setting in found.setup.travels}
    for each in found.carried:
        if each.new_knob is None:
            continue
        full = Travel(0, 2**base.surface.bits - 1)
        if settings.get(each.new_knob, full) != each.new_travel:
            yield f"{each.new_knob} does not go over {each.new_travel}"
        on = {r.destination for r in found.setup.routes if r.knob == each.new_knob}
        on &= set(inner_of(found.setup))
        if on - {each.full_name} != set(each.beside):
            yield f"{each.full_name} is beside {on}, not {each.beside}"


def _layers(base: Setup, found: Combination) -> Iterator[str]:
    new = [voice.layer for voice in found.setup.voices[len(base.voices) :]]
    taken = {voice.layer for voice in base.voices if voice.layer is not None}
    if None in new or len(set(new)) != len(new) or taken & set(new):
        yield f"the layers {new} are not free"
    most = base.surface.layers
    if most is not None and any(layer is None or layer > most for layer in new):
        yield f"the layers {new} are not there"
    said = {(e.new, e.new_layer) for e in found.brought if e.kind == "voice"}
    if said != {(v.name, v.layer) for v in found.setup.voices[len(base.voices) :]}:
        yield "the layers are not those that are told"


def _independent(base: Setup, found: Combination, freed: frozenset[str]) -> Iterator[str]:
    setup = found.setup
    there = set(inner_of(setup))
    old = {(r.destination, r.knob) for r in base.routes if r.destination not in freed}
    new_on = {r.knob for r in setup.routes if (r.destination, r.knob) not in old}
    for snapshot in setup.snapshots:
        if snapshot.break_weight is not None:
            continue
        moved = moves(setup, snapshot)
        for knob in new_on & knobs_of(setup):
            on = {r.destination for r in setup.routes if r.knob == knob} & there
            if on & moved and on - moved:
                yield f"{snapshot.name} is broken on {knob} by {sorted(on)}"


def _staying(base: Setup, found: Combination, freed: frozenset[str]) -> list[Route]:
    """The routes of the base that stand: those not freed, and not of a cleared knob."""
    panel, cleared = knobs_of(base), set(found.wanted.clear)
    return [
        route
        for route in base.routes
        if (route.destination not in freed or route.knob not in panel) and route.knob not in cleared
    ]


def _counted(base: Setup, sources: Sequence[Source], found: Combination) -> Iterator[str]:
    """Everything that was to come is counted, and what names nothing is told."""
    placed, asked = found.came
    new = [each for each in found.carried if each.source != base.name]
    behind = sum(len(each.destinations) or 1 for each in found.unlayered)
    if placed != len([e for e in new if e.new_knob]) or asked != placed + len(
        found.without_knob
    ) - len([e for e in found.carried if e.source == base.name and not e.new_knob]) + behind + len(
        found.slips
    ) + len(found.wanted.leave):
        yield f"{placed} of {asked} is counted wrongly"
    for source, label in zip(sources, labels(base, sources), strict=True):
        setup = source.setup
        there = set(inner_of(setup)) | {v.name for v in setup.voices}
        there |= {g.name for g in setup.groups}
        lost = {r.destination for r in setup.routes} - set(inner_of(setup))
        lost |= {r.knob for r in setup.routes} - knobs_of(setup)
        lost |= {t.knob for t in setup.travels} - knobs_of(setup)
        lost |= {name for group in setup.groups for name in group.members} - there
        lost |= {name for snapshot in setup.snapshots for name in snapshot.moves} - there
        lost |= set(source.voices or ()) - {v.name for v in setup.voices}
        if {each.name for each in found.slips if each.setup == label} != lost:
            yield f"{label}: the slips are {lost}"
    for name in found.essential_out:
        if name not in found.sentences[0]:
            yield f"{name} is essential, and not told first"
