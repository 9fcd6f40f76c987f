"""Guest: what one source brings, under names and in positions that the host can take."""

from __future__ import annotations

from collections.abc import Collection, Iterable

import attrs

from knobpack.combination.report import Left, Source
from knobpack.positions.scaling import scaled_travel
from knobpack.words import Destination, Group, Setup, Snapshot, Travel, Voice


@attrs.frozen
class Wish:
    """A destination that a source drove: by which knob, over which travel of that surface."""

    voice: Voice
    destination: Destination
    knob: str
    travel: Travel


@attrs.frozen
class Guest:
    """What one source brings.

    Args:
        label: the name that its group and its own snapshot go by.
        source: where it comes from.
        names: the old and the new name of each voice and group.
        voices: the voices whole, under their new names, their travels rescaled.
        wishes: the destinations that a knob of the source drove.
        groups: its groups, as far as they hold picked voices.
        snapshots: its snapshots, as far as they move picked voices.
        left: what is not carried over.
    """

    label: str
    source: Source
    names: dict[str, str]
    voices: tuple[Voice, ...]
    wishes: tuple[Wish, ...]
    groups: tuple[Group, ...]
    snapshots: tuple[Snapshot, ...]
    left: tuple[Left, ...]

    @property
    def wanted(self) -> tuple[str, ...]:
        """The full names, as they are now, of what a knob of the source drove."""
        return tuple(
            f"{self.names[wish.voice.name]}/{wish.destination.name}" for wish in self.wishes
        )


def guest(source: Source, taken: set[str], bits: int, unreached: bool) -> Guest:
    """Work out what a source brings.

    Args:
        source: the setup and the voices to bring.
        taken: names of voices, groups and snapshots that are in use; those given here join them.
        bits: the resolution of the surface that they come to.
        unreached: whether what no knob reached is to be asked for too.
    """
    setup = source.setup
    label = unique(setup.name, taken, "again")
    picked = set(source.picked)
    names = {name: unique(name, taken, label) for name in source.picked}
    wishes, left = _wishes(setup, picked)
    voices = tuple(
        attrs.evolve(
            voice,
            name=names[voice.name],
            source=label,
            destinations=tuple(
                _brought(setup, voice, inner, wishes, bits) for inner in voice.destinations
            ),
        )
        for voice in setup.voices
        if voice.name in picked
    )
    if not unreached:
        left += _unreached(setup, picked, wishes)
    gone = empty_groups(setup, picked)
    for group in setup.groups:
        if group.name in gone:
            left.append(Left(setup.name, "group", group.name, "holds nothing that is brought"))
        else:
            names[group.name] = unique(group.name, taken, label)
    groups = [
        Group(names[group.name], renamed(setup, group.members, picked, names))
        for group in setup.groups
        if group.name not in gone
    ]
    snapshots: list[Snapshot] = []
    for snapshot in setup.snapshots:
        moves = renamed(setup, snapshot.moves, picked, names)
        if moves:
            name = unique(snapshot.name, taken, label)
            snapshots.append(attrs.evolve(snapshot, name=name, moves=moves))
        else:
            why = "moves nothing that is brought"
            left.append(Left(setup.name, "snapshot", snapshot.name, why))
    return Guest(
        label=label,
        source=source,
        names=names,
        voices=voices,
        wishes=tuple(wishes),
        groups=tuple(groups),
        snapshots=tuple(snapshots),
        left=tuple(left),
    )


def _brought(
    setup: Setup, voice: Voice, inner: Destination, wishes: Iterable[Wish], bits: int
) -> Destination:
    """A destination as it is brought: its travel is that of the knob that drove it, rescaled."""
    for wish in wishes:
        if (wish.voice.name, wish.destination.name) == (voice.name, inner.name):
            travel = scaled_travel(wish.travel, setup.surface.bits, bits)
            return attrs.evolve(inner, travel=travel, source_knob=wish.knob)
    own = inner.travel
    if own is not None and max(own.start, own.end) <= setup.surface.top:
        own = scaled_travel(own, setup.surface.bits, bits)
    else:
        own = None
    return attrs.evolve(inner, travel=own, source_knob=None)


