"""Frontiers: what is known of a set on the way, its atoms gone through one by one.

Groups, loads, and atoms of pairs and clashes are under way from the first of their atoms to the
last. A frontier says which of those under way the set touches. Only those that some set comes to
are looked at: mostly few, as voices are gone through one after the other, and any two touch what is
of all but one.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

import attrs
import numpy as np

from knobpack.numbered.problem import bits
from knobpack.solver.column_generation.terms import Terms
from knobpack.solver.costs import QUANTUM, Whole

FAR = 1 << 52
"""More than any set costs, in 1024ths: so much can be added up for each atom."""

MOST_MARKS = 62
"""Groups, loads and atoms under way at a time, at most: frontiers are masks of 64 bits."""

NEVER = -1
"""The mark of what a single atom asks for: it is never set."""


class TooManyFrontiersError(Exception):
    """There is too much to know. Never leaves the solver.

    Args:
        widest: the position of the atom at which there is most.
    """

    def __init__(self, widest: int) -> None:
        super().__init__(widest)
        self.widest = widest


@attrs.frozen
class Step:
    """An atom, gone through after others.

    Args:
        place: the atom.
        fee: (F,) what its groups and its pairs cost for each frontier, in 1024ths.
        loads: (F,) how many loads it adds.
        taken: (F,) which frontier after it comes of it where it is in the set.
        left: (F,) which where it is not.
    """

    place: int
    fee: Whole
    loads: Whole
    taken: Whole
    left: Whole


def order_of(terms: Terms) -> list[int]:
    """The atoms in an order in which few groups are under way: next that which opens the fewest."""
    groups, left, open_ = terms.groups.tolist(), terms.full, 0
    found: list[int] = []

    def opens(atoms: int) -> int:
        """The groups that some atoms open."""
        new = sum(1 << at for at, group in enumerate(groups) if group & atoms)
        return new & ~open_

    while left:
        waiting = [group & left for group in groups if group & left] or [left]
        chosen = min(waiting, key=lambda own: (opens(own).bit_count(), own.bit_count(), own))
        found += sorted(bits(chosen), key=lambda place: (opens(1 << place).bit_count(), place))
        open_ |= opens(chosen)
        left &= ~chosen
    return found


@attrs.frozen
class _Span:
    """What there is to know of a set on the way from one atom to another.

    Args:
        members: the atoms that ask for its mark.
        setters: those that set it.
        fee: what it costs to set it; the first member alone does not pay for the others.
        load: whether it is a load.
        partners: where the mark is that of an atom, each one after it and what both cost.
    """

    members: tuple[int, ...]
    setters: tuple[int, ...]
    fee: int = 0
    load: bool = False
    partners: tuple[tuple[int, int], ...] = ()


def _spans(terms: Terms, at: Mapping[int, int]) -> Iterator[_Span]:
    """Every group, load, and atom of a pair or clash; ``at`` says where each atom stands."""
    for group, weight in zip(terms.groups.tolist(), terms.weights.tolist(), strict=True):
        own = tuple(bits(group))
        yield _Span(own, own, fee=QUANTUM * weight)
    for load in _loads(terms):
        own = tuple(bits(load))
        yield _Span(own, own, load=True)
    both = [(one, other, QUANTUM * weight) for one, other, weight in terms.pairs]
    both += [(p, o, FAR) for p, own in enumerate(terms.clashes) for o in bits(own) if p < o]
    after: dict[int, list[tuple[int, int]]] = {}
    for one, other, weight in both:
        first, second = sorted((one, other), key=at.__getitem__)
        after.setdefault(first, []).append((second, weight))
    for first, others in after.items():
        own = (first, *(other for other, _ in others))
        yield _Span(own, (first,), partners=tuple(others))


def _loads(terms: Terms) -> list[int]:
    """The loads; where they make no heap each atom is one: it matters only that a set has any."""
    return terms.load_masks.tolist() if terms.heap else [1 << n for n in range(terms.count)]


class _Marks:
    """What is known of a set on the way: a *frontier* is a mask of marks, one for each open span.

    Args:
        terms: the family's costs.
        order: its atoms as they are gone through.

    Attributes:
        count: how many marks there are at a time, at most.
    """

    def __init__(self, terms: Terms, order: Sequence[int]) -> None:
        at = {place: position for position, place in enumerate(order)}
        self._fees: dict[int, list[tuple[int, int]]] = {place: [] for place in order}
        self._pairs: dict[int, list[tuple[int, int]]] = {place: [] for place in order}
        self._loads: dict[int, list[int]] = {place: [] for place in order}
        self._sets, self._ends = dict.fromkeys(order, 0), dict.fromkeys(order, 0)
        until: list[int] = []

        def begins(span: _Span) -> int:
            return min(at[place] for place in span.members)

        for span in sorted(_spans(terms, at), key=begins):
            start, end = begins(span), max(at[place] for place in span.members)
            mark = NEVER
            if len(span.members) > 1:
                free = (m for m, last in enumerate(until) if last < start)
                mark = next(free, len(until))
                until[mark : mark + 1] = [end]
                self._ends[order[end]] |= 1 << mark
            for place in span.setters:
                self._sets[place] |= 1 << mark if mark != NEVER else 0
                self._fees[place] += [(mark, span.fee)] if span.fee else []
                self._loads[place] += [mark] if span.load else []
            for place, cost in span.partners:
                self._pairs[place].append((mark, cost))
        self.count = len(until)

    def step(self, place: int, frontiers: Whole) -> tuple[Step, Whole]:
        """What an atom comes to from some frontiers, and those that it leads to."""

        def unset(mark: int) -> Whole:
            found: Whole = 1 - (frontiers >> mark & 1 if mark != NEVER else 0 * frontiers)
            return found

        fee = sum((cost * unset(mark) for mark, cost in self._fees[place]), 0 * frontiers)
        fee = sum((cost * (1 - unset(mark)) for mark, cost in self._pairs[place]), fee)
        loads = sum(map(unset, self._loads[place]), 0 * frontiers)
        ends = ~self._ends[place]
        both = np.append((frontiers | self._sets[place]) & ends, frontiers & ends)
        after, at = np.unique(both, return_inverse=True)
        taken, left = at.reshape(2, -1)
        return Step(place, np.minimum(fee, FAR), loads, taken, left), after


def steps_of(terms: Terms, order: Sequence[int], most: int) -> list[Step]:
    """Each atom, gone through in an order, with the frontiers that any set comes to.

    Raises:
        TooManyFrontiersError: there are more than ``most`` of them, before all atoms together.
    """
    marks, frontiers = _Marks(terms, order), np.zeros(1, dtype=np.int64)
    steps: list[Step] = []
    for place in order:
        step, frontiers = marks.step(place, frontiers)
        steps.append(step)
        if marks.count > MOST_MARKS or sum(len(each.fee) for each in steps) > most:
            widest = max(range(len(steps)), key=lambda at: len(steps[at].fee))
            raise TooManyFrontiersError(widest)
    return steps
