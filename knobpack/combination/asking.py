"""Asking: the request that a base and its guests make together, and the snapshots of the result."""

from __future__ import annotations

from collections.abc import Sequence

import attrs

from knobpack.combination.basing import Based
from knobpack.combination.guest import Guest
from knobpack.combination.naming import shortened, unique
from knobpack.combination.report import Brought, Left
from knobpack.errors import InputError
from knobpack.words import Layout, Request, Rule, Setup, Snapshot, Weights
from knobpack.words.edits import only
from knobpack.words.fields import LONGEST_NAME
from knobpack.words.naming import listed
from knobpack.words.snapshot import EVERYTHING, ONLY

_LONGEST = LONGEST_NAME + len(ONLY)


@attrs.frozen
class Asked:
    """What is asked of the allocation, and what becomes of the snapshots.

    Args:
        request: for what is to be driven alone.
        snapshots: those that the result has beside the base's, whole.
        brought: those of the sources among them.
        left: the snapshots and rules that are not as they were.
    """

    request: Request
    snapshots: tuple[Snapshot, ...]
    brought: tuple[Brought, ...]
    left: tuple[Left, ...]


def added_names(base: Setup, labels: Sequence[str]) -> dict[str | None, str]:
    """The names of the snapshots that are made: one for all (None), one for each setup alone.

    A base that was combined before has its ``everything``, in which what is new is held. It stays
    as it is; the new one says what it moves besides.
    """
    taken = {snapshot.name for snapshot in base.snapshots}
    everything = EVERYTHING
    if everything in taken and labels:
        everything = shortened(f"{EVERYTHING} with {listed(labels, 2)}", _LONGEST)
    found: dict[str | None, str] = {None: unique(everything, taken, longest=_LONGEST)}
    taken.add(found[None])
    for label in (base.name, *labels):
        found[label] = unique(ONLY + label, taken, longest=_LONGEST)
        taken.add(found[label])
    return found


def asked(
    base: Based,
    guests: Sequence[Guest],
    added: dict[str | None, str],
    rules: tuple[Rule, ...],
    snapshots: tuple[Snapshot, ...] | None,
    weights: Weights | None,
) -> Asked:
    """Work out the request, and which snapshots the result has.

    Args:
        base: what the base keeps.
        guests: what the sources bring.
        added: the names of the snapshots that are made.
        rules: in the names of the result.
        snapshots: those asked for in place of the sources' and of those that are made.
        weights: None: the default weights.

    Raises:
        InputError: a rule or snapshot names what is not there.
    """
    own = [(one, old, each) for one in guests for old, each in one.snapshots]
    if snapshots is None:
        candidates = (*_made(base, guests, added), *(each for _, _, each in own))
    else:
        candidates = _new(base.setup, snapshots)
    whole = _whole(base, guests, rules, weights)
    if snapshots is not None:
        _check(candidates, whole)
    whole = attrs.evolve(whole, snapshots=(*base.snapshots, *candidates))
    wanted = {name for one in guests for name in one.wanted}
    wanted |= {route.destination for route in base.keep.routes} | set(base.freed)
    request = only(whole, wanted)
    if snapshots is None:
        first = len(base.snapshots)
        # What the base drives and a request cannot hold moves or is held as well.
        driven = wanted | {route.destination for route in base.live}
        moved = [whole.moved(each) & driven for each in whole.played]
        chosen, why = _distinct(request, moved, first)
        request = attrs.evolve(
            request,
            snapshots=(
                *request.played[:first],
                *(each for each in request.played[first:] if each.name in chosen),
            ),
        )
    else:
        chosen = {each.name for each in candidates}
        why = {each.name: "gives way to the snapshots asked for" for _, _, each in own}
    return Asked(
        request=request,
        snapshots=tuple(each for each in candidates if each.name in chosen),
        brought=tuple(
            Brought(one.label, "snapshot", old, each.name)
            for one, old, each in own
            if snapshots is None and each.name in chosen
        ),
        left=(
            *(
                Left(one.label, "snapshot", old, why[e.name])
                for one, old, e in own
                if e.name in why
            ),
            *_unasked(base, added, why),
            *_idle_rules(base.setup.name, whole, request),
        ),
    )


