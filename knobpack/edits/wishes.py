"""Wishes: what each edit that is about routes asks for, by full names and rules."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

import attrs

from knobpack.edits.solution import Wish
from knobpack.edits.why_moved import source_bundles
from knobpack.errors import InputError
from knobpack.grouped import grouped
from knobpack.setups.as_read import Reading
from knobpack.words import Alone, Apart, Fixed, Rule, Together
from knobpack.words.fields import check_named
from knobpack.words.setup_edits import Join, OnKnob, OwnKnob, Part, Swap


def named_destinations(reading: Reading, where: str, names: Iterable[str]) -> tuple[str, ...]:
    """The full names of all that is named, in the order of the setup.

    Args:
        reading: the setup.
        where: the field that they were given in.
        names: each a destination, voice or group, or a knob, which stands for what it drives.

    Raises:
        InputError: one names nothing that is there, or nothing at all is named.
    """
    found: set[str] = set()
    for position, name in enumerate(names):
        if name in reading.known:
            inside = reading.named((name,))
        else:
            voices = (each.name for each in reading.setup.voices)
            groups = (each.name for each in reading.setup.groups)
            known = [*voices, *groups, *reading.destinations, *reading.carries]
            right = "name a voice/destination, a voice, a group or a knob of the setup"
            check_named(f"{where}[{position}]", name, known, right)
            inside = frozenset(reading.carries[name])
        if not inside:
            raise InputError(f"{where}[{position}]", name, "name something that can be driven")
        found |= inside
    return tuple(name for name in reading.destinations if name in found)


def usable(reading: Reading, where: str, knob: str) -> str:
    """A knob of the panel that is not broken.

    Raises:
        InputError: there is no such knob, or it is broken.
    """
    check_knob(reading, where, knob)
    if knob in reading.broken:
        raise InputError(where, knob, "it is broken; name another knob, or have it back in use")
    return knob


def check_knob(reading: Reading, where: str, knob: str) -> None:
    """Refuse what is no knob of the panel.

    Raises:
        InputError: it is none.
    """
    check_named(where, knob, reading.setup.surface.knob_names, "name a knob of the setup's surface")


def wish_of(reading: Reading, edit: OwnKnob | OnKnob | Swap | Part | Join) -> Wish:
    """What an edit asks for.

    Raises:
        InputError: it names what is not there, or what it cannot be done with.
    """
    match edit:
        case OwnKnob():
            return _own_knob(reading, edit)
        case OnKnob():
            named = named_destinations(reading, "OnKnob.names", edit.names)
            rule = Fixed(named, usable(reading, "OnKnob.knob", edit.knob))
            # What is there already stays with what it shares the knob with, be it by a fault.
            coming = tuple(name for name in named if reading.knobs_of[name] != (edit.knob,))
            wish = Wish(str(attrs.evolve(edit, names=named)), (rule,), coming, named)
            return wish if coming else attrs.evolve(wish, still="already there, and nothing moves")
        case Swap():
            return _swap(reading, edit)
        case Part():
            return _part(reading, edit)
        case Join():
            return _join(reading, edit)


def _own_knob(reading: Reading, edit: OwnKnob) -> Wish:
    named = named_destinations(reading, "OwnKnob.names", edit.names)
    rules: list[Rule] = [Together(named)] if len(named) > 1 else []
    rules.append(Alone(named))
    if edit.knob is not None:
        rules.append(Fixed(named, usable(reading, "OwnKnob.knob", edit.knob)))
    return Wish(str(attrs.evolve(edit, names=named)), tuple(rules), named, named)


def _swap(reading: Reading, edit: Swap) -> Wish:
    one = reading.carries[usable(reading, "Swap.one", edit.one)]
    other = reading.carries[usable(reading, "Swap.other", edit.other)]
    if edit.one == edit.other:
        raise InputError("Swap.other", edit.other, "name two different knobs")
    pairs = ((one, edit.other), (other, edit.one))
    rules = tuple(Fixed(names, knob) for names, knob in pairs if names)
    if not rules:
        raise InputError("Swap.one", edit.one, "neither of the two drives anything")
    return Wish(str(edit), rules, named=(*one, *other))


def _part(reading: Reading, edit: Part) -> Wish:
    named = named_destinations(reading, "Part.names", edit.names)
    rest = named
    sides = [named_destinations(reading, "Part.names", (name,)) for name in edit.names]
    told, field, given = edit, "Part.names", edit.names
    if edit.others:
        rest = named_destinations(reading, "Part.others", edit.others)
        sides, field, given = [named, rest], "Part.others", edit.others
        told = attrs.evolve(edit, names=named, others=rest)
    elif len(sides) == 1:
        if len(named) == 1:
            right = "name two destinations or more, or a knob that drives so many"
            raise InputError(field, given, right)
        sides = [(name,) for name in named]
        told = attrs.evolve(edit, names=named)
    every = [name for side in sides for name in side]
    if len(set(every)) < len(every):
        raise InputError(field, given, "nothing can be parted from itself")
    driven = tuple(name for name in dict.fromkeys((*named, *rest)) if reading.knobs_of[name])
    whole = tuple(
        names
        for side in sides
        for names in grouped((reading.knobs_of[n], n) for n in side).values()
        if len(names) > 1 and reading.knobs_of[names[0]]
    )
    bundles = tuple(_whole(reading, sides))
    return Wish(str(told), _apart(sides), driven, named, tuple(map(tuple, whole)), bundles)


def _whole(reading: Reading, sides: Sequence[tuple[str, ...]]) -> Iterator[tuple[str, ...]]:
    """What came from one knob and is on one, of one side of what is parted and of what is not."""
    every = [name for side in sides for name in side]
    for bundle in source_bundles(reading):
        within = sum(not set(bundle.names).isdisjoint(side) for side in sides)
        if within == 1 and not set(bundle.names) <= set(every):
            yield bundle.names


def _apart(sides: Sequence[tuple[str, ...]]) -> tuple[Rule, ...]:
    """What keeps each side from each other one, and nothing of one side apart."""
    if all(len(side) == 1 for side in sides):
        named = tuple(name for side in sides for name in side)
        return (Apart(named, named),)
    return tuple(
        Apart(side, tuple(name for other in sides[at:] for name in other))
        for at, side in enumerate(sides[:-1], 1)
    )


def _join(reading: Reading, edit: Join) -> Wish:
    inside: set[str] = set()
    for position, knob in enumerate(edit.knobs):
        where = f"Join.knobs[{position}]"
        check_knob(reading, where, knob)
        if not reading.carries[knob]:
            raise InputError(where, knob, "it drives nothing; name a knob that does")
        inside |= set(reading.carries[knob])
    named = tuple(name for name in reading.destinations if name in inside)
    return Wish(str(edit), (Together(named),), named=named)
