"""Merge: a setup as it was, with what was edited since something that goes again (three-way merge).

What goes again is the way to another panel, an edit, or that a knob was broken. What is now as that
left it is what it was before, position by position: nothing is scaled back that was not set anew.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import Any, TypeAlias, TypeVar

import attrs

from knobpack.edits.made import Made, along, goes_of, knob_of, layout_of
from knobpack.edits.memory import before_and_after
from knobpack.edits.panels import Crossing
from knobpack.grouped import grouped
from knobpack.setups.as_read import read
from knobpack.words import (
    KnobLabel,
    KnobTravel,
    Layout,
    Route,
    Rule,
    Setup,
    Snapshot,
    Travel,
    Voice,
    VoiceLayer,
)
from knobpack.words.rules import member_lists, rule_without
from knobpack.words.setup_edits import OwnKnob, Part
from knobpack.words.snapshot import storing

_Word = TypeVar("_Word")
_Beside: TypeAlias = dict[str, frozenset[str]]

_NAMING = ("names", "others")
"""The fields in which edits name what they are about."""


def merged(was: Setup, arrived: Setup, current: Setup) -> tuple[Setup, Layout, dict[str, Travel]]:
    """The setup at home with what was edited since, and the layout that it would have there.

    Args:
        was: how it was at home, or before an edit.
        arrived: how it was when it came to the other panel, or right after.
        current: how it is now.

    Returns:
        The setup, its travels, stored positions and labels as they were; and the layout, each
        destination once: some may be on a knob which the home panel has not, and are to find
        another; and the travel of each by itself.
    """
    back = Crossing.between(was.surface, current.surface).back
    voices = _named(was.voices, arrived.voices, current.voices, _voice(back))
    there = {full for voice in voices for full in voice.by_full_name}
    beside = _beside(was, arrived, current, back)
    found = _places(was, arrived, current, back, beside | _made_room(was, arrived, current))
    places = {name: knob for name, knob in found if name in there}
    setup = attrs.evolve(
        was,
        name=was.name if current.name == arrived.name else current.name,
        voices=voices,
        groups=_named(was.groups, arrived.groups, current.groups, lambda _, __, new: new),
        routes=_routes(was, places, there),
        travels=_travels(was, arrived, current, back),
        snapshots=_named(was.snapshots, arrived.snapshots, current.snapshots, _snapshot(back)),
        agreed=_agreed(was.agreed, arrived.agreed, current.agreed, back, there, beside),
    )
    layers = (VoiceLayer(v.name, v.layer) for v in voices if v.layer is not None)
    rank = read(current).rank | read(was).rank
    goes = _goes(was, arrived, current, back, beside)
    goes = {name: travel for name, travel in goes.items() if name in places}
    return setup, layout_of(was.surface, places, goes, rank, layers), goes


def with_settings(was: Setup, arrived: Setup, current: Setup, made: Setup) -> Made:
    """A setup that was made at home, with what its knobs stood at and showed there.

    Both go with what the knobs drive. What was stored or labelled by hand on the other panel is
    brought along: what differs from what the edits there alone would have led to.

    Args:
        was: how it was at home, or before an edit.
        arrived: how it was when it came to the other panel, or right after.
        current: how it is now.
        made: the setup with its routes at home.
    """
    back = Crossing.between(was.surface, current.surface).back
    there = _by_edits_alone(was, made)
    at = _home_knobs(current, made, back)
    alone = _by_edits_alone(arrived, current).setup
    due = {each.name: each.stored for each in alone.snapshots}
    now = {each.name: each.stored for each in current.snapshots}
    snapshots = []
    for each in there.setup.snapshots:
        found, name = {**each.stored}, each.name
        if name in due:
            found = _brought(found, due[name], now.get(name, {}), at, back.position)
        snapshots.append(each if found == each.stored else storing(each, found))
    first = {knob: at_home[:1] for knob, at_home in at.items()}
    labels, owed, shown = (
        {e.knob: e.label for e in one.labels} for one in (there.setup, alone, current)
    )
    told = tuple(KnobLabel(*each) for each in _brought(labels, owed, shown, first, str).items())
    if set(told) == set(there.setup.labels):
        told = there.setup.labels
    made = attrs.evolve(there.setup, snapshots=tuple(snapshots), labels=told)
    return attrs.evolve(there, setup=made)


def _by_edits_alone(before: Setup, after: Setup) -> Made:
    """The setup after, had nothing been stored or labelled by hand since it was as before."""
    stored = {each.name: each.positions for each in before.snapshots}
    bare = tuple(
        attrs.evolve(each, positions=stored.get(each.name, each.positions))
        for each in after.snapshots
    )
    return along(before, attrs.evolve(after, snapshots=bare, labels=before.labels))


def _home_knobs(current: Setup, made: Setup, back: Crossing) -> dict[str, tuple[str, ...]]:
    """For each knob of the other panel those at home that drive the same, or stand for it."""
    at_home, rank = knob_of(read(made)), read(current).rank
    found: dict[str, tuple[str, ...]] = {knob: (own,) for knob, own in back.knobs.items()}
    for knob, names in read(current).carries.items():
        driven = [name for name in sorted(names, key=rank.__getitem__) if name in at_home]
        if driven:
            found[knob] = tuple(dict.fromkeys(at_home[name] for name in driven))
    return found


def _brought(
    there: Mapping[str, _Word],
    expected: Mapping[str, _Word],
    now: Mapping[str, _Word],
    at: Mapping[str, Iterable[str]],
    scaled: Callable[[_Word], _Word],
) -> dict[str, _Word]:
    """What is said of each knob at home, and what is now otherwise than expected."""
    found = {**there}
    for knob in dict.fromkeys((*expected, *now)):
        for home in at.get(knob, ()) if expected.get(knob) != now.get(knob) else ():
            found.pop(home, None)
            if knob in now:
                found[home] = scaled(now[knob])
    return found


def _travels(was: Setup, arrived: Setup, current: Setup, back: Crossing) -> tuple[KnobTravel, ...]:
    """The travels of knobs at home: as they were there, unless they were set anew since."""
    old, came, now = ({e.knob: e.travel for e in each.travels} for each in (was, arrived, current))
    at = {knob: (there,) for knob, there in back.knobs.items()}
    return tuple(KnobTravel(*each) for each in _brought(old, came, now, at, back.travel).items())


def _goes(
    was: Setup, arrived: Setup, current: Setup, back: Crossing, beside: _Beside
) -> dict[str, Travel]:
    """The travel of each destination at home: as it was there, unless it was set anew since."""
    at = knob_of(read(current))
    guests = {n for n, own in beside.items() if at.get(n) in {at.get(each) for each in own}}
    old, came, now = (goes_of(read(each)) for each in (was, arrived, current))
    found = {name: back.travel(travel) for name, travel in now.items()}
    same = (name for name in old if name in guests or came.get(name) == now.get(name))
    return found | {name: old[name] for name in same}


def _named(
    was: Sequence[Any],
    arrived: Sequence[Any],
    current: Sequence[Any],
    join: Callable[[Any, Any, Any], Any],
) -> tuple[Any, ...]:
    """What has names, at home: as it was there, but for what was done to it since it came.

    What is gone since then is gone, and what is new comes last. What did not come along is there
    again.
    """
    old = {each.name: each for each in was}
    came = {each.name: each for each in arrived}
    now = {each.name: each for each in current}
    stay = [name for name in old if name in now or name not in came]
    known = [name for name in now if name in old]
    if known != [name for name in stay if name in now]:
        # They were put in another order since.
        stay = [*known, *(name for name in stay if name not in now)]
    found = [
        old[name] if now.get(name) == came.get(name) else join(old[name], came.get(name), now[name])
        for name in stay
    ]
    return (*found, *(join(None, None, each) for name, each in now.items() if name not in old))


def _fields(arrived: Any, current: Any, but: Iterable[str]) -> dict[str, Any]:
    """The fields of a word that were edited since."""
    names = (field.name for field in attrs.fields(type(current)) if field.name not in but)
    return {n: getattr(current, n) for n in names if getattr(current, n) != getattr(arrived, n)}


def _voice(back: Crossing) -> Callable[[Voice | None, Voice | None, Voice], Voice]:
    def join(was: Voice | None, arrived: Voice | None, current: Voice) -> Voice:
        if was is None or arrived is None:
            return back.voice(current)
        old, came, now = (each.destinations for each in (was, arrived, current))
        kept = _named(old, came, now, lambda _, __, new: back.destination(new))
        return attrs.evolve(was, destinations=kept, **_fields(arrived, current, ("destinations",)))

    return join


def _snapshot(back: Crossing) -> Callable[[Snapshot | None, Snapshot | None, Snapshot], Snapshot]:
    def join(was: Snapshot | None, arrived: Snapshot | None, current: Snapshot) -> Snapshot:
        if was is None or arrived is None:
            return back.snapshot(current)
        edited = _fields(arrived, current, ("positions", "idle", "moves"))
        if current.moves != arrived.moves:
            stayed = (name for name in was.moves if name not in arrived.moves)
            edited["moves"] = tuple(dict.fromkeys((*current.moves, *stayed)))
        if current.idle != arrived.idle:
            edited["idle"] = back.snapshot(current).idle
        return attrs.evolve(was, **edited)

    return join


def _beside(was: Setup, arrived: Setup, current: Setup, back: Crossing) -> _Beside:
    """What came there to the knob of others, and those others.

    At home, what was done to that knob since is done to those alone: what was on the one in its
    place, or where nothing was, with the most important. What edits name themselves is not meant.
    """
    old, came, reading = knob_of(read(was)), knob_of(read(arrived)), read(current)
    since = current.edits[len(arrived.edits) :]
    given = (getattr(past.what, field, ()) for past in since for field in _NAMING)
    named = reading.named(name for names in given for name in names if name in reading.known)
    rank, found = read(arrived).rank, dict[str, frozenset[str]]()
    for knob, names in grouped((came[n], n) for n in old if n in came).items():
        at = [old[name] for name in sorted(names, key=rank.__getitem__)]
        first = back.knobs[knob] if back.knobs.get(knob) in at else at[0]
        own = frozenset(name for name in names if old[name] == first)
        found |= dict.fromkeys({*names} - own - named, own)
    return found


def _made_room(was: Setup, arrived: Setup, current: Setup) -> _Beside:
    """What stays at home where it was though edits since then moved it: beside itself alone.

    It made room there for what was to part from others, or to have a knob of its own; and so does
    what they named, if it has at home already what was asked for.
    """
    old, reading, stays = knob_of(read(was)), read(current), set[str]()
    for at, past in enumerate(current.edits[len(arrived.edits) :], len(arrived.edits)):
        if not isinstance(past.what, OwnKnob | Part) or getattr(past.what, "knob", None):
            continue
        sides = [reading.named(getattr(past.what, field, ())) for field in _NAMING]
        before, after = (knob_of(read(each)) for each in before_and_after(current, at))
        named = set[str]().union(*sides)
        stays |= {name for name in before if before[name] != after.get(name)} - named
        own, others = ({old[name] for name in side if name in old} for side in sides)
        if isinstance(past.what, OwnKnob):
            others = {old[name] for name in old.keys() - named}
        if named <= old.keys() and not own & others and len(own) == 1:
            stays |= named
    now = knob_of(reading)
    return {name: frozenset([name]) for name in stays if name in old and name in now}


def _places(
    was: Setup, arrived: Setup, current: Setup, back: Crossing, beside: _Beside
) -> Iterable[tuple[str, str]]:
    """The knob of each destination: that of home, or where it was put since."""
    old, came, now = knob_of(read(was)), knob_of(read(arrived)), knob_of(read(current))
    for name in dict.fromkeys((*old, *now)):
        at = now.get(name)
        if came.get(name) == at or any(now.get(each) == at for each in beside.get(name, ())):
            if name in old:
                yield name, old[name]
        elif name in now:
            # A knob that home has not is none that the solver can use: it finds another.
            yield name, back.knobs.get(now[name], now[name])


def _routes(was: Setup, places: Mapping[str, str], there: Iterable[str]) -> tuple[Route, ...]:
    """The routes at home, each where it is put; those of voices that are gone go."""
    old, left = knob_of(read(was)), dict(places)
    known, panel = set(there), set(was.surface.knob_names)
    gone = set(old) - known
    found = []
    for route in was.routes:
        name = route.destination
        if name in gone:
            continue
        if old.get(name) == route.knob:
            knob = left.pop(name, None)
            found += [attrs.evolve(route, knob=knob)] if knob in panel else []
        else:
            found.append(route)
    return (*found, *(Route(name, knob) for name, knob in left.items() if knob in panel))


def _agreed(
    was: Sequence[Rule],
    arrived: Sequence[Rule],
    current: Sequence[Rule],
    back: Crossing,
    there: Iterable[str],
    beside: _Beside,
) -> tuple[Rule, ...]:
    """The rules of home that still hold, and those that were agreed on since."""
    forth, known = back.back, set(there)
    # What waited or gave way when it came to the other panel is there again at home.
    ended = {rule for rule in arrived if rule not in current}
    kept = [rule for rule in was if forth.rule(rule) not in ended]
    new = [back.rule(rule) for rule in current if rule not in arrived]
    found = []
    for rule in dict.fromkeys((*kept, *(each for each in new if each is not None))):
        names = {name for each in member_lists(rule).values() for name in each}
        gone = names - known
        if rule in new and not rule.effect(tuple, ()).parted:
            gone |= {name for name in names if names & beside.get(name, set())}
        left = rule_without(rule, gone)
        found += [left] if left is not None else []
    return tuple(found)
