"""The model whose columns are trajectories: CP-SAT chooses those that are best together."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from knobpack.show.near_trajectories import Near
from knobpack.show.to_carry import Carrying
from knobpack.show.trajectory_costs import Cost, Each, Limit
from knobpack.solver.cp_sat import cp_model
from knobpack.solver.cp_sat.atoms_on_knobs import Linear, summed


class TrajectoryModel:
    """The model of a show by its trajectories.

    Args:
        carried: what is to be carried.
        near: the trajectories that may be chosen.
        limits: what else must hold of those that are.
    """

    def __init__(self, carried: Carrying, near: Near, limits: Sequence[Limit]) -> None:
        self.cp = cp_model.CpModel()
        self.chosen = [self.cp.new_bool_var("") for _ in near.trajectories]
        on: list[list[cp_model.IntVar]] = [[] for _ in carried.atoms]
        for trajectory, variable in zip(near.trajectories, self.chosen, strict=True):
            for atom in trajectory:
                on[atom].append(variable)
        for variables in on:
            self.cp.add_exactly_one(variables)
        self._most = sum(len(knobs) for knobs, _ in carried.classes)
        for number, (knobs, _) in enumerate(carried.classes):
            own = (near.class_of == number).astype(np.float64)
            self.cp.add(self._total(own) <= len(knobs))
        for used, least in zip(near.uses.T, carried.used, strict=True):
            if least:
                self.cp.add(self._total(used) >= least)
        for limit in limits:
            self.cp.add(self._total(limit.prices) <= limit.most)

    def _total(self, prices: Each) -> Linear:
        """What is chosen comes to, each at its price."""
        return summed((self.chosen[each], int(prices[each])) for each in np.flatnonzero(prices))

    @property
    def parts(self) -> int:
        """How many variables and constraints there are."""
        proto = self.cp.model_proto
        return len(proto.constraints) + len(proto.variables)

    def cost(self, cost: Cost) -> Linear:
        """What a step comes to."""
        found = self._total(cost.prices) + cost.constant
        for sums in cost.greatest:
            most = self.cp.new_int_var(0, self._most, "")
            for each in sums:
                self.cp.add(most >= self._total(each))
            found = found + most
        for term in cost.widest:
            more, widest = self.cp.new_int_var(0, self._most, ""), []
            met = self._total(term.met)
            for each in term.here:
                here = self._total(each)
                widest.append(self.cp.new_bool_var(""))
                self.cp.add(more >= met - here).only_enforce_if(widest[-1])
                self.cp.add(met >= here)
            self.cp.add_exactly_one(widest)
            self.cp.add(more >= met - term.most)
            found = found + more
        return found
