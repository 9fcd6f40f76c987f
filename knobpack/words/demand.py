"""Demand: one thing that a layout must do, as the caller asked it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import Any, Final, Literal, TypeAlias

import attrs

from knobpack.text.shown import Fielded
from knobpack.words.layout import Route
from knobpack.words.names import knob_told, listed
from knobpack.words.request import Request
from knobpack.words.rules import Rule

DemandKind: TypeAlias = Literal[
    "place",
    "keep",
    "rule",
    "separate",
    "reserved",
    "destinations per knob",
    "routes",
    "layer",
    "layers",
    "store",
    "snapshots",
]
"""What is demanded; see :class:`Demand`."""

PLACE: Final = "place"
KEEP: Final = "keep"
RULE: Final = "rule"
SEPARATE: Final = "separate"
RESERVED: Final = "reserved"
PER_KNOB: Final = "destinations per knob"
ROUTES: Final = "routes"
LAYER: Final = "layer"
LAYERS: Final = "layers"
STORE: Final = "store"
SNAPSHOTS: Final = "snapshots"

COUNTS = ((LAYERS, LAYER), (SNAPSHOTS, STORE))
"""Limits of the surface that have nothing to do with knobs, and what each is a limit of."""


@attrs.frozen
class Demand(Fielded):
    """One thing that a layout must do.

    Args:
        kind: ``place``, ``keep``, ``rule``, ``separate``, ``reserved``,
            ``destinations per knob``, ``routes``, ``layer``, ``layers``, ``store`` or
            ``snapshots``.
        subject: what is demanded: the full name of a destination (place), the Route (keep),
            the rule, the name of a snapshot (separate, store), of a knob (reserved) or of a
            voice (layer), or the limit of the surface (all others).
        price: what giving it up is reckoned to cost, in points of the tier *unplaced*, so that
            ways out can be ranked: leaving a destination out costs what that tier says, and
            every other demand costs more than leaving out an essential one, and most of all what
            takes another surface.
    """

    kind: DemandKind
    subject: Any = attrs.field(metadata={"holds": str | int | Route | Rule})
    price: int = attrs.field(default=0, eq=False)

    def __str__(self) -> str:
        match self.kind, self.subject:
            case "keep", Route(destination=name, knob=knob):
                return f"{name} is kept on {knob_told(knob)}"
            case kind, subject:
                return _in_number(_SENTENCES[kind].format(subject), kind, subject)

    @property
    def way_out(self) -> str:
        """What giving it up means, as an instruction."""
        match self.kind, self.subject:
            case "keep", Route(destination=name, knob=knob):
                return f"free the base's {name} from {knob_told(knob)}"
            case kind, subject:
                return _in_number(_WAYS_OUT[kind].format(subject), kind, subject)


def _in_number(sentence: str, kind: str, subject: object) -> str:
    """A sentence of a demand, in which what there is one of is said as one."""
    return sentence.replace(kind, kind.removesuffix("s")) if subject == 1 else sentence


_SENTENCES = {
    PLACE: "{} must be placed",
    RULE: "the rule {} holds",
    SEPARATE: "snapshot {!r} has what it moves and what it holds on different knobs",
    RESERVED: "{} takes no new route",
    PER_KNOB: "a knob carries at most {}",
    ROUTES: "there are at most {} routes in all",
    LAYER: "voice {!r} needs a layer",
    LAYERS: "the surface has {} layers",
    STORE: "snapshot {!r} is stored",
    SNAPSHOTS: "the surface stores {} snapshots",
}

_WAYS_OUT = {
    PLACE: "leave {} out",
    RULE: "drop the rule {}, or prefer it with a weight",
    SEPARATE: "let snapshot {!r} be broken, with a break weight",
    RESERVED: "let {} take new routes",
    PER_KNOB: "let a knob carry more than {}",
    ROUTES: "allow more than {} routes in all",
    LAYER: "leave voice {!r} out",
    LAYERS: "use a surface of more than {} layers",
    STORE: "drop snapshot {!r}",
    SNAPSHOTS: "use a surface that stores more than {} snapshots",
}


_SENTENCES_OF_MANY = {
    PLACE: "{} must be placed",
    SEPARATE: "the snapshots {} have what they move and what they hold on different knobs",
    RESERVED: "{} take no new route",
    LAYER: "the voices {} need a layer each",
    STORE: "the snapshots {} are stored",
}

_WAYS_OUT_OF_MANY = {
    PLACE: "leave {} out",
    SEPARATE: "let the snapshots {} be broken, with a break weight",
    RESERVED: "let {} take new routes",
    LAYER: "leave the voices {} out",
    STORE: "drop the snapshots {}",
}


def sentences_of(demands: Iterable[Demand]) -> list[str]:
    """The demands in sentences, those that say the same of different things in one."""
    return _told(demands, _SENTENCES_OF_MANY, str)


def ways_out_of(demands: Iterable[Demand]) -> list[str]:
    """What giving them up means, in instructions, those that say the same in one."""
    return _told(demands, _WAYS_OUT_OF_MANY, lambda demand: demand.way_out)


def _told(
    demands: Iterable[Demand], of_many: Mapping[str, str], of_one: Callable[[Demand], str]
) -> list[str]:
    by_kind: dict[object, list[Demand]] = {}
    for demand in demands:
        by_kind.setdefault(demand.kind if demand.kind in of_many else demand, []).append(demand)
    told = []
    for alike in by_kind.values():
        if len(alike) == 1:
            told.append(of_one(alike[0]))
        else:
            kind = alike[0].kind
            plain = str if kind in (PLACE, RESERVED) else repr
            told.append(of_many[kind].format(listed([plain(each.subject) for each in alike])))
    return told


def rules_and_snapshots(request: Request) -> tuple[Demand, ...]:
    """Each rule and each snapshot, be it that it may be broken: then it is no demand, and free."""
    asked = [Demand(RULE, rule) for rule in dict.fromkeys(request.rules)]
    asked += [Demand(SEPARATE, snapshot.name) for snapshot in request.played]
    known = {each: each for each in demands_of(request)}
    return tuple(known.get(each, each) for each in asked)


def demands_of(request: Request) -> tuple[Demand, ...]:
    """Everything that a layout for ``request`` must do, in the order in which it was asked."""
    surface, weights = request.surface, request.weights
    firm = 1 + max(weights.unplaced)
    left_out = {
        full: weights.omission(destination.priority)
        for full, destination in request.by_full_name.items()
    }
    found = [
        Demand(PLACE, full, left_out[full])
        for full, destination in request.by_full_name.items()
        if destination.must_place
    ]
    required = [rule for rule in dict.fromkeys(request.rules) if rule.weight is None]
    found += [Demand(RULE, rule, firm) for rule in required]
    found += [
        Demand(SEPARATE, snapshot.name, 2 * firm)
        for snapshot in request.played
        if snapshot.break_weight is None
    ]
    found += [Demand(RESERVED, knob, 3 * firm) for knob in surface.reserved]
    found += [Demand(KEEP, route, 4 * firm) for route in request.keep.routes]
    if surface.destinations_per_knob is not None:
        found.append(Demand(PER_KNOB, surface.destinations_per_knob, 6 * firm))
    if surface.routes is not None:
        found.append(Demand(ROUTES, surface.routes, 6 * firm))
    if surface.layers is not None:
        kept = {route.destination for route in request.keep.routes}
        for voice in request.voices:
            # With a voice go its destinations, and what the base had routed to them.
            gone = request.members[voice.name]
            lost = sum(left_out[full] + (4 * firm if full in kept else 0) for full in gone)
            found.append(Demand(LAYER, voice.name, 5 * firm + lost))
        found.append(Demand(LAYERS, surface.layers, 6 * firm))
    if surface.snapshots is not None:
        found += [Demand(STORE, snapshot.name, 5 * firm) for snapshot in request.played]
        found.append(Demand(SNAPSHOTS, surface.snapshots, 6 * firm))
    return tuple(found)