def _whole(
    base: Based, guests: Sequence[Guest], rules: tuple[Rule, ...], weights: Weights | None
) -> Request:
    """All that is there, driven or not, and no snapshot yet."""
    return Request(
        surface=base.surface,
        voices=(*base.voices, *(voice for one in guests for voice in one.voices)),
        groups=(*base.groups, *(group for one in guests for group in one.groups)),
        snapshots=(),
        rules=rules,
        keep=base.keep,
        previous=Layout(tuple(base.freed.values())) if base.freed else None,
        weights=Weights() if weights is None else weights,
    )


def _made(
    base: Based, guests: Sequence[Guest], added: dict[str | None, str]
) -> tuple[Snapshot, ...]:
    """One snapshot for all, and one for each setup alone."""
    own = tuple(voice.name for voice in base.voices)
    parts = [(one.label, tuple(voice.name for voice in one.voices)) for one in guests]
    everything = (*own, *(name for _, names in parts for name in names))
    return (
        Snapshot(added[None], everything),
        *(Snapshot(added[label], names) for label, names in [(base.setup.name, own), *parts]),
    )


def _new(base: Setup, snapshots: tuple[Snapshot, ...]) -> tuple[Snapshot, ...]:
    """The snapshots asked for that the base does not have already."""
    stored = {each.name: each for each in base.snapshots}
    for position, each in enumerate(snapshots):
        where = f"combine.snapshots[{position}]"
        if not isinstance(each, Snapshot):
            raise InputError(where, each, "give a Snapshot")
        if stored.get(each.name, each) != each:
            right = "the base has another snapshot of this name, which stays; give it another"
            raise InputError(f"{where}.name", each.name, right)
    return tuple(each for each in snapshots if each.name not in stored)


def _check(snapshots: tuple[Snapshot, ...], whole: Request) -> None:
    """Refuse snapshots that name what is not there or may not be moved."""
    for each in snapshots:
        for place, name in enumerate(each.moves):
            where = f"combine.snapshots of {each.name!r}.moves[{place}]"
            if name not in whole.members:
                raise InputError(where, name, "name a voice, a group, or voice/destination")
            if name in whole.destinations and not whole.destinations[name].movable:
                raise InputError(where, name, "it is not movable; leave it out")


def _distinct(
    request: Request, moved: Sequence[frozenset[str]], first: int
) -> tuple[set[str], dict[str, str]]:
    """Of the snapshots after the base's, those that are needed; why each other one is not.

    Of two that move the same the earlier one stands, if it is no more open to being broken. Where
    the surface stores no more, the last ones are left.
    """
    told = list(zip(request.played, moved, strict=True))
    stands = {(moves, each.break_weight): each.name for each, moves in reversed(told[:first])}
    most = request.surface.snapshots
    room = len(request.played) if most is None else most - first
    chosen: set[str] = set()
    why: dict[str, str] = {}
    for each, moves in told[first:]:
        same = stands.get((moves, None)) or stands.get((moves, each.break_weight))
        if not moves:
            why[each.name] = "moves nothing that is driven"
        elif same is not None:
            why[each.name] = f"moves the same as '{same}', which stands for it"
        elif len(chosen) >= room:
            why[each.name] = f"has no room: the surface stores {most} snapshots"
        else:
            chosen.add(each.name)
            stands[moves, each.break_weight] = each.name
    return chosen, why


def _unasked(base: Based, added: dict[str | None, str], why: dict[str, str]) -> list[Left]:
    """What a player would look for: snapshots without room, an older one that was for all."""
    setup = base.setup
    left = [
        Left(setup.name, "snapshot", name, why[name])
        for name in added.values()
        if why.get(name, "").startswith("has no room")
    ]
    if added[None] != EVERYTHING and added[None] not in why:
        left += [
            Left(setup.name, "snapshot", each.name, f"holds what is new; '{added[None]}' moves all")
            for each in setup.snapshots
            if each.name == EVERYTHING or each.name.startswith(f"{EVERYTHING} with ")
        ]
    return left


def _idle_rules(name: str, whole: Request, request: Request) -> list[Left]:
    """The rules that lose some or all that they name, because no knob drives it."""
    if len(whole.rules) == len(request.rules) and whole.rules == request.rules:
        return []
    stay = list(request.rules)
    left = []
    for rule in whole.rules:
        if rule in stay:
            stay.remove(rule)
        else:
            why = "names what no knob drives; it holds for the rest alone"
            left.append(Left(name, "rule", str(rule), why))
    return left
