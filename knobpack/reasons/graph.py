"""Graph: a request and a layout as a network of facts.

Nodes are the words, edges are facts. It is plain data: every attribute is a str, int or bool, so
that whatever works on a networkx graph works on it, GraphML and JSON included. Nothing is read
back from it; it is there to be looked through, exported and drawn.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import combinations
from typing import TYPE_CHECKING, Any

from knobpack.checker import follows
from knobpack.definition.layout_prices import knob_price
from knobpack.definition.prices import Prices
from knobpack.grouped import grouped
from knobpack.heavy_imports import load
from knobpack.reasons.facts import Fact
from knobpack.reasons.ground import Ground
from knobpack.words import Layout, Request, Rule
from knobpack.words.fields import check_kind

if TYPE_CHECKING:
    import networkx as nx

    from knobpack.numbered.problem import Problem

    MultiDiGraph = nx.MultiDiGraph[str]

NODES = (
    *("master", "snapshot", "knob", "destination", "voice", "group", "family", "bundle", "rule"),
    "limit",
)
"""What a node can be: its attribute ``word``."""

MASTER = "master"


def node(word: str, name: object) -> str:
    """The node of a word, such as ``knob K1``: what it is, and its name."""
    return f"{word} {name}"


def layout_graph(request: Request, layout: Layout, prices: Prices) -> MultiDiGraph:
    """The network of everything that is asked and of everything that a layout does about it.

    Each node has ``word`` (one of :data:`NODES`) and ``name``. Each edge has ``fact``:

    ==================== ======================= ==================================================
    fact                 from, to                says, with its attributes
    ==================== ======================= ==================================================
    moves                master, knob            the knob follows the master in ``snapshot``
    follows, holds       knob, snapshot          whether a used knob follows the master there
    drives               knob, destination       a route; travel ``start``, ``end`` in positions
    shares               destination, destination  both are on ``knob``; ``price``: what the two
                                                 alone would cost there, in points of *sharing*
    belongs to           destination, voice, …   voice, group, bundle or family it is part of
    moved, held          snapshot, destination   what the snapshot asks for
    must differ          destination, destination  may not share a knob: ``because`` a snapshot or
                                                 rule, ``kind`` of fact, ``reason`` as a sentence
    binds                rule, destination       the rule names it; ``side`` 1 or 2 for apart
    concerns             rule, knob              the rule names it
    kept                 destination, knob       kept as the base has it
    wanted on            destination, knob       where the previous layout had it
    broken               knob, snapshot          does the wrong thing there; ``price``
    ==================== ======================= ==================================================

    Destinations tell whether they are ``placed`` and, if not, the ``price`` of that; used knobs,
    what sharing them costs (``price``); bundles and preferred rules, what is paid for them
    (``price``: 0 if they are met), in points of *bundles*, of *sharing*, or of *layout* for
    ``fixed`` and ``barred``. A required rule has no price.

    A rule is named by its words, the second of the same words with ``(2)`` after them, required
    ones counted first; a limit by what it limits, ``destinations per knob`` or ``routes``, with
    ``count`` (how many there may be, and of routes how many are ``used``); a family by its number;
    a bundle ``source/knob``, or ``/voice/knob`` where its voice has no source (``source`` and
    ``knob`` are attributes too).

    ``must differ`` is between the two that a firm snapshot or a required rule parts. What required
    ``together`` rules bind to them (``binds``) is parted with them, and limits and places may leave
    no one knob to two others: :meth:`knobpack.reasons.ground.Ground.parts` finds all of it.

    Args:
        request: what is asked.
        layout: a layout that meets every demand, with the travel of every used knob, or
            of every route where the surface sets travels on routes.
        prices: what it costs.

    Returns:
        The network: a networkx MultiDiGraph.

    Raises:
        InputError: ``request`` is no Request, ``layout`` no Layout, or ``prices`` no Prices.
    """
    load("networkx")
    import networkx as nx

    check_kind("layout_graph.request", request, Request)
    check_kind("layout_graph.layout", layout, Layout)
    check_kind("layout_graph.prices", prices, Prices)
    graph: MultiDiGraph = nx.MultiDiGraph()
    on = grouped((route.knob, route.destination) for route in layout.routes)
    _add_words(graph, request)
    _add_rules(graph, request, on)
    _add_limits(graph, request, layout)
    _add_bundles(graph, request, on)
    _add_families(graph, request)
    _add_layout(graph, request, layout, prices)
    _add_other_routes(graph, request)
    _add_following(graph, request, layout, prices)
    _add_separations(graph, request)
    return graph


def _add_words(graph: MultiDiGraph, request: Request) -> None:
    surface = request.surface
    _add(graph, "master", MASTER)
    for knob in surface.knobs:
        reserved = knob.name in surface.reserved
        _add(graph, "knob", knob.name, row=knob.row, column=knob.column, reserved=reserved)
    for name, inner in request.by_full_name.items():
        wanted = request.wanted(name)
        _add(
            graph,
            "destination",
            name,
            kind=inner.kind,
            priority=inner.priority,
            start=wanted.start,
            end=wanted.end,
            movable=inner.movable,
        )
    for voice in request.voices:
        _add(graph, "voice", voice.name)
        for name in request.members[voice.name]:
            _join(graph, ("destination", name), ("voice", voice.name), "belongs to")
    voices = {voice.name for voice in request.voices}
    groups = {group.name for group in request.groups}
    for group in request.groups:
        _add(graph, "group", group.name)
    for group in request.groups:
        for member in group.members:
            word = "voice" if member in voices else "group" if member in groups else "destination"
            _join(graph, (word, member), ("group", group.name), "belongs to")
    for snapshot in request.played:
        firm = snapshot.break_weight is None
        _add(graph, "snapshot", snapshot.name, firm=firm)
        moved = request.moved(snapshot)
        for name in request.by_full_name:
            fact = "moved" if name in moved else "held"
            _join(graph, ("snapshot", snapshot.name), ("destination", name), fact)


def _add_rules(graph: MultiDiGraph, request: Request, on: dict[str, list[str]]) -> None:
    effects = {each.rule: each for each in request.effects}
    for rule, name in rule_names(request.rules):
        paid, effect = {}, effects[rule]
        if rule.weight is not None:
            paid = {"weight": rule.weight, "price": rule.weight * effect.breaches(on)}
        sort, required = type(rule).__name__.lower(), rule.weight is None
        _add(graph, "rule", name, sort=sort, required=required, **paid)
        for side, names in enumerate(effect.sides, 1):
            for each in names:
                _join(graph, ("rule", name), ("destination", each), "binds", side=side)
        for knob in (effect.on,) if effect.on else effect.off:
            _join(graph, ("rule", name), ("knob", knob), "concerns")


def rule_names(rules: Iterable[Rule]) -> Iterator[tuple[Rule, str]]:
    """Each rule with what its node is called, those that are required first."""
    counts: dict[str, int] = {}
    for rule in sorted(rules, key=lambda each: each.weight is not None):
        counts[str(rule)] = number = counts.get(str(rule), 0) + 1
        yield rule, f"{rule} ({number})" if number > 1 else str(rule)


def _add_limits(graph: MultiDiGraph, request: Request, layout: Layout) -> None:
    surface = request.surface
    if surface.destinations_per_knob is not None:
        _add(graph, "limit", "destinations per knob", count=surface.destinations_per_knob)
    if surface.routes is not None:
        _add(graph, "limit", "routes", count=surface.routes, used=len(layout.routes))


def _add_bundles(graph: MultiDiGraph, request: Request, on: dict[str, list[str]]) -> None:
    for bundle in request.bundles:
        # No name holds a slash; a voice without a source has bundles of its own.
        origin = {"source": bundle.source} if bundle.source is not None else {}
        called = f"{bundle.source or f'/{bundle.origin}'}/{bundle.knob}"
        used = [knob for knob, names in on.items() if not set(names).isdisjoint(bundle.names)]
        placed = {name for knob in used for name in on[knob]}
        price = len(used) + sum(name not in placed for name in bundle.names) - 1
        _add(graph, "bundle", called, price=price, knob=bundle.knob, **origin)
        for name in bundle.names:
            _join(graph, ("destination", name), ("bundle", called), "belongs to")


def _add_families(graph: MultiDiGraph, request: Request) -> None:
    for number, names in enumerate(family_names(request), 1):
        _add(graph, "family", number)
        for name in names:
            _join(graph, ("destination", name), ("family", number), "belongs to")


def _add_layout(graph: MultiDiGraph, request: Request, layout: Layout, prices: Prices) -> None:
    goes = layout.goes
    placed = {route.destination for route in layout.routes}
    for route in layout.routes:
        travel = goes[route.destination]
        ends = {"start": travel.start, "end": travel.end}
        _join(graph, ("knob", route.knob), ("destination", route.destination), "drives", **ends)
    for each in prices.knobs:
        graph.nodes[node("knob", each.knob)]["price"] = each.price
    for name in request.by_full_name:
        graph.nodes[node("destination", name)]["placed"] = name in placed
    for omission in prices.omissions:
        graph.nodes[node("destination", omission.destination)]["price"] = omission.price
    for route, other in combinations(layout.routes, 2):
        if route.knob == other.knob:
            pair = [route.destination, other.destination]
            price = knob_price(request, route.knob, pair, goes[route.destination]).price
            ends_of = ("destination", pair[0]), ("destination", pair[1])
            _join(graph, *ends_of, "shares", knob=route.knob, price=price)


def _add_other_routes(graph: MultiDiGraph, request: Request) -> None:
    for route in request.keep.routes:
        _join(graph, ("destination", route.destination), ("knob", route.knob), "kept")
    knobs = request.surface.knob_names
    for route in request.previous.routes if request.previous else ():
        if route.destination in request.by_full_name and route.knob in knobs:
            _join(graph, ("destination", route.destination), ("knob", route.knob), "wanted on")


def _add_following(graph: MultiDiGraph, request: Request, layout: Layout, prices: Prices) -> None:
    used = dict.fromkeys(route.knob for route in layout.routes)
    for snapshot in request.played:
        following = follows(request, layout, snapshot.name)
        for knob in used:
            fact = "follows" if knob in following else "holds"
            _join(graph, ("knob", knob), ("snapshot", snapshot.name), fact)
            if knob in following:
                _join(graph, ("master", MASTER), ("knob", knob), "moves", snapshot=snapshot.name)
    for broken in prices.breaks:
        ends_of = ("knob", broken.knob), ("snapshot", broken.snapshot)
        _join(graph, *ends_of, "broken", price=broken.price)


def _add_separations(graph: MultiDiGraph, request: Request) -> None:
    ground, names = Ground(request), tuple(request.by_full_name)
    for position, one in enumerate(names):
        for fact in ground.separations(one, names[position + 1 :]):
            for other in fact.destinations[1:]:
                pair = Fact(fact.kind, (one, other), by=fact.by)
                _join(
                    graph,
                    ("destination", one),
                    ("destination", other),
                    "must differ",
                    kind=pair.kind,
                    because=str(pair.by),
                    reason=str(pair),
                )


def family_names(request: Request, problem: Problem | None = None) -> tuple[tuple[str, ...], ...]:
    """The families: full names, in order. What may be on no knob at all belongs to none.

    Args:
        request: what is asked.
        problem: the same numbered, where that is done.
    """
    from knobpack.numbered.problem import bits
    from knobpack.numbered.request import problem_of
    from knobpack.solver.families import families

    problem, names = problem or problem_of(request), tuple(request.by_full_name)
    return tuple(
        tuple(names[item] for item in bits(problem.items_of(sum(1 << atom for atom in family))))
        for family in families(problem)
    )


def _add(graph: MultiDiGraph, word: str, name: object, **more: Any) -> None:
    graph.add_node(node(word, name), word=word, name=str(name), **more)


def _join(
    graph: MultiDiGraph,
    one: tuple[str, object],
    other: tuple[str, object],
    fact: str,
    **more: Any,
) -> None:
    graph.add_edge(node(*one), node(*other), fact=fact, **more)
