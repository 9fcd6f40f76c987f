"""Neighbourhoods: what is on a few knobs that go together, solved again exactly, the rest left.

Large neighbourhood search (Shaw 1998, "Using constraint programming and local search methods to
solve vehicle routing problems", from memory): the problem of those knobs alone is small enough for
every set to be listed, so it is solved as a whole problem would be. More knobs are taken where that
was quick and found nothing, fewer where it was not to be done.
"""

from __future__ import annotations

import random
from collections.abc import Mapping, Sequence

from knobpack.numbered.less import part_of
from knobpack.numbered.problem import Problem, bits
from knobpack.solver.families import families
from knobpack.solver.outcome import UPPER
from knobpack.solver.set_partitioning.closing import Shelf, made_best
from knobpack.solver.set_partitioning.column_pool import column_pools_of, knob_slots
from knobpack.solver.store import Store
from knobpack.solver.watch import Watch

FEWEST = 2
"""Knobs of a neighbourhood, at least."""

MOST_SETS = 20_000
"""Sets of a neighbourhood, at most."""

MOST_OUT = 3
"""Atoms that are left out and may come in, at most."""

PATIENCE = 6
"""Neighbourhoods of a size that find nothing before more knobs are taken."""

MOST_KNOWN = 200
"""Neighbourhoods drawn one after the other that were solved before, at most."""

EFFORT = 0.4
"""Effort for one neighbourhood, at most; and :data:`LEAST` is what each counts as at least."""

LEAST = 1e-3


class Neighbourhoods:
    """Neighbourhoods of one placement after the other.

    Args:
        store: what is known; takes what is better.
    """

    def __init__(self, store: Store) -> None:
        self._store = store
        self._draw = random.Random(1)  # noqa: S311 (no secret)
        self._count = FEWEST + 1
        self._in_vain = 0
        self._tried: set[tuple[int, ...]] = set()

    @property
    def small(self) -> bool:
        """Whether the sets of the fewest knobs, which carry the fewest atoms, can be listed."""
        counts = map(int.bit_count, self._store.problem.atoms_on(self._store.knobs).values())
        return 1 << sum(sorted(counts)[:FEWEST]) <= MOST_SETS

    def improve(self, watch: Watch) -> None:
        """Solve one after the other until the watch is over, or nothing new is drawn.

        It ends as well where even the fewest knobs carry too much.
        """
        store, known, beyond = self._store, 0, 0
        while known < MOST_KNOWN and beyond < PATIENCE and not watch.over() and not store.all_met:
            on = store.problem.atoms_on(store.knobs)
            knobs, out = self._drawn(on)
            content = (*sorted(on.get(knob, 0) for knob in knobs), *out)
            if content in self._tried or len(knobs) < FEWEST:
                known += 1
                self._found_nothing()
                continue
            self._tried.add(content)
            known, before = 0, store.values
            left = watch.effort - LEAST
            own = watch.slice(EFFORT)
            solved = _solved(store.problem, store.knobs, knobs, out, own)
            watch.spend(max(0.0, watch.effort - left))
            store.offer(solved)
            if solved is None:
                beyond += self._count == FEWEST
                self._count, self._in_vain = max(FEWEST, self._count - 1), 0
            elif store.values == before:
                self._found_nothing()

    def _found_nothing(self) -> None:
        self._in_vain += 1
        if self._in_vain > PATIENCE:
            self._count, self._in_vain = min(self._count + 1, self._store.problem.knobs), 0

    def _drawn(self, on: Mapping[int, int]) -> tuple[list[int], list[int]]:
        """Knobs that carry much that may share, and some atoms that are left out."""
        problem, draw = self._store.problem, self._draw
        loose = [knob for knob, atoms in on.items() if any(map(problem.movable, bits(atoms)))]
        if not loose:
            return [], []
        first = draw.choice(loose)

        def sharing(knob: int) -> int:
            clashes = (problem.clashes[number] & on[first] for number in bits(on[knob]))
            pairs = on[knob].bit_count() * on[first].bit_count()
            return pairs - sum(clash.bit_count() for clash in clashes)

        others = [(-sharing(knob) * draw.random(), knob) for knob in loose if knob != first]
        empty = [knob for knob in range(problem.knobs) if knob not in on]
        out = [
            number
            for number, atom in enumerate(problem.atoms)
            if atom.knobs and next(bits(atom.items)) not in self._store.knobs
        ]
        chosen = [first, *(knob for _, knob in sorted(others)[: self._count - 1]), *empty[:1]]
        return chosen, sorted(draw.sample(out, min(MOST_OUT, len(out))))


def _solved(
    problem: Problem,
    placed: Mapping[int, int],
    knobs: Sequence[int],
    out: Sequence[int],
    watch: Watch,
) -> dict[int, int] | None:
    """The whole placement with what is on some knobs as good as it can be; None: too much of it."""
    on = problem.atoms_on(placed)
    atoms = sorted([*out, *(number for knob in knobs for number in bits(on.get(knob, 0)))])
    elsewhere = {item: knob for item, knob in placed.items() if knob not in knobs}
    part = part_of(
        problem, atoms, sum(1 << knob for knob in knobs), problem.routes - len(elsewhere)
    )
    slots = knob_slots(part)
    catalogues = column_pools_of(part, families(part), slots, watch, MOST_SETS)
    if catalogues is None:
        return None
    store = Store(part)
    store.offer({item: knob for item, knob in placed.items() if knob in knobs})
    shelf = Shelf(part, slots, catalogues)
    for tier in range(UPPER):
        if not store.met(tier):
            made_best(shelf, store, tier, watch)
    return elsewhere | store.knobs
