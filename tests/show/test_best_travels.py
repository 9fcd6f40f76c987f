"""Travels of a show once it is known what each knob drives: as trying all of them finds."""

from __future__ import annotations

import random
from itertools import product

import attrs
import pytest

from knobpack import Destination, Request, Route, Surface, Travel, Voice, allocate_request
from knobpack.checker import priced
from knobpack.show import Show, Song
from knobpack.show.asked import asked_of
from knobpack.show.definition import show_prices
from knobpack.show.numbered import Numbered, Placed, numbered_songs
from knobpack.show.search import ShowSearch
from knobpack.show.travels import with_best_travels
from knobpack.solver.watch import Watch
from knobpack.words import KnobTravel, Layout

WISHES = (Travel(0, 127), Travel(0, 64), Travel(127, 0), Travel(30, 100))


def made_of(seed: int) -> list[Numbered]:
    """Three songs of two voices on two knobs, what they drive at random."""
    chance = random.Random(seed)  # noqa: S311 (no secret)
    requests = []
    for _ in range(3):
        voices = [
            Voice(name, [Destination(n, travel=chance.choice(WISHES)) for n in ("level", "tone")])
            for name in ("Organ", "Bass")
        ]
        there = Layout([Route("Bass/tone", "K2")], [KnobTravel("K2", chance.choice(WISHES))])
        previous = there if chance.random() < 1 / 2 else None
        requests.append(Request(Surface.row(2), voices, previous=previous))
    asked = asked_of(Show("Three", [Song(f"S{at}", each) for at, each in enumerate(requests)]))
    return list(numbered_songs(asked, [allocate_request(each) for each in requests], 9))


@pytest.mark.parametrize("seed", range(30))
def test_no_other_travels_cost_less(seed: int) -> None:
    chance = random.Random(seed)  # noqa: S311 (no secret)
    songs = made_of(seed)
    neighbours = ((0, 1), (1, 2)) if seed % 3 else ((1, 2),)
    laid, options = {}, list[list[tuple[int, int, Travel] | None]]()
    for at, song in enumerate(songs):
        on = {item: chance.randrange(2) for item in range(4)}
        for knob in range(2):
            items = [item for item in on if on[item] == knob]
            may = {song.problem.wanted[item] for item in items}
            options.append([*((at, knob, song.travels[each]) for each in sorted(may))] or [None])
        laid[at] = Placed(on, {item: chance.choice(WISHES) for item in on})
    pinned = {1} if seed % 5 == 0 else set[int]()
    if pinned:
        laid[1] = over(laid[1], [(knob, chance.choice(WISHES)) for knob in range(2)])
    search = ShowSearch(songs, neighbours, {at: laid[at] for at in pinned}, Watch(60, 1))

    def cost(those: dict[int, Placed]) -> tuple[int, int, int]:
        asked = [song.asked for song in songs]
        layouts = [song.layout(those[at]) for at, song in enumerate(songs)]
        own = [priced(each.request, layout) for each, layout in zip(asked, layouts, strict=True)]
        prices = show_prices(asked, layouts, own, neighbours)
        return prices.total("sharing"), prices.total("travels"), prices.total("change")

    found = with_best_travels(songs, neighbours, search.weights, laid, pinned)
    assert all(found[at].knobs == laid[at].knobs for at in laid)
    assert all(found[at].goes == laid[at].goes for at in pinned)
    least = min(
        cost(
            {
                at: laid[at]
                if at in pinned
                else over(laid[at], [(k, t) for s, k, t in filter(None, chosen) if s == at])
                for at in laid
            }
        )
        for chosen in product(*options)
    )
    assert cost(found) == least


def over(placed: Placed, travels: list[tuple[int, Travel]]) -> Placed:
    """The same with its knobs over these travels."""
    goes = dict(travels)
    return attrs.evolve(placed, goes={item: goes[knob] for item, knob in placed.knobs.items()})
