"""Least knobs: how few do for full independence, and how many if nothing shares, with witnesses."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar

import attrs

from knobpack.checked_search import impossible
from knobpack.definition.phrases import many
from knobpack.errors import Stopped
from knobpack.heavy_imports import load
from knobpack.limits import DEFAULT_EFFORT, Limits, begun
from knobpack.numbered.problem import Problem, bits
from knobpack.reasons.answer_graph import Answer
from knobpack.reasons.facts import CANNOT_SHARE
from knobpack.text.shown import Fielded
from knobpack.words import Request
from knobpack.words.edits import placed, with_knobs
from knobpack.words.fields import check_kind
from knobpack.words.names import knob_told, listed

if TYPE_CHECKING:
    from knobpack.solver.fewest import Fewest
    from knobpack.solver.watch import Watch

SEPARATED = "separated"
COUNT = "count"
SEARCH = "search"

MOST_SHOWN = 12
"""Sets that a sentence lists, at most."""


@attrs.frozen
class Crowd(Fielded):
    """Destinations that may share with each other at most, and are many for a knob.

    Args:
        destinations: full names. None of them may share with one that is not named here.
        knobs: so many knobs it takes for their number alone.
    """

    destinations: tuple[str, ...]
    knobs: int


@attrs.frozen
class LeastKnobs(Answer):
    """The least number of knobs on which every destination can be placed.

    Every demand is met and every snapshot kept, those that may be broken too. Wherever the knobs
    of the surface do not do, knobs that are open to everything are taken to be added.

    Args:
        independent: so many knobs are known to be enough.
        independent_bound: so many are known to be needed.
        sets: the first witness: all destinations, in ``independent`` sets that may each be on a
            knob of its own, all at the same time. Sets and names are in the order of the request.
        knob_of: for each set a knob of the surface that it may be on, no two on one knob, and as
            many of these sets as can be; None: it takes a knob that is added.
        separated: the second witness: destinations of which no two may share a knob. The most
            that are known; there may be more.
        crowds: destinations whose number takes more knobs than there are ``separated`` among them.
        by: what shows that so many are needed. ``separated``: there are as many of these.
            ``count``: so many are the knobs of the crowds and the separated that are in no crowd.
            ``search``: fewer were tried and ruled out; neither of the others shows it.
        unshared: so many knobs it takes if nothing shares that need not. This is always exact.
        bound: what must share even then: what required rules hold together, and what is kept or
            fixed on one knob.
        destinations: how many destinations there are.
        per_knob: how many destinations one knob may carry; None: any number.
        knobs: how many knobs the surface has.
        open_knobs: those of them that are not reserved, or that keep something.
        stopped: what cut the search short, if ``independent`` is not proven least.
        kept: whether some of the separated are kept on knobs, and could share if they were not.
    """

    question: ClassVar[str] = "least knobs"

    independent: int
    independent_bound: int
    sets: tuple[tuple[str, ...], ...]
    knob_of: tuple[str | None, ...]
    separated: tuple[str, ...]
    crowds: tuple[Crowd, ...]
    by: str
    unshared: int
    bound: tuple[tuple[str, ...], ...]
    destinations: int
    per_knob: int | None
    knobs: int
    open_knobs: int
    stopped: Stopped | None = None
    kept: bool = False

    @property
    def proven(self) -> bool:
        """Whether fewer than ``independent`` are proven not to do."""
        return self.independent == self.independent_bound

    @property
    def missing(self) -> int:
        """How many knobs that are open the surface lacks for full independence; 0: none."""
        return max(0, self.independent - self.open_knobs)

    @property
    def unshared_missing(self) -> int:
        """How many it lacks if nothing shares that need not; 0: none."""
        return max(0, self.unshared - self.open_knobs)

    @property
    def uncrowded(self) -> tuple[str, ...]:
        """Those of the separated that are in no crowd."""
        crowded = {name for crowd in self.crowds for name in crowd.destinations}
        return tuple(name for name in self.separated if name not in crowded)

    @property
    def added(self) -> int:
        """How many of the sets may be on no knob of the surface that is left for them."""
        return self.knob_of.count(None)

    @property
    def sentences(self) -> tuple[str, ...]:
        """The numbers and what shows them in plain sentences, what matters most first."""
        if not self.destinations:
            return ("There is no destination, so it takes no knob.",)
        found = [self._independent(), *self._needed(), self._unshared(), *self._example()]
        return tuple(found)

    @property
    def _surface(self) -> str:
        if self.open_knobs == self.knobs:
            return f"the surface has {self.knobs:,}"
        return f"the surface has {self.knobs:,}, {self.open_knobs:,} of them open"

    def _lacking(self, missing: int) -> str:
        """How far the surface falls short, or what it has."""
        if not missing:
            return self._surface
        if self.open_knobs == self.knobs:
            return f"{missing:,} more than the surface has"
        return f"{missing:,} more than are open on the surface"

    def _independent(self) -> str:
        knobs = many(self.independent, "knob")
        lacking = self._lacking(self.missing)
        if self.added > self.missing:
            lacking += f", but {self.added:,} of the sets below can be on none of those left"
        if not self.proven:
            return (
                f"All of it can be had on {knobs} if everything shares that may; {lacking}. "
                f"Whether fewer will do is not proven: at least {self.independent_bound:,} are "
                "needed."
            )
        return f"All of it takes {knobs} if everything shares that may; {lacking}."

    def _needed(self) -> tuple[str, ...]:
        if self.independent_bound < 2:
            return ()
        start = f"Fewer than {self.independent_bound:,} will not do"
        if self.proven:
            start = "Fewer will not do"
        if self.by == COUNT:
            return self._counted(start)
        count = len(self.separated)
        names, share = listed(self.separated), CANNOT_SHARE if self.kept else "can never share"
        if self.by == SEPARATED:
            return (f"{start}: these {count:,} {share} a knob: {names}.",)
        told = f"{start}: every way on fewer was ruled out"
        if count < 2:
            return (f"{told}.",)
        return (f"{told}. The most known that {share} a knob are these {count:,}: {names}.",)

    def _counted(self, start: str) -> tuple[str, ...]:
        limit = f"a knob may carry {self.per_knob:,} at most"
        if len(self.crowds) == 1 and len(self.crowds[0].destinations) == self.destinations:
            return (f"{start}: there are {self.destinations:,} destinations, and {limit}.",)
        told = [f"{start}, for {limit}:"]
        told += [
            f"  These {len(crowd.destinations):,} can share with each other only, and take "
            f"{many(crowd.knobs, 'knob')}: {listed(crowd.destinations)}."
            for crowd in self.crowds
        ]
        others = self.uncrowded
        if others:
            one = f"  {listed(others)} can share with none of them."
            each = f"  These {len(others):,} can share neither with them nor with each other"
            told.append(one if len(others) == 1 else f"{each}: {listed(others)}.")
        return tuple(told)

    def _unshared(self) -> str:
        knobs, lacking = many(self.unshared, "knob"), self._lacking(self.unshared_missing)
        if not self.bound:
            return f"With nothing shared it takes {knobs}, one for each destination; {lacking}."
        held = "; ".join(listed(names) for names in self.bound[:MOST_SHOWN])
        return (
            f"With nothing shared that need not be it takes {knobs}; {lacking}. These must be "
            f"on one knob: {held}{_rest(self.bound)}."
        )

    def _example(self) -> tuple[str, ...]:
        pairs = list(zip(self.sets, self.knob_of, strict=True))
        pairs.sort(key=lambda pair: (pair[1] is None, len(pair[1] or ""), pair[1] or ""))
        told = [f"  {knob_told(knob or 'a new knob')}: {listed(names)}" for names, knob in pairs]
        hidden = len(told) - MOST_SHOWN
        rest = [f"  and {hidden:,} more"] if hidden > 0 else []
        start = f"On {many(self.independent, 'knob')} it can be so:"
        return (start, *told[:MOST_SHOWN], *rest)


def _rest(those: tuple[object, ...] | list[str]) -> str:
    hidden = len(those) - MOST_SHOWN
    return f"; and {hidden:,} more" if hidden > 0 else ""


def least_knobs(
    request: Request, *, effort: float = DEFAULT_EFFORT, limits: Limits | None = None
) -> LeastKnobs:
    """Tell on how few knobs every destination can be placed with full independence.

    Args:
        request: what is asked; its preferences and weights do not matter, and every snapshot counts
            as one that may not be broken.
        effort: deterministic effort for all that is searched, 0 to 10**9; the usual 10 take half a
            minute at most.
        limits: in place of ``effort``, all that may cut it short: seconds and a cancel too.

    Returns:
        The number, a proven bound, sets of destinations that show it can be done, and what shows
        that fewer knobs will not do.

    Raises:
        InputError: ``request`` is no Request, or ``effort`` no number from 0 to 10**9, or
            ``limits`` no Limits.
        ImpossibleDemands: demands clash however many knobs there are, the snapshots that may be
            broken being taken as demands.
        NoLayoutFound: the search for what clashes was stopped before it knew.

    Example:
        >>> from knobpack import Destination, Request, Surface, Voice
        >>> from knobpack.questions import least_knobs
        >>> pad = Voice("Glass pad", (Destination("cutoff", priority=1), Destination("level")))
        >>> bass = Voice("Round bass", (Destination("drive", priority=2),))
        >>> request = Request(Surface.row(2), (pad, bass))
        >>> print(least_knobs(request).sentences[0])
        All of it takes 2 knobs if everything shares that may; the surface has 2.
    """
    check_kind("least_knobs.request", request, Request)
    watch = begun("least_knobs", effort, limits).watch()
    problem, fewest = _fewest(request, watch)
    names = tuple(request.by_full_name)
    surface = request.surface

    def named(items: int) -> tuple[str, ...]:
        return tuple(names[item] for item in bits(items))

    own = (1 << len(surface.knobs)) - 1
    at = _matched([problem.knobs_of(atoms) & own for atoms in fewest.sets])
    by = SEARCH
    if fewest.separated.bit_count() == fewest.needed:
        by = SEPARATED
    elif fewest.counted == fewest.needed:
        by = COUNT
    kept = {route.destination: route.knob for route in request.keep.routes}
    # One destination stands for all that are bound to it.
    separated = tuple(named(problem.atoms[each].items)[0] for each in bits(fewest.separated))
    return LeastKnobs(
        independent=fewest.enough,
        independent_bound=fewest.needed,
        sets=tuple(named(problem.items_of(atoms)) for atoms in fewest.sets),
        knob_of=tuple(None if knob is None else surface.knob_names[knob] for knob in at),
        separated=separated,
        crowds=tuple(_crowd(named(problem.items_of(c)), problem.per_knob) for c in fewest.crowds),
        by=by,
        unshared=len(problem.atoms),
        bound=tuple(named(atom.items) for atom in problem.atoms if atom.size > 1),
        destinations=len(names),
        per_knob=surface.destinations_per_knob,
        knobs=len(surface.knobs),
        open_knobs=sum(
            1 for k in surface.knob_names if k in kept.values() or k not in surface.reserved
        ),
        stopped=None if fewest.needed == fewest.enough else watch.why,
        kept=len(kept.keys() & {*separated}) > 1,
    )


def _fewest(request: Request, watch: Watch) -> tuple[Problem, Fewest]:
    """The fewest sets, and the problem that they are of: one more knob stands for any number.

    Raises:
        ImpossibleDemands: demands clash however many knobs there are.
    """
    load("knobpack.numbered.request", "knobpack.solver.fewest")
    from knobpack.numbered.request import problem_of
    from knobpack.solver.fewest import fewest_knobs
    from knobpack.solver.outcome import ImpossibleError

    problem = problem_of(request, spare=True)
    try:
        return problem, fewest_knobs(problem, watch)
    except ImpossibleError:
        raise impossible(_with_room(request), watch) from None


def _with_room(request: Request) -> Request:
    """The request with a knob more for each destination, any number of routes, and all placed.

    No snapshot may be broken any more.

    Raises:
        InputError: the surface would have more knobs than a surface can.
    """
    wide, firm = with_knobs(request, len(request.by_full_name)), request.snapshots
    if firm is not None:
        firm = tuple(attrs.evolve(each, break_weight=None) for each in firm)
    wide = attrs.evolve(wide, surface=attrs.evolve(wide.surface, routes=None), snapshots=firm)
    return placed(wide)


def _crowd(names: tuple[str, ...], per_knob: int) -> Crowd:
    return Crowd(names, -(-len(names) // per_knob))


def _matched(open_to: list[int]) -> tuple[int | None, ...]:
    """For each set one of the knobs (a mask) it may be on, for as many sets as can be."""
    load("networkx")
    import networkx as nx

    graph: nx.Graph[int] = nx.Graph()
    sets = [-1 - place for place in range(len(open_to))]
    graph.add_nodes_from(sets)
    graph.add_edges_from(
        (node, knob) for node, knobs in zip(sets, open_to, strict=True) for knob in bits(knobs)
    )
    found = nx.bipartite.hopcroft_karp_matching(graph, sets)
    return tuple(found.get(node) for node in sets)
