"""Odd songs: which song of a show is the odd one out, told from its prices alone."""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

import attrs

from knobpack.reasons.answer_graph import Answer
from knobpack.show.answer import PART_WORDS, ShowAllocation
from knobpack.show.asked import asked_of
from knobpack.show.definition import priced_show
from knobpack.show.prices import PARTS
from knobpack.text.shown import Fielded
from knobpack.words.fields import check_kind
from knobpack.words.names import listed


@attrs.frozen
class OddSong(Fielded):
    """What there would be less to relearn without one song, all others as they are laid out.

    Args:
        song: its name.
        pinned: whether it is programmed already and stays as it is.
        destinations: the points of destinations less.
        roles: of roles.
        kinds: of kinds.
    """

    song: str
    pinned: bool
    destinations: int
    roles: int
    kinds: int

    @property
    def less(self) -> tuple[int, int, int]:
        """All three, each before the next."""
        return self.destinations, self.roles, self.kinds

    def __str__(self) -> str:
        stays = ", which stays as it is," if self.pinned else ""
        parts = zip(self.less, PARTS["relearning"], strict=True)
        told = [
            f"{abs(n)} {'less' if n > 0 else 'more'} in {PART_WORDS[what]}"
            for n, what in parts
            if n
        ]
        return f"Without '{self.song}'{stays} what is to be relearned is {listed(told)}"


@attrs.frozen
class OddSongs(Answer):
    """Which songs differ from the rest of the show, the one that differs most first.

    Args:
        songs: every song, with what there would be less to relearn without it.
    """

    question: ClassVar[str] = "odd songs"

    songs: tuple[OddSong, ...]

    def __iter__(self) -> Iterator[OddSong]:
        return iter(self.songs)

    def __len__(self) -> int:
        return len(self.songs)

    @property
    def sentences(self) -> tuple[str, ...]:
        """One for each song without which there would be less to relearn."""
        odd = tuple(f"{each}." for each in self.songs if each.less > (0, 0, 0))
        return odd or ("No song is the odd one out.",)


def odd_songs(found: ShowAllocation) -> OddSongs:
    """Which song is the odd one out: without which there would be the least to relearn.

    Args:
        found: a show laid out; its other songs stay as they are.

    Returns:
        Every song, the one that differs most first.

    Raises:
        InputError: ``found`` is no ShowAllocation.

    Example:
        >>> from knobpack import Destination, Request, Surface, Voice
        >>> from knobpack.show import Show, Song, allocate_show, odd_songs
        >>> request = Request(Surface.row(4), [Voice("Organ", [Destination("level")])])
        >>> show = Show("Evening", [Song("Opener", request), Song("Ballad", request)])
        >>> print(odd_songs(allocate_show(show)))
        No song is the odd one out.
    """
    check_kind("odd_songs.found", found, ShowAllocation)
    asked, layouts = asked_of(found.show), [laid.layout for laid in found.songs]
    whole, odd = found.prices.relearning, []
    for at, song in enumerate(found.show.songs):
        rest = [n for n in range(len(layouts)) if n != at]
        less = (0, 0, 0)
        if rest:
            others = [asked[n] for n in rest], [layouts[n] for n in rest]
            without = priced_show(*others, (), ()).relearning
            points, roles, kinds = (a - b for a, b in zip(whole, without, strict=True))
            less = points, roles, kinds
        odd.append(OddSong(song.name, song.pinned, *less))
    return OddSongs(tuple(sorted(odd, key=lambda each: each.less, reverse=True)))
