"""A layout in use: tier by tier in the order of an edit, each held before the next is made best.

What was there is tried first: each atom on the knob that it was on. The tier *change*, which is
made best early, then says of nearly every atom where it is, and little is left to be proven.
What is as good is found with all tiers held at their best values; each way to share that is found
is ruled out before the next is looked for.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from knobpack.numbered.less import with_knob_shut
from knobpack.numbered.problem import Problem, bits
from knobpack.solver.cp_sat.atoms_on_knobs import CutShortError
from knobpack.solver.cp_sat.compact_model import CompactModel
from knobpack.solver.cp_sat.cpsat import Answer, Status, solve
from knobpack.solver.outcome import ImpossibleError, NothingFoundError, Outcome
from knobpack.solver.primal.filling import Filling
from knobpack.solver.primal.greedy import greedy
from knobpack.solver.store import Store
from knobpack.solver.watch import Watch


def compact(problem: Problem, watch: Watch) -> Outcome:
    """The best placement, tier by tier in the order of the problem.

    Args:
        problem: the problem.
        watch: how long the search may go on.

    Returns:
        The outcome, its values and bounds in that order.

    Raises:
        ImpossibleError: no placement meets every demand.
        NothingFoundError: the watch stopped the search before it knew any placement.
    """
    if problem.impossible:
        raise ImpossibleError
    store = Store(problem)
    starts = [with_knob_shut(problem, knob) for knob in bits(problem.one_empty)] or [problem]
    for start in starts:
        for needed_first in (False, True):
            store.offer(_as_it_was(start, needed_first=needed_first))
    try:
        tier_by_tier(store, watch)
    except CutShortError:
        if not problem.one_empty:
            store.offer(greedy(problem, watch))
    if store.values is None:
        raise NothingFoundError
    return store.outcome()


def tier_by_tier(store: Store, watch: Watch) -> None:
    """Make one tier after the other best, those before it held at the values that were found.

    Args:
        store: what is known; takes what is better. A tier that is at its bound is left as it is.
        watch: how long the search may go on.

    Raises:
        CutShortError: the watch stopped it.
        ImpossibleError: no placement meets every demand.
    """
    problem, held = store.problem, list[int]()
    model = CompactModel(problem, watch=watch)
    for tier, name in enumerate(problem.order):
        if not store.met(tier):
            if store.values is not None:
                model.start_from(store.knobs)
            answer = model.best(name, watch, linear=True)
            if answer.status is Status.IMPOSSIBLE:
                raise ImpossibleError
            store.offer(model.placed(answer))
            store.raise_to(tier, answer.bound or 0, held)
        if store.values is None:
            raise CutShortError
        held.append(store.values[tier])
        watch.tell(tier, store.values[tier], store.bound(tier))
        model.look()
        model.hold(name, store.values[tier])


def _as_it_was(problem: Problem, *, needed_first: bool) -> dict[int, int] | None:
    """Each atom on the knob that it was on, where it can be; what cannot goes elsewhere.

    What one knob drove goes to one knob, if it can, and rather to one that nothing is on.

    Args:
        problem: the problem.
        needed_first: whether what must be placed comes before all that was there.

    Returns:
        The knob of each item that is placed; None where something that must be placed is not.
    """
    was = {item: before.knob for before in problem.before for item in bits(before.items)}
    old = [was.get(next(bits(atom.items))) for atom in problem.atoms]
    panel, elsewhere = Filling(problem), []

    def turn(number: int) -> tuple[bool, bool]:
        atom = problem.atoms[number]
        return atom.pinned is None, needed_first and not atom.needed

    for number in sorted(range(len(problem.atoms)), key=turn):
        atom = problem.atoms[number]
        knob = old[number] if atom.pinned is None else atom.pinned
        if knob is not None and panel.fits(number, knob):
            panel.put(number, knob)
        elif atom.needed or atom.omission or any(item in was for item in bits(atom.items)):
            elsewhere.append(number)
    mates: dict[int | None, list[int]] = {}
    for number in sorted(elsewhere, key=lambda each: not problem.atoms[each].needed):
        spare = [knob for knob, here in enumerate(panel.on) if not here]
        ways = (*mates.get(old[number], ()), *spare, *range(problem.knobs))
        knob = next((each for each in ways if panel.fits(number, each)), None)
        if knob is not None:
            panel.put(number, knob)
            mates.setdefault(old[number], []).append(knob)
        elif problem.atoms[number].needed:
            return None
    return panel.knobs


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
