"""Records: an allocation as plain rows, for data frames and tables."""

from __future__ import annotations

from typing import TypeAlias

from knobpack.allocation import Allocation

Record: TypeAlias = dict[str, str | int | bool | None]
"""One row: a value under each heading."""


def records(allocation: Allocation) -> list[Record]:
    """A record for each destination; see :meth:`knobpack.Allocation.to_records`."""
    request = allocation.request
    knob_of = {route.destination: route.knob for route in allocation.routes}
    goes = allocation.layout.goes
    layers = {place.voice: place.new for place in allocation.layers}
    moved = {each.name: request.moved(each) for each in request.played}
    made: list[Record] = []
    for full, inner in request.destinations.items():
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
