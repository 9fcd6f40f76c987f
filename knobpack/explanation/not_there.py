"""Why not there: what forbids a destination on another knob, or what it would cost."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import ClassVar

import attrs

from knobpack.allocation import Allocation
from knobpack.definition.phrases import first_of
from knobpack.errors import NoLayoutFound, Stopped, ended
from knobpack.explanation.case import Case
from knobpack.explanation.comparison import Comparison
from knobpack.explanation.what_if import Difference, what_if
from knobpack.limits import DEFAULT_EFFORT, Limits, begun
from knobpack.reasons import facts as kinds
from knobpack.reasons.answer_graph import Answer
from knobpack.reasons.facts import Obstacle, by_cause
from knobpack.text.columns import sentence
from knobpack.words import Fixed, Knob
from knobpack.words.edits import with_rule
from knobpack.words.fields import check_kind
from knobpack.words.names import knob_told, knobs_told, listed

MOST_OBSTACLES = 3
"""Obstacles that sentences name, at most."""

MOST_ALTERNATIVES = 3
"""Prices of other knobs that sentences name, at most."""

MOST_KNOBS = 5
"""Knobs that a sentence names, at most."""


@attrs.frozen
class NotThere(Answer):
    """Why a destination is not on a knob.

    Args:
        destination: its full name.
        knob: the knob that was asked about.
        now: the knob it is on, which may be that one; None: it is left out.
        unit: what would be moved: it, and all that required rules bind it to.
        obstacles: what forbids to move it there alone, each by itself; empty if nothing does.
        comparison: what that would cost, beside the layout; None if it is forbidden.
        best: what the best layout costs that has it there, if that was asked for and is known.
        stopped: what cut the search for it short; None: nothing did.
    """

    question: ClassVar[str] = "why not"

    destination: str
    knob: str
    now: str | None
    unit: tuple[str, ...]
    obstacles: tuple[Obstacle, ...]
    comparison: Comparison | None
    best: Difference | None = None
    stopped: Stopped | None = None

    @property
    def price(self) -> int | None:
        """What moving it there alone costs, in points; None: it is forbidden."""
        return None if self.comparison is None else self.comparison.amount

    @property
    def tier(self) -> str | None:
        """The tier that those points are of; None: a tie, or no price."""
        return None if self.comparison is None else self.comparison.tier

    @property
    def proven(self) -> bool:
        """Whether what that costs is proven, if it was asked for."""
        return self.stopped is None if self.best is None else self.best.proven

    @property
    def allowed(self) -> bool:
        """Whether it may be moved there, all else staying where it is."""
        return not self.obstacles

    @property
    def lasting(self) -> bool:
        """Whether it can be there in no layout, by what is asked alone."""
        return bool(self.obstacles) and self.obstacles[0].lasting  # those that last come first

    @property
    def may_yield(self) -> bool:
        """Whether what stands in the way is kept or a rule: whoever asks for it may let it go."""
        first = self.obstacles[0].facts if self.lasting else ()
        rules = (kinds.APART, kinds.ALONE, kinds.TOGETHER, kinds.FIXED, kinds.BARRED)
        return any(fact.kind in (kinds.KEPT, *rules) for fact in first)

    @property
    def sentences(self) -> tuple[str, ...]:
        """The reasons in plain sentences, what matters most first."""
        if self.now == self.knob:
            return (f"{self.destination} is on {knob_told(self.knob)} already.",)
        found = [self._forbidden() if self.comparison is None else self.moved_to(self)]
        found += self._more()
        if self.best is not None:
            found.append(self.best.beside("has it there", proven=self.best.proven))
        elif self.stopped:
            found.append(f"What having it there would cost is not known: {ended(self.stopped)}.")
        return tuple(found)

    def _more(self) -> list[str]:
        """The other obstacles; those that differ in the snapshot alone in one sentence."""
        if not self.obstacles:
            return []
        first, others = self.obstacles[0], self.obstacles[1:]
        alike = [each.snapshot for each in others if each.snapshot and first.like(each)]
        others = tuple(each for each in others if not (each.snapshot and first.like(each)))
        told = [f"Snapshots that part them too: {listed(alike)}."] if alike else []
        also = [f"Also: {obstacle}." for obstacle in others]
        return told + first_of(also, "more reason", " of this sort", MOST_OBSTACLES)

    def _forbidden(self) -> str:
        name, knob, first = self.destination, knob_told(self.knob), self.obstacles[0]
        if not self.lasting:
            return f"{name} cannot go to {knob} as it is: {first}."
        if self.may_yield:
            return f"{name} cannot be on {knob} as long as {first}."
        return f"{name} can never be on {knob}: {first}."

    def moved_to(self, *there: NotThere) -> str:
        """What it would cost to move it to any of some knobs, where that is the same of all.

        Args:
            there: why it is not there, for each of them.

        Returns:
            One sentence.
        """
        knobs = [knob_told(each.knob) for each in there[:MOST_KNOBS]]
        if len(there) > MOST_KNOBS:
            knobs.append(f"{len(there) - MOST_KNOBS} others")
        to = " or ".join([", ".join(knobs[:-1]), knobs[-1]] if len(knobs) > 1 else knobs)
        others = [name for name in self.unit if name != self.destination]
        bound = f" with {listed(others)}, which it is bound to," if others else ""
        verb = "Moving" if self.now else "Placing"
        told = f"{verb} {self.destination}{bound} {'to' if self.now else 'on'} {to}"
        if self.comparison is None or self.comparison.tier is None:
            return f"{told} would be just as good: a tie."
        if self.comparison.joins_hidden:
            return f"{told} is never worth it: what is hidden would share a knob."
        return f"{told}, and nothing else, would cost {self.comparison}."


def others_told(others: Sequence[NotThere]) -> Iterator[str]:
    """Why something is on none of some knobs, in as few sentences as say it.

    Args:
        others: why it is not there, for each of them; what has a price from the cheapest on.

    Returns:
        Knobs that would cost the same in one sentence, the cheapest first, then what closes the
        others, each cause in one line.
    """
    alike: dict[str, list[NotThere]] = {}
    for each in others:
        if each.comparison is not None:
            alike.setdefault(str(each.comparison), []).append(each)
    same = list(alike.values())
    yield from (first.moved_to(first, *more) for first, *more in same[:MOST_ALTERNATIVES])
    if rest := [each.knob for more in same[MOST_ALTERNATIVES:] for each in more]:
        yield f"{sentence(knobs_told(rest))} would cost more still, or as much."
    closed = {each.knob: each.obstacles for each in others if not each.allowed}
    if closed:
        yield "Closed to it:"
    causes = {knob: [each.cause for each in found] for knob, found in closed.items()}
    for cause, (first, *more) in by_cause(causes).items():
        knob, told = sentence(knob_told(first)), cause
        if more:
            knob = sentence(knobs_told((first, *more)))
        else:  # of one knob it can be said what is there
            told = str(next(each for each in closed[first] if each.cause == cause))
        yield f"  {knob}: {told.removeprefix(f'{knob_told(first)} ')}."


def why_not(
    allocation: Allocation,
    destination: str,
    knob: str | Knob,
    *,
    solve: bool = True,
    effort: float = DEFAULT_EFFORT,
    limits: Limits | None = None,
) -> NotThere:
    """Tell why a destination is not on a knob.

    Args:
        allocation: what :func:`knobpack.allocate` gave back.
        destination: the full name of the destination.
        knob: a knob, or its name.
        solve: whether to look also for the best layout that has it there, which is solved anew.
        effort: deterministic effort for all that is searched, 0 to 10**9; the usual 10 take half a
            minute at most.
        limits: in place of ``effort``, all that may cut it short: seconds and a cancel too.

    Returns:
        The facts that forbid it, or the price of moving it there alone; with ``solve`` also the
        best layout that has it there. Of the knob that it is on, that it is there.

    Raises:
        InputError: ``allocation`` is no Allocation, there is no such destination or knob,
            ``solve`` is not true or false, or ``effort`` no number from 0 to 10**9, or ``limits``
            no Limits.

    Example:
        >>> from knobpack import Destination, Surface, Voice, allocate
        >>> from knobpack.questions import why_not
        >>> pad = Voice("Glass pad", (Destination("cutoff", priority=1), Destination("level")))
        >>> bass = Voice("Round bass", (Destination("drive", priority=2),))
        >>> allocation = allocate((pad, bass), Surface.row(2))
        >>> not_there = why_not(allocation, "Round bass/drive", "K1")
        >>> not_there.allowed
        False
        >>> not_there.obstacles[0].snapshot
        'only Glass pad'
    """
    check_kind("why_not.allocation", allocation, Allocation)
    check_kind("why_not.solve", solve, bool)
    run = begun("why_not", effort, limits)
    case = Case(allocation)
    name = case.knob("why_not", knob)
    answer = not_there(case, case.destination("why_not", destination), name)
    if not solve or answer.now == name:
        return answer
    there = with_rule(allocation.request, Fixed((destination,), name))
    try:
        best = what_if(allocation, there, limits=run)
    except NoLayoutFound as error:
        return attrs.evolve(answer, stopped=error.stopped)
    return attrs.evolve(answer, best=best, stopped=best.stopped)


def not_there(case: Case, destination: str, knob: str) -> NotThere:
    """As :func:`why_not`, for names that are known."""
    now = case.knob_of.get(destination)
    known: NotThere | None = case.known.get((destination, knob))
    if known is None:
        unit = case.ground.unit(destination)
        obstacles = () if now == knob else case.ground.obstacles(case.on, destination, knob)
        comparison = None if obstacles else case.moved(unit, knob)
        known = NotThere(destination, knob, now, unit, obstacles, comparison)
        case.known[destination, knob] = known
    return known
