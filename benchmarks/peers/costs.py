"""What a layout costs, as the peers count it: tables of whole numbers, made from the words alone.

The plain checker prices what the peers hand in; these tables only steer their search, and a test
holds them against the checker.
"""

from __future__ import annotations

from collections.abc import Hashable, Iterable, Sequence
from functools import cached_property

import attrs

from benchmarks.peers.shape import Shape
from knobpack.words import Alone, Apart, Barred, Destination, Fixed, Together, Travel
from knobpack.words.travel import hundredths

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
        weights = self.shape.request.weights.unplaced
        return tuple(weights[each.priority - 1] for each in self._inner)

    @cached_property
    def _inner(self) -> tuple[Destination, ...]:
        return tuple(self.shape.request.destinations.values())

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
        rate = request.weights.travel[request.destinations[name].priority - 1]
        return rate * hundredths(request.wanted(name), travel, request.surface.top)

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
    def spreads(self) -> tuple[Spread, ...]:
        """Bundles and preferred *together* rules of two destinations or more."""
        request = self.shape.request
        bundles: dict[tuple[str | None, str], list[int]] = {}
        for at, (name, each) in enumerate(request.destinations.items()):
            if each.source_knob is not None:
                source = request.voice_of[name].source
                bundles.setdefault((source, each.source_knob), []).append(at)
        found = [Spread(tuple(inner), request.weights.split) for inner in bundles.values()]
        found += [
            Spread(self._named(rule.names), rule.weight)
            for rule in request.rules
            if isinstance(rule, Together) and rule.weight is not None
        ]
        return tuple(each for each in found if len(each.members) > 1 and each.weight)

    @cached_property
    def before(self) -> tuple[tuple[int, int], ...]:
        """Each destination of the previous layout that is still there, with its knob then.

        -1 stands for a knob that the surface no longer has.
        """
        request = self.shape.request
        at = {knob: position for position, knob in enumerate(request.surface.knob_names)}
        return tuple(
            (self.shape.number[route.destination], at.get(route.knob, -1))
            for route in (request.previous.routes if request.previous else ())
            if route.destination in request.destinations
        )

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
