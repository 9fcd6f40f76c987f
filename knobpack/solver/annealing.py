"""Simulated annealing over placements: a good one soon, and better ones as long as there is effort.

A move takes atoms from knob to knob, within every demand, and is made if it makes the placement no
dearer, or by a chance that falls with what it costs and with the temperature (Kirkpatrick, Gelatt,
Vecchi 1983, "Optimization by simulated annealing", from memory). The tiers are one whole number;
each has a temperature of its own, and the first that a move changes decides. Moves that cost
nothing are always made, and a knob that is emptied is handed to others: both walk off plateaus
(Capua, Frota, Ochi, Vidal 2018, "A study on exponential-size neighborhoods for the bin packing
problem with conflicts"). What a set costs on a knob is remembered. The work is counted in moves, so
that the same effort gives the same answer everywhere.
"""

from __future__ import annotations

import math
import random
import time
from collections.abc import Iterable, Mapping, Sequence

from knobpack.problem import Problem, bits
from knobpack.solver.scale import Scale, scale_of
from knobpack.solver.watch import Watch

HOT, COLD = 250.0, 20.0
"""Temperatures at the ends of a cooling, in points of sharing."""

FIRST_ROUND = 600
"""Moves for each atom in the first cooling; each cooling after it is twice as long."""

EFFORT_PER_MOVE = 1e-5
"""Effort that a move counts as: about what it takes in seconds."""

ALONE = 0.2
"""How often an atom leaves behind what it is of a bundle with."""

LOOK = 256
"""Moves between two looks at the watch."""

MOST_KNOWN = 400_000
"""Prices of sets that are remembered, at most."""

NOWHERE = -1
Change = tuple[int, int]
"""An atom, and the knob that it goes to, or :data:`NOWHERE`."""


