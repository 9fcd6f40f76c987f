"""What a request names must be in it, and its positions must lie within its resolution."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from functools import cached_property
from typing import TYPE_CHECKING

import attrs

from knobpack.errors import InputError
from knobpack.words.names import near_to
from knobpack.words.rules import member_lists, rule_knobs
from knobpack.words.surface import NOT_ON_KNOB, NOT_ON_ROUTE
from knobpack.words.travel import Travel

if TYPE_CHECKING:
    from knobpack.words.request import Request


def check_request(request: Request) -> None:
    """Refuse a request that names what is not there, or sets what its surface does not have.

    Raises:
        InputError: names the first field that will not do.
    """
    checks = _Checks(request)
    checks.travels()
    checks.snapshots()
    checks.rules()
    checks.keep()
    checks.layers()
    checks.use()


@attrs.frozen(eq=False, slots=False)
class _Checks:
    """A request, and what it may name."""

    request: Request

    @cached_property
    def knobs(self) -> dict[str, None]:
        return dict.fromkeys(self.request.surface.knob_names)

    def travels(self) -> None:
        for position, voice in enumerate(self.request.voices):
            for inner, destination in enumerate(voice.destinations):
                where = f"Request.voices[{position}].destinations[{inner}].travel"
                self.travel(where, destination.travel)
        for position, setting in enumerate(self.request.keep.travels):
            self.travel(f"Request.keep.travels[{position}].travel", setting.travel)

    def snapshots(self) -> None:
        for position, group in enumerate(self.request.groups):
            self.members(f"Request.groups[{position}].members", group.members)
        inside = self.request.by_full_name
        voices = [voice.name for voice in self.request.voices]
        for position, snapshot in enumerate(self.request.snapshots or ()):
            where = f"Request.snapshots[{position}].moves"
            self.members(where, snapshot.moves)
            for place, name in enumerate(snapshot.moves):
                if name in inside and not inside[name].movable:
                    right = "it is not movable; leave it out, or let it move"
                    raise InputError(f"{where}[{place}]", name, right)
            stored = f"Request.snapshots[{position}]"
            for place, each in enumerate(snapshot.positions):
                self.knob(f"{stored}.positions[{place}].knob", each.knob)
                self.position(f"{stored}.positions[{place}].position", each.position)
            for place, name in enumerate(snapshot.silent):
                _check(f"{stored}.silent[{place}]", name, voices, "name a voice of this request")
            for place, name in enumerate(snapshot.idle):
                self.knob(f"{stored}.idle[{place}]", name)

    def rules(self) -> None:
        for position, rule in enumerate(self.request.rules):
            where = f"Request.rules[{position}]"
            for field, names in member_lists(rule).items():
                self.members(f"{where}.{field}", names)
            for field, knob in rule_knobs(rule).items():
                self.knob(f"{where}.{field}", knob)

    def keep(self) -> None:
        per_route = self.request.surface.per_route
        for position, route in enumerate(self.request.keep.routes):
            where = f"Request.keep.routes[{position}]"
            right = "name a voice/destination of this request"
            _check(f"{where}.destination", route.destination, self.request.by_full_name, right)
            self.knob(f"{where}.knob", route.knob)
            if route.travel is not None and not per_route:
                raise InputError(f"{where}.travel", route.travel, NOT_ON_ROUTE)
            self.travel(f"{where}.travel", route.travel)
        for position, setting in enumerate(self.request.keep.travels):
            if per_route:
                raise InputError(f"Request.keep.travels[{position}]", setting, NOT_ON_KNOB)
            self.knob(f"Request.keep.travels[{position}].knob", setting.knob)

    def layers(self) -> None:
        said_at = {}
        for position, voice in enumerate(self.request.voices):
            said_at[voice.name] = f"Request.voices[{position}].layer"
        for position, place in enumerate(self.request.keep.layers):
            where = f"Request.keep.layers[{position}]"
            _check(f"{where}.voice", place.voice, said_at, "name a voice of this request")
            said_at[place.voice] = f"{where}.layer"
        most = self.request.surface.layers
        taken: dict[int, str] = {}
        for name, layer in self.request.base_layers.items():
            if layer in taken:
                right = f"{taken[layer]!r} is kept at this layer; give {name!r} another"
                raise InputError(said_at[name], layer, right)
            if most is not None and layer > most:
                raise InputError(said_at[name], layer, f"the surface has layers 1 to {most}")
            taken[layer] = name

    def use(self) -> None:
        request = self.request
        if request.in_use and request.previous is None:
            raise InputError("Request.previous", None, "give the layout that is in use")
        if request.edited and not request.in_use:
            right = "it says what an edit of a layout in use names; leave it out, or set in_use"
            raise InputError("Request.edited", request.edited, right)
        self.members("Request.edited", request.edited)
        if not request.in_use or request.previous is None:
            return
        for position, setting in enumerate(request.previous.travels):
            if setting.knob in self.knobs:
                self.travel(f"Request.previous.travels[{position}].travel", setting.travel)
        for position, route in enumerate(request.previous.routes):
            self.travel(f"Request.previous.routes[{position}].travel", route.travel)

    def members(self, where: str, names: Iterable[str]) -> None:
        right = "name a voice, a group, or voice/destination of this request"
        for position, name in enumerate(names):
            _check(f"{where}[{position}]", name, self.request.members, right)

    def knob(self, where: str, name: str) -> None:
        _check(where, name, self.knobs, "name a knob of the surface")

    def travel(self, where: str, travel: Travel | None) -> None:
        if travel is not None:
            self.position(f"{where}.start", travel.start)
            self.position(f"{where}.end", travel.end)

    def position(self, where: str, position: int) -> None:
        surface = self.request.surface
        if position > surface.top:
            right = f"positions run from 0 to {surface.top} at {surface.bits} bits"
            raise InputError(where, position, right)


def _check(where: str, name: str, known: Collection[str], right: str) -> None:
    """Refuse a name that is none of those known, with what comes close to it."""
    if name not in known:
        raise InputError(where, name, right + near_to(name, known))
