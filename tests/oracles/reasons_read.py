"""What is wrong with a graph of reasons: the answer is read back from it, and that is verified.

What is read shares nothing with what wrote it but the fields of the answers. So a node that is gone
is an answer that cannot be read, or that says something else.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from functools import lru_cache
from typing import Any

import attrs
import networkx as nx

from knobpack import clash, questions
from knobpack.allocation import Allocation, Tier
from knobpack.definition import prices
from knobpack.reasons.facts import Fact
from knobpack.reasons.graph import NODES
from knobpack.words import Request, Route, Travel
from knobpack.words.bundle import Bundle
from knobpack.words.demand import Demand
from knobpack.words.rules import RULES
from tests.oracles.reasons_graph import bundle_name, wanted_edges, wanted_nodes

Graph = Any

CLASSES = {
    getattr(each, "question", re.sub(r"(?<=[a-z])(?=[A-Z])", " ", each.__name__).lower()): each
    for module in (questions, clash, prices)
    for name in dir(module)
    if isinstance(each := getattr(module, name), type) and attrs.has(each)
} | {"tier": Tier, "source knob": Bundle, "moved": questions.Moved}
"""The class of each sort of part."""


_OF_ANOTHER = {"demand", "what if", "moved", "term change"}
"""Sorts of part that may name words of a request that was solved in place of the first."""


_LIMITS = {each: each for each in ("destinations per knob", "routes")} | {"used": "routes"}
"""What limits facts and demands count."""


class UnreadableError(Exception):
    """No answer can be read from a graph."""


def read_back(request: Request, graph: Graph) -> Any:
    """The answer that a graph of reasons tells.

    Raises:
        UnreadableError: it tells none.
    """
    try:
        return _Reader(request, graph).part(graph.graph["answer"])
    except (KeyError, TypeError, ValueError, AttributeError, IndexError) as error:
        raise UnreadableError(repr(error)) from error


def wrong_in_reasons(allocation: Allocation, graph: Graph, answer: Any) -> list[str]:
    """All that is wrong in the graph of reasons of an answer that is known to be right.

    Args:
        allocation: the layout.
        graph: the graph.
        answer: the answer.
    """
    try:
        told = read_back(allocation.request, graph)
    except UnreadableError as error:
        return [f"it cannot be read: {error}"]
    wrong = [] if alike(told, answer) else [f"it tells {told}, not {answer}"]
    reached = nx.descendants(graph, graph.graph["answer"]) | {graph.graph["answer"]}
    wrong += [f"nothing leads to {name}" for name in graph if name not in reached]
    return [*wrong, *_wrong_words(allocation, graph), *wrong_facts(graph)]


def alike(one: Any, other: Any) -> bool:
    """Whether two answers say the same; another layout is no part of what is said."""
    if isinstance(other, RULES):
        return str(one) == str(other)
    if isinstance(one, tuple) and isinstance(other, tuple):
        return len(one) == len(other) and all(map(alike, one, other))
    if not attrs.has(type(other)) or type(one) is not type(other):
        return bool(one == other)
    fields = [each.name for each in attrs.fields(type(other)) if each.init]
    return all(alike(getattr(one, f), getattr(other, f)) for f in fields if f != "allocation")


def _wrong_words(allocation: Allocation, graph: Graph) -> Iterator[str]:
    """Words and facts are those of the network; of another request, what it alone demands too."""
    nodes, edges = _network(allocation)
    others = _of_another_request(graph)
    for name, told in graph.nodes(data=True):
        if told["word"] in NODES and name not in others:
            known = nodes.get(name)
            if known is None or not told.items() <= known.items():
                yield f"{name} is not in the network: {told}"
    for one, other, told in graph.edges(data=True):
        if {graph.nodes[one]["word"], graph.nodes[other]["word"]}.issubset(NODES):
            known_facts = edges.get((one, other), ())
            if told["fact"] not in known_facts and others.isdisjoint((one, other)):
                yield f"{one} {told} {other} is not in the network"


@lru_cache(maxsize=64)
def _network(allocation: Allocation) -> tuple[Any, Any]:
    edges: dict[tuple[str, str], set[str]] = {}
    for one, other, told in wanted_edges(allocation):
        edges.setdefault((one, other), set()).add(str(dict(told)["fact"]))
    return wanted_nodes(allocation), edges


def _of_another_request(graph: Graph) -> set[str]:
    """Words that only demands of a request name that was solved in place of this one."""
    parts = {name for name, told in graph.nodes(data=True) if told["word"] not in NODES}
    kinds: dict[str, set[str]] = {}
    for one, other in graph.edges():
        if one in parts and other not in parts:
            kinds.setdefault(other, set()).add(graph.nodes[one]["word"])
    return {name for name, sorts in kinds.items() if sorts <= _OF_ANOTHER}


def wrong_facts(graph: Graph) -> Iterator[str]:
    """Each fact is said by the network as well, not only by its sentence."""
    for name, told in graph.nodes(data=True):
        to, edges = _by_field(graph, name), []
        if told["word"] == "fact":
            edges = _edges_said(told["kind"], to)
        if told["word"] in ("fact", "demand") and told["kind"] in _LIMITS:
            edges.append((name, f"limit {_LIMITS[told['kind']]}", "limit"))
        if told["word"] == "source knob":
            voice = to["names"][0].removeprefix("destination ").split("/")[0]
            bundle = bundle_name(told.get("source"), voice, told["knob"])
            edges += [(each, f"bundle {bundle}", "belongs to") for each in to["names"]]
        for one, other, fact in edges:
            if not _has(graph, one, other, fact):
                yield f"{one} {fact} {other} is said and not there"


def _edges_said(kind: str, to: dict[str, list[str]]) -> list[tuple[str, str, str]]:
    """The edges that say a fact in the network."""
    names, knobs, by = (to.get(field, []) for field in ("destinations", "knob", "by"))
    match kind:
        case "moved" | "held":
            sides = [kind] + ["held" if kind == "moved" else "moved"] * (len(names) - 1)
            return [(by[0], name, side) for name, side in zip(names, sides, strict=True)]
        case "apart" | "together" | "fixed" | "barred":
            found = [(by[0], name, "binds") for name in names]
            return [*found, *((by[0], knob, "concerns") for knob in knobs)]
        case "kept":
            return [(names[0], knobs[0], "kept")]
        case "on":
            return [(knobs[0], name, "drives") for name in names]
    return []


def _has(graph: Graph, one: str, other: str, fact: str) -> bool:
    known = graph.get_edge_data(one, other) or {}
    return any(told["fact"] == fact for told in known.values())


def _by_field(graph: Graph, name: str) -> dict[str, list[str]]:
    """Where the edges of a part go, field by field, in their order; a gap is refused."""
    found: dict[str, dict[int, str]] = {}
    for _, other, told in graph.out_edges(name, data=True):
        found.setdefault(told["fact"], {})[told.get("place", 0)] = other
    return {field: [ends[at] for at in sorted(ends)] for field, ends in found.items()}


@attrs.frozen(eq=False)
class _Reader:
    request: Request
    graph: Graph

    def part(self, name: str) -> Any:
        told = self.graph.nodes[name]
        if told["word"] in NODES:
            return told["name"]
        if told["word"] == "set":
            return tuple(self.part(each) for each in _by_field(self.graph, name)["holds"])
        sort = CLASSES[told["word"]]
        known = prices.IN_USE_TIERS if self.request.in_use else prices.TIERS
        fields = {
            each.name: self._field(name, each, known)
            for each in attrs.fields(sort)
            if each.init and each.name not in ("allocation", "order")
        }
        if "order" in {each.name for each in attrs.fields(sort)}:
            fields["order"] = known[: len(fields.get("bounds", known))]
        if sort is questions.Explanation:
            fields["allocation"] = None
        if sort is Demand:
            fields["subject"] = self._subject(name, fields["kind"], fields["subject"])
        made = sort(**fields)
        if told.get("cause", "") != getattr(made, "cause", ""):
            raise UnreadableError(f"that is not the cause of {name}")
        if told["name"] != _called(made, told["word"]):
            raise UnreadableError(f"{name} is called {told['name']}")
        return made

    def _field(self, name: str, field: Any, order: tuple[str, ...]) -> Any:
        several = str(field.type).startswith("tuple")
        ends: dict[int, str] = {}
        for _, other, edge in self.graph.out_edges(name, data=True):
            if edge["fact"] == field.name:
                ends[edge.get("place", 0)] = other
        if field.name == "knob_of":  # a set that is on no knob yet has none
            sets = range(len(_by_field(self.graph, name).get("sets", [])))
            return tuple(self.part(ends[at]) if at in ends else None for at in sets)
        if ends and not several:
            return self.part(ends[0])
        if ends:
            return tuple(self.part(ends[at]) for at in range(max(ends) + 1))
        return self._told(name, field.name, order, several=several)

    def _told(self, name: str, key: str, order: tuple[str, ...], *, several: bool) -> Any:
        """What a part holds as attributes."""
        told = self.graph.nodes[name]
        if f"{key} start" in told:
            return Travel(told[f"{key} start"], told[f"{key} end"])
        tiers = tuple(told[f"{key} {tier}"] for tier in order if f"{key} {tier}" in told)
        if tiers or key not in told:
            return tiers or (() if several else None)
        return tuple(told[key].split("\n")) if several else told[key]

    def _subject(self, name: str, kind: str, subject: Any) -> Any:
        if kind == "keep":
            return Route(subject, self.part(_by_field(self.graph, name)["on"][0]))
        return subject


def _called(made: Any, word: str) -> str:
    """What a part is called: as it says itself, in a line."""
    if isinstance(getattr(made, "name", None), str):
        return str(made.name)
    if isinstance(made, Fact) or "sentences" not in dir(made) or type(made) is clash.Clash:
        own: object = type(made).__str__
        return word if own is object.__str__ else str(made)
    return next(iter(made.sentences), word)
