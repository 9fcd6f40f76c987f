"""A combination gone over again, from the setups alone; shares nothing with what made it.

``complaints`` says all that is wrong with a combination: something of the base changed, something
of a source lost or there twice, a travel told wrongly, a name not followed through, a snapshot that
a new route breaks. An empty list means that none of this is so.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from knobpack.combination.report import Combination, Source
from knobpack.words import Route, Setup, Travel
from tests.oracles.reading_setups import inner_of, knobs_of, moves, reads, travel_of
from tests.positions.standard import by_the_loop


def complaints(
    base: Setup,
    sources: Sequence[Source],
    found: Combination,
    freed: frozenset[str] = frozenset(),
    own_snapshots: bool = True,
) -> list[str]:
    """All that is wrong.

    Args:
        base: the base as it was.
        sources: the sources, in order.
        found: what is to be checked.
        freed: full names of the base's destinations that were freed.
        own_snapshots: whether the snapshots of the sources were to be brought.
    """
    told = [*_base(base, found), *_base_meaning(base, found), *_base_routes(base, found, freed)]
    for source, label in zip(sources, _labels(base, sources), strict=True):
        told += _conserved(source, label, found)
        told += _same_voices(source, label, found)
        told += _groups(source, label, found)
        if own_snapshots:
            told += _snapshots(source, label, found)
        told += _travels(source.setup, label, found)
    told += _new_routes(base, found, freed)
    told += _layers(base, found)
    told += _independent(base, found, freed)
    return told


def _labels(base: Setup, sources: Sequence[Source]) -> list[str]:
    """What each setup goes by: the second of a name is called 2, and so on."""
    taken = {base.name} | {voice.source for voice in base.voices if voice.source}
    labels: list[str] = []
    for source in sources:
        label, number = source.setup.name, 1
        while label in taken:
            number += 1
            label = f"{source.setup.name} ({number})"
        taken.add(label)
        labels.append(label)
    return labels


def _base(base: Setup, found: Combination) -> Iterator[str]:
    now = found.setup
    if now.surface != base.surface:
        yield "the surface is another"
    for old, new in zip(base.voices, now.voices, strict=False):
        if (old.name, old.destinations, old.source) != (new.name, new.destinations, new.source):
            yield f"the voice {old.name} is another"
        if old.layer not in (None, new.layer):
            yield f"the voice {old.name} has another layer"
    if now.groups[: len(base.groups)] != base.groups:
        yield "the groups of the base are others"
    if now.snapshots[: len(base.snapshots)] != base.snapshots:
        yield "the snapshots of the base are others"


def _base_meaning(base: Setup, found: Combination) -> Iterator[str]:
    now = found.setup
    for group in base.groups:
        if reads(base, [group.name]) != reads(now, [group.name]):
            yield f"the group {group.name} of the base holds something else"
    for snapshot in base.snapshots:
        if moves(base, snapshot) != moves(now, snapshot):
            yield f"the snapshot {snapshot.name} of the base moves something else"


def _base_routes(base: Setup, found: Combination, freed: frozenset[str]) -> Iterator[str]:
    now = found.setup
    staying = [r for r in base.routes if r.destination not in freed or r.knob not in knobs_of(base)]
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


def _conserved(source: Source, label: str, found: Combination) -> Iterator[str]:
    setup = source.setup
    picked = [v for v in setup.voices if source.voices is None or v.name in source.voices]
    names = {voice.name for voice in picked}
    left = Counter((e.kind, e.name) for e in found.left if e.setup == label)
    brought = Counter((e.kind, e.old) for e in found.brought if e.source == label)
    carried = Counter((e.voice, e.destination) for e in found.carried if e.source == label)
    for voice in setup.voices:
        if (left["voice", voice.name], brought["voice", voice.name]) != (
            voice.name not in names,
            voice.name in names,
        ):
            yield f"{label}: the voice {voice.name} is lost or told twice"
    for voice in picked:
        for inner in voice.destinations:
            name = f"{voice.name}/{inner.name}"
            if carried[voice.name, inner.name] + left["destination", name] != 1:
                yield f"{label}: {name} is lost or told twice"
    words = [("group", word.name) for word in setup.groups]
    words += [("snapshot", word.name) for word in setup.snapshots]
    for kind, name in words:
        if left[kind, name] + brought[kind, name] != 1:
            yield f"{label}: the {kind} {name} is lost or told twice"
    yield from _routes(setup, names, label, found)


def _routes(setup: Setup, picked: set[str], label: str, found: Combination) -> Iterator[str]:
    others = [voice for voice in setup.voices if voice.name not in picked]
    behind = {f"{voice.name}/{inner.name}" for voice in others for inner in voice.destinations}
    routes = Counter(
        f"{r.knob} to {r.destination}" for r in setup.routes if r.destination not in behind
    )
    routes.subtract(
        f"{e.old_knob} to {e.voice}/{e.destination}"
        for e in found.carried
        if e.source == label and e.old_knob is not None
    )
    routes.subtract(e.name for e in found.left if (e.setup, e.kind) == (label, "route"))
    yield from (f"{label}: the route {name} is off by {n}" for name, n in routes.items() if n)


def _images(source: Source, label: str, found: Combination) -> dict[str, str]:
    """The full name now of each destination that came over."""
    new = {e.old: e.new for e in found.brought if (e.source, e.kind) == (label, "voice")}
    return {
        f"{voice.name}/{inner.name}": f"{new[voice.name]}/{inner.name}"
        for voice in source.setup.voices
        if voice.name in new
        for inner in voice.destinations
    }


def _same_voices(source: Source, label: str, found: Combination) -> Iterator[str]:
    new = {e.old: e.new for e in found.brought if (e.source, e.kind) == (label, "voice")}
    now = {voice.name: voice for voice in found.setup.voices}
    for voice in source.setup.voices:
        if voice.name not in new:
            continue
        there = now[new[voice.name]]
        before, after = (
            [(d.name, d.kind, d.priority, d.steps, d.movable, d.must_place) for d in each]
            for each in (voice.destinations, there.destinations)
        )
        if there.source != label or before != after:
            yield f"{label}: {voice.name} is another voice"


def _groups(source: Source, label: str, found: Combination) -> Iterator[str]:
    setup, image = source.setup, _images(source, label, found)
    new = {e.old: e.new for e in found.brought if (e.source, e.kind) == (label, "group")}
    voices = {e.old for e in found.brought if (e.source, e.kind) == (label, "voice")}
    for group in setup.groups:
        want = {image[each] for each in reads(setup, [group.name]) if each in image}
        if (group.name in new) != _holds(setup, group.name, voices):
            yield f"{label}: the group {group.name} is brought or left wrongly"
        elif group.name in new and reads(found.setup, [new[group.name]]) != want:
            yield f"{label}: the group {group.name} holds something else"


def _snapshots(source: Source, label: str, found: Combination) -> Iterator[str]:
    setup, image, now = source.setup, _images(source, label, found), found.setup
    new = {e.old: e.new for e in found.brought if (e.source, e.kind) == (label, "snapshot")}
    stored = {each.name: each for each in now.snapshots}
    why = {e.name: e.why for e in found.left if (e.setup, e.kind) == (label, "snapshot")}
    driven = {r.destination for r in now.routes if r.knob in knobs_of(now)}
    driven |= set(found.allocation.unplaced)
    for snapshot in setup.snapshots:
        want = {image[each] for each in moves(setup, snapshot) if each in image}
        if snapshot.name in new:
            here = stored[new[snapshot.name]]
            if moves(now, here) != want or here.break_weight != snapshot.break_weight:
                yield f"{label}: the snapshot {snapshot.name} moves something else"
            continue
        reason = why.get(snapshot.name, "")
        same = [s for s in now.snapshots if f"as '{s.name}'" in reason]
        if same and moves(now, same[0]) & driven != want & driven:
            yield f"{label}: {same[0].name} does not stand for {snapshot.name}"
        if "moves nothing" in reason and want & driven:
            yield f"{label}: the snapshot {snapshot.name} moves something"


def _holds(setup: Setup, group: str, picked: set[str]) -> bool:
    """Whether a group holds a picked voice, if only one without destinations."""
    groups = {each.name: each.members for each in setup.groups}
    waiting, seen = [group], set()
    while waiting:
        name = waiting.pop()
        if name in seen:
            continue
        seen.add(name)
        waiting += groups.get(name, ())
        in_one = name in inner_of(setup) and name.split("/")[0] in picked
        if name in picked or in_one:
            return True
    return False


def _travels(setup: Setup, label: str, found: Combination) -> Iterator[str]:
    low, high = setup.surface.bits, found.setup.surface.bits
    inner = inner_of(found.setup)
    for each in found.carried:
        if each.source != label or each.old_knob is None or each.old_travel is None:
            continue
        old, here = f"{each.voice}/{each.destination}", inner[each.full_name]
        if Route(old, each.old_knob) not in setup.routes or each.old_knob not in knobs_of(setup):
            yield f"{label}: {each.old_knob} did not drive {old}"
        if each.old_travel != travel_of(setup, each.old_knob):
            yield f"{label}: {each.old_knob} did not go over {each.old_travel}"
            continue
        want = Travel(
            _scaled(each.old_travel.start, low, high), _scaled(each.old_travel.end, low, high)
        )
        if each.wanted != want or here.travel != want or here.source_knob != each.old_knob:
            yield f"{label}: {old} wants {each.wanted}, not {want}"
        if want.empty:
            yield f"{label}: {old} is to be driven over an empty travel"


def _scaled(value: int, low: int, high: int) -> int:
    return by_the_loop(value, low, high) if high > low else value >> (low - high)


def _new_routes(base: Setup, found: Combination, freed: frozenset[str]) -> Iterator[str]:
    staying = [r for r in base.routes if r.destination not in freed or r.knob not in knobs_of(base)]
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
    taken = {voice.layer for voice in base.voices}
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
