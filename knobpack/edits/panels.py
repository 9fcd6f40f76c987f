"""Panels: which knob of one stands for which of another, and its positions there."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping

import attrs

from knobpack.positions import scaled, scaled_travel
from knobpack.words import Destination, Rule, Snapshot, Surface, Travel, Voice
from knobpack.words.names import knob_told, listed
from knobpack.words.rules import rule_on
from knobpack.words.snapshot import storing


def called_told(knobs: Iterable[tuple[str, str]]) -> Iterator[str]:
    """Which knobs have another name on the other panel, in a sentence; none where none has.

    Args:
        knobs: for each of them its name there and that at home.
    """
    other = [f"{knob_told(there)} for {knob_told(here)}" for there, here in knobs]
    if other:
        yield f"At the same place, under another name: {listed(other, len(other))}."


@attrs.frozen
class Crossing:
    """The way from one panel to another.

    Args:
        source: the panel that is left.
        target: the panel that is come to.
        knobs: for each knob of the one that the other has too, what it is called there: by its
            name, or else by its place in row and column.
    """

    source: Surface
    target: Surface
    knobs: Mapping[str, str]

    @classmethod
    def between(cls, source: Surface, target: Surface) -> Crossing:
        """The way from one panel to another: the same on every machine, and the same back."""
        names = set(target.knob_names)
        knobs = {name: name for name in source.knob_names if name in names}
        places = {(each.row, each.column): each.name for each in target.knobs}
        for knob in source.knobs:
            there = places.get((knob.row, knob.column))
            if knob.name not in knobs and there is not None and there not in source.knob_names:
                knobs[knob.name] = there
        return cls(source, target, knobs)

    def in_turn(self, driving: Collection[str]) -> dict[str, str]:
        """For each knob that drives something and is not there, one that is free there.

        They follow in the order of both panels, as far as there are free knobs.

        Args:
            driving: the knobs of the panel that is left that drive something.
        """
        taken = {there for here, there in self.knobs.items() if here in driving}
        taken |= set(self.target.reserved)
        free = (name for name in self.target.knob_names if name not in taken)
        homeless = (k for k in self.source.knob_names if k in driving and k not in self.knobs)
        return dict(zip(homeless, free, strict=False))

    @property
    def back(self) -> Crossing:
        """The same way back."""
        turned = {there: here for here, there in self.knobs.items()}
        return Crossing(self.target, self.source, turned)

    def position(self, position: int) -> int:
        """A position at the resolution of the other panel; what is too high is the highest."""
        return scaled(min(position, self.source.top), self.source.bits, self.target.bits)

    def travel(self, travel: Travel) -> Travel:
        """A travel at the resolution of the other panel."""
        top = self.source.top
        within = Travel(min(travel.start, top), min(travel.end, top))
        return scaled_travel(within, self.source.bits, self.target.bits)

    def destination(self, inner: Destination) -> Destination:
        """A destination that wants the same travel there."""
        travel = inner.travel
        return inner if travel is None else attrs.evolve(inner, travel=self.travel(travel))

    def voice(self, voice: Voice) -> Voice:
        """A voice that wants the same travels there."""
        return attrs.evolve(voice, destinations=tuple(map(self.destination, voice.destinations)))

    def snapshot(self, snapshot: Snapshot) -> Snapshot:
        """A snapshot with the positions of the knobs that the other panel has."""
        there, was = self.knobs, snapshot.stored
        idle = tuple(there[knob] for knob in snapshot.idle if knob in there)
        stored = {there[knob]: self.position(was[knob]) for knob in was if knob in there}
        return storing(attrs.evolve(snapshot, idle=idle), stored)

    def rule(self, rule: Rule) -> Rule | None:
        """A rule there; None: it is about a knob that is not there."""
        return rule_on(rule, self.knobs)
