"""A combination gone over again, from the setups alone; shares nothing with what made it.

``complaints`` says all that is wrong with a combination: something of the base changed, something
of a source lost or there twice or not counted, a travel told wrongly, a name not followed through,
a snapshot that a new route breaks, something that cannot be played alone. An empty list means that
none of this is so.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterator, Sequence

from knobpack.combination.answer import Combination
from knobpack.combination.report import Source
from knobpack.words import Route, Setup, Snapshot, Travel
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
    told += _counted(base, sources, found)
    if own_snapshots:
        told += _playable(base, sources, found)
    told += _new_routes(base, found, freed)
    told += _layers(base, found)
    told += _independent(base, found, freed)
    return told


def _labels(base: Setup, sources: Sequence[Source]) -> list[str]:
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
    if grown and grown != [_widest(base)]:
        yield f"{grown} were grown, and the widest is {_widest(base)}"


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


def _conserved(source: Source, label: str, found: Combination) -> Iterator[str]:
    setup = source.setup
    picked = [v for v in setup.voices if source.voices is None or v.name in source.voices]
    names = {voice.name for voice in picked}
    left = Counter(
        (e.kind, e.name)
        for e in found.left
        if e.setup == label and not (e.kind == "snapshot" and "as the knob did there" in e.why)
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
    knob = {e.full_name: e.old_knob for e in found.carried if e.source == label}
    for snapshot in setup.snapshots:
        named = moves(setup, snapshot)
        want = {image[each] for each in named if each in image}
        # What its knob does there counts, not what is named.
        able = {name for name in knob if inner_of(now)[name].movable}
        want = {
            name
            for name in want | able
            if (name in want if knob.get(name) is None else _follows(setup, named, knob[name]))
        }
        if snapshot.name in new:
            here = stored[new[snapshot.name]]
            same = moves(now, here) & set(knob) == want & set(knob)
            if not same or here.break_weight != snapshot.break_weight:
                yield f"{label}: the snapshot {snapshot.name} moves something else"
            continue
        reason = why.get(snapshot.name, "")
        like = [s for s in now.snapshots if f"as '{s.name}'" in reason]
        if like and not _alike(now, moves(now, like[0]), want & driven, driven):
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


def _follows(setup: Setup, moved: Collection[str], knob: str | None) -> bool:
    """Whether more of what a knob carries is to move than to be held."""
    on = {r.destination for r in setup.routes if r.knob == knob} & set(inner_of(setup))
    return 2 * len(on & set(moved)) > len(on)


def _working(setup: Setup, moved: Collection[str]) -> frozenset[str]:
    """The knobs that move something, where so much is to move."""
    return frozenset(
        knob for knob in knobs_of(setup) if _stirs(setup, knob) and _follows(setup, moved, knob)
    )


def _stirs(setup: Setup, knob: str) -> bool:
    """Whether a knob makes a difference to anything it carries over its travel."""
    top = 2**setup.surface.bits - 1
    travel = travel_of(setup, knob)
    start, end = min(travel.start, top), min(travel.end, top)
    inner = inner_of(setup)
    for route in setup.routes:
        if route.knob == knob and route.destination in inner:
            steps = inner[route.destination].steps
            if steps is None or steps > top:
                if start != end:
                    return True
            elif start * steps // (top + 1) != end * steps // (top + 1):
                return True
    return False


def _widest(setup: Setup) -> str | None:
    """The snapshot in which all knobs work that work in any; None: none, or more than one."""
    works = {each.name: _working(setup, moves(setup, each)) for each in setup.snapshots}
    every = frozenset().union(*works.values())
    found = [name for name, knobs in works.items() if knobs == every and every]
    return found[0] if len(found) == 1 else None


def _alike(now: Setup, one: Collection[str], other: Collection[str], driven: set[str]) -> bool:
    """Whether two snapshots come to the same: on the same knobs, as far as there are any."""
    return set(one) & driven == set(other) & driven or _working(now, one) == _working(now, other)


def _counted(base: Setup, sources: Sequence[Source], found: Combination) -> Iterator[str]:
    """Everything that was to come is counted, and what names nothing is told."""
    placed, asked = found.came
    new = [each for each in found.carried if each.source != base.name]
    behind = sum(len(each.destinations) or 1 for each in found.unlayered)
    if placed != len([e for e in new if e.new_knob]) or asked != placed + len(
        found.without_knob
    ) - len([e for e in found.carried if e.source == base.name and not e.new_knob]) + behind + len(
        found.slips
    ):
        yield f"{placed} of {asked} is counted wrongly"
    for source, label in zip(sources, _labels(base, sources), strict=True):
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


def _playable(base: Setup, sources: Sequence[Source], found: Combination) -> Iterator[str]:
    """All, the base and each source can be played, as far as the surface stores snapshots."""
    now = found.setup
    works = {each.name: _working(now, moves(now, each)) for each in now.snapshots}
    new = [each.name for each in now.snapshots[len(base.snapshots) :]]
    given = set(found.wanted.give_up)
    full = now.surface.snapshots is not None and len(now.snapshots) >= now.surface.snapshots
    values = list(works.values())
    for name in new:
        if not works[name]:
            yield f"the snapshot {name} moves nothing"
    yield from _own_names(base, found)
    own = set(inner_of(base))
    stored = base.snapshots or (Snapshot("assumed", tuple(v.name for v in base.voices)),)
    ours = frozenset().union(*(_working(base, moves(base, each)) for each in stored))
    clean = {
        knob
        for knob in ours
        if all(
            inner_of(base)[r.destination].movable
            for r in base.routes
            if r.knob == knob and r.destination in own
        )
    }
    doubled = Counter(r.destination for r in set(base.routes) if r.knob in knobs_of(base))
    if full or given or found.wanted.free or any(n > 1 for n in doubled.values()):
        return
    theirs: set[str] = set()
    for source, label in zip(sources, _labels(base, sources), strict=True):
        mine = _moving(source, label, found)
        theirs |= mine
        knobs = _working(now, mine)
        if knobs and not any(
            set(moves(now, each)) & _driven(now) & (own | set().union(*_others(found, label)))
            == set()
            and works[each.name] == knobs
            for each in now.snapshots
        ):
            yield f"{label} cannot be played alone"
    everything = _working(now, theirs) | clean
    if theirs and _working(now, theirs) and not any(everything <= each for each in values):
        yield "no snapshot moves all"
    if theirs and clean and _working(now, theirs):
        alone = [e for e in now.snapshots if not moves(now, e) & theirs and works[e.name] & ours]
        if not alone:
            yield "the base cannot be played alone"


def _own_names(base: Setup, found: Combination) -> Iterator[str]:
    """A snapshot keeps its name but where another one has it, or it says all and moves less."""
    taken = {each.name for each in (*base.snapshots, *found.setup.snapshots)}
    taken |= {base.name, "All", "all", "everything"}
    wished = Counter(s.name for one in found.wanted.sources for s in one.setup.snapshots)
    for each in found.brought:
        free = each.old not in taken and wished[each.old] == 1
        if each.kind == "snapshot" and each.new != each.old and free:
            yield f"{each.source}: {each.old} is called {each.new}, though its name is free"


def _others(found: Combination, label: str) -> Iterator[set[str]]:
    for each in found.carried:
        if each.source != label:
            yield {each.full_name}


def _driven(setup: Setup) -> set[str]:
    return {r.destination for r in setup.routes if r.knob in knobs_of(setup)}


def _moving(source: Source, label: str, found: Combination) -> set[str]:
    """What of a source follows in any of its snapshots, under its names now."""
    setup = source.setup
    stored = setup.snapshots or (Snapshot("assumed", tuple(v.name for v in setup.voices)),)
    inner = inner_of(found.setup)
    return {
        each.full_name
        for each in found.carried
        if each.source == label and inner[each.full_name].movable
        for snapshot in stored
        if (
            _follows(setup, moves(setup, snapshot), each.old_knob)
            if each.old_knob
            else f"{each.voice}/{each.destination}" in moves(setup, snapshot)
        )
    }
