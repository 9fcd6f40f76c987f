"""Ground: what a request forbids, found out from the words alone, each time with the facts."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from typing import TypeAlias

import attrs

from knobpack.reasons import facts as kinds
from knobpack.reasons.facts import Fact, FactKind, Obstacle
from knobpack.words import Request

_Facts: TypeAlias = tuple[Fact, ...]
"""What together forbids something."""

_Parted: TypeAlias = tuple[FactKind, str, tuple[str, ...]]
"""A kind of fact, what says it, and the destinations that something is parted from."""


@attrs.frozen(eq=False)
class Ground:
    """A request as facts stand on it: who moves in which snapshot, what each rule names."""

    request: Request
    _known: dict[tuple[tuple[bool, ...], tuple[str, ...]], tuple[_Parted, ...]] = attrs.field(
        factory=dict, init=False
    )
    _there: dict[tuple[tuple[str, ...], str], Fact] = attrs.field(factory=dict, init=False)

    @cached_property
    def firm(self) -> tuple[tuple[str, frozenset[str]], ...]:
        """The snapshots that may not be broken, with what each moves."""
        request = self.request
        return tuple(
            (each.name, request.moved(each)) for each in request.played if each.break_weight is None
        )

    @cached_property
    def binding(self) -> tuple[tuple[str, tuple[str, ...]], ...]:
        """Required rules that bind together, with all they name."""
        return tuple((str(each.rule), each.joined) for each in self.request.required if each.joined)

    @cached_property
    def placing(self) -> dict[str, tuple[Fact, ...]]:
        """For each destination, the facts that keep or fix it on a knob, or bar it from one."""
        request = self.request
        found: dict[str, list[Fact]] = {name: [] for name in request.by_full_name}
        for route in request.keep.routes:
            found[route.destination].append(Fact(kinds.KEPT, (route.destination,), route.knob))
        for each in request.required:
            kind: FactKind = kinds.FIXED if each.on else kinds.BARRED
            knobs = (each.on,) if each.on else each.off
            for name in each.limited:
                found[name] += [Fact(kind, (name,), knob, str(each.rule)) for knob in knobs]
        return {name: tuple(facts) for name, facts in found.items()}

    @cached_property
    def _units(self) -> dict[str, tuple[str, ...]]:
        units: dict[str, tuple[str, ...]] = {name: (name,) for name in self.request.by_full_name}
        for _, bound in self.binding:
            joined = self.request.named({each for name in bound for each in units[name]})
            units.update(dict.fromkeys(joined, joined))
        return units

    def unit(self, destination: str) -> tuple[str, ...]:
        """The destination with all that required ``together`` rules bind it to, in order."""
        return self._units[destination]

    def bonds(self, one: str, other: str) -> tuple[Fact, ...]:
        """The fewest rules that bind two destinations of a unit together, one after the other."""
        if one == other:
            return ()
        chains: dict[str, tuple[Fact, ...]] = {one: ()}
        waiting = [one]
        while waiting and other not in chains:
            here = waiting.pop(0)
            for rule, bound in self.binding:
                for name in bound if here in bound else ():
                    if name not in chains:
                        chains[name] = (*chains[here], Fact(kinds.TOGETHER, (here, name), by=rule))
                        waiting.append(name)
        return chains[other]

    def separations(self, one: str, others: Sequence[str]) -> list[Fact]:
        """Why a destination may share with none of those others that each fact names."""
        others, use = tuple(others), self.request.use
        parted = self._by_snapshots(self._firm_in[one], others)
        if use is not None:
            parted = tuple(
                (kind, name, tuple(each for each in rest if not use.joined(one, each)))
                for kind, name, rest in parted
            )
        found = [Fact(kind, (one, *rest), by=name) for kind, name, rest in parted if rest]
        for kind, rule, sides in self._parted[one]:
            rest = tuple(each for each in others if each != one and each in sides)
            if rest:
                found.append(Fact(kind, (one, *rest), by=rule))
        return found

    @cached_property
    def _firm_in(self) -> dict[str, tuple[bool, ...]]:
        """For each destination, in which firm snapshots it moves."""
        return {
            name: tuple(name in moved for _, moved in self.firm)
            for name in self.request.by_full_name
        }

    def _by_snapshots(
        self, moves: tuple[bool, ...], others: tuple[str, ...]
    ) -> tuple[_Parted, ...]:
        """Which others firm snapshots part from what moves in just these, and the kind of fact."""
        if (moves, others) not in self._known:
            found: list[_Parted] = []
            for (name, moved), moving in zip(self.firm, moves, strict=True):
                rest = tuple(each for each in others if (each in moved) != moving)
                if rest:
                    found.append((kinds.MOVED if moving else kinds.HELD, name, rest))
            self._known[moves, others] = tuple(found)
        return self._known[moves, others]

    @cached_property
    def _parted(self) -> dict[str, list[tuple[FactKind, str, frozenset[str]]]]:
        """For each destination what required rules part from it, that itself perhaps."""
        everything = frozenset(self.request.by_full_name)
        found: dict[str, list[tuple[FactKind, str, frozenset[str]]]] = {
            name: [] for name in everything
        }
        for each in self.request.required:
            sides: list[tuple[FactKind, frozenset[str], frozenset[str]]] = []
            if each.parted:
                first, second = map(frozenset, each.parted)
                sides.append((kinds.APART, first, second))
            if each.alone:
                inside = frozenset(each.alone)
                sides.append((kinds.ALONE, inside, everything - inside))
            for kind, first, second in sides:
                both = first & second
                for name in first | second:
                    other = second if name in first else first
                    if name in both:
                        other = first | second
                    found[name].append((kind, str(each.rule), other))
        return found

    def parts(self, one: str, other: str) -> Obstacle | None:
        """Why two destinations can never share a knob, in the fewest facts; None if they may."""
        mine, theirs = self.unit(one), self.unit(other)
        found = [
            (*self.bonds(one, here), fact, *self.bonds(there, other))
            for here in mine
            for there in theirs
            for fact in self.separations(here, (there,))
        ]
        most = self.request.surface.destinations_per_knob
        if most is not None and len({*mine, *theirs}) > most:
            chains = [self.bonds(one, each) for each in mine]
            chains += [self.bonds(other, each) for each in theirs]
            found.append((*_shortest(chains, most - 1), Fact(kinds.PER_KNOB, count=most)))
        if not found and (closed := self._closed((*mine, *theirs))):
            about = {name for fact in closed for name in fact.destinations}
            chains = [self.bonds(one, each) for each in mine if each in about]
            chains += [self.bonds(other, each) for each in theirs if each in about]
            found.append((*dict.fromkeys(bond for chain in chains for bond in chain), *closed))
        return Obstacle(min(found, key=len)) if found else None

    def _closed(self, names: tuple[str, ...]) -> tuple[Fact, ...]:
        """Facts that leave no knob on which all of these may be; none if there is such a knob."""
        knobs = self.request.surface.knob_names
        closing: dict[str, set[Fact]] = {}
        for knob in knobs:
            closing[knob] = {fact for name in names for fact in self.closing(name, knob)}
            if not closing[knob]:
                return ()
        used = [fact for name in names for knob in knobs for fact in self.closing(name, knob)]
        used = list(dict.fromkeys(used))
        for fact in reversed(used):
            fewer = [each for each in used if each != fact]
            if not any(facts.isdisjoint(fewer) for facts in closing.values()):
                used = fewer
        return tuple(used)

    def closing(self, name: str, knob: str) -> list[Fact]:
        """What closes a knob to a destination, whatever the layout."""
        placing = self.placing[name]
        found = [fact for fact in placing if (fact.knob == knob) == (fact.kind == kinds.BARRED)]
        if knob in self.request.surface.reserved and not any(
            fact.kind == kinds.KEPT and fact.knob == knob for fact in placing
        ):
            found.append(Fact(kinds.RESERVED, (), knob))
        return found

    def obstacles(
        self, on: Mapping[str, Sequence[str]], destination: str, knob: str
    ) -> tuple[Obstacle, ...]:
        """Why a destination cannot be moved to a knob, all else staying where it is.

        With it goes all that required ``together`` rules bind it to. None: it can be moved. The
        obstacles that stand whatever the layout come first.

        Args:
            on: what each knob carries now.
            destination: its full name.
            knob: where it would go.
        """
        unit = self.unit(destination)
        lasting: list[_Facts] = []  # whatever the layout
        passing: list[_Facts] = []
        for each in unit:
            always, now = self._against(each, knob, on.get(knob, ()))
            bonds = self.bonds(destination, each)
            lasting += [(*bonds, *facts) for facts in always] if bonds else always
            passing += [(*bonds, *facts) for facts in now] if bonds else now
        if len(unit) > 1:
            lasting += self._torn(destination)
        surface, most = self.request.surface, self.request.surface.destinations_per_knob
        full = most is not None and len(on.get(knob, ())) + len(unit) > most
        limits = self._limits(destination, knob, on) if full or surface.routes is not None else ()
        for facts in limits:
            (lasting if Obstacle(facts).lasting else passing).append(facts)
        found = [*sorted(lasting, key=len), *sorted(passing, key=len)]
        # Each once, and none that holds all facts of another. What parts or closes stands last in
        # each, and nowhere else: where it is said by another each time, none holds another.
        if len({facts[-1].by for facts in found}) < len(found):
            sets: dict[frozenset[Fact], _Facts] = {}
            for facts in found:
                sets.setdefault(frozenset(facts), facts)
            found = [facts for own, facts in sets.items() if not any(less < own for less in sets)]
        return tuple(map(Obstacle, found))

    def _against(
        self, name: str, knob: str, there: Sequence[str]
    ) -> tuple[list[_Facts], list[_Facts]]:
        """What forbids that one destination goes to a knob, in every layout and in this one."""
        lasting: list[_Facts] = [(closing,) for closing in self.closing(name, knob)]
        passing: list[_Facts] = []
        unit = self.unit(name)
        # What is kept or fixed there is there in every layout.
        pinned = self._pinned.get(knob, {})
        for fact in self.separations(name, [each for each in there if each not in unit]):
            rest = fact.destinations[1:]
            each = next((each for each in rest if each in pinned), None) if pinned else None
            if each is None:
                passing.append((self._on(rest, knob), fact))
            else:
                lasting.append((pinned[each], Fact(fact.kind, (name, each), by=fact.by)))
        return lasting, passing

    @cached_property
    def _pinned(self) -> dict[str, dict[str, Fact]]:
        """For each knob, of what is kept or fixed on it the first fact that says so."""
        found: dict[str, dict[str, Fact]] = {}
        for name, facts in self.placing.items():
            for at in facts:
                if at.kind in (kinds.KEPT, kinds.FIXED) and at.knob is not None:
                    found.setdefault(at.knob, {}).setdefault(name, at)
        return found

    def _on(self, names: tuple[str, ...], knob: str) -> Fact:
        if (names, knob) not in self._there:
            self._there[names, knob] = Fact(kinds.ON, names, knob)
        return self._there[names, knob]

    def _torn(self, destination: str) -> Iterator[_Facts]:
        """Why what is bound to a destination can be on no knob: it is separated in itself."""
        unit = self.unit(destination)
        for position, one in enumerate(unit[:-1]):
            for fact in self.separations(one, unit[position + 1 :]):
                for other in fact.destinations[1:]:
                    bonds = (*self.bonds(destination, one), *self.bonds(destination, other))
                    pair = attrs.evolve(fact, destinations=(one, other))
                    yield (*dict.fromkeys(bonds), pair)

    def _limits(
        self, destination: str, knob: str, on: Mapping[str, Sequence[str]]
    ) -> Iterator[_Facts]:
        surface, unit = self.request.surface, self.unit(destination)
        most = surface.destinations_per_knob
        there = tuple(each for each in on.get(knob, ()) if each not in unit)
        if most is not None and len(there) + len(unit) > most:
            chains = [self.bonds(destination, each) for each in unit]
            # A unit that is too large by itself is so whatever is there.
            there = () if len(unit) > most else there
            full = (Fact(kinds.ON, there, knob),) if there else ()
            bonds = _shortest(chains, most - len(there))
            yield (*bonds, *full, Fact(kinds.PER_KNOB, count=most))
        if surface.routes is None or any(destination in names for names in on.values()):
            return
        used = sum(len(names) for names in on.values())
        if used + len(unit) > surface.routes:
            used = 0 if len(unit) > surface.routes else used
            in_use = (Fact(kinds.USED, count=used),) if used else ()
            chains = [self.bonds(destination, each) for each in unit]
            bonds = _shortest(chains, surface.routes - used)
            yield (*bonds, Fact(kinds.ROUTES, count=surface.routes), *in_use)


def _shortest(chains: Iterable[tuple[Fact, ...]], count: int) -> tuple[Fact, ...]:
    """The bonds of so many members, the nearest ones: each adds one bond to those before it."""
    nearest = sorted((chain for chain in chains if chain), key=len)[: max(count, 0)]
    return tuple(dict.fromkeys(bond for chain in nearest for bond in chain))
