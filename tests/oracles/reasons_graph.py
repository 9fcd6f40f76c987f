"""What is wrong with a network of facts: each node and edge is made anew from the words.

An edge is wrong if it is not among those made here, and missing if it is only among these.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from itertools import combinations
from typing import Any

import attrs
import networkx as nx

from knobpack.allocation import Allocation
from knobpack.words import Alone, Apart, Barred, Fixed, Request, Rule
from tests.oracles import masks
from tests.oracles.cut_down import allowed, families
from tests.oracles.reading import bits
from tests.oracles.reasons import asked
from tests.oracles.reasons_layouts import read_once
from tests.oracles.reasons_solved import places_of
from tests.oracles.reasons_terms import bundle_keys, on_each, terms_of

Nodes = dict[str, dict[str, Any]]
Edge = tuple[str, str, frozenset[tuple[str, Any]]]

_REASONS = {
    "moved": "snapshot '{by}' moves {one} and holds {other}",
    "held": "snapshot '{by}' holds {one} and moves {other}",
    "apart": "the rule {by} keeps {one} apart from {other}",
    "alone": "the rule {by} lets {one} share no knob with {other}",
}


def wrong_in_graph(allocation: Allocation, graph: nx.MultiDiGraph[str]) -> list[str]:
    """All that is wrong in the network of an allocation."""
    return _differences(graph, wanted_nodes(allocation), wanted_edges(allocation))


def wanted_edges(allocation: Allocation) -> list[Edge]:
    """Every edge that the network of an allocation must have."""
    edges = [*_asked_edges(allocation.request), *_layout_edges(allocation)]
    return [*edges, *_parting_edges(allocation.request, tuple(allocation.request.by_full_name))]


def _differences(graph: nx.MultiDiGraph[str], nodes: Nodes, edges: list[Edge]) -> list[str]:
    wrong = []
    for name in {*graph.nodes, *nodes}:
        found = dict(graph.nodes[name]) if name in graph else None
        if found != nodes.get(name):
            wrong.append(f"node {name}: {found}, not {nodes.get(name)}")
    found_edges = Counter(_edge(*each) for each in graph.edges(data=True))
    right = Counter(edges)
    wrong += [f"wrong edge: {each}" for each in found_edges - right]
    wrong += [f"missing edge: {each}" for each in right - found_edges]
    return wrong


def _edge(one: str, other: str, told: dict[str, Any]) -> Edge:
    return one, other, frozenset(told.items())


# Nodes ------------------------------------------------------------------------------------------


def wanted_nodes(allocation: Allocation) -> Nodes:
    """Every node that the network of an allocation must have."""
    request = allocation.request
    nodes: Nodes = {"master master": {"word": "master", "name": "master"}}
    found = (*_driven_nodes(allocation), *_rule_nodes(allocation), *_asked_nodes(request))
    for word, name, told in found:
        nodes[f"{word} {name}"] = {"word": word, "name": name, **told}
    for name in request.by_full_name:
        nodes[f"destination {name}"] |= _destination(request, name)
    if "limit routes" in nodes:
        nodes["limit routes"]["used"] = len(places_of(allocation))
    return nodes


def _driven_nodes(allocation: Allocation) -> Iterator[tuple[str, str, dict[str, Any]]]:
    """What the layout has a say in."""
    request, places = allocation.request, places_of(allocation)
    reading, terms = read_once(request), terms_of(request, places)
    carried = on_each(reading, places)
    for number, knob in enumerate(reading.knobs):
        told = {"row": knob.row, "column": knob.column, "reserved": reading.reserved[number]}
        paid = masks.sharing_terms(reading, number, carried[number])
        yield "knob", knob.name, told | ({"price": sum(paid.values())} if paid else {})
    for name in reading.names:
        lost = {"price": terms.get(("unplaced", "omission", name), 0)}
        yield "destination", name, {"placed": name in places} | (lost if name not in places else {})
    for key, mask in bundle_keys(request):
        source, _, at = key
        left_out = (mask & ~sum(carried)).bit_count()
        price = sum(1 for here in carried if here & mask) + left_out - 1
        origin = {"knob": at} | ({"source": source} if source else {})
        yield "bundle", bundle_name(*key), {"price": price, **origin}


def bundle_name(source: str | None, voice: str, knob: str) -> str:
    """What a bundle is called: no two are called the same, as no name holds a slash."""
    return f"{source}/{knob}" if source else f"/{voice}/{knob}"


def _rule_nodes(allocation: Allocation) -> Iterator[tuple[str, str, dict[str, Any]]]:
    """Every rule; what is paid for a preferred one is what it adds to the price of the layout."""
    request, places = allocation.request, places_of(allocation)
    # What is preferred together is one load besides, which is not what is paid for the rule.
    request = attrs.evolve(
        request, weights=attrs.evolve(request.weights, join=0, heap=0, essential=0)
    )
    bare = sum(terms_of(attrs.evolve(request, rules=()), places).values())
    for rule, name in rule_names(request):
        told = {"sort": type(rule).__name__.lower(), "required": rule.weight is None}
        if rule.weight is not None:
            alone = terms_of(attrs.evolve(request, rules=(rule,)), places)
            told |= {"weight": rule.weight, "price": sum(alone.values()) - bare}
        yield "rule", name, told


def rule_names(request: Request) -> list[tuple[Rule, str]]:
    """Rules by their words; of several of the same words, all but the first are numbered."""
    found: list[tuple[Rule, str]] = []
    for required in (True, False):
        for rule in request.rules:
            if (rule.weight is None) == required:
                before = sum(str(each) == str(rule) for each, _ in found)
                found.append((rule, f"{rule} ({before + 1})" if before else f"{rule}"))
    return found


def _asked_nodes(request: Request) -> Iterator[tuple[str, str, dict[str, Any]]]:
    for word, those in (("voice", request.voices), ("group", request.groups)):
        for each in those:
            yield word, each.name, {}
    limits = (request.surface.destinations_per_knob, request.surface.routes)
    for limit, count in zip(("destinations per knob", "routes"), limits, strict=True):
        if count is not None:
            yield "limit", limit, {"count": count}
    for snapshot in request.played:
        yield "snapshot", snapshot.name, {"firm": snapshot.break_weight is None}
    for number in range(1, 1 + len(own_families(request))):
        yield "family", str(number), {}


def _destination(request: Request, name: str) -> dict[str, Any]:
    reading = read_once(request)
    bit = reading.names.index(name)
    inner, wanted = reading.destinations[bit], reading.wanted[bit]
    return {
        "word": "destination",
        "name": name,
        "kind": inner.kind,
        "priority": inner.priority,
        "start": wanted.start,
        "end": wanted.end,
        "movable": inner.movable,
    }


def own_families(request: Request) -> list[tuple[str, ...]]:
    """The families, without what may be on no knob at all."""
    own = asked(request)

    def placeable(names: tuple[str, ...]) -> bool:
        return bool(allowed(own.reading, own.units[own.bit[names[0]]]))

    return [names for names in families(request) if placeable(names)]


# Edges ------------------------------------------------------------------------------------------


def _asked_edges(request: Request) -> Iterator[Edge]:
    yield from _belonging_edges(request)
    own = asked(request)
    for snapshot, mask in _moves(request).items():
        for bit, name in enumerate(own.reading.names):
            fact = "moved" if mask >> bit & 1 else "held"
            yield _told(f"snapshot {snapshot}", f"destination {name}", fact)
    read = {each.rule: each for each in own.reading.rules}
    for rule, called in rule_names(request):
        each, node = read[rule], f"rule {called}"
        for side, mask in ((1, each.first), (2, each.second)):
            for name in own.named(mask):
                yield _told(node, f"destination {name}", "binds", side=side)
        knobs = rule.knobs if isinstance(rule, Barred) else ()
        for knob in (rule.knob,) if isinstance(rule, Fixed) else knobs:
            yield _told(node, f"knob {knob}", "concerns")
    for route in request.keep.routes:
        yield _told(f"destination {route.destination}", f"knob {route.knob}", "kept")
    for route in request.previous.routes if request.previous else ():
        if route.destination in own.bit and route.knob in request.surface.knob_names:
            yield _told(f"destination {route.destination}", f"knob {route.knob}", "wanted on")


def _belonging_edges(request: Request) -> Iterator[Edge]:
    word_of = dict.fromkeys(request.by_full_name, "destination")
    word_of |= {voice.name: "voice" for voice in request.voices}
    word_of |= {group.name: "group" for group in request.groups}
    belong = [(name, f"voice {name.split('/')[0]}") for name in request.by_full_name]
    belong += [(name, f"group {group.name}") for group in request.groups for name in group.members]
    for key, mask in bundle_keys(request):
        belong += [(name, f"bundle {bundle_name(*key)}") for name in asked(request).named(mask)]
    for number, family in enumerate(own_families(request), 1):
        belong += [(name, f"family {number}") for name in family]
    for name, to in belong:
        yield _told(f"{word_of[name]} {name}", to)


def _told(one: str, other: str, fact: str = "belongs to", **more: Any) -> Edge:
    return _edge(one, other, {"fact": fact, **more})


def _moves(request: Request) -> dict[str, int]:
    """What moves in each snapshot."""
    reading = read_once(request)
    firm, soft = list(reading.firm), [mask for mask, _ in reading.soft]
    return {
        each.name: firm.pop(0) if each.break_weight is None else soft.pop(0)
        for each in request.played
    }


def follows(allocation: Allocation) -> dict[tuple[str, str], bool]:
    """For each used knob and each snapshot, whether more of what it carries moves than is held."""
    reading = read_once(allocation.request)
    on = on_each(reading, places_of(allocation))
    return {
        (knob.name, snapshot): (mask & moved).bit_count() > (mask & ~moved).bit_count()
        for snapshot, moved in _moves(allocation.request).items()
        for knob, mask in zip(reading.knobs, on, strict=True)
        if mask
    }


def _layout_edges(allocation: Allocation) -> Iterator[Edge]:
    request, reading = allocation.request, read_once(allocation.request)
    travels = {each.knob: each.travel for each in allocation.travels}
    weights = {each.name: each.break_weight for each in request.played}
    moves = _moves(request)
    for number, mask in enumerate(on_each(reading, places_of(allocation))):
        knob = reading.knobs[number].name
        for bit in bits(mask):
            travel = travels[knob]
            ends = {"start": travel.start, "end": travel.end}
            yield _told(f"knob {knob}", f"destination {reading.names[bit]}", "drives", **ends)
        for one, other in combinations(bits(mask), 2):
            pair = 1 << one | 1 << other
            price = masks.sharing(reading, number, pair, travel=travels[knob])
            ends_of = (f"destination {reading.names[one]}", f"destination {reading.names[other]}")
            yield _told(*ends_of, "shares", knob=knob, price=price)
        for snapshot, moved in moves.items() if mask else ():
            wrong = masks.wronged(reading, mask, moved)
            weight = weights[snapshot]
            if wrong and weight is not None:
                price = weight * wrong
                yield _told(f"knob {knob}", f"snapshot {snapshot}", "broken", price=price)
    for (knob, snapshot), moving in follows(allocation).items():
        yield _told(f"knob {knob}", f"snapshot {snapshot}", "follows" if moving else "holds")
        if moving:
            yield _told("master master", f"knob {knob}", "moves", snapshot=snapshot)


def _parting_edges(request: Request, names: Iterable[str]) -> Iterator[Edge]:
    own = asked(request)
    for one, other in combinations(names, 2):
        a, b = own.bit[one], own.bit[other]
        found = [
            ("moved" if mask >> a & 1 else "held", snapshot)
            for snapshot, mask in own.snapshots.items()
            if (mask >> a & 1) != (mask >> b & 1) and not own.reading.joined[a] >> b & 1
        ]
        for each in own.rules:
            first, second = each.first, each.second
            if isinstance(each.rule, Apart) and (
                (first >> a & 1 and second >> b & 1) or (first >> b & 1 and second >> a & 1)
            ):
                found.append(("apart", str(each.rule)))
            if isinstance(each.rule, Alone) and (first >> a & 1) != (first >> b & 1):
                found.append(("alone", str(each.rule)))
        for kind, by in found:
            told = {"kind": kind, "because": by}
            told["reason"] = _REASONS[kind].format(by=by, one=one, other=other)
            yield _told(f"destination {one}", f"destination {other}", "must differ", **told)
