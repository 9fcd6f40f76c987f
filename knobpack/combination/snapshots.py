"""Snapshots: which the result has, so that all, the base and each source can be played.

The base's widest snapshot takes in what each source moves in any of its own. If none is left then
that moves some of the base and nothing of the sources, one of the base alone is added; each source
has one of its own. Where the base has no widest one, one for all is added. The sources' other ones
come last. What is added moves all that a knob carried or none of it, so it parts no bundle.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence

import attrs

from knobpack.combination.base import KeptBase
from knobpack.combination.contribution import Contribution, OwnSnapshot
from knobpack.combination.members import said
from knobpack.combination.report import (
    ALL,
    BASE,
    CROWDED_OUT,
    GIVEN_UP,
    LIVED_WITHOUT,
    NOT_ALONE,
    SOURCE,
    NotAsItWas,
)
from knobpack.definition.phrases import many
from knobpack.numbered.components import components
from knobpack.setups.as_read import Reading
from knobpack.words import Setup, Snapshot
from knobpack.words.fields import LONGEST_NAME, check_named
from knobpack.words.free_names import unique
from knobpack.words.names import voice_part
from knobpack.words.snapshot import EVERYTHING, ONLY

LONGEST = LONGEST_NAME + len(ONLY)
"""Characters in the name of a snapshot, at most."""

SAY_ALL = frozenset({"all", EVERYTHING})
"""Names, in small letters, that a source's own snapshot cannot keep: here it does not move all."""


@attrs.frozen
class PlannedSnapshot:
    """A snapshot that the result is to have beside the base's.

    Args:
        snapshot: itself, under the name that it has there.
        moved: what it moves of all that is driven, by full names.
        owners: the labels of the sources that it came with.
        added: why it is added; None: it is one of a source.
        old: its name in its source; None: it is not from there.
        puts: where it put the knobs of its source that did not follow there.
    """

    snapshot: Snapshot
    moved: frozenset[str]
    owners: tuple[str, ...]
    added: str | None = None
    old: str | None = None
    puts: frozenset[tuple[str, int]] = frozenset()


@attrs.frozen
class SnapshotPlan:
    """The snapshots of the result, before it is known what each knob drives.

    Args:
        grown: of the base's snapshots, by name, what each moves besides.
        new: the others, in order.
        left: the snapshots that are not as they were.
        may_go: those that could be added and may give way, whether they do or not.
    """

    grown: dict[str, tuple[str, ...]]
    new: tuple[PlannedSnapshot, ...]
    left: tuple[NotAsItWas, ...]
    may_go: tuple[PlannedSnapshot, ...] = ()

    def of_base(self, snapshots: Sequence[Snapshot]) -> tuple[Snapshot, ...]:
        """The base's snapshots, with what some of them move besides."""
        return tuple(
            attrs.evolve(each, moves=(*each.moves, *self.grown.get(each.name, ())))
            for each in snapshots
        )

    @property
    def for_all(self) -> tuple[str, ...]:
        """The names of those that are added for all."""
        return tuple(each.snapshot.name for each in self.new if each.added == ALL)


def plan(
    base: KeptBase,
    brought: Sequence[Contribution],
    give_up: Collection[str] = (),
    crowded: Collection[str] = (),
    insist: Collection[str] = (),
) -> SnapshotPlan:
    """Work out the snapshots of the result: on an empty base those of the one source, if it is one.

    Args:
        base: what the base has.
        brought: what the sources bring.
        give_up: the names of snapshots that are not to be added.
        crowded: those that would keep something from a knob; not added either.
        insist: those that never give way.

    Raises:
        InputError: ``give_up`` or ``insist`` names none that would be.
    """
    brought = [one for one in brought if one.wishes]
    if not brought:
        _check_named(give_up, insist, ())
        return SnapshotPlan({}, (), ())
    reading, setup = base.reading, base.setup
    wanted = frozenset(name for one in brought for name in one.wanted)
    own = _moved_by_master(reading)
    theirs = frozenset().union(*(one.moves for one in brought))
    widest = reading.widest
    grown = {} if widest is None or not theirs else {widest.snapshot.name: _all(brought, wanted)}
    names = _Names({each.name for each in setup.snapshots})
    labels = tuple(one.label for one in brought)
    candidates = []
    sole = len(brought) == 1 and not setup.voices
    if sole:  # their names first: what is added for all must not take one
        candidates = _own(brought[0], names)
    driven = frozenset(r.destination for r in reading.routes if r.knob not in base.cleared)
    own_words = said(own, base.voices, driven)
    moves_all = sole and widest_of(brought[0]) is not None
    if widest is None and (theirs or reading.assumed) and not moves_all:
        words = (*own_words, *_all(brought, wanted))
        name = names.take(EVERYTHING)
        candidates.insert(0, PlannedSnapshot(Snapshot(name, words), own | theirs, labels, ALL))
    alone = any(p.works and p.snapshot.name not in grown for p in reading.stored_plays)
    if own and not alone and (grown or reading.assumed):
        name = names.take(setup.name, ONLY + setup.name)
        candidates.append(PlannedSnapshot(Snapshot(name, own_words), own, labels, BASE))
    if not sole:
        candidates += [_alone(one, names, wanted) for one in brought]
        candidates += [each for one in brought for each in _own(one, names, widest_of(one))]
    _check_named(give_up, insist, [each.snapshot.name for each in candidates])
    given_up = dict.fromkeys(give_up, GIVEN_UP)
    if _shared_since(reading):
        without = (each.snapshot.name for each in candidates if each.added == BASE)
        given_up = dict.fromkeys(without, LIVED_WITHOUT) | given_up
    fixed = {*insist, *given_up}
    may_go = [e for e in candidates if e.added != ALL and e.moved and e.snapshot.name not in fixed]
    gone = (each for each in may_go if each.snapshot.name in crowded)
    refused = {e.snapshot.name: NOT_ALONE if e.added else CROWDED_OUT for e in gone}
    refused |= {name: why for name, why in given_up.items() if name not in insist}
    chosen, left = _chosen(setup, candidates, refused)
    return SnapshotPlan(grown, tuple(chosen), tuple(left), tuple(may_go))


