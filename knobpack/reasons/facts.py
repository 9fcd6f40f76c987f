"""Facts: what the request and a layout say about who may be where, from the words alone.

A fact is one thing that anyone can look up: that a snapshot moves one destination and holds
another, that a rule names two of them, that the base keeps a route. An obstacle is the facts that
together forbid a move. The solver has no part in either.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from typing import Final, Literal, TypeAlias

import attrs

from knobpack.grouped import grouped
from knobpack.text.shown import Fielded
from knobpack.words.names import knob_told, listed

FactKind: TypeAlias = Literal[
    "moved",
    "held",
    "apart",
    "alone",
    "together",
    "fixed",
    "barred",
    "kept",
    "reserved",
    "destinations per knob",
    "routes",
    "on",
    "used",
]
"""What a fact says; see :class:`Fact`."""

MOVED: Final = "moved"
HELD: Final = "held"
APART: Final = "apart"
ALONE: Final = "alone"
TOGETHER: Final = "together"
FIXED: Final = "fixed"
BARRED: Final = "barred"
KEPT: Final = "kept"
RESERVED: Final = "reserved"
PER_KNOB: Final = "destinations per knob"
ROUTES: Final = "routes"
ON: Final = "on"
USED: Final = "used"

CANNOT_SHARE: Final = "cannot, as long as what is kept stays there, share"

SEPARATING = (MOVED, HELD, APART, ALONE)
"""Kinds that say that the first destination may share with none of the others."""

OF_LAYOUT = frozenset({ON, USED})
"""Kinds that say something of the layout; all others hold whatever the layout."""


@attrs.frozen
class Fact(Fielded):
    """One thing that holds.

    Args:
        kind: what is said; one of the names above.

            * ``moved``, ``held``: the snapshot ``by``, which may not be broken, moves (holds) the
              first destination and holds (moves) all others named.
            * ``apart``, ``alone``: the required rule ``by`` keeps the first apart from all others.
            * ``together``: the required rule ``by`` names all of them.
            * ``fixed``, ``barred``: the required rule ``by`` says that the first must be, or may
              not be, on ``knob``.
            * ``kept``: the first is kept on ``knob``: a route of the base, or of a setup in use.
            * ``reserved``: ``knob`` takes no new route.
            * ``destinations per knob``, ``routes``: the surface allows ``count``, and no more.
            * ``on``: in the layout these destinations are on ``knob``.
            * ``used``: the layout has ``count`` routes.
        destinations: full names.
        knob: the knob in question, if one is.
        by: the name of the snapshot, or the rule as text.
        count: how many, where it is about a number.
    """

    kind: FactKind
    destinations: tuple[str, ...] = ()
    knob: str | None = None
    by: str | None = None
    count: int | None = None

    @property
    def where(self) -> str:
        """The knob that it is about, as it is called in a sentence; empty: it is about none."""
        return knob_told(self.knob or "")

    def __str__(self) -> str:
        first, others = self.destinations[:1], listed(self.destinations[1:])
        told = _SENTENCES[self.kind]
        if self.kind == ON and len(self.destinations) > 1:
            told = "{every} are on {knob}"
        return told.format(
            first="".join(first),
            others=others,
            every=listed(self.destinations),
            knob=self.where,
            by=self.by,
            count=self.count,
        )


_SENTENCES = {
    MOVED: "snapshot '{by}' moves {first} and holds {others}",
    HELD: "snapshot '{by}' holds {first} and moves {others}",
    APART: "the rule {by} keeps {first} apart from {others}",
    ALONE: "the rule {by} lets {first} share no knob with {others}",
    TOGETHER: "the rule {by} binds {every} together",
    FIXED: "the rule {by} puts {first} on {knob}",
    BARRED: "the rule {by} bars {first} from {knob}",
    KEPT: "{first} is kept on {knob}",
    RESERVED: "{knob} takes no new route",
    PER_KNOB: "a knob may carry {count} at most",
    ROUTES: "there may be {count} routes at most",
    ON: "{every} is on {knob}",
    USED: "all {count} are in use",
}


_CAUSES = {BARRED: "the rule {by} bars it from there", RESERVED: "no new route may come there"}


@attrs.frozen
class Obstacle(Fielded):
    """Facts that together forbid that some destinations are on one knob.

    Args:
        facts: all of them hold, and each is needed.
    """

    facts: tuple[Fact, ...]

    @property
    def snapshot(self) -> str | None:
        """The snapshot that it rests on, if there is one."""
        return next((fact.by for fact in self.facts if fact.kind in (MOVED, HELD)), None)

    def like(self, other: Obstacle) -> bool:
        """Whether both part the same destinations, perhaps by different snapshots.

        Args:
            other: another obstacle.

        Returns:
            True if they do.
        """

        def bare(facts: tuple[Fact, ...]) -> list[Fact]:
            return [
                attrs.evolve(fact, kind=MOVED, by=None) if fact.kind in (MOVED, HELD) else fact
                for fact in facts
            ]

        return bare(self.facts) == bare(other.facts)

    @property
    def lasting(self) -> bool:
        """Whether it stands in the way whatever the layout."""
        return OF_LAYOUT.isdisjoint([fact.kind for fact in self.facts])

    @property
    def cause(self) -> str:
        """What forbids it, in words that are the same of every knob that it closes in one way."""
        told = [fact for fact in self.facts if fact.kind not in (ON, USED)]
        pinned = [fact for fact in told if fact.kind in SEPARATING]
        if any(fact.kind == TOGETHER for fact in told):
            return str(self)
        fact = [*pinned, *told, *self.facts][0]
        if fact.kind in (MOVED, HELD):
            return f"snapshot '{fact.by}' parts it from what is there"
        if fact.kind in (APART, ALONE):
            return f"the rule {fact.by} parts it from what is there"
        return _CAUSES.get(fact.kind, str(fact)).format(by=fact.by)

    def __str__(self) -> str:
        told, facts = [], list(self.facts)
        while facts:
            fact = facts.pop(0)
            after = facts[0] if facts else None
            if after and fact.kind == ON and after.destinations[1:] == fact.destinations:
                told.append(_carried(fact, facts.pop(0)))
            elif after and fact.kind == ON and after.kind == PER_KNOB:
                told.append(f"{fact.where} carries {len(fact.destinations)} already")
            else:
                told.append(str(fact))
        return listed(told)


def by_cause(closing: Mapping[str, Sequence[str]]) -> dict[str, tuple[str, ...]]:
    """What closes knobs, and which: of several causes a knob is told with what closes the most.

    Args:
        closing: for each knob what closes it, one cause or more, as :attr:`Obstacle.cause` says.

    Returns:
        The knobs of each cause, that which closes the most knobs first.
    """
    counts = Counter(cause for causes in closing.values() for cause in set(causes))
    found = grouped((max(causes, key=counts.__getitem__), knob) for knob, causes in closing.items())
    told = sorted(found.items(), key=lambda pair: -len(pair[1]))
    return {cause: tuple(knobs) for cause, knobs in told}


def _carried(there: Fact, parting: Fact) -> str:
    """What a knob carries and what parts it from another destination, in one sentence."""
    told = f"{there.where} carries {listed(there.destinations, 4)}, which "
    first = parting.destinations[0]
    if parting.kind == MOVED:
        return f"{told}snapshot '{parting.by}' holds while it moves {first}"
    if parting.kind == HELD:
        return f"{told}snapshot '{parting.by}' moves while it holds {first}"
    return f"{told}the rule {parting.by} keeps apart from {first}"
