"""The least number of knobs from the words alone, and an answer on it held against them.

A set of destinations may be on one knob if some knob may carry exactly these: one of the surface,
or one that is added and that nothing names. That is read off the request, sentence by sentence;
nothing here is shared with what makes the answer.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from itertools import combinations, product

import attrs

from knobpack.explanation.least import COUNT, SEARCH, SEPARATED, Crowd, LeastKnobs
from knobpack.words import Fixed, Knob, Layout, Request, Route, Together
from tests.oracles import masks
from tests.oracles.problems import partitions
from tests.oracles.reading import Reading, ReadRule, bits, read

FEW = 6
"""Destinations, at most, for which :func:`wrong_in` tries every way to part them."""

ADDED = None
"""A knob that is added to the surface."""


@attrs.frozen(eq=False)
class Sharing:
    """What may be on one knob.

    Args:
        reading: the request as bits, no snapshot of it breakable.
        pinned: for each knob, what is kept or must be there.
    """

    reading: Reading
    pinned: tuple[int, ...]
    _known: dict[int, bool] = attrs.field(factory=dict, init=False)

    def admits(self, mask: int) -> bool:
        """Whether some knob may carry exactly these."""
        if mask not in self._known:
            knobs = (ADDED, *range(len(self.pinned)))
            self._known[mask] = any(self.may_carry(knob, mask) for knob in knobs)
        return self._known[mask]

    def may_carry(self, knob: int | None, mask: int) -> bool:
        """Whether a knob may carry exactly these, whatever is on the others."""
        reading = self.reading
        for place, there in enumerate(self.pinned):
            if there & (~mask if place == knob else mask):
                return False
        if knob is ADDED:
            return masks.fits_alone(reading, None, mask)
        return masks.fits(reading, knob, mask)

    def bound_to(self, mask: int) -> int:
        """These with all that is on their knob wherever they are."""
        grown = mask
        for each in required(self.reading):
            if isinstance(each.rule, Together) and each.first & grown:
                grown |= each.first
        for there in self.pinned:
            if there & grown:
                grown |= there
        return mask if grown == mask else self.bound_to(grown)

    def may_share(self, one: int, other: int) -> bool:
        """Whether two bits may be on one knob: more on it than must be would only hinder."""
        return self.admits(self.bound_to(1 << one | 1 << other))


def required(reading: Reading) -> list[ReadRule]:
    """The rules that are required."""
    return [each for each in reading.rules if each.rule.weight is None]


def sharing_of(request: Request) -> Sharing:
    """What may be on one knob, as a request has it."""
    reading = read(request)
    reading = attrs.evolve(reading, firm=(*reading.firm, *(moved for moved, _ in reading.soft)))
    pinned = list(reading.kept)
    for each in required(reading):
        if isinstance(each.rule, Fixed):
            at = [knob.name for knob in reading.knobs].index(each.rule.knob)
            pinned[at] |= each.first
    return Sharing(reading, tuple(pinned))


def least_by_trying(sharing: Sharing) -> int | None:
    """The fewest sets of any way to part all destinations; None if no way will do."""
    every = tuple(range(len(sharing.reading.names)))
    return min(
        (len(sets) for sets in partitions(every) if all(map(sharing.admits, sets))), default=None
    )


def most_separated(sharing: Sharing) -> int:
    """The most destinations of which no two may share, by trying."""
    every = range(len(sharing.reading.names))
    return max(
        count
        for count in range(len(every) + 1)
        for some in combinations(every, count)
        if not any(sharing.may_share(*pair) for pair in combinations(some, 2))
    )


def laid_out(request: Request, answer: LeastKnobs) -> tuple[Request, Layout]:
    """A surface that is wide enough, with no snapshot to be broken, and the sets on its knobs."""
    added = answer.knob_of.count(None)
    surface = request.surface
    row = 1 + max((knob.row for knob in surface.knobs), default=0)
    more = [Knob(f"Added {number}", row, number) for number in range(1, added + 1)]
    wide = attrs.evolve(
        surface, knobs=(*surface.knobs, *more), routes=None, snapshots=None, layers=None
    )
    firm = tuple(attrs.evolve(each, break_weight=None) for each in request.played)
    spare = iter(knob.name for knob in more)
    routes = [
        Route(name, at)
        for names, knob in zip(answer.sets, answer.knob_of, strict=True)
        for at in [knob or next(spare)]
        for name in names
    ]
    return attrs.evolve(request, surface=wide, snapshots=firm), Layout(tuple(routes))


def wrong_in(request: Request, answer: LeastKnobs) -> list[str]:
    """All that is wrong in an answer; nothing if it is right."""
    sharing = sharing_of(request)
    names = list(sharing.reading.names)
    told = [*answer.sets, answer.separated, *answer.bound]
    told += [crowd.destinations for crowd in answer.crowds]
    for some in told:
        if not _rising(names, some):
            return [f"not destinations in order: {some}"]
    found = list(_wrong_sets(sharing, answer))
    found += _wrong_knobs(sharing, answer)
    found += _wrong_bound(sharing, answer)
    found += _wrong_unshared(sharing, answer)
    on_knobs = [each for each in request.keep.routes if each.destination in answer.separated]
    if answer.kept != (len(on_knobs) > 1):
        found.append(f"{len(on_knobs)} of what is separated are kept on knobs")
    if len(names) <= FEW:
        number = least_by_trying(sharing)
        if number is None or not answer.independent_bound <= number <= answer.independent:
            found.append(f"it takes {number}")
    reading = sharing.reading
    knobs = range(len(reading.knobs))
    surface = (
        len(names),
        reading.per_knob,
        len(knobs),
        sum(1 for knob in knobs if reading.kept[knob] or not reading.reserved[knob]),
    )
    if surface != (answer.destinations, answer.per_knob, answer.knobs, answer.open_knobs):
        found.append(f"the surface is {surface}")
    return found


def _rising(names: list[str], some: Iterable[str]) -> bool:
    if not set(some) <= set(names):
        return False
    at = [names.index(name) for name in some]
    return at == sorted(set(at))


def _mask(sharing: Sharing, some: Iterable[str]) -> int:
    return sum(1 << sharing.reading.names.index(name) for name in some)


def _wrong_sets(sharing: Sharing, answer: LeastKnobs) -> Iterator[str]:
    masks = [_mask(sharing, some) for some in answer.sets]
    if len(masks) != answer.independent:
        yield f"{len(masks)} sets, not {answer.independent}"
    if sum(masks) != sharing.reading.everything or sum(map(int.bit_count, masks)) != len(
        sharing.reading.names
    ):
        yield "not each destination in one set"
    if [mask & -mask for mask in masks] != sorted(mask & -mask for mask in masks):
        yield "the sets are not in order"
    for some, mask in zip(answer.sets, masks, strict=True):
        if not mask or not sharing.admits(mask):
            yield f"these may not be on one knob: {some}"


def _wrong_knobs(sharing: Sharing, answer: LeastKnobs) -> Iterator[str]:
    place = {knob.name: at for at, knob in enumerate(sharing.reading.knobs)}
    masks = [_mask(sharing, some) for some in answer.sets]
    if len(answer.knob_of) != len(masks) or not set(answer.knob_of) <= {None, *place}:
        yield f"no knob for each set: {answer.knob_of}"
        return
    at = [None if name is None else place[name] for name in answer.knob_of]
    taken = [knob for knob in at if knob is not None]
    if len(set(taken)) != len(taken):
        yield "two sets on one knob"
    for mask, knob in zip(masks, at, strict=True):
        if not sharing.may_carry(knob, mask):
            yield f"{knob} may not carry {bin(mask)}"
    # No set that has none can be given a knob, even if others give theirs up for another
    # (Berge 1957, "Two theorems in graph theory", from memory): then there are as many as can be.
    seen: set[int] = set()
    waiting = [number for number, knob in enumerate(at) if knob is None]
    for number in waiting:  # grows as it goes
        for knob in place.values():
            if knob not in seen and sharing.may_carry(knob, masks[number]):
                seen.add(knob)
                if knob not in at:
                    yield "one more set could be on a knob of the surface"
                    return
                waiting.append(at.index(knob))


def _wrong_bound(sharing: Sharing, answer: LeastKnobs) -> Iterator[str]:
    place = sharing.reading.names.index
    for one, other in combinations(answer.separated, 2):
        if sharing.may_share(place(one), place(other)):
            yield f"these may share: {one} and {other}"
    for crowd in answer.crowds:
        yield from _wrong_crowd(sharing, answer, crowd)
    crowded = [name for crowd in answer.crowds for name in crowd.destinations]
    if len(set(crowded)) != len(crowded):
        yield "a destination in two crowds"
    separated, needed = len(answer.separated), answer.independent_bound
    counted = len(set(answer.separated) - set(crowded))
    counted += sum(crowd.knobs for crowd in answer.crowds)
    by = SEARCH
    if needed in (separated, counted):
        by = SEPARATED if needed == separated else COUNT
    if not counted <= needed <= answer.independent or answer.by != by:
        yield f"{needed} by {answer.by}, but {separated} separated and {counted} counted"


def _wrong_crowd(sharing: Sharing, answer: LeastKnobs, crowd: Crowd) -> Iterator[str]:
    names, most = sharing.reading.names, sharing.reading.per_knob
    inside, count = set(crowd.destinations), len(crowd.destinations)
    outside = [name for name in names if name not in inside]
    if any(
        sharing.may_share(names.index(one), names.index(other))
        for one, other in product(inside, outside)
    ):
        yield f"a crowd that may share with others: {crowd}"
    if most is None or not (crowd.knobs - 1) * most < count <= crowd.knobs * most:
        yield f"not so many knobs for a crowd: {crowd}"
    if len(inside & set(answer.separated)) >= crowd.knobs:
        yield f"no crowd: {crowd}"


def _wrong_unshared(sharing: Sharing, answer: LeastKnobs) -> Iterator[str]:
    names = sharing.reading.names
    units = list(dict.fromkeys(sharing.bound_to(1 << bit) for bit in range(len(names))))
    if answer.unshared != len(units):
        yield f"{len(units)} knobs if nothing shares that need not"
    held = tuple(tuple(names[bit] for bit in bits(unit)) for unit in units if unit & (unit - 1))
    if answer.bound != held:
        yield f"bound are {held}"
