"""Corrections: the cheapest demands to give up so that all the others can be met."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import TypeAlias

import attrs

from knobpack.clash.feasible import Feasible
from knobpack.clash.minimal import Found, grow
from knobpack.clash.soft import SoftModel
from knobpack.solver import cpsat
from knobpack.words import demand as words
from knobpack.words.demand import Demand

_EFFORTS = (0.1, 0.3, 1.0)
"""Deterministic effort for one look, more where less will not do: beyond the last, the best found
is as good to a player."""

Demands: TypeAlias = tuple[Demand, ...]


@attrs.frozen(eq=False)
class Corrections:
    """Looks for what to give up in one request that no layout meets.

    Args:
        feasible: answers for the request.
    """

    feasible: Feasible
    _models: dict[frozenset[Demand], SoftModel] = attrs.field(factory=dict, init=False)

    @property
    def _demands(self) -> Demands:
        return self.feasible.demands

    def cheapest(self, known: Sequence[Demands]) -> Found | None:
        """The cheapest demands to give up that do not hold all of a set in ``known``.

        What costs as much as the best so far is not given up in anything cheaper, so it is held
        firm, which makes the proof far easier. At first, only destinations may be left out.

        Args:
            known: what was found before, each of them proven cheapest when it was found.

        Returns:
            What to give up, and whether it is proven that nothing else costs less; None where
            there is nothing else, or none was found in time.
        """
        # Nothing new costs less than what is known.
        least = max(map(self._cost, known), default=0)
        best = self.greedy(known)
        if best is not None and self._cost(best) == least:
            return Found(best, proven=True)
        needed = frozenset(demands[0] for demands in known if len(demands) == 1)
        firm = needed | {demand for demand in self._demands if demand.kind != words.PLACE}
        for effort in _EFFORTS:
            again = True
            while again and not self.feasible.watch.over():
                found, complete = self._better(firm, known, best, effort)
                best = best if found is None else found
                dear = needed | self._as_dear_as(best)
                if complete and firm <= dear:
                    return None if best is None else Found(best, proven=True)
                if complete:
                    best = self._single(firm - dear, best)
                    dear = needed | self._as_dear_as(best)
                again = complete or firm < dear
                firm = dear if again else firm
        return None if best is None else Found(best, proven=False)

    def greedy(self, known: Sequence[Demands]) -> Demands | None:
        """Demands to give up that do not hold all of a set in ``known``, not always the cheapest.

        While there is a clash, the cheapest of what clashes is given up, with its twins, the
        last asked of those of one price. Of each set in ``known`` the dearest is not given up.
        """
        ways = {max(demands, key=lambda demand: demand.price) for demands in known}
        place = {demand: number for number, demand in enumerate(self._demands)}
        met = list(self._demands)
        while True:
            verdict = self.feasible.ask(met)
            if verdict.possible is None:
                return None
            if verdict.possible:
                given_up = set(self._demands).difference(met)
                return grow(self.feasible, given_up).demands
            loose = [demand for demand in self.feasible.core(met, verdict) if demand not in ways]
            if not loose:
                return None
            worst = min(loose, key=lambda each: (self._cost(self._alike(each)), -place[each]))
            gone = {worst, *self._alike(worst)} - ways
            met = [demand for demand in met if demand not in gone]

    def _alike(self, demand: Demand) -> Demands:
        """The demand and those that place its twins: one of these is not given up alone."""
        effect = self.feasible.effects.of[demand]
        if demand.kind != words.PLACE:
            return (demand,)
        return tuple(
            each
            for each in self._demands
            if each.kind == words.PLACE and self.feasible.effects.of[each] == effect
        )

    def _single(self, demands: Collection[Demand], best: Demands | None) -> Demands | None:
        """The cheapest of ``demands`` that helps alone, or ``best`` where none does."""
        for demand in sorted((d for d in self._demands if d in demands), key=lambda d: d.price):
            if self.feasible.ask([each for each in self._demands if each != demand]).possible:
                return (demand,)
        return best

    def _better(
        self,
        firm: frozenset[Demand],
        known: Sequence[Demands],
        best: Demands | None,
        effort: float,
    ) -> tuple[Demands | None, bool]:
        """Demands to give up that cost less than ``best``, and whether the search was complete."""
        soft = self._model(firm)
        model = soft.model.clone()
        for demands in known:
            if not firm.intersection(demands):
                model.add_bool_or([soft.met[demand] for demand in demands])
        cost = sum(self._cost((demand,)) * ~met for demand, met in soft.met.items())
        if best is not None:
            model.add(cost < self._cost(best))
        model.minimize(cost)
        answer = cpsat.solve(model, self.feasible.watch, effort=effort)
        complete = answer.status in (cpsat.Status.OPTIMAL, cpsat.Status.IMPOSSIBLE)
        if answer.value is None:
            return None, complete
        read = answer.value
        return tuple(demand for demand, met in soft.met.items() if not read(met)), complete

    def _as_dear_as(self, demands: Demands | None) -> frozenset[Demand]:
        """The demands that cost as much as all of ``demands``; none where those are not known."""
        if demands is None:
            return frozenset()
        most = self._cost(demands)
        return frozenset(demand for demand in self._demands if self._cost((demand,)) >= most)

    def _cost(self, demands: Demands) -> int:
        """The price of giving them up; what is free counts a little, not to be given up for it."""
        free = sum(1 for demand in self._demands if not demand.price)
        return sum(demand.price * (free + 1) or 1 for demand in demands)

    def _model(self, firm: frozenset[Demand]) -> SoftModel:
        if firm not in self._models:
            feasible = self.feasible
            self._models[firm] = SoftModel.build(
                self._demands, feasible.effects, firm, doubtful=feasible.doubtful
            )
        return self._models[firm]
