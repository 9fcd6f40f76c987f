"""Why shared: what leaves no free knob, what sharing costs, and what parting would cost."""

from __future__ import annotations

from typing import ClassVar

import attrs

from knobpack.allocation import Allocation
from knobpack.definition.phrases import many
from knobpack.definition.prices import KnobPrice
from knobpack.errors import Stopped
from knobpack.explanation.case import Case
from knobpack.explanation.comparison import listed_points
from knobpack.explanation.instead import Instead, instead
from knobpack.explanation.not_there import NotThere, not_there
from knobpack.explanation.what_if import Difference, what_if
from knobpack.explanation.witness import Witness, filling
from knobpack.limits import DEFAULT_EFFORT, Limits, Run, begun
from knobpack.reasons.answer_graph import Answer
from knobpack.words import Apart, Knob
from knobpack.words.bundle import THE_SETUP, Bundle
from knobpack.words.edits import with_rule
from knobpack.words.fields import check_kind
from knobpack.words.names import knob_told, listed

MOST_MOVES = 3
"""Destinations whose moving off sentences price, at most."""


@attrs.frozen
class Shared(Answer):
    """Why some destinations share a knob.

    Args:
        knob: the knob.
        destinations: all that is on it.
        sharing: what sharing it costs, term by term, in points of the tier *sharing*.
        bundles: the bundles that are whole on it: what one knob of a source drove.
        placed: how many destinations the layout places, on ``used`` knobs.
        used: how many knobs carry something.
        free: the knobs that carry nothing and are not reserved.
        witness: destinations that fill the surface while they are placed, if any do.
        moves: for each destination that could be moved off alone, the cheapest place for it, the
            cheapest of all first.
        instead: which others could share in their place, the cheapest first.
        next_best: what the best layout costs in which these do not all share, if that was asked
            for. Its ``clash`` says why no layout parts them, if none does.
        proven: whether that is proven to be the best of them.
        stopped: what cut the search for it short; None: nothing did.
    """

    question: ClassVar[str] = "why shared"

    knob: str
    destinations: tuple[str, ...]
    sharing: KnobPrice
    bundles: tuple[Bundle, ...]
    placed: int
    used: int
    free: tuple[str, ...]
    witness: Witness | None
    moves: tuple[NotThere, ...]
    instead: tuple[Instead, ...] = ()
    next_best: Difference | None = None
    proven: bool = True
    stopped: Stopped | None = None

    @property
    def price(self) -> int:
        """What sharing it costs, in points of the tier *sharing*."""
        return self.sharing.price

    @property
    def sentences(self) -> tuple[str, ...]:
        """The reasons in plain sentences, what matters most first."""
        if len(self.destinations) < 2:
            what = f"{self.destinations[0]} alone" if self.destinations else "nothing"
            return (f"{knob_told(self.knob)} carries {what}, so nothing shares it.",)
        cost = f"{many(self.sharing.price, 'point')}"
        terms = f" ({listed_points(self.sharing.terms)})" if self.sharing.price else ""
        found = [
            (
                f"{knob_told(self.knob)} carries {listed(self.destinations)}; sharing it costs "
                f"{cost}{terms}."
            )
        ]
        found += [
            f"It drives {listed(each.names)} already, and what is there stays together."
            if each.source == THE_SETUP
            else f"{knob_told(each.knob)} of {each.origin} drove {listed(each.names)}; that"
            f" bundle is whole."
            for each in self.bundles
        ]
        if self.next_best is not None:
            found.append(self.next_best.beside("parts them", proven=self.proven))
        if self.witness is not None:
            found.append(f"{self.witness}.")
        elif not self.free:
            on = f"{many(self.placed, 'destination')} are on {many(self.used, 'knob')}"
            found.append(f"No knob is free: {on}.")
        found += [f"{each}." for each in self.instead]
        found += [each.sentences[0] for each in self.moves[:MOST_MOVES]]
        if not self.moves:
            found.append("None of them could be moved off alone.")
        return tuple(found)


