"""Guest: what one source brings, under names and in positions that the base can take."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping

import attrs

from knobpack.combination.keeping import told
from knobpack.combination.members import holding, leaves, renamed
from knobpack.combination.naming import distinct
from knobpack.combination.report import Left, Source
from knobpack.positions.scaling import scaled_travel
from knobpack.reading import Reading, read, within
from knobpack.words import Destination, Group, Route, Setup, Snapshot, Travel, Voice
from knobpack.words.fields import LONGEST_NAME
from knobpack.words.naming import listed
from knobpack.words.snapshot import ONLY


@attrs.frozen
class Wish:
    """A destination that is to be driven: by which knob it was, over which travel of that surface.

    Args:
        voice: its voice in the source.
        destination: itself.
        knob: the knob that drove it; None: none that works.
        travel: the travel of that knob, in the positions of that surface.
    """

    voice: Voice
    destination: Destination
    knob: str | None = None
    travel: Travel | None = None

    @property
    def old_name(self) -> str:
        """Its full name in the source."""
        return self.voice.full_name(self.destination)


@attrs.frozen
class Guest:
    """What one source brings.

    Args:
        label: the name that the setup goes by here.
        names: the old and the new name of each voice and group.
        old_voices: the picked voices as they are in the source.
        voices: the same under their new names, their travels rescaled.
        wishes: the destinations that are to be driven.
        groups: its groups, as far as they hold picked voices.
        snapshots: its snapshots under their old names, as far as they move picked voices.
        left: what is not carried over.
    """

    label: str
    names: dict[str, str]
    old_voices: tuple[Voice, ...]
    voices: tuple[Voice, ...]
    wishes: tuple[Wish, ...]
    groups: tuple[Group, ...]
    snapshots: tuple[tuple[str, Snapshot], ...]
    left: tuple[Left, ...]

    def new_name(self, wish: Wish) -> str:
        """The full name that a destination has now."""
        return f"{self.names[wish.voice.name]}/{wish.destination.name}"

    @property
    def wanted(self) -> tuple[str, ...]:
        """The full names, as they are now, of what is to be driven."""
        return tuple(self.new_name(wish) for wish in self.wishes)


def guest(
    source: Source,
    label: str,
    taken: Collection[str],
    stored: Collection[str],
    bits: int,
    unreached: bool,
) -> Guest:
    """Work out what a source brings.

    Args:
        source: the setup and the voices to bring.
        label: the name that the setup goes by here.
        taken: names of voices and groups that are in use.
        stored: names of snapshots that are in use.
        bits: the resolution of the surface that they come to.
        unreached: whether what no knob reached is to be asked for too.
    """
    setup, reading = source.setup, read(source.setup)
    picked = set(source.picked)
    whole = holding(reading, picked)
    names = distinct((*source.picked, *whole), taken, label)
    there = leaves(setup, picked)
    driven, left = _driven(reading, picked, bits, label)
    undriven = [
        Wish(voice, inner)
        for voice in setup.voices
        for inner in voice.destinations
        if voice.name in picked and voice.full_name(inner) not in driven
    ]
    asked = [each for each in undriven if unreached or each.destination.must_place]
    left += [
        Left(label, "destination", each.old_name, "was driven by no knob that works")
        for each in undriven
        if not (unreached or each.destination.must_place)
    ]
    old_voices = tuple(voice for voice in setup.voices if voice.name in picked)
    voices = tuple(
        attrs.evolve(
            voice,
            name=names[voice.name],
            source=label,
            destinations=tuple(
                _brought(inner, driven.get(voice.full_name(inner)), setup, bits)
                for inner in voice.destinations
            ),
        )
        for voice in old_voices
    )
    snapshots, held = _snapshots(reading, there, names, stored, label)
    return Guest(
        label=label,
        names=names,
        old_voices=old_voices,
        voices=voices,
        wishes=(*driven.values(), *asked),
        groups=tuple(
            Group(names[name], renamed(members, there, names)) for name, members in whole.items()
        ),
        snapshots=snapshots,
        left=(
            *_behind(setup, picked, label),
            *left,
            *_wishes_lost(setup, driven, picked, label),
            *_lost_groups(reading, whole, label),
            *held,
        ),
    )


def _driven(
    reading: Reading, picked: Collection[str], bits: int, label: str
) -> tuple[dict[str, Wish], list[Left]]:
    """What each knob drives over a travel that is not empty; the routes that cannot be kept."""
    owners = {
        voice.full_name(inner): (voice, inner)
        for voice in reading.setup.voices
        for inner in voice.destinations
    }
    driven: dict[str, Wish] = {}
    left: list[Left] = []
    for route in reading.setup.routes:
        owner = owners.get(route.destination)
        if owner is not None and owner[0].name not in picked:
            continue  # it stays behind with its voice, and is told with it
        why = _fault(reading, route, bits)
        if not why and route.destination in driven:
            why = f"is a second one: {driven[route.destination].knob} drives it already"
        if why or owner is None:
            left.append(Left(label, "route", told(route), why))
        else:
            driven[route.destination] = Wish(*owner, route.knob, reading.travels[route.knob])
    return driven, left


def _fault(reading: Reading, route: Route, bits: int) -> str:
    """Why a route does not work, or would not on the new surface; empty if it does."""
    if route.destination not in reading.destinations:
        return "leads to nothing that is there"
    if route.knob not in reading.travels:
        return "comes from no knob of the surface"
    return _still(reading, route, reading.travels[route.knob], bits)


def _still(reading: Reading, route: Route, travel: Travel, bits: int) -> str:
    """Why a travel moves nothing, or would not on the new surface; empty if it does."""
    surface = reading.setup.surface
    if travel.empty:
        return "does nothing: the travel of its knob starts where it ends"
    if not within(travel, surface.top):
        return f"has a travel beyond {surface.top}, the highest position"
    if scaled_travel(travel, surface.bits, bits).empty:
        return f"goes over {travel}, too short at {bits} bits: it would start where it ends"
    if route.destination not in reading.drives[route.knob]:
        return f"does nothing: {travel} stays within one step of what it leads to"
    return ""


def _brought(inner: Destination, wish: Wish | None, setup: Setup, bits: int) -> Destination:
    """A destination as it is brought: its travel is that of the knob that drove it, rescaled."""
    travel = inner.travel if wish is None else wish.travel
    if travel is not None:
        fits = within(travel, setup.surface.top)
        travel = scaled_travel(travel, setup.surface.bits, bits) if fits else None
    return attrs.evolve(inner, travel=travel, source_knob=None if wish is None else wish.knob)


def _behind(setup: Setup, picked: Collection[str], label: str) -> list[Left]:
    why = "is not picked: it stays behind with its routes and its places in groups and snapshots"
    return [Left(label, "voice", v.name, why) for v in setup.voices if v.name not in picked]


def _wishes_lost(
    setup: Setup, driven: Mapping[str, Wish], picked: Collection[str], label: str
) -> list[Left]:
    """The travels wanted by what nothing drives, where they cannot be told in any resolution."""
    top = setup.surface.top
    return [
        Left(
            label,
            "travel",
            f"{inner.travel} wanted by {voice.full_name(inner)}",
            f"lies beyond {top}, the highest position",
        )
        for voice in setup.voices
        for inner in voice.destinations
        if voice.name in picked
        and voice.full_name(inner) not in driven
        and inner.travel is not None
        and not within(inner.travel, top)
    ]


def _lost_groups(reading: Reading, whole: Collection[str], label: str) -> list[Left]:
    left = []
    for group in reading.setup.groups:
        if group.name not in whole:
            left.append(Left(label, "group", group.name, "holds nothing that is brought"))
        else:
            left += _missing(label, f"the group {group.name}", reading.unknown(group.members))
    for circle in reading.circles:
        why = "is undone: each of them now holds all that they held together"
        left.append(Left(label, "circle of groups", listed(circle), why))
    return left


def _missing(label: str, of: str, members: Iterable[str]) -> list[Left]:
    return [Left(label, "member", f"{member} of {of}", "is not there") for member in members]


def _snapshots(
    reading: Reading,
    there: dict[str, str],
    names: dict[str, str],
    stored: Collection[str],
    label: str,
) -> tuple[tuple[tuple[str, Snapshot], ...], list[Left]]:
    """The snapshots that move something that is brought; what they lose."""
    fixed = set(reading.fixed(reading.destinations))
    left: list[Left] = []
    moving: dict[str, Snapshot] = {}
    for snapshot in reading.setup.snapshots:
        able = tuple(each for each in snapshot.moves if each not in fixed)
        moves = tuple(dict.fromkeys(renamed(able, there, names)))
        if not moves:
            left.append(Left(label, "snapshot", snapshot.name, "moves nothing that is brought"))
            continue
        of = f"the snapshot '{snapshot.name}'"
        left += _missing(label, of, reading.unknown(snapshot.moves))
        left += [
            Left(label, "member", f"{each} of {of}", "is not movable: it is held")
            for each in snapshot.moves
            if each in fixed and each in there
        ]
        moving[snapshot.name] = attrs.evolve(snapshot, moves=moves, positions=())
    new = distinct(moving, stored, label, LONGEST_NAME + len(ONLY))
    return tuple((old, attrs.evolve(s, name=new[old])) for old, s in moving.items()), left
