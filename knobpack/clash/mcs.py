"""MCS: the cheapest demands to give up so that all the others can be met, one set after another.

A minimal correction subset of least price, as the field says, by implicit hitting sets: of all
that is known to clash something must go, and the cheapest that does so is tried. Where the rest
still clashes, that is known then. (E. Moreno-Centeno, R. M. Karp, "The implicit hitting set
approach to solve combinatorial optimization problems", Operations Research 61, 2013; J. Davies, F.
Bacchus, "Solving MAXSAT by solving a sequence of simpler SAT instances", CP 2011; both cited from
memory.) Crowds are known as a whole, by an inequality each: by single clashes there are too many.
"""

from __future__ import annotations

import attrs

from knobpack.clash.crowds import CrowdLimit, crowd_of
from knobpack.clash.effects import limit_of
from knobpack.clash.feasible import Feasible, Verdict
from knobpack.clash.mus import Demands, Subset, clashing, confirmed, grow, shrink
from knobpack.errors import Fault
from knobpack.solver.cp_sat import cp_model, cpsat
from knobpack.words import demand as words

_EFFORT, _ROUNDS = 1.0, 400
"""Deterministic effort for one look, and looks for one set: beyond that, the best found is as good
to a player."""


def ways_out(feasible: Feasible, most: int) -> list[Subset]:
    """Minimal sets of demands to give up so that all others can be met, the cheapest first.

    Args:
        feasible: answers for a request that no layout meets.
        most: how many are wanted at most.

    Returns:
        The sets, and whether it is proven that none that comes later costs less. Of those of one
        price the smallest come first, then those that give up what was asked last.

    Raises:
        Fault: it finds no way out though to give everything up is one: a defect of knobpack.
    """
    search = _Search(feasible)
    found: list[Subset] = []
    while len(found) < most:
        best = search.cheapest()
        if best is None or best.demands in {each.demands for each in found}:
            break
        found.append(best)
        if not best.proven:
            break
        search.pass_over(best.demands)
    place = {demand: number for number, demand in enumerate(feasible.demands)}
    return sorted(
        found,
        key=lambda way: (
            sum(demand.price for demand in way.demands),
            len(way.demands),
            [-place[demand] for demand in reversed(way.demands)],
        ),
    )


class _Search:
    """Looks for what to give up in one request that no layout meets; knows more and more of it."""

    def __init__(self, feasible: Feasible) -> None:
        self._feasible = feasible
        self._model = cp_model.CpModel()
        self._met = {demand: self._model.new_bool_var("") for demand in feasible.demands}
        self._least = 0
        # What is free counts a little, not to be given up for nothing.
        free = sum(1 for demand in feasible.demands if not demand.price)
        self._price = {each: each.price * (free + 1) or 1 for each in feasible.demands}
        self._cost = cp_model.LinearExpr.sum(
            [price * ~self._met[demand] for demand, price in self._price.items()]
        )
        self._model.minimize(self._cost)
        self._count()

    def cheapest(self) -> Subset | None:
        """The cheapest demands to give up that hold none of the sets passed over.

        Where they are not found with little effort, everything is given up and as much of it taken
        back as can be, the dearest first.

        Returns:
            What to give up, and whether it is proven that nothing else costs less; None where
            there is nothing else, or none was found in time.
        """
        feasible, proven = self._feasible, True
        given_up: Demands = feasible.demands
        for _ in range(_ROUNDS):
            answer = cpsat.solve(
                self._model, feasible.watch, effort=_EFFORT, enough=self._least, linear=True
            )
            if answer.status is cpsat.Status.IMPOSSIBLE:
                if not self._least:
                    raise Fault("no way out is seen, but to give everything up is one")
                return None
            if answer.value is None:
                break
            read = answer.value
            gone = tuple(demand for demand, met in self._met.items() if not read(met))
            cost = sum(self._price[demand] for demand in gone)
            proven = answer.status is cpsat.Status.OPTIMAL or cost <= self._least
            rest = tuple(demand for demand in feasible.demands if demand not in gone)
            verdict = confirmed(feasible, rest)
            if verdict.possible:
                if proven:
                    self._least = cost
                    return Subset(gone, proven=True)
                given_up = gone
                break
            if verdict.possible is None:
                break
            self._learn(rest, verdict)
        if self._least:
            return None
        return Subset(grow(feasible, given_up).demands, proven=False)

    def pass_over(self, demands: Demands) -> None:
        """From now on look for what does not hold all of these."""
        self._model.add_bool_or([self._met[demand] for demand in demands])

    def _learn(self, rest: Demands, verdict: Verdict) -> None:
        """Take in why what is left after giving something up still clashes."""
        feasible, met = self._feasible, self._met
        closed = attrs.evolve(feasible, opening=False)
        if verdict.crowd:
            self._know(crowd_of(feasible.effects, rest, verdict.crowd))
            clause = clashing(feasible, rest, verdict)
        elif closed.ask(rest).possible is False:
            clause = shrink(closed, rest).demands
        else:
            # Every knob was reserved: a contradiction came to light, as it does with any one open.
            opened = [each for each in met if each.kind == words.RESERVED and each not in rest]
            part = shrink(feasible, rest).demands
            for demand in opened:
                self._model.add_bool_or([met[demand], *(~met[each] for each in part)])
            return
        self._model.add_bool_or([~met[demand] for demand in clause])

    def _know(self, crowd: CrowdLimit) -> None:
        """What is placed of a crowd takes no more knobs than there are for it."""
        model, met = self._model, self._met
        most = limit_of(self._feasible.demands, words.PER_KNOB)
        limits = [each for each in self._feasible.demands if each.kind == words.PER_KNOB]
        taken: list[cp_model.LinearExprT] = []
        for one in crowd.classes:
            needed = [met[demand] for demand in one.needed]
            here = model.new_bool_var("")
            for demand in one.placing:
                model.add_bool_or([here, ~met[demand], *(~each for each in needed)])
            taken.append(here)
            placed = [met[demand] for demand in one.placing if demand.kind == words.PLACE]
            if most and len(placed) > most:
                more = model.new_int_var(0, -(-len(placed) // most) - 1, "")
                needed += [met[limit] for limit in limits]
                model.add(sum(placed) <= most * (1 + more)).only_enforce_if(needed)
                taken.append(more)
        opened = [~met[demand] for demand in crowd.closing]
        model.add(sum(taken) <= crowd.room + sum(opened))

    def _count(self) -> None:
        """The limits that only count: on routes, layers, snapshots and all knobs together."""
        feasible, met, model = self._feasible, self._met, self._model
        kept = {route.destination for route in feasible.request.keep.routes}
        closed = sum(met[each] for each in met if each.kind == words.RESERVED)
        counts = (*words.COUNTS, (words.ROUTES, words.PLACE), (words.PER_KNOB, words.PLACE))
        for kind, member in counts:
            for limit in (each for each in met if each.kind == kind):
                most = limit.subject
                counted = [each for each in met if each.kind == member]
                if kind == words.PER_KNOB:  # what the base has may be on a reserved knob
                    counted = [each for each in counted if each.subject not in kept]
                    most *= len(feasible.effects.knobs) - closed
                placed = cp_model.LinearExpr.sum([met[each] for each in counted])
                model.add(placed <= most).only_enforce_if(met[limit])
