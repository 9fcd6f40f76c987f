"""Knobs called anew over a whole show: the most stays where it was, as trying all names finds."""

from __future__ import annotations

import random
from itertools import permutations

import attrs
import pytest

from knobpack import Barred, Fixed, Layout, Request, Route, allocate_request
from knobpack.checker import check
from knobpack.show import Show, Song, allocate_show
from knobpack.show.asked import asked_of
from knobpack.show.knob_assignment import renamed, songs_arranged
from knobpack.show.numbered import numbered_songs
from knobpack.solver.watch import Watch
from tests.show.evening import BASS, ORGAN, PANEL, PIANO

PLAYED = ([ORGAN], [BASS, ORGAN], [PIANO, BASS], [ORGAN, PIANO])
RULES = ((), (Fixed("Bass/level", "K2"),), (Barred("Bass/level", ["K3"]),))
KNOBS = PANEL.knob_names


@pytest.mark.parametrize("seed", range(12))
def test_the_most_stays_where_it_was(seed: int) -> None:
    chance = random.Random(seed)  # noqa: S311 (no secret)
    songs, was = [], []
    for at, voices in enumerate(PLAYED):
        request = Request(PANEL, voices, rules=chance.choice(RULES) if BASS in voices else ())
        laid = allocate_request(request)
        names = dict(zip(KNOBS, chance.sample(KNOBS, 3), strict=True))
        there = [Route(r.destination, names[r.knob]) for r in laid.routes]
        was.append({route.destination: route.knob for route in there})
        request = attrs.evolve(request, previous=Layout(there))
        songs.append(Song(f"S{at}", request))
    asked = asked_of(Show("Four", songs))
    made = numbered_songs(asked, [allocate_request(each.request) for each in asked], 0)
    alone = {at: song.placed(song.alone.layout) for at, song in enumerate(made)}
    layouts = [song.layout(alone[at]) for at, song in enumerate(made)]
    called = renamed(made, alone)
    found = [song.layout(called[at]) for at, song in enumerate(made)]

    def kept(those: list[Layout]) -> int:
        return sum(
            where.get(route.destination) == route.knob
            for where, layout in zip(was, those, strict=True)
            for route in layout.routes
        )

    best = 0
    for order in permutations(KNOBS):
        names = dict(zip(KNOBS, order, strict=True))
        other = [
            Layout(
                [Route(r.destination, names[r.knob]) for r in layout.routes],
                [attrs.evolve(each, knob=names[each.knob]) for each in layout.travels],
            )
            for layout in layouts
        ]
        valid = [check(a.request, layout).valid for a, layout in zip(asked, other, strict=True)]
        if all(valid):
            best = max(best, kept(other))
    assert kept(found) == best
    assert all(check(a.request, layout).valid for a, layout in zip(asked, found, strict=True))


@pytest.mark.parametrize("seed", range(12))
def test_all_songs_are_laid_out_as_well_as_any_names_of_knobs_allow(seed: int) -> None:
    chance = random.Random(seed)  # noqa: S311 (no secret)
    requests = [
        Request(PANEL, voices, rules=chance.choice(RULES) if BASS in voices else ())
        for voices in PLAYED
    ]
    asked = asked_of(Show("Four", [Song(f"S{at}", each) for at, each in enumerate(requests)]))
    made = numbered_songs(asked, [allocate_request(each) for each in requests], 0)
    alone = {at: song.placed(song.alone.layout) for at, song in enumerate(made)}

    def cost(names: dict[int, int]) -> int | None:
        """What all songs come to in *layout* with knobs called so; None: some may not be so."""
        total = 0
        for at, request in enumerate(requests):
            on = {item: names[knob] for item, knob in alone[at].knobs.items()}
            found = check(request, made[at].layout(attrs.evolve(alone[at], knobs=on)))
            if not found.valid:
                return None
            total += found.prices.total("layout")
        return total

    every = [cost(dict(enumerate(order))) for order in permutations(range(3))]
    arranged = songs_arranged(made, [alone], Watch(10.0))
    assert arranged is not None
    found, bound = arranged
    checks = [check(a, made[at].layout(found[at])) for at, a in enumerate(requests)]
    assert all(each.valid for each in checks)
    least = min(each for each in every if each is not None)
    assert sum(each.prices.total("layout") for each in checks) == bound == least


def test_a_show_that_is_free_but_good_as_it_is_stays_so() -> None:
    """Its knobs could be called otherwise for nothing."""
    there = {"K3": ["Organ/level"], "K1": ["Organ/drive"]}
    laid = allocate_request(Request(PANEL, [ORGAN], keep=Layout.of(there)))
    played = attrs.evolve(laid.request, keep=Layout(), previous=laid.layout)
    for effort in (0.01, 10.0):
        found = allocate_show(Show("One", [Song("A", played), Song("B", played)]), effort=effort)
        for song in found.songs:
            on = {route.destination: route.knob for route in song.routes}
            assert on == {"Organ/level": "K3", "Organ/drive": "K1"}