class Annealing:
    """A search that goes on from where it was.

    Args:
        problem: what to place.
        start: the knob of each item in a placement that meets every demand.
    """

    def __init__(self, problem: Problem, start: Mapping[int, int]) -> None:
        self.problem = problem
        self._prices = _Prices(problem)
        self._draw = random.Random(1)  # noqa: S311 (no secret)
        self._sizes = [atom.size for atom in problem.atoms]
        self._leaving = [self._prices.leaving(number) for number in range(len(problem.atoms))]
        self._loose = [n for n, atom in enumerate(problem.atoms) if _is_loose(problem, n)]
        self._open = [tuple(bits(atom.knobs)) for atom in problem.atoms]
        self._mates = self._sharers()
        self._bundle = self._bundled()
        self._moves = FIRST_ROUND * len(self._loose)
        self.sets: set[int] = set()
        self._limit: float = math.inf
        self._place(start)
        self._best, self._best_value = list(self._knob), self._value

    def _place(self, start: Mapping[int, int]) -> None:
        problem = self.problem
        self._knob = [start.get(next(bits(atom.items)), NOWHERE) for atom in problem.atoms]
        self._on = [0] * problem.knobs
        self._load = [0] * problem.knobs
        self._missed = [0] * problem.knobs
        self._counts = [0] * problem.knobs
        self._routes = 0
        placed = list(enumerate(self._knob))
        self._knob = [NOWHERE] * len(placed)
        self._put(placed)
        self._value = sum(map(self._price, range(problem.knobs)))
        self._value += sum(
            price for price, knob in zip(self._leaving, self._knob, strict=True) if knob == NOWHERE
        )

    def _price(self, knob: int) -> int:
        return self._prices.of(self._on[knob], knob, self._missed[knob], self._counts[knob])

    def _sharers(self) -> list[tuple[int, ...]]:
        """For each atom, those that it may share a knob with."""
        problem = self.problem
        loose = sum(1 << number for number in self._loose)
        every = sum(1 << number for number, atom in enumerate(problem.atoms) if atom.knobs)
        return [
            tuple(bits(every & ~problem.clashes[number] & ~(1 << number)))
            if loose >> number & 1
            else ()
            for number in range(len(problem.atoms))
        ]

    def _bundled(self) -> list[tuple[int, ...]]:
        """For each atom, those that are of a bundle with it, itself among them."""
        problem = self.problem
        found = [1 << number for number in range(len(problem.atoms))]
        for bundle in problem.bundles:
            own = [n for n in self._loose if problem.atoms[n].items & bundle]
            mask = sum(1 << number for number in own)
            for number in own:
                found[number] |= mask
        return [tuple(bits(mask)) for mask in found]

    @property
    def best(self) -> dict[int, int]:
        """The knob of each item in the best placement so far."""
        return {
            item: knob
            for atom, knob in zip(self.problem.atoms, self._best, strict=True)
            if knob != NOWHERE
            for item in bits(atom.items)
        }

    def run(self, watch: Watch, met: int = 0) -> None:
        """Cool down again and again, each time twice as slowly, until the watch is over.

        Args:
            watch: says when.
            met: how many tiers, from the first on, the best placement has at their bounds. Every
                other cooling begins there and makes none of them worse.
        """
        scale = self._prices.scale
        firm = (math.inf, scale.unplaced, scale.bundles, scale.breaks, 1)[met]
        left = math.ceil(watch.effort / EFFORT_PER_MOVE) if self._loose else 0
        while left > 0 and not watch.over():
            moves = min(left, self._moves)
            # A rest that is too short for another cooling is added to this one.
            moves = left if left - moves < 2 * moves else moves
            self._limit = math.inf if self._limit == firm else firm
            if self._limit < math.inf:
                self._place(self.best)
            self._cool(moves, watch)
            watch.spend(moves * EFFORT_PER_MOVE)
            left -= moves
            self._moves *= 2

    def _cool(self, moves: int, watch: Watch) -> None:
        """Cool down once, over so many moves, or faster if the deadline is too near."""
        temperature = HOT
        step = math.exp(math.log(COLD / HOT) / moves)
        began, end = time.monotonic(), moves
        for done in range(moves):
            if done % LOOK == 0:
                if done >= end or watch.over():
                    break
                if done and watch.deadline is not None:
                    per_move = (time.monotonic() - began) / done
                    if (end - done) * per_move > watch.seconds_left:
                        end = done + max(1, int(watch.seconds_left / per_move))
                        step = math.exp(math.log(COLD / temperature) / (end - done))
            temperature = max(COLD, temperature * step)
            self._move(temperature)

    def _move(self, temperature: float) -> None:
        changes = self._drawn()
        if not changes:
            return
        before = [(number, self._knob[number]) for number, _ in changes]
        dearer = self._tried(changes)
        if dearer is None:
            return
        if dearer > 0 and (2 * dearer >= self._limit or not self._taken(dearer, temperature)):
            self._put(before)
            return
        self._value += dearer
        if self._value < self._best_value:
            self._best_value, self._best = self._value, list(self._knob)
            self.sets.update(filter(None, self._on))

    def _taken(self, dearer: int, temperature: float) -> bool:
        """Whether a move for the worse is made all the same."""
        scale = self._prices.scale
        if 2 * dearer < scale.breaks:
            heat = dearer / temperature
        else:
            # The earlier tiers cool down faster, so that what is later is settled under them.
            share = (temperature / HOT) ** 2
            heat = next(
                value / (middle * share)
                for value, middle in zip(_parted(dearer, scale), self._prices.middles, strict=True)
                if value
            )
        return heat < 700 and self._draw.random() < math.exp(-heat)

    # What is tried -------------------------------------------------------------------------------

    def _tried(self, changes: Sequence[Change]) -> int | None:
        """Make the changes; by how much they make it dearer, or None and nothing is changed."""
        knob_of, price = self._knob, self._price
        knobs = {knob for number, to in changes for knob in (knob_of[number], to)}
        knobs.discard(NOWHERE)
        before = 0
        for knob in knobs:
            before += price(knob)
        undo = [(number, knob_of[number]) for number, _ in changes]
        for number, to in changes:
            if knob_of[number] == NOWHERE:
                before += self._leaving[number]
            if to == NOWHERE:
                before -= self._leaving[number]
        self._put(changes)
        if not self._holds(changes):
            self._put(undo)
            return None
        after = 0
        for knob in knobs:
            after += price(knob)
        return after - before

    def _holds(self, changes: Iterable[Change]) -> bool:
        """Whether what has been put somewhere may be there."""
        problem, on = self.problem, self._on
        for number, knob in changes:
            if knob == NOWHERE:
                if problem.atoms[number].needed:
                    return False
            elif (
                not problem.atoms[number].knobs >> knob & 1
                or problem.clashes[number] & on[knob]
                or self._load[knob] > problem.per_knob
            ):
                return False
        return self._routes <= problem.routes

    def _put(self, changes: Iterable[Change]) -> None:
        knob_of, on, load = self._knob, self._on, self._load
        missed, counts = self._missed, self._counts
        for number, to in changes:
            was, size = knob_of[number], self._sizes[number]
            if was != NOWHERE:
                on[was] ^= 1 << number
                load[was] -= size
                missed[was] -= self._prices.missed[number]
                counts[was] -= self._prices.counts[number]
                self._routes -= size
            knob_of[number] = to
            if to != NOWHERE:
                on[to] ^= 1 << number
                load[to] += size
                missed[to] += self._prices.missed[number]
                counts[to] += self._prices.counts[number]
                self._routes += size

    # What is drawn -------------------------------------------------------------------------------

    def _drawn(self) -> list[Change]:
        chance, number = self._draw.random(), self._draw.choice(self._loose)
        if self._knob[number] == NOWHERE and chance < 0.7:
            return self._pushed(number)
        if chance < 0.45:
            return self._shifted(number)
        if chance < 0.83:
            return self._swapped(number)
        if chance < 0.85:
            return self._exchanged(number)
        return self._handed_over(number)

    def _mate(self, number: int) -> int | None:
        """An atom that may share with this one and is on another knob."""
        if not self._mates[number]:
            return None
        mate = self._draw.choice(self._mates[number])
        return None if self._knob[mate] in (self._knob[number], NOWHERE) else mate

    def _with_bundle(self, number: int) -> list[int]:
        """An atom, and mostly with it what is of its bundle and where it is."""
        own = self._bundle[number]
        if len(own) == 1 or self._draw.random() < ALONE:
            return [number]
        knob = self._knob[number]
        return [each for each in own if self._knob[each] == knob]

    def _shifted(self, number: int) -> list[Change]:
        """An atom goes to another knob, mostly to what it may share with."""
        knob = self._knob
        if self._draw.random() < 0.8:
            mate = self._mate(number)
            to = knob[number if mate is None else mate]
        else:
            to = self._draw.choice(self._open[number])
            if not self.problem.atoms[number].omission and self._draw.random() < 0.5:
                # To leave it out costs nothing in the first tier, so that may be best.
                to = NOWHERE
        return [] if to == knob[number] else [(each, to) for each in self._with_bundle(number)]

    def _swapped(self, number: int) -> list[Change]:
        """Two atoms change places."""
        # What may not share may well change places, but seldom does any good.
        mate = self._draw.choice(self._loose) if self._draw.random() < 0.1 else self._mate(number)
        if mate is None:
            return []
        here, there = self._knob[number], self._knob[mate]
        if here == there:
            return []
        changes = [(each, there) for each in self._with_bundle(number)]
        return changes + [(each, here) for each in self._with_bundle(mate)]

    def _exchanged(self, number: int) -> list[Change]:
        """All that is on one knob for all that is on another."""
        here, there = self._knob[number], self._draw.choice(self._open[number])
        if here in (there, NOWHERE):
            return []
        changes = [(each, there) for each in bits(self._on[here])]
        return changes + [(each, here) for each in bits(self._on[there])]

    def _pushed(self, number: int) -> list[Change]:
        """Place an atom that is left out; what may not be there with it is left out."""
        knob, off = self._draw.choice(self._open[number]), 0
        coming = self._with_bundle(number)
        for each in coming:
            off |= self.problem.clashes[each] & self._on[knob]
        changes = [(each, knob) for each in coming] + [(other, NOWHERE) for other in bits(off)]
        if self._routes >= self.problem.routes and not off:
            changes.append((self._draw.choice(self._loose), NOWHERE))
        return changes if len(dict(changes)) == len(changes) else []

    def _handed_over(self, number: int) -> list[Change]:
        """Empty the knob of an atom onto that of a mate, and split another knob onto it."""
        mate, knob = self._mate(number), self._knob[number]
        other = self._knob[self._draw.choice(self._loose)]
        if mate is None or NOWHERE in (knob, other) or other in (knob, self._knob[mate]):
            return []
        inner = list(bits(self._on[other]))
        if len(inner) < 2:
            return []
        emptied = [(each, self._knob[mate]) for each in bits(self._on[knob])]
        return [*emptied, *((each, knob) for each in self._part(inner))]

    def _part(self, atoms: Sequence[int]) -> list[int]:
        """Some atoms of these: those that have a class in common with one, or any."""
        if self._draw.random() < 1 / 3:
            return [each for each in atoms if self._draw.random() < 0.5]
        classes = self._prices.classes
        own = list(bits(classes[self._draw.choice(atoms)]))
        like = 1 << self._draw.choice(own) if own else 0
        return [each for each in atoms if classes[each] & like]


