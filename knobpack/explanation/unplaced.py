"""Why unplaced: what closes each knob to a destination, and what would place it."""

from __future__ import annotations

from typing import ClassVar

import attrs

from knobpack.allocation import Allocation
from knobpack.clash import Clash, WayOut
from knobpack.definition.phrases import many, points_in
from knobpack.errors import NoLayoutFound, Stopped, ended
from knobpack.explanation.case import Case
from knobpack.explanation.not_there import NotThere, not_there, others_told
from knobpack.explanation.what_if import Difference, what_if
from knobpack.limits import DEFAULT_EFFORT, Limits, begun
from knobpack.reasons.answer_graph import Answer
from knobpack.words import demand as words
from knobpack.words.demand import sentences_of
from knobpack.words.edits import placed
from knobpack.words.fields import check_kind
from knobpack.words.names import knob_told, listed


@attrs.frozen
class Unplaced(Answer):
    """Why a destination is left out.

    Args:
        destination: its full name.
        unit: what is left out with it: all that required rules bind it to.
        price: what leaving them out costs, in points of the tier *unplaced*.
        hidden: the same in the tier *sharing*, for what is hidden.
        knobs: for every knob, why it is not there; empty where it is placed.
        placing: what the best layout costs that places it and all that is placed now, if that
            was asked for. Its ``clash`` says why there is none.
        now: the knob it is on; None: it is left out.
        stopped: what cut short the search for what would place it; None: nothing did.
    """

    question: ClassVar[str] = "why unplaced"

    destination: str
    unit: tuple[str, ...]
    price: int
    hidden: int
    knobs: tuple[NotThere, ...]
    placing: Difference | None = None
    now: str | None = None
    stopped: Stopped | None = None

    @property
    def clash(self) -> Clash | None:
        """Why it cannot be placed beside all that is placed; None: it can, or was not asked for."""
        return self.placing.clash if self.placing else None

    @property
    def proven(self) -> bool:
        """Whether what would place it is proven, if that was asked for."""
        return self.stopped is None if self.placing is None else self.placing.proven

    @property
    def ways(self) -> tuple[tuple[str, int], ...]:
        """What would place it, each an instruction and its price, the cheapest first.

        The prices are those of the clash: points of the tier *unplaced*, and more than an
        essential destination costs for whatever else is given up.
        """
        if self.clash is None:
            return ()
        return tuple(
            (str(way), way.price) for way in self.clash.ways_out if not self._gives_up(way)
        )

    @property
    def sentences(self) -> tuple[str, ...]:
        """The reasons in plain sentences, what matters most first."""
        if self.now is not None:
            return (f"{self.destination} is not left out: it is on {knob_told(self.now)}.",)
        others = [name for name in self.unit if name != self.destination]
        bound = f", and with it {listed(others)}, which it is bound to" if others else ""
        better = any(each.price is not None and each.price < 0 for each in self.knobs)
        points = points_in(self.price, "unplaced")
        if not self.price and self.hidden:
            points = points_in(self.hidden, "sharing")
            points += ", for it is hidden"
            points += "" if better else ": no knob is worth sharing for it"
        found = [f"{self.destination} is left out{bound}: that costs {points}."]
        if self.stopped is not None and self.placing is None:
            found.append(f"What would place it is not known: {ended(self.stopped)}.")
        if self.clash is not None:
            found.append(self._no_place(self.clash))
            found += [f"To place it: {way} (reckoned at {price:,})." for way, price in self.ways]
            if self.clash.wider is not None:
                found.append(f"To place it: use a surface with {many(self.clash.wider, 'knob')}.")
        elif self.placing is not None and self.placing.comparison is not None:
            proof = "" if self.placing.proven else "; that is not proven"
            if not (proof and better):  # a move alone, told below, does better than what was found
                told = f"that costs {self.placing.comparison.told}{proof}"
                found.append(f"It could be placed beside all that is placed; {told}.")
        ranks = ((each.comparison.rank if each.comparison else ()) for each in self.knobs)
        cheapest = sorted(zip(ranks, self.knobs, strict=True), key=lambda pair: pair[0])
        return (*found, *others_told([each for _, each in cheapest]))

    @staticmethod
    def _no_place(clash: Clash) -> str:
        others = [demand for demand in clash.demands if demand.kind != words.PLACE]
        count = len(clash.demands) - len(others)
        told = "It has no place beside all that is placed"
        if count > 1:
            beside = "1 destination that is placed do not both"
            if count > 2:
                beside = f"{count - 1:,} destinations that are placed do not all"
            told = f"It and {beside} fit"
        return f"{told}: {'; '.join(sentences_of(others))}." if others else f"{told}."

    def _gives_up(self, way: WayOut) -> bool:
        return any(each.kind == words.PLACE and each.subject in self.unit for each in way.demands)


def why_unplaced(
    allocation: Allocation,
    destination: str,
    *,
    solve: bool = True,
    effort: float = DEFAULT_EFFORT,
    limits: Limits | None = None,
) -> Unplaced:
    """Tell why a destination is left out, and what would place it.

    Args:
        allocation: what :func:`knobpack.allocate` gave back.
        destination: the full name of a destination.
        solve: whether to look for what would place it, which is solved anew.
        effort: deterministic effort for all that is searched, 0 to 10**9; the usual 10 take half a
            minute at most.
        limits: in place of ``effort``, all that may cut it short: seconds and a cancel too.

    Returns:
        What leaving it out costs, and what keeps it off each knob; with ``solve`` also what would
        place it, or what stopped the search for that. Of one that is placed, that it is.

    Raises:
        InputError: ``allocation`` is no Allocation, there is no such destination,
            ``solve`` is not true or false, or ``effort`` no number from 0 to 10**9, or ``limits``
            no Limits.

    Example:
        >>> from knobpack import Destination, Surface, Voice, allocate
        >>> from knobpack.questions import why_unplaced
        >>> pad = Voice("Glass pad", (Destination("cutoff", priority=1), Destination("level")))
        >>> bass = Voice("Round bass", (Destination("drive", priority=2),))
        >>> allocation = allocate((pad, bass), Surface.row(1))
        >>> for way, price in why_unplaced(allocation, "Round bass/drive").ways:
        ...     print(price, way)
        272 leave Glass pad/cutoff and Glass pad/level out
        1028 let the snapshots 'only Glass pad' and 'only Round bass' be broken, with a break weight
    """
    check_kind("why_unplaced.allocation", allocation, Allocation)
    check_kind("why_unplaced.solve", solve, bool)
    run = begun("why_unplaced", effort, limits)
    case = Case(allocation)
    answer = unplaced(case, case.destination("why_unplaced", destination))
    if not solve or answer.now is not None:
        return answer
    must = placed(allocation.request, {*case.knob_of, *answer.unit})
    try:
        placing = what_if(allocation, must, limits=run)
        return attrs.evolve(answer, placing=placing, stopped=placing.stopped)
    except NoLayoutFound as error:
        return attrs.evolve(answer, stopped=error.stopped)


def unplaced(case: Case, destination: str) -> Unplaced:
    """As :func:`why_unplaced`, for a name that is known."""
    unit = case.ground.unit(destination)
    if destination in case.knob_of:
        now = case.knob_of[destination]
        return Unplaced(destination, unit, price=0, hidden=0, knobs=(), now=now)
    omissions = [each for each in case.allocation.prices.omissions if each.destination in unit]
    return Unplaced(
        destination=destination,
        unit=unit,
        price=sum(each.price for each in omissions),
        hidden=sum(each.hidden for each in omissions),
        knobs=tuple(not_there(case, destination, knob) for knob in case.on),
    )