def _moved_by_master(reading: Reading) -> frozenset[str]:
    """What the master moves in any snapshot, knob by knob: all that a knob carries, or none of it.

    A knob that carries what is not movable is left off, and one that shares a destination with a
    knob that is: a snapshot that moved the rest of it would tear it.
    """
    follows = {knob for play in reading.plays for knob in play.works}
    knobs = tuple(reading.carries)
    bit = {knob: 1 << at for at, knob in enumerate(knobs)}
    found: set[str] = set()
    for places in components(
        len(knobs), (sum(map(bit.__getitem__, on)) for on in reading.knobs_of.values())
    ):
        part = [knobs[at] for at in places]
        names = {name for knob in part for name in reading.carries[knob]}
        if follows.issuperset(part) and not reading.fixed(names):
            found |= names
    return frozenset(found)


def _shared_since(reading: Reading) -> bool:
    """Whether a knob that follows drives some of the base's own and some of what came to it.

    No snapshot plays the base alone again without tearing or holding that.
    """
    of = {voice.name: voice.source for voice in reading.setup.voices}
    follows = {knob for play in reading.plays for knob in play.works}
    origins = ({of[voice_part(n)] for n in reading.carries[knob]} for knob in follows)
    return any(None in each and len(each) > 1 for each in origins)


class _Names:
    """The names of snapshots that are in use."""

    def __init__(self, taken: Collection[str]) -> None:
        self._taken = set(taken)

    def take(self, *wished: str, label: str = "") -> str:
        """The first of some names that is free; else the last, with what tells it apart."""
        free = [name for name in wished if name not in self._taken]
        found = free[0] if free else unique(wished[-1], self._taken, label, LONGEST)
        self._taken.add(found)
        return found


def _all(brought: Sequence[Contribution], wanted: Collection[str]) -> tuple[str, ...]:
    return tuple(name for one in brought for name in said(one.moves, one.voices, wanted))


def _alone(one: Contribution, names: _Names, wanted: Collection[str]) -> PlannedSnapshot:
    """What a source moves, alone: its own widest snapshot; else one under the source's name."""
    each = widest_of(one)
    if each is None:
        name = names.take(one.label, ONLY + one.label)
        words = said(one.moves, one.voices, wanted)
        return PlannedSnapshot(Snapshot(name, words), one.moves, (one.label,), SOURCE)
    old = each.snapshot.name
    kept = () if old.casefold() in SAY_ALL else (old,)
    snapshot = attrs.evolve(each.snapshot, name=names.take(*kept, one.label, ONLY + one.label))
    return PlannedSnapshot(snapshot, one.moves, (one.label,), SOURCE, old, puts=each.puts)


def widest_of(one: Contribution) -> OwnSnapshot | None:
    """The snapshot of a source that moves all that its others move; first with all that sounds."""
    found = [each for each in one.snapshots if each.moved == one.moves]
    return min(found, key=lambda each: bool(each.snapshot.silent), default=None)


def _own(one: Contribution, names: _Names, but: OwnSnapshot | None = None) -> list[PlannedSnapshot]:
    """The own snapshots of a source, but for one."""
    found = []
    for each in one.snapshots:
        if each is not but:
            old = each.snapshot.name
            snapshot = attrs.evolve(each.snapshot, name=names.take(old, label=one.label))
            found.append(
                PlannedSnapshot(snapshot, each.moved, (one.label,), None, old, puts=each.puts)
            )
    return found


def _chosen(
    setup: Setup, candidates: Sequence[PlannedSnapshot], refused: Mapping[str, str]
) -> tuple[list[PlannedSnapshot], list[NotAsItWas]]:
    """Those that are needed and that there is room for; what is told of the others.

    Of two that move, silence and put the same the earlier one stands, if it is no more open to
    being broken.

    Args:
        setup: the base.
        candidates: all that could be added, in order.
        refused: those that are not, by name, each with why.
    """
    most = setup.surface.snapshots
    room = len(candidates) if most is None else most - len(setup.snapshots)
    stands: dict[tuple[object, ...], str] = {}
    chosen: list[PlannedSnapshot] = []
    left: list[NotAsItWas] = []
    for each in candidates:
        name, weight = each.snapshot.name, each.snapshot.break_weight
        does = each.moved, frozenset(each.snapshot.silent), each.puts
        same = stands.get((*does, None)) or stands.get((*does, weight))
        if not each.moved:
            why = "does not come: it moves nothing that is driven"
        elif same is not None:
            why = f"does not come, as it moves the same as '{same}'"
        elif name in refused:
            why = refused[name]
        elif len(chosen) >= room:
            why = f"has no room: the surface stores {many(most or 0, 'snapshot')}"
        else:
            chosen.append(each)
            stands[*does, weight] = name
            continue
        if each.old is not None:
            why += f"; here it would be '{name}'" if each.old != name else ""
            left.append(NotAsItWas(each.owners[0], "snapshot", each.old, why))
        elif same is None and each.moved:
            left.append(NotAsItWas(setup.name, "snapshot", name, why))
    return chosen, left


def _check_named(give_up: Collection[str], insist: Collection[str], names: Sequence[str]) -> None:
    for field, named in (("give_up", give_up), ("insist", insist)):
        for position, name in enumerate(named):
            right = "name a snapshot that is added"
            check_named(f"combine.{field}[{position}]", name, names, right)
