"""Whether one knob may carry a mask, and what that costs, from the definitions.

Validity and every cost but the runs and spreads belong to one knob and its mask, which is what
makes the brute force quick.
"""

from __future__ import annotations

from itertools import pairwise

from knobpack.words import Alone, Apart, Barred, Fixed, Together, Travel
from tests.oracles.reading import Reading, ReadRule, bits, miss


def fits(reading: Reading, knob: int, mask: int) -> bool:
    """Whether a knob may carry exactly this, as far as that can be told from the knob alone."""
    return open_to(reading, knob, mask) and not reading.kept[knob] & ~mask


def open_to(reading: Reading, knob: int, mask: int) -> bool:
    """Whether a knob may carry this, with what the base keeps there or without."""
    if reading.reserved[knob] and mask & ~reading.kept[knob]:
        return False
    if any(kept & mask for other, kept in enumerate(reading.kept) if other != knob):
        return False
    return fits_alone(reading, reading.knobs[knob].name, mask)


def may_be_left_out(reading: Reading, mask: int) -> bool:
    """Whether exactly these may be left out, and so all others be routed."""
    if reading.routes is not None and (reading.everything & ~mask).bit_count() > reading.routes:
        return False
    if any(reading.destinations[bit].must_place for bit in bits(mask)):
        return False
    if any(mask & kept for kept in reading.kept):
        return False
    for each in reading.rules:
        if each.rule.weight is None:
            if isinstance(each.rule, Fixed) and mask & each.first:
                return False
            if isinstance(each.rule, Together) and mask & each.first not in (0, each.first):
                return False
    return True


def contradicted(reading: Reading) -> frozenset[int]:
    """What fits on no open knob by itself, with no more than what is bound to it: masks.

    What the base keeps somewhere is not asked about.
    """
    open_knobs = [
        knob.name for knob, shut in zip(reading.knobs, reading.reserved, strict=True) if not shut
    ]
    kept = sum(reading.kept)
    alone = {_bound(reading, 1 << bit) for bit in range(len(reading.names))}
    return frozenset(
        unit
        for unit in (alone if open_knobs else ())
        if not unit & kept and not any(fits_alone(reading, name, unit) for name in open_knobs)
    )


def _bound(reading: Reading, mask: int) -> int:
    """A mask with all that must be on one knob with any of it."""
    for _ in reading.names:
        for each in reading.rules:
            if isinstance(each.rule, Together) and each.rule.weight is None and mask & each.first:
                mask |= each.first
    return mask


def fits_alone(reading: Reading, name: str | None, mask: int) -> bool:
    """Whether a knob may carry exactly this where all else is left out, the base's own too.

    Args:
        reading: the request.
        name: that of the knob; None: one that no rule names.
        mask: what it carries.
    """
    if reading.per_knob is not None and mask.bit_count() > reading.per_knob:
        return False
    if any(against(reading, mask & moved, mask & ~moved) for moved in reading.firm):
        return False
    required = (each for each in reading.rules if each.rule.weight is None)
    return all(_rule_holds(each, name, mask) for each in required)


def omission(reading: Reading, mask: int) -> int:
    """Tier *unplaced*: what leaving these out costs; nothing for what is hidden."""
    priorities = [reading.destinations[bit].priority for bit in bits(mask & ~reading.lost)]
    return sum(reading.weights.unplaced[each - 1] for each in priorities if each < 5)


def hidden(reading: Reading, mask: int) -> int:
    """Tier *sharing*: what leaving out those of these costs that are hidden."""
    count = sum(reading.destinations[bit].priority == 5 for bit in bits(mask & ~reading.lost))
    return count * max(reading.weights.crowd - 1, 0)


def intruding(reading: Reading, mask: int) -> int:
    """Tier *bundles*: how many expendable ones share a knob with what is not of their bundle."""
    found = 0
    for bit in bits(mask & reading.expendable):
        own = next((each for each in reading.bundles if each >> bit & 1), 1 << bit)
        found += bool(mask & ~own)
    return found


