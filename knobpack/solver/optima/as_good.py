"""As good: every way to share that costs no more in any tier, of an edit of a layout in use.

The compact model with all tiers held at their best values; each way that is found is ruled out
before the next is looked for.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from knobpack.numbered.problem import Problem
from knobpack.solver.cp_sat.compact_model import CompactModel
from knobpack.solver.cp_sat.cpsat import Answer, solve
from knobpack.solver.watch import Watch


class AsGood(CompactModel):
    """The placements of a problem that cost no more in any tier than the best one.

    Args:
        problem: the problem.
        values: the value of each tier in its best placement, in the order of the problem.
        watch: looked at while the model is put together; what that takes is counted in it.

    Raises:
        CutShortError: the watch stopped that.
    """

    def __init__(self, problem: Problem, values: Sequence[int], watch: Watch) -> None:
        super().__init__(problem, watch=watch)
        for tier, value in zip(problem.order, values, strict=True):
            self.hold(tier, value)

    def rule_out(self, knobs: Mapping[int, int]) -> None:
        """From now on, look for placements that share in another way than this one.

        One does if something else is left out, if what shared a knob does not, or, where neither
        is so, if fewer knobs are used.

        Args:
            knobs: the knob of each item that is placed.
        """
        model = self.model
        at = {self.problem.atom_of[item]: knob for item, knob in knobs.items()}
        differs = [~out if number not in at else out for number, out in self.out.items()]
        sets: dict[int, list[int]] = {}
        for number in sorted(at):
            sets.setdefault(at[number], []).append(number)
        for first, *others in sets.values():
            for other in others:
                parted = model.new_bool_var("")
                for _, knob in self.places_of(first):
                    if (other, knob) in self.on:
                        both = (self.on[first, knob], self.on[other, knob])
                        model.add_bool_or([~both[0], ~both[1], ~parted])
                differs.append(parted)
        fewer = model.new_bool_var("")
        used = list(self.used.values())
        model.add(sum(used) <= len(sets) - 1).only_enforce_if(fewer)
        model.add_bool_or([*differs, fewer])

    def another(self, watch: Watch) -> Answer:
        """Look for one that is not ruled out."""
        return solve(self.model, watch, confirm=True)

    def off(self, item: int, knob: int, watch: Watch) -> Answer:
        """Look for one in which an item is on another knob than this, or on none."""
        model = self.model.clone()
        model.add(self.on[self.problem.atom_of[item], knob] == 0)
        return solve(model, watch, confirm=True)
