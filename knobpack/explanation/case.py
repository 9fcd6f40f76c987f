"""Case: an allocation with what every question about it needs, each worked out once."""

from __future__ import annotations

from functools import cached_property
from typing import Any

import attrs

from knobpack.allocation import Allocation
from knobpack.checker import priced
from knobpack.explanation.comparison import Comparison, Terms, compared, terms_of
from knobpack.ground import Ground
from knobpack.words import Layout, Request, Route, Travel
from knobpack.words.fields import check_named


@attrs.frozen(eq=False)
class Case:
    """An allocation that questions are asked about."""

    allocation: Allocation
    known: dict[tuple[str, str], Any] = attrs.field(factory=dict, init=False)
    """Why each destination is not on a knob, by both, where that was worked out."""
    _moves: dict[tuple[tuple[str, ...], str], Comparison] = attrs.field(factory=dict, init=False)

    @property
    def request(self) -> Request:
        """What was asked."""
        return self.allocation.request

    @cached_property
    def ground(self) -> Ground:
        """The facts of the request."""
        return Ground(self.request)

    @cached_property
    def knob_of(self) -> dict[str, str]:
        """The knob of each destination that is placed."""
        return {route.destination: route.knob for route in self.allocation.routes}

    @cached_property
    def goes(self) -> dict[str, Travel]:
        """The travel of each destination that is placed."""
        return dict(self.allocation.layout.goes)

    @cached_property
    def on(self) -> dict[str, tuple[str, ...]]:
        """What each knob of the surface carries, in panel order."""
        knobs: dict[str, list[str]] = {name: [] for name in self.request.surface.knob_names}
        for route in self.allocation.routes:
            knobs[route.knob].append(route.destination)
        return {knob: tuple(names) for knob, names in knobs.items()}

    def destination(self, name: str) -> str:
        """A full name, once it is known to be one.

        Raises:
            InputError: the request has no such destination.
        """
        right = "name a voice/destination of the request"
        return check_named("destination", name, self.request.destinations, right)

    def knob(self, name: str) -> str:
        """The name of a knob, once it is known to be one.

        Raises:
            InputError: the surface has no such knob.
        """
        return check_named("knob", name, self.on, "name a knob of the surface")

    def moved(self, names: tuple[str, ...], knob: str) -> Comparison:
        """What it costs to put some destinations on a knob, all else staying where it is."""
        if (names, knob) not in self._moves:
            self._moves[names, knob] = self._moved(names, knob)
        return self._moves[names, knob]

    def _moved(self, names: tuple[str, ...], knob: str) -> Comparison:
        routes = [route for route in self.allocation.routes if route.destination not in names]
        routes += [Route(name, knob) for name in names]
        # Each knob gets the travel that is cheapest for what it then carries, as in any layout; a
        # knob that carries what it did has that already.
        changed = {knob, *(self.knob_of.get(name) for name in names)}
        travels = tuple(each for each in self.allocation.travels if each.knob not in changed)
        other = priced(self.request, Layout(tuple(routes), travels))
        return compared(self.allocation.prices, other, self._terms)

    @cached_property
    def _terms(self) -> Terms:
        return terms_of(self.allocation.prices)
