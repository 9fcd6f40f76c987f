"""Bundle: destinations that one knob carried together in their source, or carry in a setup in use.

What a setup that is played has already, an edit of it does not count.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from itertools import pairwise

import attrs

from knobpack.text.shown import Fielded
from knobpack.words.layout import Layout
from knobpack.words.names import knob_told
from knobpack.words.voice import HIDDEN, Destination, Voice


@attrs.frozen
class Bundle(Fielded):
    """What one knob of a source drove.

    Args:
        source: the setup that it comes from; None: the voice has none.
        knob: the knob that carried it there.
        names: its destinations by full name, in the order of the request.
        place: where that knob lies on the panel of its source, counted from 1; None: not known.
    """

    source: str | None
    knob: str
    names: tuple[str, ...]
    place: int | None = None

    def __str__(self) -> str:
        return f"bundle of {knob_told(self.knob)} in {self.origin}"

    @property
    def origin(self) -> str:
        """The name of its source; where it has none, that of the voice."""
        return self.source or self.names[0].split("/")[0]


def carried_bundles(voices: Iterable[Voice]) -> tuple[tuple[Bundle, ...], ...]:
    """For each source what its knobs carried, single destinations as well, in its order.

    Knobs whose place is not known come last, as they are first named. A voice without a source is
    one of its own.
    """
    sources: dict[tuple[str | None, str | None], dict[str, Bundle]] = {}
    for voice in voices:
        own = (voice.source, None if voice.source is not None else voice.name)
        for inner in voice.destinations:
            if inner.source_knob is None:
                continue
            knobs = sources.setdefault(own, {})
            known = knobs.get(inner.source_knob, Bundle(voice.source, inner.source_knob, ()))
            knobs[inner.source_knob] = attrs.evolve(
                known,
                names=(*known.names, voice.full_name(inner)),
                place=inner.source_place if known.place is None else known.place,
            )
    return tuple(tuple(sorted(knobs.values(), key=_place)) for knobs in sources.values())


def merged_sets(sets: Iterable[tuple[str, ...]]) -> tuple[tuple[str, ...], ...]:
    """What has a knob in common: sets of names, those that have a name in common taken as one.

    Args:
        sets: such as the destinations of each bundle.
    """
    of: dict[str, dict[str, None]] = {}
    for names in sets:
        one: dict[str, None] = {}
        for name in names:
            one.update(of.get(name, {name: None}))
        of.update(dict.fromkeys(one, one))
    return tuple(tuple(one) for one in {id(one): one for one in of.values()}.values())


def sequence(sources: Iterable[tuple[Bundle, ...]]) -> tuple[tuple[str, str], ...]:
    """Each two destinations of which the second is to come directly after the first.

    They stand for two knobs that were neighbours in the order of their source: the first named of
    what each carried.
    """
    return tuple(
        (before.names[0], after.names[0])
        for bundles in sources
        for before, after in pairwise(bundles)
    )


def _place(bundle: Bundle) -> tuple[bool, int]:
    return bundle.place is None, bundle.place or 0


def never_worth_joining(
    destinations: Mapping[str, Destination], bundles: Iterable[Bundle], demanded: Collection[str]
) -> frozenset[str]:
    """The hidden destinations that nothing demands and that came with nothing better.

    Args:
        destinations: those of a request, by full name.
        bundles: its bundles.
        demanded: the full names of what must have a knob, besides what must be placed.
    """
    hidden = {
        name
        for name, inner in destinations.items()
        if inner.priority == HIDDEN and not inner.must_place and name not in demanded
    }
    for bundle in bundles:
        if not hidden.issuperset(bundle.names):
            hidden.difference_update(bundle.names)
    return frozenset(hidden)


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
