"""Cluster: the items on one knob, as the tiers *change* and *layout* see them."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from functools import cached_property
from itertools import product
from operator import add

import attrs

from knobpack.numbered.problem import Before, Problem, bits


@attrs.frozen(cache_hash=True)
class Signature:
    """What makes two clusters alike: to exchange them changes nothing but where their pull goes.

    Args:
        knobs: mask of the knobs that the cluster may be on.
        runs: mask of the voices and groups, by position in ``Problem.runs``, found in it.
        row: what each knob costs it, on the scale of the two tiers, but for its pull.
        leads: mask of the pairs of ``Problem.sequence``, by position, of whose first it has.
        follows: the same of their second.
    """

    knobs: int
    runs: int
    row: tuple[int, ...]
    leads: int = 0
    follows: int = 0


@attrs.frozen
class Cluster:
    """Items that share a knob.

    Args:
        items: mask of the items.
        signature: what it has in common with clusters of its sort.
        pull: how strongly it is drawn up the order of reach.
    """

    items: int
    signature: Signature
    pull: int


@attrs.frozen
class Variant:
    """One way to share: its clusters, and what its omissions cost the lower tiers."""

    clusters: tuple[Cluster, ...]
    omission: int

    @property
    def items(self) -> int:
        """Mask of the items that it places."""
        return sum(cluster.items for cluster in self.clusters)

    @classmethod
    def joined(cls, parts: Sequence[Variant], omission: int) -> Variant:
        """The variants of all families as one, with what is lost in any case."""
        clusters = tuple(cluster for part in parts for cluster in part.clusters)
        return cls(clusters, omission + sum(part.omission for part in parts))


@attrs.frozen
class Choice:
    """Ways to share that can be combined freely: one of each family's.

    Args:
        families: for each family its variants, one or more.
        omission: what is lost in any case costs the lower tiers.
    """

    families: tuple[tuple[Variant, ...], ...]
    omission: int

    @property
    def count(self) -> int:
        """How many combinations there are."""
        return math.prod(len(variants) for variants in self.families)

    @property
    def parts(self) -> int:
        """How many parts of ways there are to remember where there is a choice."""
        return sum(
            1 << len(each.clusters)
            for variants in self.families
            if len(variants) > 1
            for each in variants
        )

    @property
    def work(self) -> int:
        """About how much there is to remember of it: the parts of every variant of every sort."""
        return math.prod(len(_sorts(variants)) for variants in self.families) * self.parts

    def each(self) -> Iterator[Variant]:
        """Every combination."""
        for chosen in product(*self.families):
            yield Variant.joined(chosen, self.omission)

    def even(self) -> Iterator[Choice]:
        """The same in parts: in each, a family's variants place the same, in as many clusters."""
        for families in product(*(_sorts(variants) for variants in self.families)):
            yield Choice(families, self.omission)


def _sorts(variants: Sequence[Variant]) -> list[tuple[Variant, ...]]:
    """Variants by what they place, in how many clusters, and what that leaves out."""
    own: dict[tuple[int, int, int], list[Variant]] = {}
    for each in variants:
        own.setdefault((each.items, len(each.clusters), each.omission), []).append(each)
    return [tuple(some) for some in own.values()]


@attrs.frozen(eq=False)
class Places:
    """The tiers *change* and *layout* in one whole number.

    Args:
        problem: the costs.
        change: the weight of one changed route: more than any layout can cost.
    """

    problem: Problem
    change: int

    @classmethod
    def of(cls, problem: Problem) -> Places:
        """The scale on which no layout outweighs a changed route."""
        highest = sum(problem.pulls) * max(problem.steps, default=0)
        highest += sum(max(row, default=0) for row in problem.places)
        highest += sum(weight * problem.knobs for _, weight in problem.runs)
        highest += 2 * problem.out_of_sequence * len(problem.sequence)
        return cls(problem, highest + 1)

    def cluster(self, items: int) -> Cluster:
        """The cluster of some items."""
        problem = self.problem
        knobs, leads, follows = (1 << problem.knobs) - 1, 0, 0
        row = [self.change * changed for changed in self._changes(items)]
        for item in bits(items):
            knobs &= self._knobs[item]
            leads |= self._ends[0].get(item, 0)
            follows |= self._ends[1].get(item, 0)
            if any(problem.places[item]):
                row = list(map(add, row, problem.places[item]))
        runs = sum(1 << at for at, (mask, _) in enumerate(problem.runs) if mask & items)
        pull = sum(problem.pulls[item] for item in bits(items))
        return Cluster(items, Signature(knobs, runs, tuple(row), leads, follows), pull)

    @cached_property
    def _knobs(self) -> dict[int, int]:
        """For each item the mask of the knobs that its atom may be on."""
        return {item: atom.knobs for atom in self.problem.atoms for item in bits(atom.items)}

    @cached_property
    def _ends(self) -> tuple[dict[int, int], dict[int, int]]:
        """For each item the masks of the pairs of ``Problem.sequence`` that it leads, and ends."""
        leads: dict[int, int] = {}
        follows: dict[int, int] = {}
        pairs = self.problem.sequence if self.problem.out_of_sequence else ()
        for at, (one, other) in enumerate(pairs):
            leads[one] = leads.get(one, 0) | 1 << at
            follows[other] = follows.get(other, 0) | 1 << at
        return leads, follows

    def _changes(self, items: int) -> list[int]:
        """What the items cost on each knob in the tier *change*.

        A bundle of the previous layout that is not whole where it was is charged to its first item.
        """
        problem, bundle = self.problem, self.problem.a_bundle
        changes = [0] * problem.knobs
        for before in problem.before:
            own = before.items & items
            if not own:
                continue
            first = bool(own & before.bundle & -before.bundle)
            elsewhere = problem.elsewhere(own) + bundle * first
            for knob in range(problem.knobs):
                changes[knob] += elsewhere
            if before.knob is not None:
                stays = bundle * (first and before.bundle & ~own != 0)
                stays += before.travel is not None and not self._stays(items, before)
                changes[before.knob] += stays - elsewhere
        return changes

    def _stays(self, items: int, before: Before) -> bool:
        """Whether the travel that a knob had is one of the cheapest for these items there."""
        problem = self.problem
        knob = -1 if before.knob is None else before.knob
        if problem.items_pinned.get(knob, 0) & items and knob in problem.kept_travels:
            return problem.kept_travels[knob] == before.travel
        wanted = {problem.wanted[item] for item in bits(items)}
        cost = {t: sum(problem.travel_prices[t][item] for item in bits(items)) for t in wanted}
        return before.travel in cost and cost[before.travel] == min(cost.values())

    def omission(self, items: int) -> int:
        """What the tiers cost for items that are left out: their routes are changed."""
        problem = self.problem
        first = sum(bool(items & before.bundle & -before.bundle) for before in problem.before)
        changed = problem.elsewhere(items & problem.routed_before) + problem.a_bundle * first
        return self.change * changed

    def values(self, cost: int) -> tuple[int, int]:
        """The values of the two tiers."""
        return divmod(cost, self.change)