def _is_loose(problem: Problem, number: int) -> bool:
    """Whether an atom has more than one place, being left out among them."""
    atom = problem.atoms[number]
    return bool(atom.knobs) and (atom.knobs.bit_count() > 1 or not atom.needed)


def _parted(difference: int, scale: Scale) -> tuple[int, int, int, int]:
    """A difference of two values, tier by tier, each as near to zero as can be."""
    found = []
    for weight in (scale.unplaced, scale.bundles, scale.breaks):
        found.append((difference + weight // 2) // weight)
        difference -= found[-1] * weight
    unplaced, bundles, breaks = found
    return unplaced, bundles, breaks, difference


class _Prices:
    """What sets of atoms cost on a knob, in one number for the first four tiers.

    Each bundle and spread is counted on every knob, as in a column. All that a price is made of is
    a sum over atoms, many numbers side by side in one, each in a lane of its own: what is missed
    under each travel, and how many items are of each class, want each travel, and move in each
    breakable snapshot. So the sums of a set follow at once from those of another.

    Args:
        problem: the costs.
    """

    def __init__(self, problem: Problem) -> None:
        self._problem = problem
        self.scale = scale = scale_of(problem)
        atoms = problem.atoms
        everything = (1 << problem.items) - 1
        weighted = [
            *((items, weight) for items, weight in problem.classes if weight),
            *((bundle, scale.bundles) for bundle in problem.bundles),
            *((spread.items, spread.weight) for spread in problem.spreads),
        ]
        for inside, weight in problem.intrusions:
            weighted += [(inside, weight), (everything & ~inside, weight)]
        # An intrusion is counted for both its sides: once too often for every set.
        self._base = -problem.first - sum(weight for _, weight in problem.intrusions)
        wishes = [
            sum(1 << item for item, wanted in enumerate(problem.wanted) if wanted == travel)
            for travel in range(len(problem.travel_prices))
        ]
        breakable: dict[int, int] = {}
        for moved, weight in problem.breakable:
            # To move what another holds, and the other way round, is broken by the same sets.
            side = min(moved, everything & ~moved)
            breakable[side] = breakable.get(side, 0) + weight * scale.breaks
        counted = [*(items for items, _ in weighted), *wishes, *breakable]
        self._lane = lane = problem.items.bit_length() + 1
        self._wishing, self._breaking = len(weighted) * lane, (len(weighted) + len(wishes)) * lane
        self._lanes = sum(1 << lane * at for at in range(len(weighted) + len(wishes)))
        by_weight: dict[int, int] = {}
        for at, (_, weight) in enumerate(weighted):
            by_weight[weight] = by_weight.get(weight, 0) | 1 << lane * at + lane - 1
        self._by_weight = [(mask, weight) for weight, mask in by_weight.items()]
        self._breakable = [
            (self._breaking + lane * at, weight)
            for at, weight in enumerate(breakable.values())
            if weight
        ]
        self.counts = [
            sum((atom.items & items).bit_count() << lane * at for at, items in enumerate(counted))
            for atom in atoms
        ]
        self.classes = [
            sum(1 << at for at, (items, _) in enumerate(weighted) if items & atom.items)
            for atom in atoms
        ]
        own = [sum(problem.each[item] for item in bits(atom.items)) for atom in atoms]
        self._pairs: list[dict[int, int]] = [{} for _ in atoms]
        self._read_pairs(own)
        rows = [
            [
                sum(row[i] for i in bits(a.items)) + first
                for a, first in zip(atoms, own, strict=True)
            ]
            for row in problem.travel_prices
        ]
        self._wide = 1 + max((sum(row) for row in rows), default=0).bit_length()
        self.missed = [
            sum(row[number] << self._wide * travel for travel, row in enumerate(rows))
            for number in range(len(atoms))
        ]
        self._known: dict[int, int] = {0: 0}
        self._known_kept: dict[int, dict[int, int]] = {
            knob: {0: 0} for knob in problem.kept_travels
        }

    def _read_pairs(self, own: list[int]) -> None:
        of = {item: n for n, atom in enumerate(self._problem.atoms) for item in bits(atom.items)}
        for (one, other), weight in self._problem.pairs.items():
            first, second = sorted((of[one], of[other]))
            if first == second:
                own[first] += weight
            else:
                self._pairs[first][second] = self._pairs[first].get(second, 0) + weight

    @property
    def middles(self) -> tuple[float, float, float, float]:
        """About what one change of each tier comes to, in its points."""
        omissions = [atom.omission for atom in self._problem.atoms if atom.omission] or [1]
        breaks = [weight for _, weight in self._problem.breakable] or [1]
        return sum(omissions) / len(omissions) / 2, 0.5, sum(breaks) / len(breaks) / 2 or 1.0, 1.0

    def leaving(self, number: int) -> int:
        """What leaving an atom out costs."""
        return int(self.scale.cost(*self._problem.atoms[number].costs))

    def of(self, atoms: int, knob: int, missed: int, counts: int) -> int:
        """What a set of atoms costs on a knob, given the sums of what it misses and counts."""
        known = self._known_kept.get(knob, self._known)
        found = known.get(atoms)
        if found is None:
            if len(known) >= MOST_KNOWN:
                known.clear()
                known[0] = 0
            kept = self._problem.kept_travels.get(knob)
            found = known[atoms] = self._priced(atoms, kept, missed, counts)
        return found

    def _priced(self, atoms: int, kept: int | None, missed: int, counts: int) -> int:
        value, lane, wide = self._base, self._lane, self._wide
        # The highest bit of each lane is set where its count is not zero.
        some = counts + self._lanes * ((1 << lane - 1) - 1)
        for own, weight in self._by_weight:
            value += weight * (some & own).bit_count()
        mask = (1 << wide) - 1
        if kept is not None:
            value += missed >> wide * kept & mask
        else:
            wanted = (some & self._lanes << lane - 1) >> self._wishing
            wanted &= (1 << self._breaking - self._wishing) - 1
            value += min([missed >> wide * (at // lane) & mask for at in bits(wanted)])
        if self._breakable:
            size = self._problem.items_of(atoms).bit_count()
            full = (1 << lane) - 1
            for at, weight in self._breakable:
                moving = counts >> at & full
                value += weight * min(moving, size - moving)
        if self._problem.pairs:
            for number in bits(atoms):
                for other, weight in self._pairs[number].items():
                    if atoms >> other & 1:
                        value += weight
        return value
