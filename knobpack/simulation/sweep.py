"""Sweep: the master moved through one snapshot, and what every knob and destination does."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any, ClassVar

import attrs

from knobpack.auditing.audit import taken_otherwise
from knobpack.definition.phrases import first_of, levels_told, many, travel_text
from knobpack.errors import InputError
from knobpack.grouped import grouped
from knobpack.heavy_imports import load
from knobpack.positions.resolution import checked_array
from knobpack.setups.as_read import read
from knobpack.setups.response import Response, nearest_array, positions_at, receivers
from knobpack.simulation.given import places_told, snapshot_named, standing
from knobpack.text.shown import Told
from knobpack.words import Route, Setup, Snapshot, Travel, fields
from knobpack.words.loudness import level_like
from knobpack.words.names import knob_told, knobs_told, listed

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

MOST_POINTS = 2**16
"""Positions of the master that a sweep goes through if none are given, at most."""

MOST_NUMBERS = 2**26
"""Numbers that a sweep may hold, at most: knobs and routes times positions of the master."""


def _locked(values: NDArray[Any]) -> NDArray[Any]:
    """The array, read-only: its own copy, so that nobody else can write to it."""
    own = values.copy()
    own.flags.writeable = False
    return own


def _locked_rows(values: NDArray[Any], sweep: Sweep) -> NDArray[Any]:
    """As :func:`_locked`; no rows at all are as long as others, whoever read them."""
    return _locked(values.reshape(-1, len(sweep.master)))


def _same(one: NDArray[Any], other: NDArray[Any]) -> bool:
    return one.shape == other.shape and bool((one == other).all())


_SAME: Any = attrs.cmp_using(eq=_same)
_ROWS: Any = attrs.Converter(_locked_rows, takes_self=True)  # type: ignore[call-overload]


@attrs.frozen
class Sweep(Told):
    """What every knob and destination does while the master moves. All arrays are read-only.

    Args:
        setup: the name of the setup.
        snapshot: the name of the snapshot.
        top: the highest position, 2**bits - 1.
        knobs: all knobs of the surface, in panel order; axis 0 of ``positions``.
        travels: the travel of each, in positions, as it was simulated.
        routes: those that were simulated, in the setup's order, with their own travels where the
            surface sets them on routes; axis 0 of ``received``.
        kinds: the kind of the destination of each route.
        follows: the knobs that follow the master, in panel order.
        asked: the full names of the destinations that are to move.
        unreached: the full names of the destinations that no route reaches.
        supposed: the knobs of routes that are held where neither the snapshot nor the caller says:
            they are shown at the start of their travels, at the lower end where a level is on them.
        remarks: what is faulty in the setup and is taken as :mod:`knobpack.setups.as_read` says, in
            sentences. A destination that two knobs drive is simulated with each of them alone.
        master: the positions of the master, in order; shape (points,), int64.
        positions: where each knob stands; shape (knobs, points), int64, 0 to ``top``.
        received: what comes out of each route; shape (routes, points), float64: 0 to 1 of full
            travel, or in the unit of the response that was given.
    """

    question: ClassVar[str] = "sweep"

    setup: str
    snapshot: str
    top: int
    knobs: tuple[str, ...]
    travels: tuple[Travel, ...]
    routes: tuple[Route, ...]
    kinds: tuple[str, ...]
    follows: tuple[str, ...]
    asked: tuple[str, ...]
    unreached: tuple[str, ...]
    supposed: tuple[str, ...]
    remarks: tuple[str, ...]
    master: NDArray[np.int64] = attrs.field(converter=_locked, eq=_SAME, hash=False, repr=False)
    positions: NDArray[np.int64] = attrs.field(
        converter=_ROWS,  # type: ignore[misc]
        eq=_SAME,
        hash=False,
        repr=False,
    )
    received: NDArray[np.float64] = attrs.field(
        converter=_ROWS,  # type: ignore[misc]
        eq=_SAME,
        hash=False,
        repr=False,
    )

    def __reduce__(self) -> tuple[Any, ...]:
        """Built anew when unpickled: numpy forgets that an array is read-only."""
        inner = tuple(getattr(self, field.name) for field in attrs.fields(type(self)))
        return type(self), inner

    @property
    def moved(self) -> tuple[str, ...]:
        """The full names of the destinations that receive anything new on the way."""
        return tuple(dict.fromkeys(route.destination for route in self._moving))

    @property
    def held(self) -> tuple[str, ...]:
        """The full names of the destinations that a route reaches and that do not move."""
        moved = set(self.moved)
        reached = dict.fromkeys(route.destination for route in self.routes)
        return tuple(name for name in reached if name not in moved)

    @property
    def sentences(self) -> tuple[str, ...]:
        """What moves, over what, and what is held."""
        found = [self._heading, *self._moving_lines, *self._held_lines]
        asked, moved = set(self.asked), set(self.moved)
        for told, names in (
            ("Asked to move, but still", [name for name in self.held if name in asked]),
            ("Asked to be held, but moving", [name for name in moved if name not in asked]),
            ("Reached by no route", self.unreached),
        ):
            if names:
                found.append(f"{told}: {listed(sorted(names))}.")
        found += first_of(self.remarks, "more remark")
        moving = set(self._moving)
        each = zip(self.routes, self.kinds, strict=True)
        loud = {route.knob for route, kind in each if route in moving and level_like(kind)}
        if loud:
            where = knobs_told(knob for knob in self.knobs if knob in loud)
            found.append(levels_told(f"move on {where}"))
        return tuple(found)

    @property
    def _moving(self) -> tuple[Route, ...]:
        changes = (self.received != self.received[:, :1]).any(axis=1)
        return tuple(r for r, changed in zip(self.routes, changes, strict=True) if changed)

    @property
    def _heading(self) -> str:
        way = f"the master goes from {self.master[0]} to {self.master[-1]}"
        count, whole = len(self.follows), many(len(self.knobs), "knob")
        verb = "follows" if count == 1 else "follow"
        moving = len({route.knob for route in self._moving} & {*self.follows})
        move = "moves" if moving == 1 else "move"
        works = "" if moving == count else f", and {moving} of them {move} something"
        return f"Snapshot {self.snapshot!r}: {way}; {count} of {whole} {verb}{works}."

    @property
    def _moving_lines(self) -> list[str]:
        moving = (
            (r, f" over {travel_text(r.travel, self.top)}" if r.travel else "")
            for r in self._moving
        )
        driven = grouped((route.knob, f"{route.destination}{over}") for route, over in moving)
        travels = dict(zip(self.knobs, self.travels, strict=True))
        found = []
        for knob in self.follows:
            told = f"{knob_told(knob)} follows over {travel_text(travels[knob], self.top)}"
            if not travels[knob].empty:
                told += f" and moves {listed(driven.get(knob, ['nothing']))}"
            found.append(f"{told}.")
        return first_of(found, "more knob", " that follow")

    @property
    def _held_lines(self) -> list[str]:
        driving = {route.knob for route in self.routes}
        still = (
            (knob, f"{knob_told(knob)} at {row[0]}")
            for knob, row in zip(self.knobs, self.positions, strict=True)
            if knob in driving and knob not in self.follows
        )
        idle = [knob for knob in self.knobs if knob not in driving]
        heads = "Held", "Held where nobody knows, and shown as if"
        found = [f"{told}." for told in places_told(still, self.supposed, *heads)]
        return found + ([f"Without a route: {knobs_told(idle)}."] if idle else [])


def sweep(
    setup: Setup,
    snapshot: str | Snapshot,
    *,
    master: int | Iterable[int] | None = None,
    start: Mapping[str, int] | None = None,
    responses: Mapping[str, Response] | None = None,
) -> Sweep:
    """Move the master through one snapshot and tell what every knob and destination does.

    A knob that follows goes from the start of its travel to its end, in proportion to the master,
    rounded to the nearest position, exactly. Every other knob is held: it stands where the snapshot
    puts it. Where that is not known, it is shown at the start of its travel, or at the lower end
    if a level is on it, and told: see ``Sweep.supposed``.
    A stepped destination takes the step that a position stands for, and the step counts as its
    share of the way from the first to the last. Faulty setups are simulated too: see
    :mod:`knobpack.setups.as_read`.

    Args:
        setup: what is programmed; its master has the resolution of its surface.
        snapshot: the snapshot that is in force, or its name.
        master: the positions of the master in the order it goes through them, 0 to 2**bits - 1; or
            how many, 2 or more, spread evenly from bottom to top. None: every position, or above 16
            bits 65,536 of them, spread evenly.
        start: for each name of a knob where it stands that is held, 0 to 2**bits - 1, in place of
            where the snapshot puts it.
        responses: what a destination makes of the position, by full name; without one it receives
            the share of full travel, 0 to 1.

    Returns:
        Where everything stands and what it receives at every position of the master. Its arrays are
        read-only: ``master`` (points,) and ``positions`` (knobs, points) of int64, ``received``
        (routes, points) of float64.

    Raises:
        InputError: an argument is of another type or out of range, names what the setup does not
            have, or asks for more than 2**26 numbers.

    Source:
        M2-115-U 1.0.2, section 5 (steps).

    Example:
        >>> from knobpack import Destination, KnobTravel, Route, Setup, Snapshot
        >>> from knobpack import Surface, Travel, Voice
        >>> from knobpack.simulation import sweep
        >>> piano = Voice("Felt piano", (Destination("level"),), layer=1)
        >>> setup = Setup(
        ...     "Evening set",
        ...     Surface.row(2),
        ...     voices=(piano,),
        ...     routes=(Route("Felt piano/level", "K1"),),
        ...     travels=(KnobTravel("K1", Travel(20, 100)),),
        ...     snapshots=(Snapshot("Swell", ("Felt piano",)), Snapshot("Still")),
        ... )
        >>> found = sweep(setup, "Swell", master=3)
        >>> found.positions
        array([[ 20,  60, 100],
               [  0,   0,   0]])
        >>> found.moved
        ('Felt piano/level',)
    """
    load("numpy")
    import numpy as np

    reading = read(setup, "sweep.setup")
    swept = snapshot_named("sweep.snapshot", reading, snapshot)
    play = reading.play(swept)
    held = standing("sweep.start", reading, play, start)
    ends = receivers("sweep.responses", reading, responses)
    top = setup.surface.top
    way = _way(master, setup.surface.bits)
    if len(way) * (len(reading.goes) + len(reading.routes)) > MOST_NUMBERS:
        raise InputError("sweep.master", len(way), "ask for fewer positions of the master")
    positions = np.empty((len(reading.goes), len(way)), dtype=np.int64)
    row = {knob: index for index, knob in enumerate(reading.goes)}
    for knob, travel in reading.goes.items():
        still = held.positions.get(knob)
        positions[row[knob]] = positions_at(travel, way, top) if still is None else still
    received = np.empty((len(reading.routes), len(way)), dtype=np.float64)
    for index, (route, end) in enumerate(zip(reading.routes, ends, strict=True)):
        received[index] = end.received_array(positions[row[route.knob]])
    return Sweep(
        setup=setup.name,
        snapshot=swept.name,
        top=top,
        knobs=tuple(reading.goes),
        travels=tuple(reading.goes.values()),
        routes=reading.routes,
        kinds=tuple(reading.destinations[route.destination].kind for route in reading.routes),
        follows=play.follows,
        asked=tuple(name for name in reading.destinations if name in play.moved),
        unreached=tuple(name for name, knobs in reading.knobs_of.items() if not knobs),
        supposed=tuple(knob for knob in reading.goes if knob in held.supposed),
        remarks=taken_otherwise(reading, swept.name),
        master=way,
        positions=positions,
        received=received,
    )


def _way(given: object, bits: int) -> NDArray[np.int64]:
    """The positions that the master goes through."""
    load("numpy")
    import numpy as np

    where, top = "sweep.master", (1 << bits) - 1
    if given is None:
        count = min(top + 1, MOST_POINTS)
    elif isinstance(given, int):
        fields.check_whole(where, given, 2, min(top + 1, MOST_NUMBERS), "of positions")
        count = given
    elif isinstance(given, np.ndarray):
        if given.ndim != 1 or not len(given):
            raise InputError(where, given, "give one or more positions, in one row")
        return checked_array(where, given, bits)
    else:
        right = "give one or more positions, or how many"
        way = fields.as_list(where, given, right, least=1)
        for index, position in enumerate(way):
            fields.check_whole(f"{where}[{index}]", position, 0, top)
        return np.array(way, dtype=np.int64)
    return nearest_array(np.arange(count, dtype=np.uint64), top, count - 1)
