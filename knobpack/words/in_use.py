"""In use: what a setup that is played has already, which an edit of it does not count."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator

import attrs

from knobpack.words.bundle import Bundle
from knobpack.words.layout import Layout

THE_SETUP = "the setup"
"""What stands for the source of a bundle that a knob of the setup in use drives."""


@attrs.frozen
class InUse:
    """What was there before an edit.

    Args:
        knob_of: the knob that drove each destination that is still there and was driven.
        edited: the destinations that the edit names.
    """

    knob_of: dict[str, str]
    edited: frozenset[str]

    @classmethod
    def of(cls, previous: Layout, there: Collection[str], edited: Iterable[str]) -> InUse:
        """What a layout says of the destinations that are still there.

        Args:
            previous: the layout that is in use.
            there: the full names of all destinations.
            edited: the full names of those that the edit names.
        """
        knob_of = {r.destination: r.knob for r in previous.routes if r.destination in there}
        return cls(knob_of, frozenset(edited))

    def joined(self, one: str, other: str) -> bool:
        """Whether two destinations shared a knob already and the edit names neither.

        Snapshots do not part them, be it that one moves this and holds that.
        """
        knob = self.knob_of.get(one)
        named = one in self.edited or other in self.edited
        return knob is not None and knob == self.knob_of.get(other) and not named

    def lost(self, name: str) -> bool:
        """Whether a destination had no knob already and the edit does not name it."""
        return name not in self.knob_of and name not in self.edited

    def carried(self, came: Iterable[Bundle]) -> tuple[Bundle, ...]:
        """What each knob drove, single destinations as well; then what is new, as it came.

        Args:
            came: what the knobs of the sources carried.
        """
        return (*self._drove(()), *self._new(came))

    def bundles(self, came: Iterable[Bundle]) -> tuple[Bundle, ...]:
        """What each knob drove, less what the edit names; then what is new, as it came.

        Args:
            came: what the knobs of the sources carried.
        """
        every = (*self._drove(self.edited), *self._new(came))
        return tuple(each for each in every if len(each.names) > 1)

    def _drove(self, but: Collection[str]) -> Iterator[Bundle]:
        drove: dict[str, list[str]] = {}
        for name, knob in self.knob_of.items():
            if name not in but:
                drove.setdefault(knob, []).append(name)
        yield from (Bundle(THE_SETUP, knob, tuple(names)) for knob, names in drove.items())

    def _new(self, came: Iterable[Bundle]) -> Iterator[Bundle]:
        for each in came:
            names = tuple(name for name in each.names if name not in self.knob_of)
            if names:
                yield attrs.evolve(each, names=names)
