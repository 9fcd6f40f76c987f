"""What a layout costs, as the peers count it: tables of whole numbers, made from the words alone.

The plain checker prices what the peers hand in; these tables only steer their search, and a test
holds them against the checker.
"""

from __future__ import annotations

from collections.abc import Collection, Hashable, Iterable, Sequence
from functools import cached_property

import attrs

from benchmarks.peers.shape import Shape
from knobpack.definition.phrases import ESSENTIAL
from knobpack.definition.travel_prices import missed
from knobpack.words import Alone, Apart, Barred, Destination, Fixed, Together, Travel
from knobpack.words.voice import HIDDEN

Members = tuple[int, ...]


@attrs.frozen
class Spread:
    """Destinations that ought to be on one knob; each knob more than one costs ``weight``."""

    members: Members
    weight: int


@attrs.frozen
class Broken:
    """A snapshot that may be broken: what it moves, and the price of each that is wronged."""

    moved: frozenset[int]
    weight: int


@attrs.frozen
class Word:
    """A voice or group; each run of knobs more than one costs ``weight``."""

    members: Members
    weight: int


@attrs.frozen(eq=False)
class Costs:
    """The tables of one request. Destinations and knobs are numbered as in its shape."""

    shape: Shape

    @cached_property
    def unplaced(self) -> tuple[int, ...]:
        """What each destination costs that is left out."""
        weights = self.shape.request.weights
        return tuple(weights.omission(each.priority) for each in self._inner)

    @cached_property
    def hidden(self) -> tuple[int, ...]:
        """What each destination costs in the tier *sharing* that is left out."""
        weight = self.shape.request.weights.hidden
        return tuple(weight * (each.priority == HIDDEN) for each in self._inner)

    @cached_property
    def _inner(self) -> tuple[Destination, ...]:
        return tuple(self.shape.request.by_full_name.values())

    @cached_property
    def broken(self) -> tuple[Broken, ...]:
        """The snapshots that may be broken at a price."""
        request = self.shape.request
        return tuple(
            Broken(frozenset(self._numbers(request.moved(each))), each.break_weight)
            for each in request.played
            if each.break_weight
        )

    @cached_property
    def kind(self) -> tuple[int, ...]:
        """The number of the kind of each destination."""
        return _numbered([each.kind for each in self._inner])

    @cached_property
    def voice(self) -> tuple[int, ...]:
        """The number of the voice of each destination."""
        request = self.shape.request
        return _numbered([request.voice_of[name].name for name in self.shape.names])

    @cached_property
    def stance(self) -> dict[int, int]:
        """The number of the way in which each destination stands where it is held, if known."""
        ways = enumerate(self.shape.request.stances)
        of = {name: way for way, names in ways for name in names}
        return {at: of[name] for at, name in enumerate(self.shape.names) if name in of}

    @cached_property
    def load(self) -> tuple[int, ...]:
        """The number of the load of each destination."""
        of = {name: load[0] for load in self.shape.request.loads for name in load}
        return _numbered([of.get(name, name) for name in self.shape.names])

    @cached_property
    def essential(self) -> tuple[int, ...]:
        """The essential destinations."""
        return tuple(at for at, each in enumerate(self._inner) if each.priority == ESSENTIAL)

    @cached_property
    def wanted(self) -> tuple[int, ...]:
        """The number of the travel that each destination wants."""
        request = self.shape.request
        return _numbered([request.wanted(name) for name in self.shape.names])

    @cached_property
    def missed(self) -> tuple[tuple[int, ...], ...]:
        """What each destination pays on a knob of each wanted travel."""
        request = self.shape.request
        travels = list(dict.fromkeys(request.wanted(name) for name in self.shape.names))
        return tuple(
            tuple(self._miss(name, travel) for travel in travels) for name in self.shape.names
        )

    @cached_property
    def missed_kept(self) -> dict[int, tuple[int, ...]]:
        """The knobs whose travel the base keeps, and what each destination pays there."""
        request = self.shape.request
        used = {route.knob for route in request.keep.routes}
        at = {knob: position for position, knob in enumerate(request.surface.knob_names)}
        return {
            at[setting.knob]: tuple(self._miss(name, setting.travel) for name in self.shape.names)
            for setting in request.keep.travels
            if setting.knob in used
        }

    def _miss(self, name: str, travel: Travel) -> int:
        request = self.shape.request
        if request.surface.travel_on == "route":
            return 0  # it goes over the travel of its own route
        rate = request.weights.travel[request.by_full_name[name].priority - 1]
        return rate * missed(request.wanted(name), travel, request.surface.top)

    @cached_property
    def pairs(self) -> dict[tuple[int, int], int]:
        """What each pair costs on one knob, the lower number first (preferred *apart*)."""
        found: dict[tuple[int, int], int] = {}
        for rule in self.shape.request.rules:
            if isinstance(rule, Apart) and rule.weight is not None:
                first, second = self._named(rule.first), self._named(rule.second)
                pairs = {(min(a, b), max(a, b)) for a in first for b in second if a != b}
                for pair in pairs:
                    found[pair] = found.get(pair, 0) + rule.weight
        return found

    @cached_property
    def alone(self) -> tuple[tuple[frozenset[int], int], ...]:
        """Preferred *alone*: what is inside, and the price of a knob that carries others too."""
        return tuple(
            (frozenset(self._named(rule.names)), rule.weight)
            for rule in self.shape.request.rules
            if isinstance(rule, Alone) and rule.weight is not None
        )

    @cached_property
    def bundles(self) -> tuple[Members, ...]:
        """The bundles: each costs its knobs and what of it is left out, less one."""
        return tuple(self._numbers(bundle.names) for bundle in self.shape.request.bundles)

    @cached_property
    def sequence(self) -> tuple[tuple[int, int], ...]:
        """Each two destinations of which the second is to come directly after the first."""
        number = self.shape.number
        return tuple((number[one], number[other]) for one, other in self.shape.request.sequence)

    @cached_property
    def spreads(self) -> tuple[Spread, ...]:
        """Preferred *together* rules of two destinations or more."""
        found = [
            Spread(self._named(rule.names), rule.weight)
            for rule in self.shape.request.rules
            if isinstance(rule, Together) and rule.weight is not None
        ]
        return tuple(each for each in found if len(each.members) > 1)

    @cached_property
    def before(self) -> tuple[tuple[int, int], ...]:
        """Each destination of the previous layout that is still there, with its knob then.

        Knobs that the surface no longer has are numbered after those that it has.
        """
        request = self.shape.request
        at = {knob: position for position, knob in enumerate(request.surface.knob_names)}
        return tuple(
            (self.shape.number[route.destination], at.setdefault(route.knob, len(at)))
            for route in (request.previous.routes if request.previous else ())
            if route.destination in request.by_full_name
        )

    @cached_property
    def drove(self) -> dict[int, Members]:
        """What each knob drove in the previous layout."""
        found: dict[int, list[int]] = {}
        for each, knob in self.before:
            found.setdefault(knob, []).append(each)
        return {knob: tuple(inner) for knob, inner in found.items()}

    @cached_property
    def had(self) -> dict[int, int]:
        """The number of the travel that each knob had; -1: none wants it, or the base's is another.

        What a knob keeps by ``keep`` has the number of a travel that the knob always has.
        """
        request = self.shape.request
        at = {knob: position for position, knob in enumerate(request.surface.knob_names)}
        travels = list(dict.fromkeys(request.wanted(name) for name in self.shape.names))
        kept = {at[each.knob]: each.travel for each in request.keep.travels}
        found = {}
        on_knobs = request.surface.travel_on == "knob"
        for setting in request.previous.travels if request.previous and on_knobs else ():
            if setting.knob not in at:
                continue
            knob = at[setting.knob]
            if knob in self.missed_kept:
                found[knob] = 0 if kept[knob] == setting.travel else -1
            else:
                found[knob] = travels.index(setting.travel) if setting.travel in travels else -1
        return found

    def set_anew(self, knob: int, inner: Collection[int]) -> bool:
        """Whether the travel of a knob that carries these is known and was another before."""
        had = self.had.get(knob)
        if had is None or knob in self.missed_kept:
            return had == -1
        sums = {
            travel: sum(self.missed[each][travel] for each in inner)
            for travel in {self.wanted[each] for each in inner}
        }
        return sums.get(had) != min(sums.values())

    def changed(self, knob: int, inner: Collection[int]) -> int:
        """What a knob saves in the tier *change* by what it carries: zero or less.

        A travel that is set anew counts one.
        """
        drove = self.drove.get(knob, ())
        stay = [self.changed_route[each] for each in drove if each in inner]
        if not stay:
            return 0
        whole = self.changed_bundle * (len(stay) == len(drove))
        return self.set_anew(knob, inner) - sum(stay) - whole

    @cached_property
    def changed_route(self) -> dict[int, int]:
        """What each route that is another counts: its importance, and more than all of that."""
        own = {each: (8, 4, 2, 1, 0)[self._inner[each].priority - 1] for each, _ in self.before}
        above = 1 + sum(own.values()) + len(self.drove)
        return {each: above + more for each, more in own.items()}

    @cached_property
    def changed_bundle(self) -> int:
        """What it counts that a knob does not drive all that it drove: more than all else."""
        return sum(self.changed_route.values()) + len(self.drove) + 1

    @cached_property
    def all_changed(self) -> int:
        """The tier *change* where nothing is where it was."""
        return sum(self.changed_route.values()) + self.changed_bundle * len(self.drove)

    @cached_property
    def places(self) -> tuple[tuple[int, ...], ...]:
        """What each destination costs on each knob in the tier *layout*, runs aside."""
        request, surface = self.shape.request, self.shape.request.surface
        step = {knob: at for at, knob in enumerate(surface.reach_order)}
        usual = {kind for knob in surface.knobs for kind in knob.usual}
        found = [
            [
                request.weights.favour * step[knob.name] * (5 - each.priority)
                + request.weights.habit * (each.kind in usual and each.kind not in knob.usual)
                for knob in surface.knobs
            ]
            for each in self._inner
        ]
        for rule in request.rules:
            if rule.weight is None or not isinstance(rule, Fixed | Barred):
                continue
            for at, knob in enumerate(surface.knob_names):
                wrong = knob != rule.knob if isinstance(rule, Fixed) else knob in rule.knobs
                if wrong:
                    for each in self._named(rule.names):
                        found[each][at] += rule.weight
        return tuple(map(tuple, found))

    @cached_property
    def words(self) -> tuple[Word, ...]:
        """Voices and groups that cost something where they fall into runs."""
        request, weights = self.shape.request, self.shape.request.weights
        found = [(each.name, weights.voice_runs) for each in request.voices]
        found += [(each.name, weights.group_runs) for each in request.groups]
        words = (Word(self._named((name,)), weight) for name, weight in found)
        return tuple(word for word in words if len(word.members) > 1 and word.weight)

    @cached_property
    def beside(self) -> tuple[bool, ...]:
        """For each knob, whether the knob before it in the panel stands right beside it."""
        knobs = self.shape.request.surface.knobs
        return tuple(at > 0 and knobs[at - 1].beside(knob) for at, knob in enumerate(knobs))

    def _named(self, words: tuple[str, ...]) -> Members:
        return self._numbers(self.shape.request.named(words))

    def _numbers(self, names: Iterable[str]) -> Members:
        return tuple(sorted(self.shape.number[name] for name in names))


def _numbered(values: Sequence[Hashable]) -> tuple[int, ...]:
    """Equal values get equal numbers, counted from 0 in order of appearance."""
    seen = {each: at for at, each in enumerate(dict.fromkeys(values))}
    return tuple(seen[each] for each in values)
