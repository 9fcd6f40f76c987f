"""Peer: greedy colouring (networkx), a colour for each knob, and then places on the panel.

Units are nodes, those of a bundle that may share with one another being one; an edge joins what
may not share, and what is dearer on one knob than a threshold.
The knobs are nodes as well, all joined to one another and coloured first, and a unit is joined to
each knob that it may not be on. The threshold is lowered by bisection as far as the colours go
round. What gets none of the knobs' colours, or is too much for a knob, is inserted where it costs
least.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from itertools import combinations
from typing import Any

import networkx as nx
from networkx.algorithms import coloring

from benchmarks.peers.answer import Answer, Clock, Tell
from benchmarks.peers.costs import Costs
from benchmarks.peers.insertion import insert
from benchmarks.peers.placing import placed_well
from benchmarks.peers.shape import shape_of
from benchmarks.peers.state import NOWHERE, State
from knobpack.words import Request

Colours = dict[Any, int]
Strategy = Callable[[Any, Colours], Iterator[Any]]

STRATEGIES: dict[str, Strategy] = {
    "largest first": coloring.strategy_largest_first,
    "smallest last": coloring.strategy_smallest_last,
    "connected": coloring.strategy_connected_sequential_bfs,
    "independent sets": coloring.strategy_independent_set,
    "DSATUR": coloring.strategy_saturation_largest_first,
}
"""Orders of colouring, the quick ones first; DSATUR: Brélaz 1979, Comm. ACM 22 (from memory)."""

FOR_PLACES = 0.1
"""The share of the time that is left for the tiers after *sharing*."""


def solve(request: Request, seconds: float, tell: Tell) -> Answer:
    """Colour by every strategy, keep the cheapest, and put it on the panel."""
    clock = Clock.of(seconds)
    costs = Costs(shape_of(request))
    state = State(costs)
    search = _Colouring(state, Clock(clock.end - FOR_PLACES * seconds), tell)
    for strategy in STRATEGIES.values():
        if search.best is None or search.clock.left > 0:
            search.bisect(strategy)
    best = search.best or [NOWHERE] * len(costs.shape.units)
    short = Clock(min(clock.end, Clock.of(FOR_PLACES * seconds).end))
    layout = costs.shape.layout(placed_well(costs, best, short))
    tell(layout)
    return Answer(layout)


class _Colouring:
    """The cheapest allocation of all colourings so far."""

    def __init__(self, state: State, clock: Clock, tell: Tell) -> None:
        self.state, self.clock, self.tell = state, clock, tell
        self.best: list[int] | None = None
        self.best_value = 0
        self.nodes = _nodes(state)
        self.graph = _demanded(state, self.nodes)
        self.prices = _pair_prices(state, self.nodes)
        self.thresholds = sorted({0, *(price for _, _, price in self.prices)})

    def bisect(self, strategy: Strategy) -> None:
        """Find about the lowest threshold at which the colours go round."""
        low, high = 0, len(self.thresholds) - 1
        while low <= high and (self.best is None or self.clock.left > 0):
            middle = (low + high) // 2 if self.best is not None else high
            if self.coloured(strategy, self.thresholds[middle]):
                high = middle - 1
            else:
                low = middle + 1

    def coloured(self, strategy: Strategy, threshold: int) -> bool:
        """Whether a colouring places everything; keeps it if it is the cheapest."""
        graph = self.graph.copy()
        graph.add_edges_from((one, two) for one, two, price in self.prices if price > threshold)
        knobs = [("knob", knob) for knob in range(self.state.shape.knob_count)]

        def order(graph: nx.Graph[Any], colours: Colours) -> Iterator[Any]:
            yield from knobs
            yield from (node for node in strategy(graph, colours) if node not in colours)

        colours = nx.greedy_color(graph, order)
        knob_of = {colours[knob]: knob[1] for knob in knobs}
        wished = [NOWHERE] * len(self.state.shape.units)
        for at, units in enumerate(self.nodes):
            for unit in units:
                wished[unit] = knob_of.get(colours["units", at], NOWHERE)
        self._load(wished)
        if self.best is None or self.state.value < self.best_value:
            self.best, self.best_value = list(self.state.knob), self.state.value
            self.tell(self.state.shape.layout(self.best))
        return NOWHERE not in wished

    def _load(self, wished: list[int]) -> None:
        """Put every unit where it was wished; what does not go there where it costs least.

        What must be placed comes first, wherever it goes, and then the most important.
        """
        state, required = self.state, self.state.shape.required
        units = sorted(range(len(wished)), key=lambda unit: (-state.left_out[unit], unit))
        for unit in units:
            state.put(unit, NOWHERE)
        state.value = state.nothing
        left = []
        for unit in units:
            dearer = state.tried([(unit, wished[unit])]) if wished[unit] != NOWHERE else None
            if dearer is not None:
                state.value += dearer
            elif not required[unit] or not insert(state, unit):
                left.append(unit)
        for unit in left:
            insert(state, unit)


def _nodes(state: State) -> list[list[int]]:
    """The units, those of a bundle joined as far as they may all be on one knob."""
    shape, nodes, known = state.shape, list[list[int]](), set[int]()
    for first in range(len(shape.units)):
        node, open_to, clashes, size = list[int](), state.open[first], 0, 0
        for unit in (first, *state.bundle_of[first]):
            fits = open_to & state.open[unit] or unit == first
            fits = fits and not clashes >> unit & 1 and size + state.size[unit] <= state.most
            if unit not in known and (fits or unit == first):
                known.add(unit)
                node.append(unit)
                open_to &= state.open[unit]
                clashes |= shape.clashes[unit]
                size += state.size[unit]
        if node:
            nodes.append(node)
    return nodes


def _demanded(state: State, nodes: list[list[int]]) -> nx.Graph[Any]:
    """What may not share, and what may not be where."""
    shape = state.shape
    graph: nx.Graph[Any] = nx.Graph()
    knobs = [("knob", knob) for knob in range(shape.knob_count)]
    graph.add_nodes_from(knobs)
    graph.add_nodes_from(("units", at) for at in range(len(nodes)))
    graph.add_edges_from(combinations(knobs, 2))
    for at, units in enumerate(nodes):
        allowed = set.intersection(*(set(shape.open[unit]) for unit in units))
        barred = set(range(shape.knob_count)) - allowed
        graph.add_edges_from((("units", at), ("knob", knob)) for knob in barred)
    for (at, units), (to, others) in combinations(enumerate(nodes), 2):
        if any(shape.clashes[unit] >> other & 1 for unit in units for other in others):
            graph.add_edge(("units", at), ("units", to))
    return graph


def _pair_prices(state: State, nodes: list[list[int]]) -> list[tuple[Any, Any, int]]:
    """What each two nodes cost on one knob, less what it costs to spread them; sorted by nodes."""
    shape, found = state.shape, []
    masks = [sum(1 << unit for unit in units) for units in nodes]
    prices = [state.price_of(mask) for mask in masks]
    clashes = [0] * len(nodes)
    spreads: list[set[int]] = []
    for at, units in enumerate(nodes):
        spreads.append({spread for unit in units for spread in state.spreads_of[unit]})
        for unit in units:
            clashes[at] |= shape.clashes[unit]
    for one, other in combinations(range(len(nodes)), 2):
        if not clashes[one] & masks[other]:
            gained = sum(state.spread_weight(at) for at in spreads[one] & spreads[other])
            price = state.price_of(masks[one] | masks[other]) - prices[one] - prices[other]
            found.append((("units", one), ("units", other), max(0, price - gained)))
    return found
