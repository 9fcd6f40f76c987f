"""Surface and knob: the panel that the routes end on."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property
from itertools import pairwise
from typing import Final, Literal, SupportsIndex, TypeAlias, TypedDict, Unpack, get_args

import attrs

from knobpack.errors import InputError
from knobpack.grouped import grouped
from knobpack.text.shown import Fielded
from knobpack.words import converters, fields
from knobpack.words.names import listed, near_to

TravelOn: TypeAlias = Literal["knob", "route"]
"""Where a travel is set: on the knob, for all that it drives; on each route, for it alone."""

ON_KNOB: Final = "knob"
ON_ROUTE: Final = "route"

NOT_ON_ROUTE = "this surface sets the travel on the knob, for all that it drives; leave it out here"
NOT_ON_KNOB = "this surface sets the travel on each route; give it there, with Route.travel"
"""What is right where a travel is set in the wrong place."""


@attrs.frozen
class Knob(Fielded):
    """One physical control of the surface.

    Args:
        name: unique on its surface.
        row: counted from 1, top row first; 1 to 10,000.
        column: counted from 1, left first; 1 to 10,000.
        usual: the kinds that the player has on this knob from setup to setup, most used first; a
            destination of such a kind is drawn to it.

    Raises:
        InputError: a field holds a value it cannot hold.
    """

    name: str = attrs.field(validator=fields.name())
    row: int = attrs.field(
        default=1, converter=converters.whole, validator=fields.whole(1, fields.MOST_ITEMS)
    )
    column: int = attrs.field(
        default=1, converter=converters.whole, validator=fields.whole(1, fields.MOST_ITEMS)
    )
    usual: tuple[str, ...] = attrs.field(
        default=(), converter=converters.texts, validator=fields.names()
    )

    def beside(self, other: Knob) -> bool:
        """Whether the two stand side by side in one row.

        Args:
            other: another knob of the surface.

        Returns:
            True if they do.
        """
        return self.row == other.row and abs(self.column - other.column) == 1


class SurfaceLimits(TypedDict, total=False):
    """The fields of a Surface but its knobs, by their names; none need be given."""

    bits: SupportsIndex
    reserved: str | Iterable[str]
    favoured: str | Iterable[str]
    destinations_per_knob: SupportsIndex | None
    routes: SupportsIndex | None
    layers: SupportsIndex | None
    snapshots: SupportsIndex | None
    label_length: SupportsIndex | None
    travel_on: TravelOn


@attrs.frozen
class Surface(Fielded):
    """The panel: its knobs in order, its resolution and its limits.

    Args:
        knobs: row by row, left to right; no two in one place.
        bits: resolution of a position, 2 to 32: positions run from 0 to 2**bits - 1.
        reserved: names of knobs that take no new route (what a base keeps there stays).
        favoured: names of knobs, the best to reach first; those left out follow in panel order.
        destinations_per_knob: how many destinations one knob may carry, 1 to 10,000; None: any
            number.
        routes: how many routes there may be in all, 0 to 10,000; None: any number.
        layers: how many layers there are, numbered from 1, 0 to 10,000; None: any number.
        snapshots: how many snapshots can be stored, 0 to 10,000; None: any number.
        label_length: how many characters the display of a knob shows, 3 to 120; None: it has no
            display, or its length is not known.
        travel_on: where a travel is set. ``knob``: on the knob, for all that it drives. ``route``:
            on each route; a knob then goes all the way, each destination over its own travel.

    Raises:
        InputError: a field holds a value it cannot hold, a name is given twice, or a name in
            ``reserved`` or ``favoured`` is no knob of the surface.
    """

    knobs: tuple[Knob, ...] = attrs.field(
        converter=converters.knobs,
        validator=fields.several(Knob, simply="Surface.row(8) has eight in a row"),
    )
    bits: int = attrs.field(
        default=7, converter=converters.whole, validator=fields.whole(2, 32, unit="of bits")
    )
    reserved: tuple[str, ...] = attrs.field(
        default=(), converter=converters.knob_names, validator=fields.names()
    )
    favoured: tuple[str, ...] = attrs.field(
        default=(), converter=converters.knob_names, validator=fields.names()
    )
    destinations_per_knob: int | None = attrs.field(
        default=None,
        converter=converters.maybe_whole,
        validator=fields.whole(1, fields.MOST_ITEMS, optional=True),
    )
    routes: int | None = attrs.field(
        default=None,
        converter=converters.maybe_whole,
        validator=fields.whole(0, fields.MOST_ITEMS, optional=True),
    )
    layers: int | None = attrs.field(
        default=None,
        converter=converters.maybe_whole,
        validator=fields.whole(0, fields.MOST_ITEMS, optional=True),
    )
    snapshots: int | None = attrs.field(
        default=None,
        converter=converters.maybe_whole,
        validator=fields.whole(0, fields.MOST_ITEMS, optional=True),
    )
    label_length: int | None = attrs.field(
        default=None,
        converter=converters.maybe_whole,
        validator=fields.whole(3, fields.LONGEST_NAME, optional=True),
    )
    travel_on: TravelOn = attrs.field(default=ON_KNOB, validator=fields.choice(get_args(TravelOn)))

    def __attrs_post_init__(self) -> None:
        fields.check_distinct("Surface.knobs[].name", self.knob_names)
        places = [(knob.row, knob.column) for knob in self.knobs]
        for position, (earlier, later) in enumerate(pairwise(places), start=1):
            if later <= earlier:
                right = (
                    "list the knobs row by row, left to right, no two in one place; "
                    "give each its row and column"
                )
                raise InputError(f"Surface.knobs[{position}]", later, right)
        known = dict.fromkeys(self.knob_names)
        for field in ("reserved", "favoured"):
            for position, name in enumerate(getattr(self, field)):
                if name not in known:
                    where = f"Surface.{field}[{position}]"
                    right = "name a knob of this surface" + near_to(name, known)
                    raise InputError(where, name, right)

    @classmethod
    def row(cls, count: SupportsIndex, **limits: Unpack[SurfaceLimits]) -> Surface:
        """A surface of one row: knobs ``K1``, ``K2``, … from the left.

        Args:
            count: how many knobs, 0 to 10,000.
            limits: any other field of Surface.

        Returns:
            The surface, 7 bits unless ``bits`` is given.

        Raises:
            InputError: a number of knobs or a limit is not what it must be.
        """
        count = converters.whole(count)
        fields.check_whole("Surface.row.count", count, 0, fields.MOST_ITEMS)
        return cls._rows("row", 1, count, limits)

    @classmethod
    def grid(
        cls, rows: SupportsIndex, columns: SupportsIndex, **limits: Unpack[SurfaceLimits]
    ) -> Surface:
        """A surface of equal rows: knobs ``K1``, ``K2``, … row by row from the top left.

        Args:
            rows: how many rows, 1 to 10,000.
            columns: how many knobs in each, 0 to 10,000; at most 10,000 knobs in all.
            limits: any other field of Surface.

        Returns:
            The surface, 7 bits unless ``bits`` is given.

        Raises:
            InputError: a number of knobs or a limit is not what it must be.
        """
        rows, columns = converters.whole(rows), converters.whole(columns)
        fields.check_whole("Surface.grid.rows", rows, 1, fields.MOST_ITEMS)
        fields.check_whole("Surface.grid.columns", columns, 0, fields.MOST_ITEMS // rows)
        return cls._rows("grid", rows, columns, limits)

    @classmethod
    def _rows(cls, method: str, rows: int, columns: int, limits: SurfaceLimits) -> Surface:
        known = SurfaceLimits.__annotations__
        for name, limit in limits.items():
            if name not in known:
                right = f"the limits are {listed(tuple(known))}{near_to(name, known)}"
                raise InputError(f"Surface.{method}.{name}", limit, right)
        knobs = (
            Knob(f"K{(row - 1) * columns + column}", row, column)
            for row in range(1, rows + 1)
            for column in range(1, columns + 1)
        )
        return cls(tuple(knobs), **limits)

    @cached_property
    def knob_names(self) -> tuple[str, ...]:
        """The names of the knobs, in panel order."""
        return tuple(knob.name for knob in self.knobs)

    @property
    def per_route(self) -> bool:
        """Whether each route has a travel of its own, and a knob none."""
        return self.travel_on == ON_ROUTE

    @property
    def top(self) -> int:
        """The highest position: 2**bits - 1."""
        return int(2**self.bits) - 1

    @cached_property
    def usual_of(self) -> dict[str, tuple[str, ...]]:
        """For each kind that is usual on a knob, the names of the knobs that it is usual on."""
        pairs = ((kind, knob.name) for knob in self.knobs for kind in knob.usual)
        return {kind: tuple(names) for kind, names in grouped(pairs).items()}

    @cached_property
    def beside_before(self) -> dict[str, str]:
        """For each knob the one before it in panel order, if side by side; empty: there is none."""
        return {
            knob.name: first.name if first and first.beside(knob) else ""
            for first, knob in zip((None, *self.knobs), self.knobs, strict=False)
        }

    @cached_property
    def reach_order(self) -> tuple[str, ...]:
        """The names of the knobs, the best to reach first."""
        first = set(self.favoured)
        rest = (name for name in self.knob_names if name not in first)
        return (*self.favoured, *rest)
