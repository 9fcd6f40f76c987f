"""Allocation: what :func:`knobpack.allocate` gives back."""

from __future__ import annotations

from typing import TYPE_CHECKING

import attrs

from knobpack.graph import layout_graph
from knobpack.prices import Prices
from knobpack.words import KnobTravel, Layout, Request, Route, Setup, Voice, VoiceLayer

if TYPE_CHECKING:
    import networkx as nx


@attrs.frozen
class Tier:
    """What one tier came to.

    Args:
        name: one of :data:`knobpack.TIERS`.
        value: what the layout costs, in points of this tier.
        bound: no layout that is as good in every earlier tier costs less than this.
        proven: whether the value is proven least, every earlier tier being proven too.
    """

    name: str
    value: int
    bound: int
    proven: bool


@attrs.frozen
class Following:
    """The knobs that follow the master in one snapshot, in panel order."""

    snapshot: str
    knobs: tuple[str, ...]


@attrs.frozen
class NewLayer:
    """The layer that a voice got, and where it came from.

    Args:
        voice: its name.
        source: the setup it comes from; None: the host, or none.
        old: its layer there; None: it had none.
        new: its layer now, counted from 1.
    """

    voice: str
    source: str | None
    old: int | None
    new: int


@attrs.frozen
class Frontier:
    """The least that some destinations come to with so many knobs, where the search found it.

    Args:
        destinations: full names, in the order of the request.
        costs: a number of knobs that nothing is kept or fixed on, and the least values of the
            first three tiers on at most so many of them; None: no layout meets every demand
            there. Numbers that are not listed are not known.
    """

    destinations: tuple[str, ...]
    costs: tuple[tuple[int, tuple[int, int, int] | None], ...]


@attrs.frozen
class Frontiers:
    """What the search found out about other numbers of knobs than there are.

    Args:
        families: what each family costs, the rest of the layout left as it is. What it shares
            with no other family is counted: a bundle or rule only so far as it lies within.
        whole: what all destinations cost, the knobs divided anew.
    """

    families: tuple[Frontier, ...]
    whole: Frontier


@attrs.frozen
class Allocation:
    """A layout, checked, with what it costs and how far that is proven best.

    Args:
        request: what was asked.
        routes: every route, in panel order.
        travels: the travel of every used knob, in positions of the surface's resolution.
        following: for every snapshot, the knobs that follow the master.
        unplaced: the full names of the destinations left out.
        layers: the layer of every voice.
        tiers: value, bound and proof of every tier, the most important first.
        prices: the cost of every tier, term by term, as the plain checker recomputed it.
        stopped: what cut the search short (``time limit``, ``cancelled``, ``effort``); None if
            nothing did.
        frontiers: what other numbers of knobs would cost, as far as the search found that out on
            its way; None where it did not need it.
    """

    request: Request = attrs.field(repr=False)
    routes: tuple[Route, ...]
    travels: tuple[KnobTravel, ...]
    following: tuple[Following, ...]
    unplaced: tuple[str, ...]
    layers: tuple[NewLayer, ...]
    tiers: tuple[Tier, ...]
    prices: Prices = attrs.field(repr=False)
    stopped: str | None = None
    frontiers: Frontiers | None = attrs.field(default=None, repr=False)

    @property
    def proven(self) -> bool:
        """Whether every tier is proven best."""
        return all(tier.proven for tier in self.tiers)

    @property
    def layout(self) -> Layout:
        """Its routes, travels and layers: to check again, to keep, or to stay close to."""
        layers = tuple(VoiceLayer(place.voice, place.new) for place in self.layers)
        return Layout(self.routes, self.travels, layers)

    @property
    def graph(self) -> nx.MultiDiGraph[str]:
        """Everything that is asked and what the layout does about it, as a network of facts.

        See :func:`knobpack.graph.layout_graph` for its nodes and edges. It is made anew each time.
        """
        return layout_graph(self.request, self.layout, self.prices)

    def on(self, knob: str) -> tuple[str, ...]:
        """The full names of what a knob drives."""
        return tuple(route.destination for route in self.routes if route.knob == knob)

    def setup(self, name: str) -> Setup:
        """The allocation as a setup: the voices at their new layers, all that is programmed.

        Args:
            name: what the setup is called.

        Raises:
            InputError: ``name`` is not a name.
        """
        new = {place.voice: place.new for place in self.layers}
        voices = tuple(
            Voice(voice.name, voice.destinations, new[voice.name], voice.source)
            for voice in self.request.voices
        )
        request = self.request
        return Setup(
            name, request.surface, voices, request.groups, self.routes, self.travels, request.played
        )
