"""Neighbourhoods of a show: what may be elsewhere, while all else stays where it is found.

Large neighbourhood search (Shaw 1998, "Using constraint programming and local search methods to
solve vehicle routing problems", from memory). What a show costs depends on few things: on which
knobs each destination is found. So most is won where some destinations may be anywhere in all
songs at once, and every other on any of the knobs on which it is found already: that costs nothing
more, and lets a song put things as the moved ones need it. The other two sorts are some songs
in which all may be anywhere, and some knobs whose content may change places in all songs.
"""

from __future__ import annotations

import random
from collections.abc import Collection, Mapping, Sequence
from typing import TypeAlias

from knobpack.numbered.problem import bits
from knobpack.show.asked import Key
from knobpack.show.numbered import Numbered, Placed

OpenTo: TypeAlias = Mapping[int, tuple[int, ...]]
"""For each song that is laid out, by its position, the mask of the knobs of each of its atoms."""

SHARES = {"destinations": 0.25, "songs": 0.15, "knobs": 0.3}
"""The sorts of neighbourhoods, and the part of all such that is in one to begin with."""

LARGER, SMALLER = 1.1, 0.85
"""By what the part grows where all of a neighbourhood was looked at, and shrinks where not."""

BY_ROLE = 0.5
"""The share of neighbourhoods of destinations that are of whole roles."""


class ShowNeighbourhoods:
    """Neighbourhoods of one show after the other.

    Args:
        songs: the songs, in playing order.
        free: the positions of those that are laid out.
        weights: what each destination of the show counts.
        seed: what they are drawn by.
    """

    def __init__(
        self,
        songs: Sequence[Numbered],
        free: Sequence[int],
        weights: Mapping[Key, int],
        seed: int = 0,
    ) -> None:
        self._songs, self._free = songs, free
        self._keys = [key for key, weight in weights.items() if weight]
        self._hidden = {key for key, weight in weights.items() if not weight}
        self._knobs = songs[0].problem.knobs
        self._draw = random.Random(seed)  # noqa: S311 (no secret)
        self._shares = dict(SHARES)
        self._sort = ""

    def next(self, laid: Mapping[int, Placed]) -> OpenTo:
        """The next neighbourhood of how songs are laid out."""
        self._sort = self._draw.choice(list(SHARES))
        if self._sort == "destinations":
            return self.within(laid, keys=self._some_keys(self._count(len(self._keys), 2)))
        if self._sort == "songs":
            count = self._count(len(self._free), 1)
            first = self._draw.randint(0, len(self._free) - count)
            return self.within(laid, songs=self._free[first : first + count])
        knobs = self._draw.sample(range(self._knobs), self._count(self._knobs, 2))
        return self._among(laid, sum(1 << knob for knob in knobs))

    def learn(self, *, through: bool) -> None:
        """Take more next time if all of the last one was looked at, else less."""
        if self._sort:
            share = self._shares[self._sort] * (LARGER if through else SMALLER)
            self._shares[self._sort] = min(1.0, share)

    def _count(self, every: int, least: int) -> int:
        return min(every, max(least, round(self._shares[self._sort] * every)))

    def _some_keys(self, count: int) -> set[Key]:
        """So many destinations, of few roles or of any."""
        keys = self._draw.sample(self._keys, len(self._keys))
        if self._draw.random() < BY_ROLE:
            place = {role: at for at, role in enumerate(dict.fromkeys(key[0] for key in keys))}
            keys.sort(key=lambda key: place[key[0]])
        return set(keys[:count])

    def within(
        self,
        laid: Mapping[int, Placed],
        keys: Collection[Key] = (),
        songs: Collection[int] = (),
    ) -> OpenTo:
        """Each destination on any of the knobs on which it is found anywhere in the show.

        Args:
            laid: how every song is laid out.
            keys: those that may be on any other besides.
            songs: the positions of the songs in which all may be.
        """
        found = dict.fromkeys((*keys, *self._hidden), -1)
        for at, song in enumerate(self._songs):
            for key, item in song.item_of.items():
                found[key] = found.get(key, 0) | _there(laid[at], 1 << item)
        open_to = {}
        for at in self._free:
            song = self._songs[at]
            masks = [-1] * song.problem.items
            for key, item in song.item_of.items():
                masks[item] = -1 if at in songs else found[key]
            open_to[at] = tuple(
                _all_of(masks, atom.items) & atom.knobs | _there(laid[at], atom.items)
                for atom in song.problem.atoms
            )
        return open_to

    def _among(self, laid: Mapping[int, Placed], knobs: int) -> OpenTo:
        """What is on some knobs on any of these, in all songs."""
        open_to = {}
        for at in self._free:
            masks = []
            for atom in self._songs[at].problem.atoms:
                here = _there(laid[at], atom.items)
                masks.append(atom.knobs & knobs | here if here & knobs else here)
            open_to[at] = tuple(masks)
        return open_to


def _all_of(masks: Sequence[int], items: int) -> int:
    """The knobs on which all of some items may be."""
    found = -1
    for item in bits(items):
        found &= masks[item]
    return found


def _there(placed: Placed, items: int) -> int:
    """The mask of the knob on which some items are; none where they are left out."""
    return sum(1 << knob for knob in {placed.knobs[i] for i in bits(items) if i in placed.knobs})
