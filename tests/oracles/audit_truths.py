"""Every finding that there is about a setup, from the positions that it puts everything at.

It shares nothing with :mod:`knobpack.auditing` but the names of causes and the class of findings.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

from knobpack.auditing import causes
from knobpack.auditing.findings import Finding
from knobpack.words import Setup
from tests.oracles.audit_positions import (
    ends,
    fixed,
    follows,
    moving,
    on,
    on_routes,
    standing,
    states,
    taken_apart,
    there,
    top_of,
    travels,
    voice_is_missing,
    working,
)


def truths(setup: Setup) -> list[Finding]:
    """Every finding that there is, without its mend, in no order."""
    return [
        *_routes(setup),
        *_travels(setup),
        *_misplaced(setup),
        *_knobs(setup),
        *_snapshots(setup),
        *_positions(setup),
        *_names(setup),
        *_layers(setup),
        *_limits(setup),
        *_sent(setup),
        *_shown(setup),
        *_heard(setup),
    ]


def _found(cause: str, severity: str, **involved: Any) -> Finding:
    return Finding(cause, "", severity, **involved)


def _routes(setup: Setup) -> Iterator[Finding]:
    panel = [each.name for each in setup.surface.knobs]
    for index, route in enumerate(setup.routes):
        knob, name = route.knob, route.destination
        if (knob, name) in [(each.knob, each.destination) for each in setup.routes[:index]]:
            continue
        times = len([r for r in setup.routes if (r.knob, r.destination) == (knob, name)])
        if times > 1:
            yield _found(
                causes.REPEATED, "doubtful", knobs=(knob,), destinations=(name,), numbers=(times,)
            )
        if knob not in panel:
            yield _found(causes.MISSING_KNOB, "wrong", destinations=(name,), missing=(knob,))
        if name not in there(setup):
            no_voice = voice_is_missing(setup, name)
            cause = causes.MISSING_VOICE if no_voice else causes.MISSING_DESTINATION
            voices = tuple(v.name for v in setup.voices if v.name == name.split("/")[0])
            yield _found(cause, "wrong", knobs=(knob,), voices=voices, missing=(name,))
    for name in there(setup):
        knobs = tuple(knob for knob in panel if name in on(setup, knob))
        if len(knobs) > 1:
            yield _found(causes.DOUBLED, "wrong", knobs=knobs, destinations=(name,))
    for voice in setup.voices:
        mine = [f"{voice.name}/{inner.name}" for inner in voice.destinations]
        left = tuple(n for n in mine if not any(n in on(setup, knob) for knob in panel))
        if left:
            yield _found(causes.UNREACHED, "dead", destinations=left, voices=(voice.name,))


def _misplaced(setup: Setup) -> Iterator[Finding]:
    panel = [each.name for each in setup.surface.knobs]
    for each in setup.travels:
        ends_told = (each.travel.start, each.travel.end)
        if each.knob not in panel:
            yield _found(causes.STRAY_TRAVEL, "wrong", missing=(each.knob,), numbers=ends_told)
        elif on_routes(setup):
            names = tuple(on(setup, each.knob))
            of: dict[str, Any] = {"knobs": (each.knob,), "destinations": names}
            yield _found(causes.MISPLACED, "wrong", numbers=ends_told, **of)
    for place, route in enumerate(setup.routes):
        if route.travel and not on_routes(setup) and route not in setup.routes[:place]:
            of = {"knobs": (route.knob,), "destinations": (route.destination,), "on_route": True}
            own_ends = (route.travel.start, route.travel.end)
            yield _found(causes.MISPLACED, "wrong", numbers=own_ends, **of)


def _travels(setup: Setup) -> Iterator[Finding]:
    top = top_of(setup)
    for knob, names, asked in travels(setup):
        if asked.start > top or asked.end > top:
            of: dict[str, Any] = {"knobs": (knob,), "destinations": names}
            of["on_route"] = on_routes(setup)
            yield _found(causes.OUTSIDE, "wrong", numbers=(asked.start, asked.end, top), **of)
    yield from _unset(setup)
    yield from _turned(setup)
    for voice in setup.voices:
        for inner in voice.destinations:
            own = inner.travel
            if own and (own.start > top or own.end > top):
                yield _found(
                    causes.WISH_OUTSIDE,
                    "doubtful",
                    destinations=(f"{voice.name}/{inner.name}",),
                    numbers=(own.start, own.end, top),
                )


def _unset(setup: Setup) -> Iterator[Finding]:
    top, set_on = top_of(setup), [each.knob for each in setup.travels]
    wishes = {f"{v.name}/{d.name}": d.travel for v in setup.voices for d in v.destinations}
    for knob in (each.name for each in setup.surface.knobs):
        told: list[list[str]] = []
        for name in on(setup, knob):
            own = next(r.travel for r in setup.routes if (r.knob, r.destination) == (knob, name))
            is_set = own is not None if on_routes(setup) else knob in set_on
            wish = wishes[name]
            if is_set or wish is None or max(wish.start, wish.end) > top:
                continue
            if wish.start == wish.end or (wish.start, wish.end) == (0, top):
                continue
            alike = [each for each in told if not on_routes(setup) and wishes[each[0]] == wish]
            if alike:
                alike[0].append(name)
            else:
                told.append([name])
        for names in told:
            wish = wishes[names[0]]
            assert wish is not None
            of: dict[str, Any] = {"knobs": (knob,), "destinations": tuple(names)}
            of["on_route"] = on_routes(setup)
            yield _found(causes.UNSET, "doubtful", numbers=(wish.start, wish.end), **of)


def _turned(setup: Setup) -> Iterator[Finding]:
    top, set_on = top_of(setup), [each.knob for each in setup.travels]
    wishes = {f"{v.name}/{d.name}": d.travel for v in setup.voices for d in v.destinations}
    for knob in (each.name for each in setup.surface.knobs):
        for name in on(setup, knob):
            own = next(r.travel for r in setup.routes if (r.knob, r.destination) == (knob, name))
            wish, (first, last) = wishes[name], ends(setup, knob, name)
            if wish is None or wish.start > top or wish.end > top:
                continue
            told = (first, last, wish.start, wish.end)
            way_up, up = last - first, wish.end - wish.start
            if way_up * up < 0 and (own is not None if on_routes(setup) else knob in set_on):
                of: dict[str, Any] = {"knobs": (knob,), "destinations": (name,), "numbers": told}
                yield _found(causes.TURNED, "doubtful", on_route=on_routes(setup), **of)


def _knobs(setup: Setup) -> Iterator[Finding]:
    for knob in (each.name for each in setup.surface.knobs):
        carries = tuple(on(setup, knob))
        if not carries:
            reserved = knob in setup.surface.reserved
            if not reserved and knob not in [route.knob for route in setup.routes]:
                yield _found(causes.NO_ROUTE, "dead", knobs=(knob,))
        still = [n for n in carries if not taken_apart(setup, n, *ends(setup, knob, n))]
        followed = any(follows(setup, state, knob) for state in states(setup))
        if len(still) < len(carries) and not followed:
            free = set(carries) - fixed(setup)
            cause = causes.NEVER_FOLLOWS if free else causes.BY_HAND
            yield _found(cause, "by hand", knobs=(knob,), destinations=carries)
    for knob, names, asked in travels(setup):
        of: dict[str, Any] = {"knobs": (knob,), "on_route": on_routes(setup)}
        of["numbers"] = (asked.start, asked.end)
        if names and asked.start == asked.end:
            yield _found(causes.EMPTY_TRAVEL, "dead", destinations=names, **of)
        still = [n for n in names if not taken_apart(setup, n, *ends(setup, knob, n))]
        if still and len(set(ends(setup, knob, still[0]))) == 2:
            yield _found(causes.ONE_STEP, "dead", destinations=tuple(still), **of)


def _snapshots(setup: Setup) -> Iterator[Finding]:
    for state in states(setup):
        for knob in (each.name for each in setup.surface.knobs):
            carries = on(setup, knob)
            move = [name for name in carries if name in moving(setup, state)]
            hold = [name for name in carries if name not in move]
            if move and hold:
                yield _found(
                    causes.TORN,
                    "wrong" if state.firm else "doubtful",
                    knobs=(knob,),
                    destinations=tuple(carries),
                    snapshots=(state.name,),
                    wronged=tuple(hold if len(move) > len(hold) else move),
                    numbers=(len(move), len(hold)),
                )
    if not setup.snapshots:
        return
    done = {state.name: working(setup, state) for state in states(setup)}
    put = {each.name: (standing(setup, each), quiet(setup, each.name)) for each in states(setup)}
    for name, knobs in done.items():
        alike = tuple(other for other in done if (done[other], put[other]) == (knobs, put[name]))
        if not knobs:
            if any(put[name]):
                continue
            yield _found(causes.SILENT, "dead", snapshots=(name,))
        elif len(alike) > 1 and alike[0] == name:
            yield _found(causes.IDENTICAL, "doubtful", knobs=knobs, snapshots=alike)


def _positions(setup: Setup) -> Iterator[Finding]:
    panel, top = [each.name for each in setup.surface.knobs], top_of(setup)
    for snapshot, state in zip(setup.snapshots, states(setup), strict=False):
        for each in snapshot.positions:
            of: dict[str, tuple[str, ...]] = {"snapshots": (snapshot.name,)}
            at = (each.position,)
            if each.knob not in panel:
                missing = (each.knob,)
                yield _found(causes.STRAY_POSITION, "wrong", missing=missing, numbers=at, **of)
                continue
            of |= {"knobs": (each.knob,), "destinations": tuple(on(setup, each.knob))}
            if each.position > top:
                yield _found(causes.POSITION_OUTSIDE, "wrong", numbers=(*at, top), **of)
            if follows(setup, state, each.knob):
                yield _found(causes.IDLE_POSITION, "dead", numbers=at, **of)


def _names(setup: Setup) -> Iterator[Finding]:
    voices, panel = [v.name for v in setup.voices], [k.name for k in setup.surface.knobs]
    known = [*there(setup), *voices, *(g.name for g in setup.groups)]
    for snapshot in setup.snapshots:
        lost = [name for name in snapshot.moves if name not in known]
        lost += [name for name in snapshot.silent if name not in voices]
        lost += [name for name in snapshot.idle if name not in panel]
        missing = tuple(name for at, name in enumerate(lost) if name not in lost[:at])
        if missing:
            yield _found(
                causes.SNAPSHOT_NAMES, "wrong", snapshots=(snapshot.name,), missing=missing
            )
        held = tuple(name for name in snapshot.moves if name in fixed(setup))
        if held:
            yield _found(causes.IMMOVABLE, "wrong", snapshots=(snapshot.name,), destinations=held)
    for group in setup.groups:
        missing = tuple(name for name in group.members if name not in known)
        if missing:
            yield _found(causes.GROUP_NAMES, "wrong", groups=(group.name,), missing=missing)
    circles = {
        tuple(
            other.name
            for other in setup.groups
            if other.name in inside(setup, group.name) and group.name in inside(setup, other.name)
        )
        for group in setup.groups
    }
    for circle in circles:
        if circle:
            yield _found(causes.CIRCLE, "wrong", groups=circle)


def inside(setup: Setup, name: str) -> set[str]:
    """The groups within a group, itself only if it holds itself."""
    members = {group.name: set(group.members) for group in setup.groups}
    found: set[str] = set()
    more = members[name] & set(members)
    while more - found:
        found |= more
        more = {each for one in found for each in members[one]} & set(members)
    return found


def _layers(setup: Setup) -> Iterator[Finding]:
    placed = [(v.name, v.layer) for v in setup.voices if v.layer is not None]
    most = setup.surface.layers
    stay: dict[int, str] = {}
    leave = []
    for name, layer in placed:
        if layer in stay or (most is not None and layer > most):
            leave.append(name)
        else:
            stay[layer] = name
    reachable = range(1, (len(placed) + 1 if most is None else most) + 1)
    spare = [layer for layer in reachable if layer not in stay]
    spare = spare[: len(leave)]
    for name, layer in placed:
        if most is not None and layer > most:
            got = tuple(spare[leave.index(name) : leave.index(name) + 1])
            yield _found(
                causes.LAYER_BEYOND, "wrong", voices=(name,), numbers=(layer, most), free_layers=got
            )
    for layer in stay:
        here = tuple(name for name, at in placed if at == layer)
        if len(here) > 1:
            places = [leave.index(name) for name in here[1:]]
            got = tuple(spare[place] for place in places if place < len(spare))
            yield _found(
                causes.SHARED_LAYER, "wrong", voices=here, numbers=(layer,), free_layers=got
            )


def _limits(setup: Setup) -> Iterator[Finding]:
    surface = setup.surface
    for knob in (each.name for each in surface.knobs):
        carries, most = tuple(on(setup, knob)), surface.destinations_per_knob
        if most is not None and len(carries) > most:
            numbers = (len(carries), most, len(carries) - most)
            yield _found(
                causes.CROWDED, "wrong", knobs=(knob,), destinations=carries, numbers=numbers
            )
    count, limit = len(setup.routes), surface.routes
    if limit is not None and count > limit:
        yield _found(causes.ROUTES, "wrong", numbers=(count, limit, count - limit))
    count, limit = len(setup.snapshots), surface.snapshots
    if limit is not None and count > limit:
        yield _found(
            causes.SNAPSHOTS,
            "wrong",
            snapshots=tuple(each.name for each in setup.snapshots),
            numbers=(count, limit, count - limit),
        )


def quiet(setup: Setup, name: str) -> set[str]:
    """The voices that do not sound in a snapshot."""
    (snapshot,) = (each for each in setup.snapshots if each.name == name)
    return {voice.name for voice in setup.voices if voice.name in snapshot.silent}


def _sent(setup: Setup) -> Iterator[Finding]:
    """What two knobs send on one channel, and what knobs send and show that are not there."""
    panel = [each.name for each in setup.surface.knobs]
    messages = []  # the number and the channel of all that every knob sends
    for knob in panel:
        for each in setup.sending:
            if each.knob == knob and each.number is not None:
                of = {n.split("/")[0] for n in on(setup, knob)}
                heard = {v.channel for v in setup.voices if v.name in of and v.channel}
                channels: set[int | None] = {each.channel} if each.channel else {*heard}
                channels = channels or {None}
                # The low half has the number of its high half and 32 (MIDI 1.0, page 12).
                # MIDI 1.0, Table III and page 12: other meanings, and low halves.
                if each.number in {0, 6, 32, 38, *range(96, 102), *range(120, 128)}:
                    yield _found(causes.NO_POSITION, "wrong", knobs=(knob,), numbers=(each.number,))
                elif 32 <= each.number < 64:
                    halves = (each.number, each.number - 32)
                    yield _found(causes.NO_POSITION, "wrong", knobs=(knob,), numbers=halves)
                both = [each.number, each.number + 32] if each.fine else [each.number]
                messages += [(n, channel, knob) for n in both for channel in channels]
    for number, channel in {each[:2] for each in messages}:
        knobs = tuple(knob for n, c, knob in messages if (n, c) == (number, channel))
        if len(knobs) > 1:
            told = (number,) if channel is None else (number, channel)
            yield _found(causes.SAME_NUMBER, "wrong", knobs=knobs, numbers=told)
    told_of = {each.knob for each in setup.labels} | {each.knob for each in setup.sending}
    for knob in told_of - set(panel):
        yield _found(causes.STRAY_PANEL, "wrong", missing=(knob,))


def _shown(setup: Setup) -> Iterator[Finding]:
    """Labels that are too long, or on two knobs."""
    label = {each.knob: each.label for each in setup.labels}
    panel = [each.name for each in setup.surface.knobs if each.name in label]
    most = setup.surface.label_length
    for knob in panel:
        if most and len(label[knob]) > most:
            numbers = (len(label[knob]), most)
            yield _found(causes.LONG_LABEL, "doubtful", knobs=(knob,), numbers=numbers)
        same = tuple(k for k in panel if label[k].casefold() == label[knob].casefold())
        if same[0] == knob and len(same) > 1:
            yield _found(causes.SAME_LABEL, "doubtful", knobs=same)


def _heard(setup: Setup) -> Iterator[Finding]:
    """Voices that no Note On reaches (MIDI 1.0: one of velocity 0 is a Note Off); idle knobs."""
    for voice in setup.voices:
        name = (voice.name,)
        for cause, span, least in (
            (causes.NO_KEY, voice.keys, 0),
            (causes.NO_VELOCITY, voice.velocities, 1),
        ):
            if span and not any(span.low <= data <= span.high for data in range(least, 128)):
                yield _found(cause, "dead", voices=name, numbers=(span.low, span.high))
        if setup.snapshots and all(voice.name in each.silent for each in setup.snapshots):
            yield _found(causes.MUTED, "dead", voices=name)
    for snapshot in setup.snapshots:
        of = (snapshot.name,)
        noted = [each.name for each in setup.surface.knobs if each.name in snapshot.idle]
        none = tuple(knob for knob in noted if not on(setup, knob))
        if none:
            yield _found(causes.IDLE, "dead", knobs=none, snapshots=of)
        for knob in noted:
            if knob not in none:
                driven = tuple(on(setup, knob))
                yield _found(
                    causes.NOT_IDLE, "wrong", knobs=(knob,), destinations=driven, snapshots=of
                )
