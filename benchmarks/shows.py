"""Shows beside the obvious ways: how much there is to relearn, and what of it is proven.

::

    python -m benchmarks.shows                       # 50 shows of 4 songs on 6 knobs
    python -m benchmarks.shows --songs 6 --knobs 8 --seeds 5 --effort 10
    python -m benchmarks.shows --songs 30 --knobs 16 --seeds 1 --effort 10

The obvious ways are each song laid out by itself; each with ``previous`` of the one before; and
each on a panel on which the kinds of the first song are at home (``Knob.usual``).

*A seeded show* draws from eight voices of three to six kinds; what knobs of a source carry together
are two kinds in five. A song plays three to five of the voices, each destination of theirs with a
chance of 85 in a hundred, and one song in twenty carries a voice on other knobs. Priorities and
travels are drawn once for all songs. (Common practice, no source.)
"""

from __future__ import annotations

import argparse
import random
import time
from collections.abc import Iterator, Sequence

import attrs

from knobpack.allocator import allocate_request
from knobpack.show import Show, ShowAllocation, Song, allocate_show
from knobpack.show.asked import asked_of
from knobpack.show.definition import show_prices
from knobpack.words import Destination, Layout, Request, Surface, Travel, Voice

VOICES = ("Organ", "Bass", "Strings", "Piano", "Brass", "Bells", "Choir", "Lead")
KINDS = ("level", "cutoff", "drive", "attack", "release", "resonance", "depth", "rate")
TRAVELS = (None, None, None, Travel(0, 64), Travel(127, 0), Travel(30, 100))

Relearning = tuple[int, int, int]


def seeded(seed: int, songs: int, knobs: int) -> Show:
    """A show; the same numbers give the same one on every machine."""
    chance = random.Random(seed)  # noqa: S311 (no secret)
    surface = Surface.row(knobs)
    pool = [Voice(name, tuple(_destinations(chance))) for name in VOICES]
    made = []
    for at in range(songs):
        played = chance.sample(pool, chance.randint(3, 5))
        voices = tuple(_played(chance, voice) for voice in played)
        made.append(Song(f"Song {at + 1}", Request(surface, voices)))
    return Show(f"Show {seed}", made)


def _destinations(chance: random.Random) -> Iterator[Destination]:
    for kind in chance.sample(KINDS, chance.randint(3, 6)):
        yield Destination(
            kind,
            priority=chance.choice((1, 2, 2, 3, 3, 4)),
            travel=chance.choice(TRAVELS),
            source_knob=chance.choice(("S1", "S2", None, None, None)),
        )


def _played(chance: random.Random, voice: Voice) -> Voice:
    own = [each for each in voice.destinations if chance.random() < 0.85]
    if chance.random() < 0.05:
        own = [attrs.evolve(each, source_knob=chance.choice(("S1", "S2", "S3"))) for each in own]
    return attrs.evolve(voice, destinations=own)


def relearning(show: Show, layouts: Sequence[Layout]) -> Relearning:
    """What some layouts of a show come to in *relearning*: destinations, roles, kinds."""
    return show_prices(asked_of(show), layouts, (), show.neighbours).relearning


def obvious(show: Show) -> dict[str, Relearning]:
    """What the obvious ways come to."""
    requests = [song.played for song in show.songs if isinstance(song.played, Request)]
    alone = [allocate_request(request).layout for request in requests]
    chain: list[Layout] = []
    for request in requests:
        asked = attrs.evolve(request, previous=chain[-1]) if chain else request
        chain.append(allocate_request(asked).layout)
    home = {
        knob: tuple(dict.fromkeys(requests[0].by_full_name[r.destination].kind for r in routes))
        for knob in show.surface.knob_names
        if (routes := [route for route in alone[0].routes if route.knob == knob])
    }
    knobs = (attrs.evolve(each, usual=home.get(each.name, ())) for each in show.surface.knobs)
    surface = attrs.evolve(show.surface, knobs=tuple(knobs))
    habit = [allocate_request(attrs.evolve(each, surface=surface)).layout for each in requests]
    ways = {"alone": alone, "previous": chain, "usual": habit}
    return {way: relearning(show, layouts) for way, layouts in ways.items()}


def measured(seed: int, songs: int, knobs: int, effort: float) -> tuple[ShowAllocation, float]:
    """A seeded show laid out, and the processor seconds that it took."""
    show = seeded(seed, songs, knobs)
    began = time.process_time()
    return allocate_show(show, effort=effort), time.process_time() - began


def main() -> None:
    """Lay out seeded shows, each beside the obvious ways, a line for each."""
    asked = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    asked.add_argument("--seeds", type=int, default=50)
    asked.add_argument("--first", type=int, default=0)
    asked.add_argument("--songs", type=int, default=4)
    asked.add_argument("--knobs", type=int, default=6)
    asked.add_argument("--effort", type=float, default=2)
    given = asked.parse_args()
    worse = 0
    for seed in range(given.first, given.first + given.seeds):
        found, seconds = measured(seed, given.songs, given.knobs, given.effort)
        others = obvious(found.show)
        own = found.prices.relearning
        worse += sum(other < own for other in others.values())
        proven = [tier.name for tier in found.tiers if tier.proven]
        least = found.tier("relearning").bound // found.prices.sizes[0]
        print(
            f"{seed}: {own}, destinations at least {least}, "
            + ", ".join(f"{way} {value}" for way, value in others.items())
            + f"; proven up to {proven[-1] if proven else 'nothing'}, {seconds:.1f} s",
            flush=True,
        )
    print(f"Another way was better in relearning {worse} times.")


if __name__ == "__main__":
    main()
