"""The best layouts of a small request, every one, by brute force; and an answer held against them.

Nothing here is shared with what looks for them: all layouts are tried, those of least cost are
kept tier by tier, and what they have in common is counted.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import product

import attrs

from knobpack.explanation.best_layouts import BestLayouts, Place
from knobpack.explanation.company import Company, Differing
from knobpack.explanation.ways import Way
from knobpack.words import Request
from tests.oracles import brute
from tests.oracles.reading import bits, read

Sets = frozenset[frozenset[str]]
Parted = tuple[Sets, frozenset[str]]
"""What shares, and what is left out."""


@attrs.frozen
class BestOfAll:
    """Every best layout of a request.

    Args:
        layouts: each, as the knob of every destination, None where it is left out.
    """

    layouts: tuple[dict[str, str | None], ...]

    @property
    def ways(self) -> frozenset[Parted]:
        """The ways to share that they have."""
        return frozenset(parted_by(knob_of) for knob_of in self.layouts)


def best_of_all(request: Request) -> BestOfAll:
    """Try every layout.

    Raises:
        ValueError: there are more than two million.
    """
    reading = read(request)
    best = brute.best_of(request, reading, brute.valid_layouts(reading))
    assert best is not None
    layouts, found = best[1], []
    for column in range(len(layouts.left_out)):
        knob_of: dict[str, str | None] = dict.fromkeys(reading.names)
        for knob, on in zip(reading.knobs, layouts.on, strict=True):
            knob_of |= {reading.names[bit]: knob.name for bit in bits(int(on[column]))}
        found.append(knob_of)
    return BestOfAll(tuple(found))


def parted_by(knob_of: dict[str, str | None]) -> Parted:
    """The way to share of one layout."""
    used = {knob for knob in knob_of.values() if knob is not None}
    sets = (frozenset(name for name, at in knob_of.items() if at == knob) for knob in used)
    return frozenset(sets), frozenset(name for name, at in knob_of.items() if at is None)


def parted(way: Way) -> Parted:
    """The way to share that an answer names."""
    return frozenset(frozenset(names) for names in way.sets), frozenset(way.unplaced)


def wrong_in(request: Request, answer: BestLayouts, best: BestOfAll | None = None) -> list[str]:
    """All that is wrong in an answer on a layout that is proven best."""
    best = best or best_of_all(request)
    names = tuple(request.by_full_name)
    found = [parted(way) for way in answer.ways]
    wrong = [f"order in {way}" for way in answer.ways if not _in_order(names, way)]
    wrong += [f"not best: {way}" for way in found if way not in best.ways]
    if len(set(found)) != len(found):
        wrong.append("the same way twice")
    if answer.proven and set(found) != best.ways:
        wrong.append("not all ways")
    if answer.stopped == "more than asked for" and not set(found) < best.ways:
        wrong.append("no more ways than these")
    common = _common(names, found)
    told = (answer.always, answer.never_shared, answer.sometimes, answer.always_unplaced)
    wrong += [f"{told} in common, not {common}"] if told != common else []
    wrong += [text for place in answer.places for text in _wrong_place(place, found, best)]
    return wrong + _wrong_differences(answer, found)


def _in_order(names: Sequence[str], way: Way) -> bool:
    def rising(some: Iterable[str]) -> bool:
        numbers = [names.index(name) for name in some]
        return numbers == sorted(numbers)

    firsts = [inside[0] for inside in way.sets]
    every = sorted([name for inside in way.sets for name in inside] + list(way.unplaced))
    return (
        all(rising(some) for some in (*way.sets, way.unplaced, firsts)) and sorted(names) == every
    )


def _common(names: Sequence[str], ways: Sequence[Parted]) -> tuple[object, ...]:
    """Together, alone, differing and left out, pair by pair."""

    def together(one: str, other: str) -> bool:
        return all(any({one, other} <= inside for inside in sets) for sets, _ in ways)

    always = []
    for name in names:
        group = tuple(other for other in names if together(name, other))
        if len(group) > 1 and group not in always:
            always.append(group)
    alone = tuple(n for n in names if all(frozenset((n,)) in sets for sets, _ in ways))
    differing = tuple(n for n in names if len({_company(n, way) for way in ways}) > 1)
    out = tuple(name for name in names if all(name in left for _, left in ways))
    return tuple(always), alone, differing, out


def _company(name: str, way: Parted) -> frozenset[str] | None:
    return next((inside for inside in way[0] if name in inside), None)


def _wrong_place(place: Place, ways: Sequence[Parted], best: BestOfAll) -> list[str]:
    wrong = []
    if not all(frozenset(place.destinations) in sets for sets, _ in ways):
        wrong.append(f"not in every way: {place}")
    here = [all(knob_of[n] == place.knob for n in place.destinations) for knob_of in best.layouts]
    if not any(here):
        wrong.append(f"never on this knob: {place}")
    if place.only is not None and place.only != all(here):
        wrong.append(f"not so in every best layout: {place}")
    return wrong


def _wrong_differences(answer: BestLayouts, ways: Sequence[Parted]) -> list[str]:
    """Each difference told is one, and together they name all that differs."""
    wrong = [text for told in answer.differences for text in _wrong_difference(told, ways)]
    pairs = {pair for told in answer.differences for pair in _pairs(told)}
    for one, other in product(answer.sometimes, repeat=2):
        how = {_whether(one, other, way) for way in ways}
        if len(how) > 1 and frozenset((one, other)) not in pairs:
            wrong.append(f"not told that {one} and {other} differ")
    return wrong


def _wrong_difference(told: Differing, ways: Sequence[Parted]) -> list[str]:
    every = (told.here, *told.others)
    wrong = []
    for name in told.destinations:
        companies = [_company(name, way) for way in ways]
        if companies[0] != _whole(told, told.here):
            wrong.append(f"not so here: {told}")
        if any(companies.count(_whole(told, company)) != company.ways for company in every):
            wrong.append(f"not in so many ways: {told}")
    if sum(company.ways for company in every) != len(ways) or len(every) < 2:
        wrong.append(f"not all ways counted: {told}")
    return wrong


def _pairs(told: Differing) -> Iterator[frozenset[str]]:
    """The pairs that are told to be together in some ways, and those left out in some."""
    for company in (told.here, *told.others):
        beside = told.destinations if company.left_out else company.beside
        yield from (frozenset(pair) for pair in product(told.destinations, beside))


def _whole(told: Differing, company: Company) -> frozenset[str] | None:
    return None if company.left_out else frozenset((*told.destinations, *company.beside))


def _whether(name: str, other: str, way: Parted) -> bool:
    company = _company(name, way)
    return company is None if name == other else company is not None and other in company
