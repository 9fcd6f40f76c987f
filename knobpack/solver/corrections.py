"""Corrections: what CP-SAT says clashes, and the cheapest demands to give up."""

from __future__ import annotations

from collections.abc import Collection, Sequence
from typing import TypeAlias

import attrs

from knobpack.solver import cpsat
from knobpack.solver.feasible import Feasible
from knobpack.solver.soft import SoftModel
from knobpack.words import demand as words
from knobpack.words.demand import Demand

_EFFORTS = (0.1, 0.3, 1.0)
"""Deterministic effort for one look, more where less will not do: beyond the last, the best found
is as good to a player."""

Demands: TypeAlias = tuple[Demand, ...]


@attrs.frozen
class Correction:
    """Demands given up so that all the others can be met.

    Args:
        demands: those given up, in asking order.
        proven: whether it is proven that nothing else costs less.
    """

    demands: Demands
    proven: bool


@attrs.frozen(eq=False)
class Corrections:
    """Looks for clashes and corrections of one request.

    Args:
        feasible: answers for the request.
    """

    feasible: Feasible
    _models: dict[frozenset[Demand], SoftModel] = attrs.field(factory=dict, init=False)

    @property
    def _demands(self) -> Demands:
        return self.feasible.demands

    def core(self, wanted: Collection[Demand]) -> Demands:
        """Some of ``wanted`` that cannot be met together, as CP-SAT says: check them again.

        Returns:
            The demands, in asking order; all of ``wanted`` where the solver names none.
        """
        soft = self._model(frozenset())
        model = soft.model.clone()
        model.add_assumptions([soft.met[demand] for demand in self._demands if demand in wanted])
        core = set(cpsat.solve(model, self.feasible.watch, effort=_EFFORTS[-1]).core)
        found = tuple(d for d in self._demands if d in wanted and soft.met[d].index in core)
        return found or tuple(wanted)

    def cheapest(self, known: Sequence[Demands]) -> Correction | None:
        """The cheapest demands to give up that do not hold all of a set in ``known``.

        What costs as much as the best so far is not given up in anything cheaper, so it is held
        firm, which makes the proof far easier. At first, only destinations may be left out.

        Args:
            known: what was found before, each of them proven cheapest when it was found.

        Returns:
            What to give up; None where there is nothing else, or none was found in time.
        """
        needed = frozenset(demands[0] for demands in known if len(demands) == 1)
        firm = needed | {demand for demand in self._demands if demand.kind != words.PLACE}
        best: Demands | None = None
        for look, effort in enumerate(_EFFORTS):
            again = True
            while again:
                # Nothing new costs less than what is known. That ends a search at once where
                # much costs the same, and else hides the true bound from it.
                least = 0 if look else max(map(self._cost, known), default=0)
                found, complete = self._better(firm, known, best, (least, effort))
                best = best if found is None else found
                dear = needed | self._as_dear_as(best)
                if complete and not firm <= dear:
                    best = self._single(firm - dear, best)
                    dear = needed | self._as_dear_as(best)
                elif complete:
                    return None if best is None else Correction(best, proven=True)
                again = complete or firm < dear
                firm = dear if again else firm
        if best is None:
            best, _ = self._better(needed, known, None, (0, _EFFORTS[-1]))
        return None if best is None else Correction(best, proven=False)

    def _single(self, demands: Collection[Demand], best: Demands | None) -> Demands | None:
        """The cheapest of ``demands`` that helps alone, or ``best`` where none does."""
        for demand in sorted((d for d in self._demands if d in demands), key=lambda d: d.price):
            rest = [each for each in self._demands if each != demand]
            if self.feasible.ask(rest).possible:
                return (demand,)
        return best

    def _better(
        self,
        firm: frozenset[Demand],
        known: Sequence[Demands],
        best: Demands | None,
        limits: tuple[int, float],
    ) -> tuple[Demands | None, bool]:
        """Demands to give up that cost less than ``best``, and whether the search was complete."""
        least, effort = limits
        soft = self._model(firm)
        model = soft.model.clone()
        for demands in known:
            if not firm.intersection(demands):
                model.add_bool_or([soft.met[demand] for demand in demands])
        cost = sum(self._cost((demand,)) * ~met for demand, met in soft.met.items())
        if least:
            model.add(cost >= least)
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
            self._models[firm] = SoftModel.build(self._demands, self.feasible.effects, firm)
        return self._models[firm]
