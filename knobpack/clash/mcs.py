"""MCS: the cheapest demands to give up so that all the others can be met, one set after another.

A minimal correction subset of least price, as the field says: the price of what is not met is made
least in the compact model, in which what was found before is not given up again.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from typing import TypeAlias

import attrs

from knobpack.clash.feasible import Feasible, closes_all
from knobpack.clash.mus import Found, confirmed, grow
from knobpack.clash.soft import SoftModel
from knobpack.errors import Fault
from knobpack.solver import cp_model, cpsat
from knobpack.words import demand as words
from knobpack.words.demand import Demand

_EFFORTS = (0.1, 1.0)
"""Deterministic effort for one look, and for another by linear relaxation where that will not do:
beyond that, the best found is as good to a player."""

Demands: TypeAlias = tuple[Demand, ...]


def ways_out(feasible: Feasible, most: int) -> list[Found]:
    """Minimal sets of demands to give up so that all others can be met, the cheapest first.

    Args:
        feasible: answers for a request that no layout meets.
        most: how many are wanted at most.

    Returns:
        The sets, and whether it is proven that none that comes later costs less. Of those of one
        price the smallest come first, then those that give up what was asked last.

    Raises:
        Fault: the model does not agree with itself: a defect of knobpack.
    """
    search = _Search(feasible)
    found: list[Found] = []
    while len(found) < most:
        best = search.cheapest([each.demands for each in found])
        if best is None:
            break
        possible = confirmed(feasible, _without(feasible, best.demands)).possible
        if possible is False:
            raise Fault(f"it helps to give up {best.demands}, and then does not")
        if possible is None:
            break
        if not best.proven:
            smaller = Found(grow(feasible, best.demands).demands, proven=False)
            found += [smaller] if smaller.demands not in {each.demands for each in found} else []
            break
        found.append(best)
    place = {demand: number for number, demand in enumerate(feasible.demands)}
    return sorted(
        found,
        key=lambda way: (
            sum(demand.price for demand in way.demands),
            len(way.demands),
            [-place[demand] for demand in reversed(way.demands)],
        ),
    )


@attrs.frozen(eq=False)
class _Search:
    """Looks for what to give up in one request that no layout meets."""

    feasible: Feasible
    _models: dict[frozenset[Demand], SoftModel] = attrs.field(factory=dict, init=False)
    _contradicting: list[tuple[Demands, Demand | None]] = attrs.field(factory=list, init=False)

    def cheapest(self, known: Sequence[Demands]) -> Found | None:
        """The cheapest demands to give up that do not hold all of a set in ``known``.

        At first only destinations may be left out. What then costs as much as the best found is
        given up in nothing cheaper, so it is held firm, which makes the proof far easier.

        Where the first is not found with little effort, everything is given up and as much of it
        taken back as can be, the dearest first.

        Returns:
            What to give up, and whether it is proven that nothing else costs less; None where
            there is nothing else, or none was found in time.
        """
        needed = {demands[0] for demands in known if len(demands) == 1}
        loose = [each for each in self.feasible.demands if each not in needed]
        best: Demands | None = None
        proven, tried = True, None
        least = max(map(self._cost, known), default=0)  # nothing new costs less
        for only in (words.PLACE, None):
            soft = frozenset(
                each
                for each in loose
                if only in (None, each.kind)
                and (best is None or self._cost((each,)) < self._cost(best))
            )
            if soft == tried or (best is not None and self._cost(best) == least):
                break
            better, proven = self._better(soft, known, best)
            best, tried = best if better is None else better, soft
        if best is None and not proven and not known:
            return Found(grow(self.feasible, self.feasible.demands).demands, proven=False)
        return None if best is None else Found(best, proven)

    def _better(
        self, soft: frozenset[Demand], known: Sequence[Demands], best: Demands | None
    ) -> tuple[Demands | None, bool]:
        """Demands to give up that cost less than ``best``, and whether the search was complete."""
        if self.feasible.watch.over():
            return None, False
        if soft not in self._models:
            self._models[soft] = SoftModel(self.feasible.effects, self.feasible.demands, soft)
        met, model = self._models[soft].met, self._models[soft].model.clone()
        for demands in known:
            if soft.issuperset(demands):
                model.add_bool_or([met[demand] for demand in demands])
        cost = sum(self._cost((demand,)) * ~here for demand, here in met.items())
        # Nothing new costs less than what is known.
        least = max(map(self._cost, known), default=0)
        model.add(cost >= least)
        if best is not None:
            model.add(cost < self._cost(best))
        model.minimize(cost)
        told = 0
        while True:
            for clause in self._contradicting[told:]:
                _rule_out(model, met, *clause)
            told = len(self._contradicting)
            answer = self._looked(model, least)
            if answer.value is None:
                return None, answer.status is cpsat.Status.IMPOSSIBLE
            read = answer.value
            found = tuple(demand for demand, here in met.items() if not read(here))
            if not self._contradict(found):
                optimal = answer.status is cpsat.Status.OPTIMAL
                return found, optimal or self._cost(found) <= least

    def _looked(self, model: cp_model.CpModel, least: int) -> cpsat.Answer:
        """The cheapest that is found with little effort, or else by linear relaxation."""
        watch = self.feasible.watch
        answer = cpsat.solve(model, watch, effort=_EFFORTS[0], enough=least)
        if answer.status in (cpsat.Status.OPTIMAL, cpsat.Status.IMPOSSIBLE):
            return answer
        return cpsat.solve(model, watch, effort=_EFFORTS[1], enough=least, linear=True)

    def _contradict(self, given_up: Demands) -> bool:
        """Whether what is left contradicts anything; notes what then must not be met together.

        On a panel whose knobs are all reserved that is so only unless all stay closed.
        """
        feasible = self.feasible
        left = _without(feasible, given_up)
        opened = [each for each in given_up if each.kind == words.RESERVED]
        pieces = feasible.stuck(left)
        for piece in pieces:
            clashing = feasible.about(left, (piece,))
            for demand in clashing:
                fewer = tuple(each for each in clashing if each != demand)
                if any(other.members & piece.members for other in feasible.stuck(fewer)):
                    clashing = fewer
            if closes_all(feasible.demands, feasible.effects):
                self._contradicting.extend((clashing, each) for each in opened)
            else:
                self._contradicting.append((clashing, None))
        return bool(pieces)

    def _cost(self, demands: Collection[Demand]) -> int:
        """The price of giving them up; what is free counts a little, not to be given up for it."""
        free = sum(1 for demand in self.feasible.demands if not demand.price)
        return sum(demand.price * (free + 1) or 1 for demand in demands)


def _rule_out(
    model: cp_model.CpModel,
    met: Mapping[Demand, cp_model.IntVar],
    clashing: Demands,
    unless: Demand | None,
) -> None:
    """Some of ``clashing`` are given up; where ``unless`` is met, they need not be."""
    if unless is None:
        model.add_bool_or([~met[each] for each in clashing if each in met])
    elif unless in met:
        model.add_bool_or(met[unless], *(~met[each] for each in clashing if each in met))


def _without(feasible: Feasible, given_up: Collection[Demand]) -> Demands:
    return tuple(demand for demand in feasible.demands if demand not in given_up)