def why_shared(
    allocation: Allocation,
    knob: str | Knob,
    *,
    solve: bool = True,
    effort: float = DEFAULT_EFFORT,
    limits: Limits | None = None,
) -> Shared:
    """Tell why the destinations on a knob share it.

    Args:
        allocation: what :func:`knobpack.allocate` gave back.
        knob: a knob, or its name.
        solve: whether to look also for the best layout that parts them, which is solved anew, once
            for each destination but the first.
        effort: deterministic effort for all that is searched, 0 to 10**9; the usual 10 take half a
            minute at most.
        limits: in place of ``effort``, all that may cut it short: seconds and a cancel too.

    Returns:
        What sharing costs, why there is no room to part them, which others could share instead,
        and what moving each of them alone would cost; with ``solve`` also the best layout that
        parts them. Of a knob that carries one destination or none, that nothing shares it.

    Raises:
        InputError: ``allocation`` is no Allocation, there is no such knob,
            ``solve`` is not true or false, or ``effort`` no number from 0 to 10**9, or ``limits``
            no Limits.
        NoLayoutFound: a search was stopped before any layout was known.

    Example:
        >>> from knobpack import Destination, Surface, Voice, allocate
        >>> from knobpack.questions import why_shared
        >>> pad = Voice("Glass pad", (Destination("cutoff", priority=1), Destination("level")))
        >>> bass = Voice("Round bass", (Destination("drive", priority=2),))
        >>> allocation = allocate((pad, bass), Surface.row(2))
        >>> shared = why_shared(allocation, "K1")
        >>> shared.destinations
        ('Glass pad/cutoff', 'Glass pad/level')
        >>> shared.price, shared.sharing.mix_kinds
        (2700, 300)
    """
    check_kind("why_shared.allocation", allocation, Allocation)
    check_kind("why_shared.solve", solve, bool)
    run = begun("why_shared", effort, limits)
    case = Case(allocation)
    answer = shared(case, case.knob("why_shared", knob), filling(case))
    if not solve or len(answer.destinations) < 2:
        return answer
    best, proven, stopped = _parted(allocation, answer.destinations, run)
    return attrs.evolve(answer, next_best=best, proven=proven, stopped=stopped)


def shared(case: Case, knob: str, witness: Witness | None, *, others: bool = True) -> Shared:
    """As :func:`why_shared`, for a knob that is known; ``others`` instead only if asked for."""
    names = case.on[knob]
    several = len(names) > 1
    elsewhere = [other for other in case.on if several and other != knob]
    moves = []
    for name in names:
        alone = [not_there(case, name, other) for other in elsewhere]
        ranked = [(each.comparison.rank, each) for each in alone if each.comparison is not None]
        if ranked:
            moves.append(min(ranked, key=lambda pair: pair[0]))
    moves.sort(key=lambda pair: pair[0])
    reserved = case.request.surface.reserved
    priced = {each.knob: each for each in case.allocation.prices.knobs}
    return Shared(
        knob=knob,
        destinations=names,
        sharing=priced.get(knob, KnobPrice(knob)),
        bundles=tuple(each for each in case.request.bundles if set(names).issuperset(each.names)),
        placed=len(case.knob_of),
        used=sum(1 for carried in case.on.values() if carried),
        free=tuple(k for k, carried in case.on.items() if not carried and k not in reserved),
        witness=witness if several else None,
        moves=tuple(move for _, move in moves),
        instead=instead(case, knob) if others and several else (),
    )


def _parted(
    allocation: Allocation, names: tuple[str, ...], run: Run
) -> tuple[Difference, bool, Stopped | None]:
    """The best layout in which they do not all share, whether that is proven, and what stopped it.

    In any such layout one of them is apart from the first.
    """
    found: list[Difference] = []
    for other, own in run.in_turn(names[1:]):
        if found and run.cut_off:
            break
        apart = with_rule(allocation.request, Apart(names[:1], (other,)))
        found.append(what_if(allocation, apart, limits=own))
    whole = len(found) == len(names) - 1
    why = next((each.stopped for each in found if each.stopped), None if whole else run.cut_off)
    best = min(found, key=_rank)
    return best, whole and all(each.proven for each in found), why


def _rank(difference: Difference) -> tuple[bool, tuple[int, ...]]:
    """Sorts from what costs least to what costs most; what is not possible comes last."""
    comparison = difference.comparison
    return comparison is None, comparison.rank if comparison else ()
