"""Setup names: what the names in a setup stand for, however faulty it is."""

from __future__ import annotations

from collections.abc import Iterable
from functools import cached_property

import attrs

from knobpack.grouped import grouped
from knobpack.heavy_imports import load
from knobpack.words import Destination, Setup, Snapshot


@attrs.frozen(eq=False)
class SetupNames:
    """A setup, and what names stand for in it, as :class:`knobpack.setups.as_read.Reading` says.

    Args:
        setup: the setup.
    """

    setup: Setup

    @cached_property
    def destinations(self) -> dict[str, Destination]:
        """Every destination under its full name, voice by voice."""
        voices = self.setup.voices
        return {full: inner for each in voices for full, inner in each.by_full_name.items()}

    @cached_property
    def known(self) -> frozenset[str]:
        """All that a snapshot or group may name: voices, groups, and destinations in full."""
        return frozenset((*self.destinations, *self._holds))

    @cached_property
    def circles(self) -> tuple[tuple[str, ...], ...]:
        """The groups that hold one another or themselves, circle by circle, in their order."""
        groups = {group.name: group.members for group in self.setup.groups}
        inner = [(name, each) for name in groups for each in groups[name] if each in groups]
        if not inner:
            return ()
        load("networkx")
        import networkx as nx  # only where groups hold groups

        holds = nx.DiGraph(inner)
        within = {
            name: number
            for number, part in enumerate(nx.strongly_connected_components(holds))
            if len(part) > 1 or any(holds.has_edge(name, name) for name in part)
            for name in part
        }
        found = grouped((within[name], name) for name in groups if name in within)
        return tuple(tuple(names) for names in found.values())

    @cached_property
    def _holds(self) -> dict[str, tuple[str, ...]]:
        """What each voice and group holds, by the names that it is given."""
        holds = {voice.name: tuple(voice.by_full_name) for voice in self.setup.voices}
        return holds | {group.name: group.members for group in self.setup.groups}

    def unknown(self, names: Iterable[str]) -> tuple[str, ...]:
        """Those of some names that stand for nothing that is there."""
        return tuple(name for name in names if name not in self.known)

    def movable(self, names: Iterable[str]) -> tuple[str, ...]:
        """Those of some destinations that the master may move."""
        return tuple(name for name in names if self.destinations[name].movable)

    def fixed(self, names: Iterable[str]) -> tuple[str, ...]:
        """Those of some destinations that every snapshot holds."""
        return tuple(name for name in names if not self.destinations[name].movable)

    def named(self, names: Iterable[str]) -> frozenset[str]:
        """The full names of the destinations that names stand for, by voice, group or alone."""
        # Groups may hold one another in a circle, or nest deeply: each name is looked at once.
        seen = set(names)
        left = list(seen)
        while left:
            inside = set(self._holds.get(left.pop(), ())) - seen
            seen |= inside
            left += inside
        return frozenset(seen.intersection(self.destinations))

    def moved(self, snapshot: Snapshot) -> frozenset[str]:
        """The full names of the destinations that are to move in a snapshot."""
        return frozenset(self.movable(self.named(snapshot.moves)))
