"""Case: an allocation with what every question about it needs, each worked out once."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cached_property
from typing import TYPE_CHECKING, Any

import attrs

from knobpack.allocation import Allocation
from knobpack.definition.layout_prices import knob_prices, place_prices
from knobpack.definition.travel_prices import chosen_travels
from knobpack.errors import InputError
from knobpack.explanation.comparison import Comparison, Terms, added, changed, priced_terms
from knobpack.reasons.ground import Ground
from knobpack.words import Knob, Layout, Request, Travel
from knobpack.words.converters import knob_name
from knobpack.words.fields import check_named
from knobpack.words.request import check_asked

if TYPE_CHECKING:
    from knobpack.numbered.problem import Problem

_UNSET = Layout()
"""A layout that sets no travel."""


@attrs.frozen(eq=False)
class Case:
    """An allocation that questions are asked about."""

    allocation: Allocation
    known: dict[tuple[str, str], Any] = attrs.field(factory=dict, init=False)
    """Why each destination is not on a knob, by both, where that was worked out."""
    instead: dict[str, tuple[Any, ...]] = attrs.field(factory=dict, init=False)
    """Which others could share in place of those on each knob, where that was worked out."""
    _moves: dict[tuple[tuple[str, ...], str], Comparison] = attrs.field(factory=dict, init=False)
    _places: dict[tuple[str, ...], Terms] = attrs.field(factory=dict, init=False)
    _knobs: dict[tuple[str, tuple[str, ...]], Terms] = attrs.field(factory=dict, init=False)

    @property
    def request(self) -> Request:
        """What was asked."""
        return self.allocation.request

    @cached_property
    def ground(self) -> Ground:
        """The facts of the request."""
        return Ground(self.request)

    @cached_property
    def problem(self) -> Problem:
        """The request numbered."""
        from knobpack.numbered.request import problem_of
        from knobpack.solver.value_functions.known import numbered

        return numbered(self.allocation) or problem_of(self.request)

    @cached_property
    def atom_of(self) -> dict[str, int]:
        """The number of the atom of each destination in the problem."""
        return {name: self.problem.atom_of[at] for at, name in enumerate(self.request.by_full_name)}

    @cached_property
    def knob_of(self) -> dict[str, str]:
        """The knob of each destination that is placed."""
        return {route.destination: route.knob for route in self.allocation.routes}

    @cached_property
    def goes(self) -> dict[str, Travel]:
        """The travel of each destination that is placed."""
        return dict(self._layout.goes)

    @cached_property
    def on(self) -> dict[str, tuple[str, ...]]:
        """What each knob of the surface carries, in panel order."""
        knobs: dict[str, list[str]] = {name: [] for name in self.request.surface.knob_names}
        for route in self.allocation.routes:
            knobs[route.knob].append(route.destination)
        return {knob: tuple(names) for knob, names in knobs.items()}

    def destination(self, question: str, name: str) -> str:
        """A full name that was given to a question, once it is known to be one.

        Raises:
            InputError: the request has no such destination.
        """
        return check_asked(f"{question}.destination", name, self.request)

    def knob(self, question: str, knob: str | Knob) -> str:
        """The name of a knob that a question was given, or whose name, once it is known to be one.

        Raises:
            InputError: the surface has no such knob.
        """
        name = knob_name(knob)
        if isinstance(name, str) and name in self.request.by_full_name:
            right = "name a knob of the surface; the destination comes before it"
            raise InputError(f"{question}.knob", name, right)
        return check_named(f"{question}.knob", name, self.on, "name a knob of the surface")

    def moved(self, names: tuple[str, ...], knob: str) -> Comparison:
        """What it costs to put some destinations on a knob, all else staying where it is."""
        if (names, knob) not in self._moves:
            self._moves[names, knob] = self.rearranged(dict.fromkeys(names, knob))
        return self._moves[names, knob]

    def rearranged(self, places: Mapping[str, str]) -> Comparison:
        """What it costs to put each of some destinations on a knob, all else staying."""
        there, names = {**self.knob_of, **places}, tuple(places)
        parts: list[tuple[Terms, int]] = []
        left = (self.knob_of[name] for name in names if name in self.knob_of)
        for each in dict.fromkeys((*left, *places.values())):  # what is alike is told in this order
            drives = tuple(name for name in self.on[each] if name not in places)
            coming = tuple(name for name in names if places[name] == each)
            if coming:
                drives = self.request.named((*drives, *coming))
            parts += [(self._driving(each, drives), 1), (self._driving(each, self.on[each]), -1)]
        parts += [(self._by_place(there, names), 1), (self._place(names), -1)]
        change = added({}, *parts)
        return changed(self._totals, self.allocation.prices.order, self._terms, change)

    def _by_place(self, knob_of: dict[str, str], names: tuple[str, ...]) -> Terms:
        """What some destinations cost by where they are."""
        return priced_terms(place_prices(self.request, knob_of, dict.fromkeys(names).keys()))

    def _place(self, names: tuple[str, ...]) -> Terms:
        """The same as they are."""
        if names not in self._places:
            self._places[names] = self._by_place(self.knob_of, names)
        return self._places[names]

    def _driving(self, knob: str, names: tuple[str, ...]) -> Terms:
        """What a knob costs by what is on it.

        As it is it has the travel of the layout; else the cheapest one, as in any layout.
        """
        if not names:
            return {}
        if (knob, names) not in self._knobs:
            layout = self._layout if names == self.on[knob] else _UNSET
            travel = chosen_travels(self.request, layout, {knob: list(names)})[knob]
            self._knobs[knob, names] = priced_terms(knob_prices(self.request, knob, names, travel))
        return self._knobs[knob, names]

    @cached_property
    def _layout(self) -> Layout:
        return self.allocation.layout

    @cached_property
    def _totals(self) -> tuple[int, ...]:
        return self.allocation.prices.totals

    @cached_property
    def _terms(self) -> Terms:
        return priced_terms((self.allocation.prices,))
