"""Levels under a hand that mostly finds something else there: to be known before a song."""

from __future__ import annotations

from collections.abc import Iterable

import attrs

from knobpack.definition.phrases import ESSENTIAL, is_level
from knobpack.grouped import grouped
from knobpack.show.prices import ShowDestination
from knobpack.text.shown import Fielded
from knobpack.words.names import knob_told, listed, quoted


@attrs.frozen
class LevelHere(Fielded):
    """A knob that is an essential level in some songs, and mostly something else in the others.

    That is no level in at least half of all songs that use the knob, or another level in most.

    Args:
        knob: the knob.
        songs: the songs in which it is that level.
        levels: role and name of each essential level that it drives there.
        elsewhere: role and name of what it drives in those others.
    """

    knob: str
    songs: tuple[str, ...]
    levels: tuple[str, ...]
    elsewhere: tuple[str, ...]

    @property
    def here(self) -> str:
        """The same for what stands beside the song: no full stop."""
        return self._told("here")

    def __str__(self) -> str:
        return self._told(f"in {quoted(self.songs)}")

    def _told(self, where: str) -> str:
        levels, others = listed(self.levels), listed(self.elsewhere)
        return f"{knob_told(self.knob)} is a level {where} ({levels}), and elsewhere {others}"


def levels_here(things: Iterable[ShowDestination]) -> tuple[LevelHere, ...]:
    """Where a knob is an essential level that is not what the hand finds there in other songs.

    Args:
        things: every destination of a show.

    Returns:
        One for each knob and the levels that it drives, in the order in which things are given.
    """
    on = grouped(
        ((each.knob, each.song), thing)
        for thing in things
        for each in thing.found
        if each.knob is not None
    )
    found = list[LevelHere]()
    for knob, songs in grouped(on).items():
        quiet = [song for song in songs if not any(is_level(t.kind) for t in on[knob, song])]
        loud = grouped((_levels(on[knob, song]), song) for song in songs)
        most = next((levels for levels, own in loud.items() if 2 * len(own) > len(songs)), ())
        other = dict.fromkeys(f"{t.role}/{t.name}" for song in quiet for t in on[knob, song])
        if 2 * len(quiet) < len(songs):
            other = dict.fromkeys(most)
        found += [
            LevelHere(str(knob), tuple(here), levels, tuple(other))
            for levels, here in loud.items()
            if levels and other and other.keys().isdisjoint(levels)
        ]
    return tuple(found)


def _levels(things: Iterable[ShowDestination]) -> tuple[str, ...]:
    own = (t for t in things if is_level(t.kind) and t.priority == ESSENTIAL)
    return tuple(f"{thing.role}/{thing.name}" for thing in own)
