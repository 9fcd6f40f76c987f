"""Given: what a caller names of a setup, looked up."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping

import attrs

from knobpack.errors import InputError
from knobpack.grouped import grouped
from knobpack.setups.as_read import Play, Reading
from knobpack.setups.response import position_at
from knobpack.words import Snapshot, converters, fields
from knobpack.words.loudness import level_like
from knobpack.words.names import listed


def snapshot_named(where: str, reading: Reading, given: str | Snapshot) -> Snapshot:
    """The snapshot that is called so; where none is stored, there is ``everything``.

    Raises:
        InputError: there is none; ``where`` says where the name was given.
    """
    known = {snapshot.name: snapshot for snapshot in reading.snapshots}
    name = converters.snapshot_name(given)
    return known[fields.check_named(where, name, known, "name a snapshot of the setup")]


@attrs.frozen
class Standing:
    """Where the knobs stand that do not follow the master in a snapshot.

    Args:
        positions: of each of them, in panel order.
        supposed: those that carry something and of which it is not known: there a position is only
            supposed.
    """

    positions: Mapping[str, int]
    supposed: frozenset[str]


def places_told(
    places: Iterable[tuple[str, str]], supposed: Collection[str], *heads: str, most: int = 12
) -> list[str]:
    """Where knobs stand: where it is known below the first of two heads, else below the other.

    Args:
        places: for each knob itself and its place, in words.
        supposed: the knobs of which the place is only supposed.
        heads: how the two begin.
        most: places that are told one by one, at most.
    """
    of = grouped((heads[knob in supposed], place) for knob, place in places)
    return [f"{head}: {listed(of[head], most)}" for head in heads if head in of]


def standing(where: str, reading: Reading, play: Play, start: Mapping[str, int] | None) -> Standing:
    """Where the knobs stand that do not follow: as given, else as stored, else supposed.

    What is supposed is the start of the travel; of a knob that carries what can change how loud a
    voice is, the end at which that is lower, which is the quiet one (common practice, no source).

    Raises:
        InputError: ``start`` names no knob of the surface, or a position outside its range.
    """
    known = reading.stands(play) | by_hand(where, reading, start)
    held = [knob for knob in reading.carries if knob not in play.follows]
    return Standing(
        {knob: known[knob] if knob in known else supposed(reading, knob) for knob in held},
        frozenset(knob for knob in reading.by_ear(play) if knob not in known),
    )


def supposed(reading: Reading, knob: str) -> int:
    """Where a knob is taken to stand of which it is not known."""
    travel, top = reading.goes[knob], reading.setup.surface.top
    loud = [
        reading.led(route)
        for route in reading.routes
        if route.knob == knob and level_like(reading.destinations[route.destination].kind)
    ]
    if not reading.setup.surface.per_route:
        return min(travel.start, travel.end) if loud else travel.start
    # The knob goes all the way; where a level goes down as it goes up, its quiet end is the top.
    return min((0, top), key=lambda at: max((position_at(t, at, top) for t in loud), default=0))


def by_hand(where: str, reading: Reading, start: Mapping[str, int] | None) -> dict[str, int]:
    """Where a caller says that knobs stand.

    Raises:
        InputError: ``start`` names no knob of the surface, or a position outside its range.
    """
    if start is not None and not isinstance(start, Mapping):
        raise InputError(where, start, "give a position for each name of a knob")
    for knob, position in (start or {}).items():
        fields.check_named(where, knob, reading.carries, "name a knob of the surface")
        fields.check_whole(f"{where}[{knob!r}]", position, 0, reading.setup.surface.top)
    return dict(start or {})
