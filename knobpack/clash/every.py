"""Every clash: all minimal sets of demands that clash, and all minimal ways out.

A map says which parts of the demands are not known yet: those that hold no clashing set found
before and give up no way out found before whole. A part from the map that nothing can be added to
is either impossible, and then a new clashing set is in it, or what it gives up is a new way out.
Once the map is empty, everything is found. (This scheme is known as MARCO: M. H. Liffiton,
A. Previti, A. Malik, J. Marques-Silva, "Fast, flexible MUS enumeration", Constraints 21, 2016;
cited from memory.)
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

import attrs

from knobpack.clash.find import WayOut
from knobpack.errors import Fault
from knobpack.limits import DEFAULT_EFFORT, check_limits
from knobpack.telling import Told
from knobpack.words import Request
from knobpack.words.demand import Demand, sentences_of
from knobpack.words.fields import MOST_ITEMS, check_kind, check_whole

if TYPE_CHECKING:
    from knobpack.clash.feasible import Feasible
    from knobpack.solver.cpsat import Status

MORE_SETS, MORE_WAYS = "more clashing sets than asked for", "more ways out than asked for"

_CHEAPEST = 10
"""Ways out, at most, that are looked for in the order of their prices: that order costs time."""

_TOLD = 10
"""Clashing sets, and ways out, that are told in sentences; the others are counted."""

Part = int
"""Some of the demands of a request, as a mask: bit ``i`` stands for demand number ``i``."""


@attrs.frozen
class EveryClash(Told):
    """The minimal clashing sets of a request, and the minimal ways out.

    Every way out gives up some demand of every clashing set. Once both are complete, the ways out
    are exactly the minimal sets that do so, and the other way round.

    Args:
        possible: whether some layout meets every demand; None: the search was stopped before
            that was known.
        sets: minimal clashing sets, the smallest first, then in asking order. No layout meets all
            demands of one; without any one of them a layout meets the rest of the set. None is
            listed that is not proven minimal.
        ways_out: minimal sets of demands to give up so that all others can be met, the cheapest
            first, then the smallest, then those that give up what was asked last. None is listed
            that is not proven minimal; ``proven`` says whether no way out that is not listed
            before it costs less.
        complete: whether these are proven to be all clashing sets and all ways out.
        stopped: why they are not: ``MORE_SETS`` or ``MORE_WAYS`` (then there is at least one more
            of those), or ``effort``; None if they are complete.
    """

    possible: bool | None
    sets: tuple[tuple[Demand, ...], ...] = ()
    ways_out: tuple[WayOut, ...] = ()
    complete: bool = False
    stopped: str | None = None

    @property
    def sentences(self) -> tuple[str, ...]:
        """What a player should know, the most important first."""
        if self.possible:
            return ("Every demand can be met.",)
        if self.possible is None:
            told = "It is not known whether every demand can be met"
            return (f"{told}: the search was stopped ({self.stopped}).",)
        ways = [
            f"Way out {number}, reckoned at {_counted(way.price, 'point', 'points')}: {way}"
            + ("." if way.proven else " (not proven: another may cost less).")
            for number, way in enumerate(self.ways_out[:_TOLD], start=1)
        ]
        sets = [
            f"Clash {number}: {'; '.join(sentences_of(demands))}."
            for number, demands in enumerate(self.sets[:_TOLD], start=1)
        ]
        return (
            "No layout meets every demand.",
            self._count(),
            *ways,
            *_rest(len(self.ways_out), "way out", "ways out"),
            *sets,
            *_rest(len(self.sets), "clash", "clashes"),
        )

    def _count(self) -> str:
        sets = _counted(len(self.sets), "clash", "clashes")
        ways = _counted(len(self.ways_out), "way out", "ways out")
        if self.complete:
            return f"Proven to be all: {sets} and {ways}."
        more = {MORE_SETS: "there are more clashes", MORE_WAYS: "there are more ways out"}
        why = more.get(self.stopped or "", f"the search was stopped ({self.stopped})")
        return f"Found so far: {sets} and {ways}. Not proven to be all: {why}."


def every_clash(request: Request, *, most: int = 100, effort: float = DEFAULT_EFFORT) -> EveryClash:
    """Find all minimal sets of demands that clash, and all minimal ways out.

    There may be very many; the search ends as soon as there is one more of either than ``most``.
    The cheapest ways out are looked for first, with half of the effort at most. Where all knobs
    are reserved, letting one take new routes can bring to light that something has no knob even
    so; that is not reckoned with here, and :func:`knobpack.allocate` then tells it.

    Args:
        request: what is asked.
        most: how many clashing sets, and how many ways out, are wanted at most, 1 to 10,000.
        effort: deterministic effort after which the search stops, the same on every machine, 0
            to 10**9.

    Returns:
        What was found, all of it proven minimal, and whether it is proven to be everything.

    Raises:
        InputError: ``request`` is no Request, or ``most`` or ``effort`` no such number.

    Example:
        >>> from knobpack import Destination, Fixed, Request, Surface, Voice
        >>> from knobpack.questions import every_clash
        >>> pad = Voice("Glass pad", (Destination("cutoff", priority=1), Destination("level")))
        >>> bass = Voice("Round bass", (Destination("drive", priority=2),))
        >>> rules = (Fixed(("Glass pad",), "K1"), Fixed(("Round bass",), "K1"))
        >>> request = Request(Surface.row(2), (pad, bass), rules=rules)
        >>> found = every_clash(request)
        >>> print(found.sentences[1])
        Proven to be all: 2 clashes and 3 ways out.
        >>> print(found.ways_out[0])
        drop the rule fixed(Round bass; K1), or prefer it with a weight
    """
    # A call imports ortools; to import knobpack must not.
    from knobpack.clash.feasible import Feasible
    from knobpack.clash.minimal import confirmed
    from knobpack.solver.watch import EFFORT, Watch

    check_kind("every_clash.request", request, Request)
    check_whole("every_clash.most", most, 1, MOST_ITEMS)
    check_limits("every_clash", effort=effort)
    watch = Watch(float(effort))
    feasible = Feasible(request, watch, opening=False)
    possible = confirmed(feasible, feasible.demands).possible
    if possible is None:
        return EveryClash(None, stopped=watch.stopped or EFFORT)
    if possible:
        return EveryClash(possible=True, complete=True)
    found = _Found(feasible)
    found.cheapest(min(most, _CHEAPEST))
    stopped = found.explore(most)
    return EveryClash(
        possible=False,
        sets=found.told_sets(),
        ways_out=found.told_ways(complete=stopped is None),
        complete=stopped is None,
        stopped=stopped,
    )


@attrs.frozen(eq=False)
class _Found:
    """What is found so far, which is also the map of what is not.

    Args:
        feasible: answers for a request that is impossible.
        sets: minimal clashing sets.
        ways: what to give up; minimal.
        least: proven prices: every other way out costs as much as the last of them, or more.
    """

    feasible: Feasible
    sets: list[Part] = attrs.field(factory=list)
    ways: list[Part] = attrs.field(factory=list)
    least: list[int] = attrs.field(factory=list)

    def cheapest(self, most: int) -> None:
        """Find the ``most`` cheapest ways out, or fewer, with half of the effort that is left."""
        from knobpack.clash.minimal import confirmed, grow
        from knobpack.clash.ways_out import ways_out

        half = self.feasible.watch.afresh(self.feasible.watch.effort / 2)
        allowed = half.effort
        for way in ways_out(attrs.evolve(self.feasible, watch=half), most):
            # What is proven the cheapest that holds no other way out is minimal.
            certain = way if way.proven else grow(self.feasible, way.demands)
            part = self._part(certain.demands)
            rest = self._demands(self._part(self.feasible.demands) & ~part)
            if certain.proven and part not in self.ways and confirmed(self.feasible, rest).possible:
                self.ways.append(part)
                self.least.extend([self._price(part)] if way.proven else [])
        self.feasible.watch.spend(allowed - half.effort)

    def explore(self, most: int) -> str | None:
        """Find everything else, until the map is empty.

        Args:
            most: of the sets and of the ways out.

        Returns:
            Why it stopped before; None: everything is found.
        """
        from knobpack.clash.minimal import confirmed, shrink
        from knobpack.solver.cpsat import Status
        from knobpack.solver.watch import EFFORT

        while True:
            status, seed = self._seed()
            if status is Status.IMPOSSIBLE:
                return None
            wanted = self._demands(seed)
            known = status is not Status.UNKNOWN
            possible = confirmed(self.feasible, wanted).possible if known else None
            if possible is None:
                break
            if possible:
                if len(self.ways) >= most:
                    return MORE_WAYS
                # Nothing can be added to the seed without a clash: what it lacks must all go.
                self.ways.append(self._part(self.feasible.demands) & ~seed)
                if self._price(self.ways[-1]) < max(self.least, default=0):
                    raise Fault("two models disagree on which ways out are the cheapest")
                continue
            if len(self.sets) >= most:
                return MORE_SETS
            part = shrink(self.feasible, wanted)
            if not part.proven:
                break
            self.sets.append(self._part(part.demands))
        return self.feasible.watch.stopped or EFFORT

    def told_sets(self) -> tuple[tuple[Demand, ...], ...]:
        """The clashing sets, in their order."""
        ordered = sorted(self.sets, key=lambda part: (part.bit_count(), _positions(part)))
        return tuple(map(self._demands, ordered))

    def told_ways(self, *, complete: bool) -> tuple[WayOut, ...]:
        """The ways out, in their order; if not all are found, a cheaper one may be missing."""

        def order(part: Part) -> tuple[int, int, list[int]]:
            last = [-position for position in reversed(_positions(part))]
            return self._price(part), part.bit_count(), last

        proven = max(self.least, default=-1)
        return tuple(
            WayOut(self._demands(part), self._price(part), complete or self._price(part) <= proven)
            for part in sorted(self.ways, key=order)
        )

    def _seed(self) -> tuple[Status, Part]:
        """A part that is still on the map and that nothing can be added to, if one was found."""
        from ortools.sat.python import cp_model

        from knobpack.solver import cpsat

        model = cp_model.CpModel()
        kept = [model.new_bool_var("") for _ in self.feasible.demands]
        for part in self.sets:
            model.add_bool_or([~kept[position] for position in _positions(part)])
        for part in self.ways:
            model.add_bool_or([kept[position] for position in _positions(part)])
        answer = cpsat.solve(model, self.feasible.watch)
        if answer.value is None:
            return answer.status, 0
        seed = sum(answer.value(each) << position for position, each in enumerate(kept))
        demands = self.feasible.demands
        # The dearest are taken in first, so that what is left to give up is cheap.
        for position in sorted(range(len(demands)), key=lambda each: -demands[each].price):
            larger = seed | 1 << position
            if not any(part & ~larger == 0 for part in self.sets):
                seed = larger
        return answer.status, seed

    def _price(self, part: Part) -> int:
        return sum(demand.price for demand in self._demands(part))

    def _demands(self, part: Part) -> tuple[Demand, ...]:
        return tuple(self.feasible.demands[position] for position in _positions(part))

    def _part(self, demands: Iterable[Demand]) -> Part:
        chosen = set(demands)
        return sum(1 << p for p, demand in enumerate(self.feasible.demands) if demand in chosen)


def _positions(part: Part) -> list[int]:
    return [position for position in range(part.bit_length()) if part >> position & 1]


def _counted(count: int, one: str, several: str) -> str:
    return f"{count:,} {one if count == 1 else several}"


def _rest(count: int, one: str, several: str) -> tuple[str, ...]:
    """That there are more than are told, where there are."""
    more = count - _TOLD
    return (f"And {_counted(more, f'more {one}', f'more {several}')}.",) if more > 0 else ()
