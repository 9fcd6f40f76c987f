"""An allocation that changes move by move, and what it costs in the first four tiers."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence

from benchmarks.peers.costs import Costs

NOWHERE = -1
Change = tuple[int, int]
"""A unit, and the knob that it goes to, or :data:`NOWHERE`."""


def ones(mask: int) -> Iterator[int]:
    """The numbers of the bits that are set, the lowest first."""
    while mask:
        low = mask & -mask
        yield low.bit_length() - 1
        mask -= low


class _Tables:
    """Costs by unit, as bits and rows that are quick to add up."""

    def __init__(self, costs: Costs) -> None:
        units, unit_of = costs.shape.units, costs.shape.unit_of
        self.kinds = [_bits(costs.kind[each] for each in unit) for unit in units]
        self.voices = [_bits(costs.voice[each] for each in unit) for unit in units]
        stance = costs.stance
        self.stances = [_bits(stance[e] for e in unit if e in stance) for unit in units]
        self.loads = [_bits(costs.load[each] for each in unit) for unit in units]
        essential = {each: costs.load[each] for each in costs.essential}
        self.essential = [_bits(essential[e] for e in unit if e in essential) for unit in units]
        lead = {each: costs.voice[each] for each in costs.essential}
        self.leading = [_bits(lead[each] for each in unit if each in lead) for unit in units]
        self.lesser = [any(each not in lead for each in unit) for unit in units]
        self.wanted = [{costs.wanted[each] for each in unit} for unit in units]
        self.missed = [
            [sum(row) for row in zip(*(costs.missed[each] for each in unit), strict=True)]
            for unit in units
        ]
        pairs: list[dict[int, int]] = [{} for _ in units]
        for (one, other), weight in costs.pairs.items():
            low, high = sorted((unit_of[one], unit_of[other]))
            pairs[low][high] = pairs[low].get(high, 0) + weight
        self.pairs = [tuple(each.items()) for each in pairs]


def _bits(numbers: Iterable[int]) -> int:
    found = 0
    for number in numbers:
        found |= 1 << number
    return found


class State:
    """Which unit is on which knob, always within the demands.

    The four tiers are one whole number, each tier outweighing all that can come after it.

    Args:
        costs: the request and its tables.
    """

    def __init__(self, costs: Costs) -> None:
        shape = self.shape = costs.shape
        self.costs, self.tables = costs, _Tables(costs)
        count = len(shape.units)
        self.knob = [NOWHERE] * count
        self.on = [0] * shape.knob_count
        self.carried = [0] * shape.knob_count
        self.routes = 0
        self.size = [len(unit) for unit in shape.units]
        self.open = [sum(1 << knob for knob in knobs) for knobs in shape.open]
        surface = shape.request.surface
        self.most = surface.destinations_per_knob or len(shape.names)
        self.most_routes = len(shape.names) if surface.routes is None else surface.routes
        unit_of = shape.unit_of
        self.breaking, self.parting, self.leaving = self._scales()
        spreads = [(each.members, each.weight) for each in costs.spreads]
        spreads += [(members, self.parting) for members in costs.bundles]
        self._spreads = [
            (tuple({unit_of[each]: None for each in members}), weight)
            for members, weight in spreads
        ]
        self.spreads_of: list[list[int]] = [[] for _ in range(count)]
        for at, (units, _) in enumerate(self._spreads):
            for unit in units:
                self.spreads_of[unit].append(at)
        self.bundle_of: list[tuple[int, ...]] = [(unit,) for unit in range(count)]
        for units, _ in self._spreads[len(costs.spreads) :]:
            for unit in units:
                self.bundle_of[unit] = tuple(dict.fromkeys((*self.bundle_of[unit], *units)))
        self._known: dict[int, int] = {}
        self._known_kept: dict[int, dict[int, int]] = {knob: {} for knob in costs.missed_kept}
        # To leave out what must be placed is no layout: it weighs more than all the tiers.
        no_layout = 1 + sum(costs.unplaced)
        bundled = {each for members in costs.bundles for each in members}
        self.left_out = [
            self.leaving * (sum(costs.unplaced[each] for each in unit) + no_layout * required)
            + self.parting * sum(each in bundled for each in unit)
            + sum(costs.hidden[each] for each in unit)
            for unit, required in zip(shape.units, shape.required, strict=True)
        ]
        self.nothing = sum(self.left_out) - self.parting * len(costs.bundles)
        self.value = self.nothing

    def _scales(self) -> tuple[int, int, int]:
        """What a point of the third, second and first tier weighs in points of the fourth."""
        costs, weights = self.costs, self.shape.request.weights
        names = len(self.shape.names)
        sharing = weights.mix_kinds + weights.mix_voices + weights.join
        sharing += weights.essential + 2 * weights.company + weights.held + weights.crowd
        sharing = sharing * names + weights.heap * names**2
        sharing += sum(max(row) for row in costs.missed) + sum(costs.pairs.values())
        sharing += sum(max(row) for row in costs.missed_kept.values())
        sharing += self.shape.knob_count * sum(weight for _, weight in costs.alone)
        sharing += sum(len(each.members) * each.weight for each in costs.spreads)
        sharing += sum(costs.hidden)
        breaks = names * sum(broken.weight for broken in costs.broken)
        # Twice as much as is needed, so that a difference can be taken apart again.
        breaking = 2 * sharing + 2
        parting = 2 * breaking * (breaks + 1)
        return breaking, parting, 2 * parting * (sum(map(len, costs.bundles)) + 1)

    def parted(self, difference: int) -> tuple[int, int, int, int]:
        """A difference of two values, tier by tier."""
        found = []
        for scale in (self.leaving, self.parting, self.breaking):
            found.append((difference + scale // 2) // scale)
            difference -= found[-1] * scale
        unplaced, bundles, breaks = found
        return unplaced, bundles, breaks, difference

    def spread(self, at: int) -> int:
        """What the spread of a bundle or rule costs now."""
        units, weight = self._spreads[at]
        used = {self.knob[unit] for unit in units}
        used.discard(NOWHERE)
        # Of a bundle that is all left out one thing less is paid for as well.
        bundle = at >= len(self.costs.spreads)
        return weight * (len(used) - 1) if used or bundle else 0

    def spread_weight(self, at: int) -> int:
        """What each knob more than one costs a bundle or rule."""
        return self._spreads[at][1]

    def price_of(self, mask: int) -> int:
        """What a set of units costs on a knob whose travel is free, as :meth:`price` does."""
        return self._priced(mask, None)

    def price(self, knob: int) -> int:
        """What is on a knob costs so much; what is left out and spreads aside."""
        mask = self.on[knob]
        known = self._known_kept.get(knob, self._known)
        found = known.get(mask)
        if found is None:
            found = known[mask] = self._priced(mask, self.costs.missed_kept.get(knob))
        return found

    def _priced(self, mask: int, kept: Sequence[int] | None) -> int:
        units = list(ones(mask))
        if not units:
            return 0
        tables, weights = self.tables, self.shape.request.weights
        kinds = voices = loads = essential = leading = lesser = stances = size = 0
        for unit in units:
            kinds |= tables.kinds[unit]
            voices |= tables.voices[unit]
            loads |= tables.loads[unit]
            stances |= tables.stances[unit]
            essential |= tables.essential[unit]
            leading |= tables.leading[unit]
            lesser |= tables.lesser[unit]
            size += self.size[unit]
        value = weights.mix_kinds * (kinds.bit_count() - 1)
        value += weights.mix_voices * (voices.bit_count() - 1) + weights.crowd * (size - 1)
        more = loads.bit_count() - 1
        value += weights.join * more + weights.heap * (more * (more - 1) // 2)
        value += weights.essential * max(0, essential.bit_count() - 1)
        value += weights.held * max(0, stances.bit_count() - 1)
        visited = leading.bit_count() if voices.bit_count() > 1 else 0
        value += weights.company * (visited + bool(essential and lesser))
        if kept is not None:
            value += sum(kept[each] for unit in units for each in self.shape.units[unit])
        else:
            rows = [tables.missed[unit] for unit in units]
            travels = {travel for unit in units for travel in tables.wanted[unit]}
            value += min([sum([row[travel] for row in rows]) for travel in travels])
        for unit in units:
            # Each pair is listed once, under its lower unit.
            for other, weight in tables.pairs[unit]:
                if mask >> other & 1:
                    value += weight
        if self.costs.alone or self.costs.broken:
            value += self._priced_by_members(units)
        return value

    def _priced_by_members(self, units: Sequence[int]) -> int:
        value = 0
        inner = [each for unit in units for each in self.shape.units[unit]]
        for inside, weight in self.costs.alone:
            if 0 < sum([each in inside for each in inner]) < len(inner):
                value += weight
        for broken in self.costs.broken:
            moving = sum([each in broken.moved for each in inner])
            value += self.breaking * broken.weight * min(moving, len(inner) - moving)
        return value

    def set_to(self, knob_of: Sequence[int]) -> int:
        """Put every unit where a list says, whether or not that is allowed; the new value."""
        for unit, knob in enumerate(knob_of):
            self.put(unit, knob)
        self.value = sum(map(self.price, range(len(self.on))))
        self.value += sum(map(self.spread, range(len(self._spreads))))
        self.value += sum(
            left_out
            for left_out, knob in zip(self.left_out, self.knob, strict=True)
            if knob == NOWHERE
        )
        return self.value

    def put(self, unit: int, knob: int) -> None:
        """Put a unit on a knob or nowhere, whether or not that is allowed."""
        before = self.knob[unit]
        if before != NOWHERE:
            self.on[before] &= ~(1 << unit)
            self.carried[before] -= self.size[unit]
            self.routes -= self.size[unit]
        self.knob[unit] = knob
        if knob != NOWHERE:
            self.on[knob] |= 1 << unit
            self.carried[knob] += self.size[unit]
            self.routes += self.size[unit]

    def fits(self, unit: int, knob: int) -> bool:
        """Whether a unit that has been put on a knob may be there."""
        if knob == NOWHERE:
            return not self.shape.required[unit]
        return (
            bool(self.open[unit] >> knob & 1)
            and not self.shape.clashes[unit] & self.on[knob]
            and self.carried[knob] <= self.most
            and self.routes <= self.most_routes
        )

    def tried(self, changes: Sequence[Change]) -> int | None:
        """Make the changes; by how much they make it dearer, or None and nothing is changed."""
        knob_of = self.knob
        knobs = {knob for unit, to in changes for knob in (knob_of[unit], to)}
        knobs.discard(NOWHERE)
        spreads = {at for unit, _ in changes for at in self.spreads_of[unit]}
        before = sum(map(self.price, knobs)) + sum(map(self.spread, spreads))
        undo = [(unit, knob_of[unit]) for unit, _ in changes]
        for unit, to in changes:
            self.put(unit, to)
        if not all(self.fits(unit, to) for unit, to in changes):
            self.undo(undo)
            return None
        after = sum(map(self.price, knobs)) + sum(map(self.spread, spreads))
        for unit, was in undo:
            if was == NOWHERE:
                after -= self.left_out[unit]
            if knob_of[unit] == NOWHERE:
                after += self.left_out[unit]
        return after - before

    def undo(self, undo: Iterable[Change]) -> None:
        """Put units back where they were."""
        for unit, was in undo:
            self.put(unit, was)
