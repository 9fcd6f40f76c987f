"""Company: what goes with what in several ways to share, and where the ways differ."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence

import attrs

from knobpack.explanation.ways import Way
from knobpack.text.shown import Fielded
from knobpack.words.names import listed


@attrs.frozen
class Inseparable:
    """Destinations that are on one knob, or all left out, in each of some ways.

    Args:
        destinations: their full names.
        sets: for each way, all that their knob drives, themselves too; None: they are left out.
    """

    destinations: tuple[str, ...]
    sets: tuple[tuple[str, ...] | None, ...]

    @property
    def differs(self) -> bool:
        """Whether they are with others in one way than in another, or left out in but some."""
        return len(set(self.sets)) > 1


@attrs.frozen
class Company(Fielded):
    """What some destinations are with, in some ways.

    Args:
        beside: the full names of what shares their knob.
        left_out: whether they are left out instead.
        ways: in how many ways it is so.
    """

    beside: tuple[str, ...]
    left_out: bool
    ways: int


@attrs.frozen
class Differing(Fielded):
    """Destinations whose company differs.

    Args:
        destinations: their full names; they always go together.
        here: their company in the first of the ways, and in how many it is the same.
        others: their company in the other ways, the commonest first.
    """

    destinations: tuple[str, ...]
    here: Company
    others: tuple[Company, ...]

    def __str__(self) -> str:
        verb = "are" if len(self.destinations) > 1 else "is"
        others = [
            f"{self._told(each)} in {'another' if each.ways == 1 else f'{each.ways:,} others'}"
            for each in self.others
        ]
        told = f"{listed(self.destinations)} {verb} {self._told(self.here)} here, "
        return told + (f"and {others[0]}" if len(others) == 1 else listed(others))

    def _told(self, company: Company) -> str:
        if company.left_out:
            return "left out"
        if company.beside:
            return f"with {listed(company.beside)}"
        return f"on a knob of {'their' if len(self.destinations) > 1 else 'its'} own"


def units_of(ways: Sequence[Way], names: Iterable[str]) -> tuple[Inseparable, ...]:
    """The largest groups that are never parted, in the order of ``names``."""
    set_of = [{name: names for names in way.sets for name in names} for way in ways]
    units: dict[tuple[tuple[str, ...] | None, ...], list[str]] = {}
    for name in names:
        units.setdefault(tuple(each.get(name) for each in set_of), []).append(name)
    return tuple(Inseparable(tuple(inside), sets) for sets, inside in units.items())


def differences(ways: Sequence[Way]) -> tuple[Differing, ...]:
    """Where the ways differ, told of as few destinations as tell all of it.

    That X is with A here and with B there need not be told of A and of B as well. The one that
    tells the most comes first.
    """
    first = ways[0]
    everything = [*(name for names in first.sets for name in names), *first.unplaced]
    units = [unit for unit in units_of(ways, everything) if unit.differs]
    untold = [_facts(unit, units) for unit in units]
    told: list[Differing] = []
    while any(untold):
        best = max(range(len(units)), key=lambda at: (len(untold[at]), -at))
        gone = untold[best]
        told.append(_differing(units[best]))
        untold = [facts - gone for facts in untold]
    return tuple(told)


def _facts(unit: Inseparable, units: Sequence[Inseparable]) -> frozenset[frozenset[str]]:
    """The units it is with in some ways only, by first name; itself if it is left out in some."""
    own = unit.destinations[0]
    found = {frozenset((own,))} if None in unit.sets else set()
    for other in units:
        if other is not unit and any(
            names is not None and other.destinations[0] in names for names in unit.sets
        ):
            found.add(frozenset((own, other.destinations[0])))
    return frozenset(found)


def _differing(unit: Inseparable) -> Differing:
    counts = Counter(unit.sets)
    company = [
        Company(
            tuple(name for name in names or () if name not in unit.destinations),
            names is None,
            ways,
        )
        for names, ways in counts.items()
    ]
    others = sorted(company[1:], key=lambda each: -each.ways)
    return Differing(unit.destinations, company[0], tuple(others))