def breaks(reading: Reading, mask: int) -> int:
    """Tier *independence*: what it costs that these share a knob."""
    return sum(weight * wronged(reading, mask, moved) for moved, weight in reading.soft)


def wronged(reading: Reading, mask: int, moved: int) -> int:
    """How many on a knob do the wrong thing in a snapshot: the fewer, moved ones of as many.

    Where a layout is in use, those of them that are up against nothing new do not count.
    """
    fewer, more = sorted((mask & moved, mask & ~moved), key=int.bit_count)
    return len(against(reading, fewer, more))


def against(reading: Reading, some: int, others: int) -> list[int]:
    """Those of ``some`` that share with one of ``others`` that they did not share with before."""
    return [bit for bit in bits(some) if others & ~reading.joined[bit]]


def sharing(reading: Reading, knob: int, mask: int, travel: Travel | None = None) -> int:
    """Tier *sharing*, all but the spreads: what it costs that these share this knob.

    Args:
        reading: the request.
        knob: the knob.
        mask: what it carries.
        travel: the travel it is set to; None: the kept one, or else the cheapest wanted on it.
    """
    return sum(sharing_terms(reading, knob, mask, travel).values())


def sharing_terms(
    reading: Reading, knob: int, mask: int, travel: Travel | None = None
) -> dict[str, int]:
    """The same, term by term."""
    if not mask:
        return {}
    weights = reading.weights
    others = sum(1 for load in reading.loads if load & mask) - 1
    dear = sum(1 << bit for bit in bits(mask) if reading.destinations[bit].priority == 1)
    holding = [load for load in reading.loads if load & dear]
    fixed = travel or reading.kept_travel[knob]
    voices = [own for own in reading.voices if own & mask]
    visited = [own for own in voices if own & dear and mask & ~own]
    found = {
        "mix_kinds": weights.mix_kinds * (sum(1 for kind in reading.kinds if kind & mask) - 1),
        "mix_voices": weights.mix_voices * len(voices[1:]),
        "join": weights.join * others + weights.heap * sum(range(others)),
        "essential": weights.essential * len(holding[1:]),
        "company": weights.company * (len(visited) + (dear not in (0, mask))),
        "held": weights.held * len([way for way in reading.stances if way & mask][1:]),
        "crowd": weights.crowd * (mask.bit_count() - 1),
        "travel": sum(miss(reading, bit, fixed) for bit in bits(mask))
        if fixed
        else min(misses(reading, knob, mask).values()),
        "apart": 0,
        "alone": 0,
    }
    for each in reading.rules:
        if isinstance(each.rule, Apart) and each.rule.weight is not None:
            found["apart"] += each.rule.weight * _pairs(each, mask)
        if isinstance(each.rule, Alone) and each.rule.weight is not None:
            found["alone"] += each.rule.weight * bool(mask & each.first and mask & ~each.first)
    return found


def misses(reading: Reading, knob: int, mask: int) -> dict[Travel, int]:
    """For each travel that a knob may take with a mask on it, what it would cost there.

    It is one that is wanted. In a layout in use it may be the one that the knob had, and is that
    one where the knob keeps something, for what changes counts before what is missed.
    """
    inside = bits(mask)
    found = {
        reading.wanted[lead]: sum(reading.misses[bit][lead] for bit in inside) for lead in inside
    }
    had = reading.previous_travel[knob]
    if reading.in_use and had is not None:
        cost = sum(miss(reading, bit, had) for bit in inside)
        return {**found, had: cost} if mask & ~reading.previous[knob] else {had: cost}
    return found


def spreads(reading: Reading) -> list[tuple[int, int]]:
    """What ought to be on one knob, with the weight for each knob more."""
    return [
        (each.first, each.rule.weight)
        for each in reading.rules
        if isinstance(each.rule, Together) and each.rule.weight is not None
    ]


