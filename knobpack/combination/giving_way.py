"""Giving way: which added snapshots are not added after all, so that what comes finds a knob.

Nobody asked for a snapshot that is added, so none is to keep a whole source from every knob: as few
as can be give way, those of sources before that of the base. One of a source that comes to nothing
itself, or to the same as another, is not to keep anything from a knob.
"""

from __future__ import annotations

from collections.abc import Sequence

import attrs

from knobpack.allocation import Allocation
from knobpack.checked_search import allocate_during
from knobpack.clash import ImpossibleDemands
from knobpack.combination.base import KeptBase
from knobpack.combination.contribution import Contribution
from knobpack.combination.report import BASE, GaveWay, NotAsItWas
from knobpack.combination.result import Result, result_of
from knobpack.combination.snapshots import PlannedSnapshot, SnapshotPlan, plan
from knobpack.combination.wanted import Wanted, asked
from knobpack.errors import NoLayoutFound
from knobpack.limits import Run

_Names = frozenset[str]


@attrs.frozen
class LaidOut:
    """A combination laid out, with some of the snapshots that could be added.

    Args:
        plans: its snapshots.
        idle: the rules that lose something.
        allocation: the best layout.
        result: what that makes.
        crowded: the names of the snapshots that gave way.
        vain: those of the added snapshots of sources alone that come to nothing, or to the same as
            another, while something is left out.
        empty: the sources that come to nothing.
        gave_way: what gave way so that more of them come; None: nothing.
    """

    plans: SnapshotPlan
    idle: tuple[NotAsItWas, ...]
    allocation: Allocation
    result: Result
    crowded: frozenset[str]
    vain: frozenset[str]
    empty: tuple[str, ...]
    gave_way: GaveWay | None = None

    @property
    def left_out(self) -> int:
        """How much is left out, in whole points."""
        return self.allocation.tiers[0].value


def laid_out_combination(
    wanted: Wanted, kept: KeptBase, brought: Sequence[Contribution], run: Run
) -> LaidOut:
    """The snapshots, the rules that lose something, the best layout, and what it makes.

    Args:
        wanted: all that was asked for.
        kept: what the base keeps.
        brought: what the sources bring.
        run: the question that it is solved for.

    Raises:
        InputError: what is asked names what is not there.
        ImpossibleDemands: no layout meets every demand, whatever gives way.
        NoLayoutFound: the search was stopped before any layout was known.
    """
    search = _Search(wanted, kept, brought, run)
    try:
        first = search.planned(frozenset())
    except ImpossibleDemands:
        best = search.without_crowding(None)
        if best is None:
            raise
        saved: list[str] = []
    else:
        best = search.without_vain(first)
        best = search.without_crowding(best) or best
        saved = [label for label in first.empty if label not in best.empty]
        if not saved:
            return best
    names = tuple(e.snapshot.name for e in search.added if e.snapshot.name in best.crowded)
    # One that may be broken stays, and may come to the same as another then.
    come = {each.name for each in best.result.setup.snapshots}
    gone = (e for e in search.added if e.added and e.snapshot.name not in come)
    alone = (wanted.base.name if e.added == BASE else e.owners[0] for e in gone)
    lost = tuple(name for name in alone if name not in best.empty)
    of_base = tuple(e.snapshot.name for e in search.added if e.added == BASE)
    base = next((name for name in of_base if name in best.crowded), None)
    return attrs.evolve(best, gave_way=GaveWay(names, lost, tuple(saved), base))


@attrs.frozen
class _Search:
    """One combination, laid out with fewer and fewer of the snapshots that could be added."""

    wanted: Wanted
    kept: KeptBase
    brought: Sequence[Contribution]
    run: Run
    known: dict[_Names, LaidOut | None] = attrs.field(factory=dict)

    @property
    def added(self) -> tuple[PlannedSnapshot, ...]:
        """The snapshots that could give way, that of the base first."""
        return self._plans(frozenset()).may_go

    def _plans(self, crowded: _Names) -> SnapshotPlan:
        wanted = self.wanted
        return plan(self.kept, self.brought, wanted.not_added, crowded, wanted.insist)

    def planned(self, crowded: _Names) -> LaidOut:
        """All laid out where some of the snapshots give way."""
        wanted, kept, brought = self.wanted, self.kept, self.brought
        plans = self._plans(crowded)
        request, idle = asked(kept, brought, plans, wanted.rules, wanted.weights)
        allocation = allocate_during(request, self.run)
        result = result_of(wanted.name or wanted.base.name, kept, brought, plans, allocation)
        come, ours = {each.name for each in result.setup.snapshots}, set(kept.reading.destinations)
        alone = (each for each in plans.may_go if each.moved.isdisjoint(ours))
        vain = frozenset(e.snapshot.name for e in alone if allocation.unplaced) - come - crowded
        out = set(allocation.unplaced)
        empty = tuple(e.label for e in brought if e.mattering and out.issuperset(e.mattering))
        return LaidOut(plans, idle, allocation, result, crowded, vain, empty)

    def _tried(self, crowded: _Names) -> LaidOut | None:
        """The same, each once; None where that cannot be, or the search was stopped."""
        if crowded not in self.known:
            if self.run.stopped:
                return None
            try:
                self.known[crowded] = self.planned(crowded)
            except (ImpossibleDemands, NoLayoutFound):
                self.known[crowded] = None
        return self.known[crowded]

    def without_vain(self, best: LaidOut) -> LaidOut:
        """Without those that come to nothing, as few as can be, where less is left out then."""
        before = best.crowded
        while best.vain:
            then = self._tried(best.crowded | best.vain)
            if then is None or then.left_out >= best.left_out:
                break
            best = then
        for name in sorted(best.crowded - before):
            then = self._tried(best.crowded - {name})
            if then is not None and then.left_out <= best.left_out and name not in then.vain:
                best = then
        return best

    def without_crowding(self, first: LaidOut | None) -> LaidOut | None:
        """Without those that keep whole sources from every knob, as few as can be.

        Args:
            first: all laid out with them; None: no layout meets every demand then.

        Returns:
            All laid out without them; None where none is in the way.
        """
        best = first
        sources = [each for each in self.added if each.added != BASE]
        for gone in (sources, self.added):
            then = None
            if best is None or best.empty:
                then = self._tried(frozenset(each.snapshot.name for each in gone))
            if then is not None and (best is None or len(then.empty) < len(best.empty)):
                best = then
        if best is None or best is first:
            return None
        # What comes back first is the base's, then what plays each source alone.
        for each in sorted(self.added, key=lambda each: each.added != BASE):
            name = each.snapshot.name
            then = self._tried(best.crowded - {name})
            if then is not None and len(then.empty) <= len(best.empty) and name not in then.vain:
                best = then
        return self.without_vain(best)
