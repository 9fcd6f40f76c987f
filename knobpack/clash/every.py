"""Every clash: all minimal sets of demands that clash, and all minimal ways out."""

from __future__ import annotations

from typing import ClassVar, Final

import attrs

from knobpack.clash.find import WayOut
from knobpack.errors import Stopped
from knobpack.limits import DEFAULT_EFFORT, Limits, begun
from knobpack.reasons.answer_graph import Answer
from knobpack.words import Request
from knobpack.words.demand import Demand, sentences_of
from knobpack.words.fields import MOST_ITEMS, check_kind, check_whole

MORE_SETS: Final = "more clashing sets than asked for"
MORE_WAYS: Final = "more ways out than asked for"

_TOLD = 10
"""Clashing sets, and ways out, that are told in sentences; the others are counted."""


@attrs.frozen
class EveryClash(Answer):
    """The minimal clashing sets of a request, and the minimal ways out.

    Every way out gives up some demand of every clashing set. Once both are proven to be all, the
    ways out are exactly the minimal sets that do so, and the other way round.

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
        stopped: why these are not proven to be all: ``more clashing sets than asked for`` or ``more
            ways out than asked for`` (then there is at least one more of those), ``effort``, ``time
            limit`` or ``cancelled``; None: they are.
        closed: whether all knobs are reserved, so that what has no knob even by itself may come to
            light only once a way out is taken that lets one take new routes.
    """

    question: ClassVar[str] = "every clash"

    possible: bool | None
    sets: tuple[tuple[Demand, ...], ...] = ()
    ways_out: tuple[WayOut, ...] = ()
    stopped: Stopped | None = None
    closed: bool = False

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
            *(("All knobs are reserved: more may clash once one takes new routes.",) * self.closed),
            *sets,
            *_rest(len(self.sets), "clash", "clashes"),
        )

    def _count(self) -> str:
        sets = _counted(len(self.sets), "clash", "clashes")
        ways = _counted(len(self.ways_out), "way out", "ways out")
        if self.proven:
            return f"Proven to be all: {sets} and {ways}."
        more = {MORE_SETS: "there are more clashes", MORE_WAYS: "there are more ways out"}
        why = more.get(self.stopped or "", f"the search was stopped ({self.stopped})")
        return f"Found so far: {sets} and {ways}. Not proven to be all: {why}."


def every_clash(
    request: Request,
    *,
    most: int = 100,
    effort: float = DEFAULT_EFFORT,
    limits: Limits | None = None,
) -> EveryClash:
    """Find all minimal sets of demands that clash, and all minimal ways out.

    There may be very many; the search ends as soon as there is one more of either than ``most``.
    The cheapest ways out are looked for first, with half of the effort at most. Where all knobs
    are reserved, letting one take new routes can bring to light that something has no knob even
    so; that is not reckoned with here, and :func:`knobpack.allocate` then tells it.

    Args:
        request: what is asked.
        most: how many clashing sets, and how many ways out, are wanted at most, 1 to 10,000.
        effort: deterministic effort for all that is searched, 0 to 10**9; the usual 10 take half a
            minute at most.
        limits: in place of ``effort``, all that may cut it short: seconds and a cancel too.

    Returns:
        What was found, all of it proven minimal, and whether it is proven to be everything.

    Raises:
        InputError: ``request`` is no Request, ``most`` or ``effort`` no such number, or ``limits``
            no Limits.

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
    from knobpack.clash.feasible import Feasible, closes_all
    from knobpack.clash.marco import Marco
    from knobpack.clash.mus import confirmed
    from knobpack.solver.watch import EFFORT

    check_kind("every_clash.request", request, Request)
    check_whole("every_clash.most", most, 1, MOST_ITEMS)
    watch = begun("every_clash", effort, limits).watch()
    feasible = Feasible(request, watch, opening=False)
    possible = confirmed(feasible, feasible.demands).possible
    if possible is None:
        return EveryClash(None, stopped=watch.stopped or EFFORT)
    if possible:
        return EveryClash(possible=True)
    found = Marco(feasible)
    found.cheapest(most)
    stopped = found.explore(most)
    return EveryClash(
        possible=False,
        sets=found.told_sets(),
        ways_out=found.told_ways(complete=stopped is None),
        stopped=stopped,
        closed=bool(request.surface.knobs) and closes_all(feasible.demands, feasible.effects),
    )


def _counted(count: int, one: str, several: str) -> str:
    return f"{count:,} {one if count == 1 else several}"


def _rest(count: int, one: str, several: str) -> tuple[str, ...]:
    """That there are more than are told, where there are."""
    more = count - _TOLD
    return (f"And {_counted(more, f'more {one}', f'more {several}')}.",) if more > 0 else ()