def changed(reading: Reading, mask: int) -> tuple[int, int]:
    """Tier *change*: what a bundle costs that is not whole, and what these routes cost besides."""
    before = [bit for each in reading.previous_bundles for bit in bits(each)]
    route = sum(reading.standing[bit] for bit in before) + len(reading.previous_bundles) + 1
    return route * len(before) + route, sum(route + reading.standing[bit] for bit in bits(mask))


def stays(reading: Reading, knob: int, mask: int, travel: Travel | None = None) -> int:
    """Tier *change*: what is saved because a knob has some or all of what it had before.

    Each route saves more than all importance and travels, and its own importance; a bundle more
    than all routes; and a travel that was set anew takes one off, in an edit only where the knob
    gets nothing new.
    """
    had = reading.previous[knob]
    if not mask & had:
        return 0
    bundle, routes = changed(reading, mask & had)
    together = had & ~reading.edited
    saved = routes + bundle * (together != 0 and together & ~mask == 0)
    before = reading.previous_travel[knob]
    if before is None or (reading.in_use and mask & ~had):
        return saved
    fixed = travel or reading.kept_travel[knob]
    if fixed:
        return saved - (fixed != before)
    prices = misses(reading, knob, mask)
    return saved - (prices.get(before) != min(prices.values()))


def pairs_in_sequence(reading: Reading) -> list[tuple[int, int]]:
    """Each two destinations of which the second is to come directly after the first."""
    heads = [[bits(mask)[0] for mask in own] for own in reading.drawn]
    return [pair for own in heads for pair in pairwise(own)]


def place(reading: Reading, knob: int, mask: int) -> int:
    """Tier *layout*, all but the runs: what it costs that these are on this very knob."""
    weights = reading.weights
    usual = {kind for each in reading.knobs for kind in each.usual}
    cost = 0
    for bit in bits(mask):
        destination = reading.destinations[bit]
        cost += weights.favour * reading.steps[knob] * (5 - destination.priority)
        if destination.kind in usual and destination.kind not in reading.knobs[knob].usual:
            cost += weights.habit
    name = reading.knobs[knob].name
    for each in reading.rules:
        if each.rule.weight is not None:
            hit = (mask & each.first).bit_count()
            if isinstance(each.rule, Fixed) and each.rule.knob != name:
                cost += each.rule.weight * hit
            if isinstance(each.rule, Barred) and name in each.rule.knobs:
                cost += each.rule.weight * hit
    return cost


def run_words(reading: Reading) -> list[tuple[int, int]]:
    """Each voice and group, with the weight for each run of it more than one."""
    found = [(voice, reading.weights.voice_runs) for voice in reading.voices]
    return found + [(group, reading.weights.group_runs) for group in reading.groups]


def neighbours(reading: Reading) -> list[int]:
    """The knobs that stand right of and next to the knob before them."""
    found = []
    for knob in range(1, len(reading.knobs)):
        left, right = reading.knobs[knob - 1], reading.knobs[knob]
        if left.row == right.row and left.column + 1 == right.column:
            found.append(knob)
    return found


def _rule_holds(each: ReadRule, knob: str | None, mask: int) -> bool:
    match each.rule:
        case Together():
            return mask & each.first in (0, each.first)
        case Apart():
            return _pairs(each, mask) == 0
        case Alone():
            return not (mask & each.first and mask & ~each.first)
        case Fixed(knob=fixed):
            return knob == fixed or not mask & each.first
        case Barred(knobs=barred):
            return knob not in barred or not mask & each.first
    raise TypeError(each.rule)


def _pairs(each: ReadRule, mask: int) -> int:
    """Pairs in the mask of one of ``first`` and another of ``second``, in either order.

    Counted by what is in both: ordered pairs less those with themselves, and those inside the
    overlap come twice.
    """
    a, b = (mask & each.first).bit_count(), (mask & each.second).bit_count()
    both = (mask & each.first & each.second).bit_count()
    return a * b - both - both * (both - 1) // 2
