"""What one source brings, under names and in positions that the base can take."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence

import attrs

from knobpack.combination.members import holding, leaves, newly_named, said
from knobpack.combination.report import NotAsItWas, Slip, Source, Unlayered
from knobpack.combination.source_destinations import (
    Sought,
    all_of,
    as_brought,
    driven_by_knobs,
    slips,
    travels_lost,
)
from knobpack.definition.phrases import ESSENTIAL
from knobpack.setups.as_read import Play, Reading, read
from knobpack.words import Group, Setup, Snapshot, Voice
from knobpack.words.free_names import distinct
from knobpack.words.names import listed
from knobpack.words.voice import HIDDEN


@attrs.frozen
class OwnSnapshot:
    """A snapshot of a source, in the names of the result.

    Args:
        snapshot: itself, still under its own name, and without positions.
        moved: what it moves of what is to be driven, by full names.
        puts: where it puts the knobs of that which do not follow in it, there.
    """

    snapshot: Snapshot
    moved: frozenset[str]
    puts: frozenset[tuple[str, int]]


@attrs.frozen
class Contribution:
    """What one source brings.

    Args:
        label: the name that the setup goes by here.
        reading: the source as it is read.
        names: the old and the new name of each voice and group.
        old_voices: the voices that come, as they are in the source.
        voices: the same under their new names, their travels rescaled.
        wishes: the destinations that are to be driven.
        moves: what the master moves of them in any snapshot of the source, by full names.
        groups: its groups, as far as they hold voices that come.
        snapshots: its snapshots, as far as they move anything that comes.
        unlayered: the voices for which there is no layer.
        slips: the names that stand for nothing.
        left: what is not carried over.
    """

    label: str
    reading: Reading
    names: dict[str, str]
    old_voices: tuple[Voice, ...]
    voices: tuple[Voice, ...]
    wishes: tuple[Sought, ...]
    moves: frozenset[str]
    groups: tuple[Group, ...]
    snapshots: tuple[OwnSnapshot, ...]
    unlayered: tuple[Unlayered, ...]
    slips: tuple[Slip, ...]
    left: tuple[NotAsItWas, ...]

    def new_name(self, wish: Sought) -> str:
        """The full name that a destination has now."""
        return _new_name(self.names, wish)

    @property
    def could(self) -> tuple[str, ...]:
        """The full names, as they are now, of all that could be driven."""
        return tuple(full for voice in self.voices for full in voice.by_full_name)

    @property
    def mattering(self) -> tuple[str, ...]:
        """The full names, as they are now, of what is to be driven and is not hidden."""
        matter = (wish for wish in self.wishes if wish.destination.priority != HIDDEN)
        return tuple(map(self.new_name, matter))

    @property
    def wanted(self) -> tuple[str, ...]:
        """The full names, as they are now, of what is to be driven."""
        return tuple(self.new_name(wish) for wish in self.wishes)


def contribution(
    source: Source,
    label: str,
    taken: Collection[str],
    bits: int,
    unreached: bool,
    layers: int | None,
    leave: Collection[str] = (),
) -> Contribution:
    """Work out what a source brings.

    Args:
        source: the setup and the voices to bring.
        label: the name that the setup goes by here.
        taken: names of voices and groups that are in use.
        bits: the resolution of the surface that they come to.
        unreached: whether what no knob reached is to be asked for too.
        layers: how many layers are free; None: any number.
        leave: full names, as they are now, of what is not to be driven.
    """
    setup, reading = source.setup, read(source.setup)
    picked = source.picked if layers is None else source.picked[:layers]
    there = leaves(setup, picked)
    whole = holding(reading, picked)
    names = distinct((*picked, *whole), taken, label)
    reached, left = driven_by_knobs(reading, source.picked, bits, label)
    unlayered = _unlayered(source, set(picked), reached, label)
    every = reached | {n: each for n, each in all_of(setup).items() if n not in reached}
    wishes: list[Sought] = []
    for name, each in every.items():
        if each.voice.name not in picked:
            continue
        why = "was driven by no knob that works"
        if _new_name(names, each) in leave:
            why = "is left out, as asked"
        elif name in reached or unreached or each.destination.must_place:
            wishes.append(each)
            continue
        left.append(NotAsItWas(label, "destination", name, why))
    driven = {each.old_name: each for each in wishes if each.knob is not None}
    old_voices = tuple(voice for voice in setup.voices if voice.name in picked)
    voices = tuple(
        attrs.evolve(
            voice,
            name=names[voice.name],
            source=label,
            destinations=tuple(
                as_brought(inner, driven.get(voice.full_name(inner)), setup, bits)
                for inner in voice.destinations
            ),
        )
        for voice in old_voices
    )
    own, held = _snapshots(reading, there, names, wishes, voices, label)
    moves = frozenset().union(*(_moved(play, wishes, names) for play in reading.plays))
    return Contribution(
        label=label,
        reading=reading,
        names=names,
        old_voices=old_voices,
        voices=voices,
        wishes=tuple(wishes),
        moves=moves,
        groups=tuple(
            Group(names[name], newly_named(members, there, names))
            for name, members in whole.items()
        ),
        snapshots=own,
        unlayered=unlayered,
        slips=slips(source, reading, label, _essential(names, setup, wishes, leave)),
        left=(
            *_behind(setup, source.picked, label),
            *left,
            *travels_lost(setup, driven, picked, bits, label),
            *_lost_groups(reading, whole, label),
            *held,
        ),
    )


def _essential(
    names: Mapping[str, str], setup: Setup, wishes: Iterable[Sought], leave: Collection[str]
) -> dict[str, str]:
    """What is essential, comes and is driven by nothing: its full name there, and that now."""
    driven = {wish.old_name for wish in wishes}
    coming = {
        name: _new_name(names, each)
        for name, each in all_of(setup).items()
        if each.destination.priority == ESSENTIAL
        and name not in driven
        and each.voice.name in names
    }
    return {name: new for name, new in coming.items() if new not in leave}


def _new_name(names: Mapping[str, str], wish: Sought) -> str:
    return f"{names[wish.voice.name]}/{wish.destination.name}"


def _unlayered(
    source: Source, coming: Collection[str], driven: Mapping[str, Sought], label: str
) -> tuple[Unlayered, ...]:
    """The voices for which no layer is left, with what knobs drove of them."""
    found = []
    for voice in source.picked:
        if voice not in coming:
            names = tuple(name for name, wish in driven.items() if wish.voice.name == voice)
            essential = tuple(n for n in names if driven[n].destination.priority == ESSENTIAL)
            found.append(Unlayered(label, voice, names, essential))
    return tuple(found)


def _behind(setup: Setup, picked: Collection[str], label: str) -> list[NotAsItWas]:
    why = "is not picked: it stays behind with its routes and its places in groups and snapshots"
    return [NotAsItWas(label, "voice", v.name, why) for v in setup.voices if v.name not in picked]


def _lost_groups(reading: Reading, whole: Collection[str], label: str) -> list[NotAsItWas]:
    left = [
        NotAsItWas(label, "group", group.name, "holds nothing that is brought")
        for group in reading.setup.groups
        if group.name not in whole
    ]
    for circle in reading.circles:
        why = "is undone: each of them now holds all that they held together"
        left.append(NotAsItWas(label, "circle of groups", listed(circle), why))
    return left


def _moved(play: Play, wishes: Iterable[Sought], names: Mapping[str, str]) -> frozenset[str]:
    """What a snapshot of the source moves, knob by knob: what its knobs do there, and no less.

    What may not move is held, on whatever knob it is.
    """
    follows = set(play.follows)
    return frozenset(
        _new_name(names, wish)
        for wish in wishes
        if wish.destination.movable
        and (wish.knob in follows if wish.knob else wish.old_name in play.moved)
    )


def _snapshots(
    reading: Reading,
    there: dict[str, str],
    names: dict[str, str],
    wishes: Sequence[Sought],
    voices: tuple[Voice, ...],
    label: str,
) -> tuple[tuple[OwnSnapshot, ...], list[NotAsItWas]]:
    """The snapshots that move something that comes; what they lose."""
    if reading.assumed:
        return (), []
    fixed = set(reading.fixed(reading.destinations))
    new = {wish.old_name: _new_name(names, wish) for wish in wishes}
    knobs = {wish.knob for wish in wishes}
    left: list[NotAsItWas] = []
    found: list[OwnSnapshot] = []
    for play in reading.plays:
        snapshot = play.snapshot
        moved = _moved(play, wishes, names)
        if not moved:
            left.append(
                NotAsItWas(
                    label, "snapshot", snapshot.name, "does not come: it moves nothing that does"
                )
            )
            continue
        of = f"the snapshot '{snapshot.name}'"
        left += [
            NotAsItWas(label, "member", f"{each} of {of}", "is not movable: it is held")
            for each in snapshot.moves
            if each in fixed and each in there
        ]
        words = tuple(
            dict.fromkeys(newly_named((e for e in snapshot.moves if e not in fixed), there, names))
        )
        named = frozenset(new[each] for each in play.moved if each in new)
        if named != moved:
            left.append(NotAsItWas(label, "snapshot", snapshot.name, _torn(named, moved)))
            words = said(moved, voices, frozenset(new.values()))
        silent = tuple(names[each] for each in snapshot.silent if each in there)
        snapshot = attrs.evolve(snapshot, moves=words, positions=(), silent=silent, idle=())
        puts = {knob: at for knob, at in reading.puts(play).items() if knob in knobs}
        found.append(OwnSnapshot(snapshot, moved, frozenset(puts.items())))
    return tuple(found), left


def _torn(named: frozenset[str], moved: frozenset[str]) -> str:
    parts = []
    if moved - named:
        parts.append(f"moves {listed(sorted(moved - named))} too, because its knob did so there")
    if named - moved:
        parts.append(f"holds {listed(sorted(named - moved))}, because its knob did so there")
    return " and ".join(parts)