def empty_groups(setup: Setup, picked: Collection[str]) -> set[str]:
    """The groups that hold nothing that is brought, themselves or through others."""
    inner = {v.full_name(each): v.name for v in setup.voices for each in v.destinations}
    gone = {group.name for group in setup.groups}
    before = len(gone) + 1
    while len(gone) < before:
        before = len(gone)
        alive = {group.name for group in setup.groups} - gone
        for group in setup.groups:
            if any(m in picked or m in alive or inner.get(m) in picked for m in group.members):
                gone.discard(group.name)
    return gone


def _wishes(setup: Setup, picked: Collection[str]) -> tuple[list[Wish], list[Left]]:
    """What each knob that is there drives over a travel that is not empty; what cannot be kept."""
    by_name = {
        voice.full_name(inner): (voice, inner)
        for voice in setup.voices
        for inner in voice.destinations
    }
    travels = travels_of(setup)
    knobs = set(setup.surface.knob_names)
    wishes: dict[str, Wish] = {}
    left: list[Left] = []
    for route in setup.routes:
        told = f"{route.knob} to {route.destination}"
        owner = by_name.get(route.destination)
        if owner is None:
            left.append(Left(setup.name, "route", told, "leads to nothing that is there"))
        elif owner[0].name not in picked:
            continue
        elif route.knob not in knobs:
            left.append(Left(setup.name, "route", told, "comes from no knob of the surface"))
        elif travels[route.knob].empty:
            why = "does nothing: the travel of its knob starts where it ends"
            left.append(Left(setup.name, "route", told, why))
        elif max(travels[route.knob].start, travels[route.knob].end) > setup.surface.top:
            why = f"has a travel beyond {setup.surface.top}, the highest position"
            left.append(Left(setup.name, "route", told, why))
        elif route.destination in wishes:
            why = f"is a second one: {wishes[route.destination].knob} drives it already"
            left.append(Left(setup.name, "route", told, why))
        else:
            wishes[route.destination] = Wish(*owner, route.knob, travels[route.knob])
    return list(wishes.values()), left


def _unreached(setup: Setup, picked: Collection[str], wishes: Iterable[Wish]) -> list[Left]:
    reached = {(wish.voice.name, wish.destination.name) for wish in wishes}
    return [
        Left(setup.name, "destination", voice.full_name(inner), "was driven by no knob that works")
        for voice in setup.voices
        for inner in voice.destinations
        if voice.name in picked and (voice.name, inner.name) not in reached
    ]


def travels_of(setup: Setup) -> dict[str, Travel]:
    """The travel of every knob of a setup; the full one where none is set."""
    full = Travel.full(setup.surface.bits)
    travels = dict.fromkeys(setup.surface.knob_names, full)
    return travels | {setting.knob: setting.travel for setting in setup.travels}


def renamed(
    setup: Setup,
    members: Iterable[str],
    picked: Collection[str],
    names: dict[str, str],
) -> tuple[str, ...]:
    """Members under their new names; those that are not brought, or not there, left off."""
    inner = {v.full_name(each): v.name for v in setup.voices for each in v.destinations}
    found = []
    for member in members:
        if member in names:
            found.append(names[member])
        elif inner.get(member) in picked:
            voice = inner[member]
            found.append(names[voice] + member.removeprefix(voice))
    return tuple(found)


def unique(name: str, taken: set[str], label: str) -> str:
    """A name that is not taken: itself, or with a label, or with a number; it is taken then."""
    found, number = name, 1
    while found in taken:
        found = f"{name} ({label})" if number == 1 else f"{name} ({label} {number})"
        number += 1
    taken.add(found)
    return found
