"""Reasons: the graph of what an answer rests on, laid over the network of its allocation.

One table says what the names in a field of an answer are names of, one what each kind of fact says
in the network, and one what an answer says of the layout by itself. No answer makes a graph of its
own. Nothing is left out, so an answer can be read back from its graph, and checked as read.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING, Any, ClassVar, Final

import attrs

from knobpack.definition.prices import KNOB_TERMS
from knobpack.errors import Stopped
from knobpack.heavy_imports import load
from knobpack.reasons import facts as kinds
from knobpack.reasons.facts import Fact, Obstacle
from knobpack.reasons.graph import node
from knobpack.text.shown import Told
from knobpack.words import Route, Travel
from knobpack.words import demand as demands
from knobpack.words.bundle import Bundle
from knobpack.words.demand import Demand
from knobpack.words.rules import RULES

if TYPE_CHECKING:
    import networkx as nx

    MultiDiGraph = nx.MultiDiGraph[str]

Names = Mapping[str, str]

NAMED: Final[Names] = {
    **dict.fromkeys(
        (
            *("destination", "destinations", "names", "unit", "beside", "mates", "joined"),
            *("added", "gone", "loose", "separated", "never_shared", "sometimes"),
            *("always_unplaced", "unplaced", "essential_out", "rivals", "sets", "always", "bound"),
            *("contradicted", "missing", "eased", "strained"),
        ),
        "destination",
    ),
    **dict.fromkeys(
        ("knob", "now", "free", "knobs", "unused", "before", "after", "knob_of"), "knob"
    ),
    "bonds": "rule",
}
"""What the names in a field are names of, whatever answer it is a field of; all else is text."""

_BY: Final[Names] = {
    **dict.fromkeys((kinds.MOVED, kinds.HELD), "snapshot"),
    **dict.fromkeys((kinds.APART, kinds.ALONE, kinds.TOGETHER, kinds.FIXED, kinds.BARRED), "rule"),
}
"""What a kind of fact is said by."""

_SUBJECTS: Final[Names] = {
    demands.PLACE: "destination",
    demands.RULE: "rule",
    **dict.fromkeys((demands.SEPARATE, demands.STORE), "snapshot"),
    demands.RESERVED: "knob",
    demands.LAYER: "voice",
}
"""What a kind of demand is about; all others are about a number."""

_TERMS: Final[Names] = {
    **dict.fromkeys(("omission", "change", "intruding", "habit", "favour"), "destination"),
    **{kind.__name__.lower(): "rule" for kind in RULES},  # but for those that count knob by knob
    **dict.fromkeys((*KNOB_TERMS, "moved", "reset"), "knob"),
    "voice_runs": "voice",
    "group_runs": "group",
}
"""What a term of a price is about. What else one is about is told in words."""

_LIMITS: Final = {
    kinds.PER_KNOB: kinds.PER_KNOB,
    kinds.ROUTES: kinds.ROUTES,
    kinds.USED: kinds.ROUTES,
}
"""For each kind of fact or demand that counts, the limit of the surface that it is about."""

_LEFT: Final = ("allocation", "order")
"""Fields that are no reasons: the other layout, and the tiers, which name the numbers."""

Edge = tuple[str, str, str]

_RULE: Final = ("by", "destinations", "binds")

EDGES: Final[Mapping[str, tuple[Edge, ...]]] = {
    kinds.MOVED: (("by", "first", "moved"), ("by", "others", "held")),
    kinds.HELD: (("by", "first", "held"), ("by", "others", "moved")),
    kinds.APART: (_RULE,),
    kinds.TOGETHER: (_RULE,),
    **dict.fromkeys((kinds.FIXED, kinds.BARRED), (_RULE, ("by", "knob", "concerns"))),
    kinds.KEPT: (("destinations", "knob", "kept"),),
    kinds.ON: (("knob", "destinations", "drives"),),
}
"""How the network of the allocation says a kind of fact: edges from each word of one field to each
of another. The kinds that are left are said by a node: a reserve by that of its knob, limits by
their own; of what must be alone its rule binds the one side, and a fact does not say which."""

_ON: Final[Mapping[str, tuple[str, tuple[str, ...]]]] = {
    "Here": ("knob", ("destination", "beside")),
    "NotThere": ("now", ("destination",)),
    "Shared": ("knob", ("destinations",)),
    "KnobOffer": ("now", ("names",)),
    "Place": ("knob", ("destinations",)),
}
"""For each answer that says where something is, the fields that hold the knob and what is on it."""


class Reasoned:
    """An answer with the graph of its reasons.

    Two sorts of node are in its ``graph``. *Words* (snapshots, knobs, destinations, rules, limits,
    …) and the facts between them are those of ``allocation.graph``, under the same names: that part
    is a subgraph of it, with as much of each attribute as the answer says. (Where another request
    was solved, what that alone demands is there too.) All else is the answer and its parts:
    alternatives, obstacles, facts, prices and their terms. Of these ``word`` is the sort, ``name``
    what it says, and every number or text that it holds an attribute by the name of its field; of
    numbers of tiers each is one, such as ``before sharing``. From each of them an edge goes to each
    part and word that it names, with ``fact`` (the field) and, in a list, ``place`` from 0. The
    answer itself is the node ``graph.graph["answer"]``, called as its ``question``, from which
    every other can be reached.
    """

    __slots__ = ()

    @property
    def graph(self) -> MultiDiGraph:
        """What the answer rests on, as a network made anew each time; ``help(Reasoned)`` has it."""
        return reasons_graph(self)


class Answer(Told, Reasoned):
    """What a question is answered by: sentences, and the graph of all that they rest on.

    ``question`` is what it answers, in the words of the method that was asked.
    """

    __slots__ = ()

    question: ClassVar[str]

    @property
    def stopped(self) -> Stopped | None:
        """What cut the search for it, or for a part of it, short; None: nothing did."""
        return None

    @property
    def proven(self) -> bool:
        """Whether all that it says is proven."""
        return self.stopped is None


def reasons_graph(answer: object) -> MultiDiGraph:
    """The graph of reasons of an answer, or of a part of one; see :class:`Reasoned`.

    Args:
        answer: what a question was answered by, or a part of that.

    Returns:
        A networkx MultiDiGraph; every attribute is a str, int or bool.

    Example:
        >>> from knobpack import Destination, Surface, Voice, allocate
        >>> organ = Voice("Organ", [Destination("level"), Destination("drive")])
        >>> bass = Voice("Bass", [Destination("tone")])
        >>> allocation = allocate((organ, bass), Surface.row(2))
        >>> graph = allocation.why("Bass/tone").graph
        >>> [name for name, of in graph.nodes(data=True) if of["word"] == "snapshot"]
        ['snapshot only Organ', 'snapshot only Bass']
    """
    load("networkx")
    import networkx as nx

    made = _Made(nx.MultiDiGraph())
    made.graph.graph["answer"] = made.part(answer)
    return made.graph


@attrs.define
class _Made:
    """A graph in the making."""

    graph: MultiDiGraph
    known: dict[Any, str] = attrs.field(factory=dict)
    counts: dict[str, int] = attrs.field(factory=dict)

    def part(self, value: Any) -> str:
        """The node of a part of an answer; what is equal, and no answer by itself, is one node."""
        own = not isinstance(value, Told)
        if own and value in self.known:
            return self.known[value]
        word = sort_of(value)
        self.counts[word] = number = self.counts.get(word, 0) + 1
        name = f"{word} {number}" if len(self.graph) else word
        if own:
            self.known[value] = name
        self.graph.add_node(name, word=word, name=_named(value))
        for field in attrs.fields(type(value)):
            if field.init and field.name not in _LEFT:
                self._field(name, value, field.name)
        for edge in _said(value):
            self._fact(*edge)
        if isinstance(value, Obstacle):
            self.graph.nodes[name]["cause"] = value.cause
        if isinstance(value, Fact | Demand) and value.kind in _LIMITS:
            self._join(name, node("limit", _LIMITS[value.kind]), "limit")
        return name

    def _field(self, name: str, value: Any, field: str) -> None:
        held = getattr(value, field)
        if not isinstance(held, tuple):
            self._one(name, value, field, held)
        elif held and isinstance(held[0], int) and hasattr(value, "order"):
            tiers = zip(value.order, held, strict=False)
            self.graph.nodes[name].update({f"{field} {tier}": amount for tier, amount in tiers})
        elif held and isinstance(held[0], str) and not word_of(value, field):
            self.graph.nodes[name][field] = "\n".join(held)
        else:
            for place, each in enumerate(held):
                self._one(name, value, field, each, place=place)

    def _one(self, name: str, value: Any, field: str, held: Any, **place: int) -> None:
        """One thing that a part holds: an edge to what it names, or an attribute."""
        to: str | None = None
        word = word_of(value, field)
        if isinstance(held, tuple):
            to = self._set(held, word)
        elif isinstance(value, Demand) and isinstance(held, Route):
            self._fact(node("destination", held.destination), node("knob", held.knob), "kept")
            self._join(name, node("knob", held.knob), "on")
            to = node("destination", held.destination)
        elif word and (isinstance(held, str) or isinstance(value, Demand)):
            to = self._word(word, held)
        elif isinstance(held, Travel):
            self.graph.nodes[name].update({f"{field} start": held.start, f"{field} end": held.end})
        elif attrs.has(type(held)) and field != "rule":
            to = self.part(held)
        elif held is not None:
            self.graph.nodes[name][field] = held if isinstance(held, int) else str(held)
        if to is not None:
            self._join(name, to, field, **place)

    def _set(self, held: tuple[Any, ...], word: str) -> str:
        """Things that go together, without a name of their own."""
        self.counts["set"] = number = self.counts.get("set", 0) + 1
        name = f"set {number}"
        self.graph.add_node(name, word="set", name=", ".join(map(str, held)))
        for place, each in enumerate(held):
            to = self._word(word, each) if isinstance(each, str) else self.part(each)
            self._join(name, to, "holds", place=place)
        return name

    def _word(self, word: str, name: object) -> str:
        found = node(word, name)
        self.graph.add_node(found, word=word, name=str(name))
        return found

    def _join(self, one: str, other: str, fact: str, **more: int) -> None:
        for end in (one, other):
            if end not in self.graph:
                word, _, name = end.partition(" ")
                self._word(word, name)
        self.graph.add_edge(one, other, fact=fact, **more)

    def _fact(self, one: str, other: str, fact: str) -> None:
        """A fact of the network, once."""
        known = self.graph.get_edge_data(one, other) or {}
        if all(told["fact"] != fact for told in known.values()):
            self._join(one, other, fact)


def sort_of(value: object) -> str:
    """What sort of part it is: the question of an answer, else the name of its class, in words.

    A bundle is a word itself.
    """
    if isinstance(value, Bundle):
        return "source knob"
    if isinstance(value, Answer):
        return value.question
    return re.sub(r"(?<=[a-z])(?=[A-Z])", " ", type(value).__name__).lower()


def word_of(value: object, field: str) -> str:
    """What the names in a field of a part are names of; empty: it holds none."""
    if isinstance(value, Fact) and field == "by":
        return _BY.get(value.kind, "")
    if isinstance(value, Demand) and field == "subject":
        return _SUBJECTS.get(value.kind, "")
    if field == "what" and hasattr(value, "term"):
        return _TERMS.get(value.term, "")
    return "" if isinstance(value, Bundle) and field == "knob" else NAMED.get(field, "")


def _named(value: object) -> str:
    """What a part is called where it is drawn: what it says, in a line."""
    if hasattr(value, "name"):
        return str(value.name)
    if isinstance(value, Told):
        return next(iter(value.sentences), sort_of(value))
    return sort_of(value) if type(value).__str__ == object.__str__ else str(value)


def _said(value: Any) -> Iterator[Edge]:
    """The edges of the network that a part says to be there."""
    if isinstance(value, Fact):
        words = _words_of(value)
        for one, other, fact in EDGES.get(value.kind, ()):
            yield from ((a, b, fact) for a in words[one] for b in words[other])
    if isinstance(value, Bundle):
        called = node("bundle", f"{value.source or f'/{value.origin}'}/{value.knob}")
        yield from ((node("destination", name), called, "belongs to") for name in value.names)
    knob_field, fields = _ON.get(type(value).__name__, ("", ()))
    knob = getattr(value, knob_field, None)
    for field in fields if knob else ():
        held = getattr(value, field)
        for name in held if isinstance(held, tuple) else (held,):
            yield node("knob", knob), node("destination", name), "drives"


def _words_of(fact: Fact) -> dict[str, tuple[str, ...]]:
    """The nodes of the words that a fact names, by its fields."""
    names = tuple(node("destination", name) for name in fact.destinations)
    return {
        "by": (node(_BY[fact.kind], fact.by),) if fact.by else (),
        "knob": (node("knob", fact.knob),) if fact.knob else (),
        "destinations": names,
        "first": names[:1],
        "others": names[1:],
    }
