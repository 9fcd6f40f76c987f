"""Records: what an allocation says of tiers, snapshots, layers and families; and its rows."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import count
from typing import TYPE_CHECKING, TypeAlias

import attrs

from knobpack.setups.as_read import read
from knobpack.text.shown import Fielded
from knobpack.words import Request, Setup
from knobpack.words.fields import check_named

if TYPE_CHECKING:
    from knobpack.allocation import Allocation

Record: TypeAlias = dict[str, str | int | bool | None]
"""One row: a value under each heading."""


@attrs.frozen
class Tier(Fielded):
    """What one tier came to.

    Args:
        name: one of :data:`knobpack.checker.TIERS`.
        value: what the layout costs, in points of this tier.
        bound: no layout that is as good in every earlier tier costs less than this, in points.
        proven: whether the value is proven least, every earlier tier being proven too.
        as_shared: no layout that is as good in every earlier tier and has the same destinations
            together, on whichever knobs, costs less than this. What is on one knob decides all
            tiers but the last two, so there it is ``bound`` alone.
    """

    name: str
    value: int
    bound: int
    proven: bool
    as_shared: int = attrs.field(
        repr=False, default=attrs.Factory(lambda own: own.bound, takes_self=True)
    )

    def __str__(self) -> str:
        return f"{self.name} {self.value:,}, {'proven' if self.proven else f'bound {self.bound:,}'}"

    @property
    def proof(self) -> str:
        """What is proven of the value, in words."""
        if self.proven:
            return "proven least"
        if self.as_shared <= self.bound:
            return f"at least {self.bound:,}"
        least = "least" if self.as_shared == self.value else f"at least {self.as_shared:,}"
        return f"{least} with this sharing, at least {self.bound:,} with any"

    @property
    def gap(self) -> float:
        """How much of the value may be too much, at most: 0 if it is proven least, below 1."""
        return 0.0 if self.proven or not self.value else (self.value - self.bound) / self.value


class Tiered:
    """What has tiers, the most important first, each with how far it is proven."""

    __slots__ = ()

    tiers: tuple[Tier, ...]

    @property
    def proven(self) -> bool:
        """Whether every tier is proven best."""
        return all(tier.proven for tier in self.tiers)

    @property
    def gap(self) -> float:
        """How much of the first tier that is not proven may be too much; 0 if all are proven."""
        return next((tier.gap for tier in self.tiers if not tier.proven), 0.0)

    def tier(self, name: str) -> Tier:
        """One tier.

        Args:
            name: what it is called, such as ``sharing``.

        Returns:
            Its value, bound and proof.

        Raises:
            InputError: there is no such tier.
        """
        tiers = {tier.name: tier for tier in self.tiers}
        return tiers[check_named(f"{type(self).__name__}.tier.name", name, tiers, "name a tier")]


def tiers_from(names: Iterable[str], values: Iterable[int], bounds: Iterable[int]) -> list[Tier]:
    """Tiers, each proven where it and all before it are what they are bounded by.

    Args:
        names: what they are called, the most important first.
        values: what each came to.
        bounds: what each cannot go below, all before it being as good.
    """
    found, proven = list[Tier](), True
    for name, value, bound in zip(names, values, bounds, strict=True):
        proven = proven and value == bound
        found.append(Tier(name, value, bound, proven))
    return found


@attrs.frozen
class Following(Fielded):
    """The knobs that follow the master in one snapshot, in panel order.

    Args:
        snapshot: the name of the snapshot.
        knobs: the names of those that follow.
    """

    snapshot: str
    knobs: tuple[str, ...]


def following_in(setup: Setup) -> tuple[Following, ...]:
    """The knobs that really follow the master in each snapshot that a setup stores.

    What a fault keeps out of every request has its say as well.
    """
    return tuple(Following(each.snapshot.name, each.follows) for each in read(setup).stored_plays)


@attrs.frozen
class NewLayer(Fielded):
    """The layer that a voice got, and where it came from.

    Args:
        voice: its name.
        source: the setup it comes from; None: the base, or none.
        old: its layer there, counted from 1; None: it had none.
        new: its layer now, counted from 1.
    """

    voice: str
    source: str | None
    old: int | None
    new: int


def records(allocation: Allocation) -> list[Record]:
    """A record for each destination; see :meth:`knobpack.Allocation.to_records`."""
    request = allocation.request
    knob_of = {route.destination: route.knob for route in allocation.routes}
    goes = allocation.layout.goes
    layers = {place.voice: place.new for place in allocation.layers}
    moved = {each.name: request.moved(each) for each in request.played}
    made: list[Record] = []
    for full, inner in request.by_full_name.items():
        voice, travel = request.voice_of[full].name, goes.get(full)
        record: Record = {
            "destination": full,
            "voice": voice,
            "name": inner.name,
            "kind": inner.kind,
            "priority": inner.priority,
            "layer": layers[voice],
            "knob": knob_of.get(full),
            "start": None if travel is None else travel.start,
            "end": None if travel is None else travel.end,
        }
        made.append(record | {f"moves in {name}": full in names for name, names in moved.items()})
    return made


def new_layers(request: Request) -> tuple[NewLayer, ...]:
    """Give every voice a layer: the base's stay, then the previous, then the lowest free ones.

    Voices without a layer take the free ones in the order of the request. Where the surface has
    too few layers the numbers go beyond them: the demand is then reported as impossible.
    """
    at, highest = dict(request.base_layers), request.surface.layers
    new = {voice.name for voice in request.voices}.difference(at)
    for place in request.previous.layers if request.previous else ():
        there = highest is None or place.layer <= highest
        if there and place.voice in new.difference(at) and place.layer not in at.values():
            at[place.voice] = place.layer
    taken = set(at.values())
    free = (layer for layer in count(1) if layer not in taken)
    return tuple(
        NewLayer(each.name, each.source, each.layer, at.get(each.name) or next(free))
        for each in request.voices
    )
