"""What of each source a combination brought, gone over again: nothing lost, nothing told twice."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Sequence

from knobpack.combination.answer import Combination
from knobpack.combination.report import Source
from knobpack.setups.missed_travels import MissedTravel
from knobpack.words import Destination, Route, Setup, Travel
from tests.oracles.playing import alike, follows
from tests.oracles.reading_setups import bundle_of, inner_of, knobs_of, moves, reads, travel_of
from tests.positions.standard import by_the_loop


def labels(base: Setup, sources: Sequence[Source]) -> list[str]:
    """What each setup goes by: the second of a name is called 2, and so on."""
    taken = {base.name} | {voice.source for voice in base.voices if voice.source}
    taken |= {each.source for each in base.arrivals}
    labels: list[str] = []
    for source in sources:
        label, number = source.setup.name, 1
        while label in taken:
            number += 1
            label = f"{source.setup.name} ({number})"
        taken.add(label)
        labels.append(label)
    return labels


def conserved(source: Source, label: str, found: Combination) -> Iterator[str]:
    setup = source.setup
    picked = [v for v in setup.voices if source.voices is None or v.name in source.voices]
    names = {voice.name for voice in picked}
    left = Counter(
        (e.kind, e.name)
        for e in found.left
        if e.setup == label
        and not (e.kind == "snapshot" and "because its knob did so there" in e.why)
    )
    brought = Counter((e.kind, e.old) for e in found.brought if e.source == label)
    unlayered = {e.voice for e in found.unlayered if e.source == label}
    carried = Counter((e.voice, e.destination) for e in found.carried if e.source == label)
    for voice in setup.voices:
        places = (
            left["voice", voice.name],
            brought["voice", voice.name] + (voice.name in unlayered),
        )
        if places != (voice.name not in names, voice.name in names):
            yield f"{label}: the voice {voice.name} is lost or told twice"
    for voice in picked:
        if voice.name in unlayered:
            continue
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
    unlayered = {e.voice for e in found.unlayered if e.source == label}
    behind |= {n for n in inner_of(setup) if n.split("/")[0] in unlayered}
    routes = Counter(
        f"{r.knob} to {r.destination}" for r in setup.routes if r.destination not in behind
    )
    routes.subtract(
        f"{r.knob} to {r.destination}"
        for r in setup.routes
        if r.destination not in inner_of(setup)
        or (r.knob not in knobs_of(setup) and r.destination not in behind)
    )
    routes.subtract(
        f"{e.old_knob} to {e.voice}/{e.destination}"
        for e in found.carried
        if e.source == label and e.old_knob is not None
    )
    routes.subtract(
        e.name
        for e in found.left
        if (e.setup, e.kind) == (label, "route") and e.name.split(" to ", 1)[1] not in behind
    )
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


def same_voices(source: Source, label: str, found: Combination) -> Iterator[str]:
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


def groups(source: Source, label: str, found: Combination) -> Iterator[str]:
    setup, image = source.setup, _images(source, label, found)
    new = {e.old: e.new for e in found.brought if (e.source, e.kind) == (label, "group")}
    voices = {e.old for e in found.brought if (e.source, e.kind) == (label, "voice")}
    for group in setup.groups:
        want = {image[each] for each in reads(setup, [group.name]) if each in image}
        if (group.name in new) != _holds(setup, group.name, voices):
            yield f"{label}: the group {group.name} is brought or left wrongly"
        elif group.name in new and reads(found.setup, [new[group.name]]) != want:
            yield f"{label}: the group {group.name} holds something else"


def snapshots(source: Source, label: str, found: Combination) -> Iterator[str]:
    setup, image, now = source.setup, _images(source, label, found), found.setup
    new = {e.old: e.new for e in found.brought if (e.source, e.kind) == (label, "snapshot")}
    stored = {each.name: each for each in now.snapshots}
    why = {e.name: e.why for e in found.left if (e.setup, e.kind) == (label, "snapshot")}
    driven = {r.destination for r in now.routes if r.knob in knobs_of(now)}
    driven |= set(found.allocation.unplaced)
    knob = {e.full_name: e.old_knob for e in found.carried if e.source == label}
    for snapshot in setup.snapshots:
        named = moves(setup, snapshot)
        want = {image[each] for each in named if each in image}
        # What its knob does there counts, not what is named.
        able = {name for name in knob if inner_of(now)[name].movable}
        want = {
            name
            for name in want | able
            if (name in want if knob.get(name) is None else follows(setup, named, knob[name]))
        }
        if snapshot.name in new:
            here = stored[new[snapshot.name]]
            same = moves(now, here) & set(knob) == want & set(knob)
            if not same or here.break_weight != snapshot.break_weight:
                yield f"{label}: the snapshot {snapshot.name} moves something else"
            continue
        reason = why.get(snapshot.name, "")
        like = [s for s in now.snapshots if f"as '{s.name}'" in reason]
        if like and not alike(now, moves(now, like[0]), want & driven, driven):
            yield f"{label}: {like[0].name} does not stand for {snapshot.name}"
        if "moves nothing that" in reason and want & driven:
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


def travels(setup: Setup, label: str, found: Combination) -> Iterator[str]:
    low, high = setup.surface.bits, found.setup.surface.bits
    inner = inner_of(found.setup)
    driving = _driving(setup, low, high)
    bundle = {name: bundle_of(setup, name, knob) for name, knob in driving.items()}
    knobs: dict[tuple[str | None, str], set[str | None]] = {}
    for each in found.carried:
        if each.source != label or each.old_knob is None or each.old_travel is None:
            continue
        old, here = f"{each.voice}/{each.destination}", inner[each.full_name]
        if Route(old, each.old_knob) not in setup.routes or each.old_knob not in knobs_of(setup):
            yield f"{label}: {each.old_knob} did not drive {old}"
        if each.old_travel != travel_of(setup, each.old_knob):
            yield f"{label}: {each.old_knob} did not go over {each.old_travel}"
            continue
        knobs.setdefault(bundle[old], set()).add(here.source_knob)
        joined = any(driving[n] == each.old_knob and bundle[n] != bundle[old] for n in driving)
        wanted = _regained(each.old_travel, inner_of(setup)[old], low, high, joined)
        want = Travel(_scaled(wanted.start, low, high), _scaled(wanted.end, low, high))
        if each.wanted != want or here.travel != want:
            yield f"{label}: {old} wants {each.wanted}, not {want}"
        if want.empty:
            yield f"{label}: {old} is to be driven over an empty travel"
    if any(len(each) > 1 for each in knobs.values()):
        yield f"{label}: a bundle is no longer one"
    if len(set().union(*knobs.values())) < len(knobs):
        yield f"{label}: two bundles are taken for one"


def _driving(setup: Setup, low: int, high: int) -> dict[str, str]:
    """The knob that each destination is brought from: the first to do something to it."""
    found: dict[str, str] = {}
    inner = inner_of(setup)
    for route in setup.routes:
        name, over = route.destination, travel_of(setup, route.knob)
        if name in inner and route.knob in knobs_of(setup) and max(over.start, over.end) < 2**low:
            steps = min(inner[name].steps or 2**low, 2**low)
            ends = {at * steps >> low for at in (over.start, over.end)}
            scaled = {_scaled(at, low, high) for at in (over.start, over.end)}
            if min(len(ends), len(scaled)) > 1:
                found.setdefault(name, route.knob)
    return found


def _regained(over: Travel, inner: Destination, low: int, high: int, joined: bool) -> Travel:
    """The travel to bring it over: its own, if that can be had and the other was not its alone."""
    own, top = inner.travel, (1 << low) - 1
    if own is None or max(own.start, own.end) > top:
        return over
    start, end = _scaled(own.start, low, high), _scaled(own.end, low, high)
    if inner.steps is not None and inner.steps < 1 << high:
        start, end = (at * inner.steps >> high for at in (start, end))
    if start == end:
        return over
    return own if joined or MissedTravel("", "", own, over, top, inner.kind).alarming else over


def _scaled(value: int, low: int, high: int) -> int:
    return by_the_loop(value, low, high) if high > low else value >> (low - high)
