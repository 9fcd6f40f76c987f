"""The variants of a family: equally good ways to share, of which some may be laid out better.

Usually many ways to share cost the same. Most of them cannot matter to the layout, and are dropped:
of two with clusters of the same signatures, one is never worse if, for every k, its k weakest pulls
of each signature add up to no more. The sum of pull times step, at best, takes the strongest pull
to the nearest knob; summed by parts it is a sum of such totals, each times a step of zero or more.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import accumulate
from operator import attrgetter

import attrs

from knobpack.numbered.problem import bits
from knobpack.solver.arrangement.cluster import Cluster, Places, Signature, Variant
from knobpack.solver.value_functions.subset_dp import ValueFunction
from knobpack.solver.watch import Watch

MOST_STEPS = 30_000
"""Steps of work on one family, at most; beyond it the general model takes over."""

LOOK = 500
"""After so many variants the watch is looked at."""

_IN_ORDER = attrgetter(*(field.name for field in attrs.fields(Signature)))
"""By what signatures are sorted: any order will do, if it is the same every time."""


class TooManyVariantsError(Exception):
    """Going through the variants would take too long. Never leaves the solver."""


class Variants:
    """Goes through the variants of one family."""

    def __init__(
        self,
        value_function: ValueFunction,
        places: Places,
        watch: Watch | None = None,
    ) -> None:
        """Take a value function, and what may cut it short."""
        self._value_function = value_function
        self._watch = watch
        self._places = places
        atoms = [places.problem.atoms[number].items for number in value_function.table.atoms]
        self._items = atoms
        self._clusters: dict[int, Cluster] = {}
        self._known: dict[tuple[int, int], list[Variant]] = {}
        self._choices: dict[tuple[int, int], list[tuple[int, int, int]]] = {}
        self._steps = 0

    def every(self, knobs: int, atoms: int | None = None) -> Iterator[Variant]:
        """All cheapest ways of some atoms, or all there are, on exactly so many such knobs.

        Raises:
            TooManyVariantsError: it would take too long, or the watch stopped it.
        """
        left = self._value_function.table.full if atoms is None else atoms
        if not left:
            yield Variant((), 0)
            return
        for chosen, rest, still in self._chosen(knobs, left):
            for way in self.every(still, rest):
                yield self._extended(way, chosen, left & ~rest)

    def on(self, knobs: int) -> list[Variant]:
        """Variants on exactly ``knobs`` knobs that no atom is pinned to; one of them is best.

        Raises:
            TooManyVariantsError: it would take too long.
        """
        return self._of(knobs, self._value_function.table.full)

    def _of(self, knobs: int, atoms: int) -> list[Variant]:
        if not atoms:
            return [Variant((), 0)]
        if (knobs, atoms) not in self._known:
            found = []
            for chosen, rest, left in self._chosen(knobs, atoms):
                for variant in self._of(left, rest):
                    self._steps += 1
                    found.append(self._extended(variant, chosen, atoms & ~rest))
            if self._steps > MOST_STEPS:
                raise TooManyVariantsError
            self._known[knobs, atoms] = undominated(found, self._watch)
        return self._known[knobs, atoms]

    def _chosen(self, knobs: int, atoms: int) -> list[tuple[int, int, int]]:
        if (knobs, atoms) not in self._choices:
            self._choices[knobs, atoms] = list(self._value_function.choices(knobs, atoms))
        return self._choices[knobs, atoms]

    def _extended(self, variant: Variant, chosen: int, taken: int) -> Variant:
        """With what was taken too: as the set chosen, or left out."""
        if taken not in self._clusters:
            items = sum(self._items[place] for place in bits(taken))
            self._clusters[taken] = self._places.cluster(items)
        if not chosen:
            left_out = self._places.omission(self._clusters[taken].items)
            return Variant(variant.clusters, variant.omission + left_out)
        return Variant((self._clusters[chosen], *variant.clusters), variant.omission)


def undominated(variants: Iterable[Variant], watch: Watch | None = None) -> list[Variant]:
    """The variants that no other is at least as good as, whatever the arrangement.

    Raises:
        TooManyVariantsError: the watch stopped it.
    """
    comparable: dict[frozenset[tuple[Signature, int]], list[tuple[list[int], Variant]]] = {}
    for count, variant in enumerate(variants):
        if watch is not None and not count % LOOK and watch.over():
            raise TooManyVariantsError
        signatures, weakness = _weakness(variant)
        rivals = comparable.setdefault(signatures, [])
        if any(_no_worse(other, weakness) for other, _ in rivals):
            continue
        rivals[:] = [rival for rival in rivals if not _no_worse(weakness, rival[0])]
        rivals.append((weakness, variant))
    return [variant for rivals in comparable.values() for _, variant in rivals]


def _weakness(variant: Variant) -> tuple[frozenset[tuple[Signature, int]], list[int]]:
    """How many clusters of each signature, and the sums of their k weakest pulls for every k."""
    pulls: dict[Signature, list[int]] = {}
    for cluster in variant.clusters:
        pulls.setdefault(cluster.signature, []).append(cluster.pull)
    sums = [variant.omission]
    for signature in sorted(pulls, key=_IN_ORDER):
        sums.extend(accumulate(sorted(pulls[signature])))
    return frozenset((signature, len(own)) for signature, own in pulls.items()), sums


def _no_worse(one: list[int], other: list[int]) -> bool:
    return all(a <= b for a, b in zip(one, other, strict=True))
