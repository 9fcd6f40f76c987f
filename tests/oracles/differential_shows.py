"""One tiny show answered by knobpack, held against brute force and against itself told otherwise.

Each whole number names one show, of two or three songs on two or three knobs, some programmed
already. What must hold of any show: played backwards without breaks, with its voices under other
names, or with its last song played again it costs the same between songs; and a show of one song is
that song.
"""

from __future__ import annotations

import random
from collections.abc import Iterator

import attrs

from knobpack import (
    Destination,
    Request,
    Snapshot,
    Surface,
    Travel,
    Voice,
    allocate_request,
)
from knobpack.show import SHOW_TIERS, Show, ShowAllocation, Song, allocate_show
from tests.oracles.differential import Verdict
from tests.oracles.shows import asked, best_of_show

POOL = {
    "Organ": ("level", "drive"),
    "Bass": ("cutoff", "level"),
    "Strings": ("level", "attack"),
}
SHOWS = "shows, brute force"
"""What this sort is called."""


def a_song(chance: random.Random, name: str, surface: Surface) -> Song:
    """A song of two of the voices, with what little tells one song from another."""
    names = chance.sample(sorted(POOL), 2)
    voices = []
    for voice in names:
        bundle = chance.choice((None, "A"))
        inner = [
            Destination(
                each,
                priority=chance.choice((1, 2, 3, 5)),
                travel=chance.choice((None, None, None, Travel(127, 0))),
                source_knob=bundle,
            )
            for each in POOL[voice]
        ]
        voices.append(Voice(voice, inner[: chance.choice((1, 2, 2))]))
    snapshots = chance.choice((None, (Snapshot("all", names),)))
    return Song(name, Request(surface, voices, snapshots=snapshots))


def a_show(seed: int, songs: int = 3) -> Show:
    """A tiny show; the same seed gives the same one."""
    chance = random.Random(seed)  # noqa: S311 - not for secrets
    surface = Surface.row(2 if songs == 3 else 3)
    breaks = ("S0",) if chance.random() < 0.2 else ()
    return Show("Tiny", [a_song(chance, f"S{at}", surface) for at in range(songs)], breaks)


def partly_programmed(seed: int) -> Show:
    """The show of a number: of three in four some song may be programmed already."""
    show, chance = a_show(seed, 2 + seed % 2), random.Random(seed + 1)  # noqa: S311
    songs = [
        attrs.evolve(song, played=allocate_request(song.played), free=chance.random() < 0.3)
        if isinstance(song.played, Request) and seed % 4 and chance.random() < 0.4
        else song
        for song in show.songs
    ]
    return attrs.evolve(show, songs=tuple(songs))


def parts(found: ShowAllocation) -> tuple[int, ...]:
    """The tiers of an answer, *relearning* and *moves* in their parts."""
    value = {tier.name: tier.value for tier in found.tiers}
    return (
        *(value[tier] for tier in SHOW_TIERS[:3]),
        *found.prices.relearning,
        *found.prices.moves,
        *(value[tier] for tier in SHOW_TIERS[5:]),
    )


def allowed(found: ShowAllocation) -> list[tuple[int, int]]:
    """How many loads may share knobs in each song, and how many pairs beside an essential."""
    return [(each.allowed, each.allowed_beside) for each in found.joined]


def compared_show(seed: int) -> Verdict:
    """Lay the show of a number out, and say what differs."""
    show = partly_programmed(seed)
    try:
        found = allocate_show(show)
        known = best_of_show(show, allowed(found))
        faults = tuple(differences(found, known))
    except Exception as error:  # whatever it is, it is a disagreement to report
        return Verdict(seed, SHOWS, (), False, False, (f"raised {error!r}",))
    return Verdict(seed, SHOWS, known, not found.proven, False, faults)


def differences(found: ShowAllocation, known: tuple[int, ...]) -> Iterator[str]:
    """All that differs between brute force and a show that is laid out, and from what must hold."""
    show, own = found.show, parts(found)
    if found.proven and own != known:
        yield f"comes to {own}, and can be {known}"
    if own < known:
        yield f"comes to {own}, below the least, {known}"
    first, second, third = found.prices.sizes
    totals = (
        *known[:3],
        known[3] * first + known[4] * second + known[5],
        known[6] * third + known[7],
    )
    for tier, least in zip(found.tiers, (*totals, *known[8:]), strict=True):
        if tier.bound > least:
            yield f"{tier.name} has the bound {tier.bound}, and can be {least}"
        if tier.value != least:
            break  # the next bounds hold for shows that are as good as this one
    for told, other, count in _otherwise(show):
        again = parts(allocate_show(other))
        if found.proven and again[3:count] != own[3:count]:
            yield f"{told} it comes to {again}, and is {own}"
    alone = show.songs[0].played
    if isinstance(alone, Request):
        one = allocate_show(Show("One", show.songs[:1]))
        if one.songs[0].prices.totals != allocate_request(alone).prices.totals:
            yield "its first song by itself is not as that is allocated"


def _otherwise(show: Show) -> Iterator[tuple[str, Show, int]]:
    """The show told otherwise, and up to which part it comes to the same then."""
    if not show.breaks:
        yield "played backwards", attrs.evolve(show, songs=show.songs[::-1]), 12
    named = [
        attrs.evolve(song, roles={name: f"The {name}" for name in _voices(song)})
        for song in show.songs
    ]
    yield "with other names", attrs.evolve(show, songs=tuple(named)), 12
    again = attrs.evolve(show.songs[-1], name="Encore")
    yield "its last song played again", attrs.evolve(show, songs=(*show.songs, again)), 8


def _voices(song: Song) -> list[str]:
    return [voice.name for voice in asked(song).voices]
