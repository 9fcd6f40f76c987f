"""ShowNeighbourhoods of a show: less is to be relearned, and every demand is met as before."""

from __future__ import annotations

import attrs
import pytest

from knobpack import Apart, Barred, Destination, Fixed, Request, Surface, Voice, allocate_request
from knobpack.checker import check
from knobpack.numbered.problem import bits
from knobpack.show import Show, Song
from knobpack.show.asked import asked_of
from knobpack.show.definition import loads_joined
from knobpack.show.neighbourhoods import ShowNeighbourhoods
from knobpack.show.numbered import Placed, numbered_songs
from knobpack.show.search import ShowSearch
from knobpack.solver.watch import Watch
from tests.show.evening import BASS, ORGAN, PANEL, PIANO

RULES = (Fixed("Organ/level", "K3"), Barred("Organ/drive", ["K1"]))
PLAYED = ([ORGAN], [BASS, ORGAN], [PIANO, BASS], [ORGAN, PIANO], [PIANO], [BASS, PIANO])
REQUESTS = [Request(PANEL, voices) for voices in PLAYED]
REQUESTS[3] = attrs.evolve(REQUESTS[3], rules=RULES)
SHOW = Show("Friday", [Song(f"Song {at}", each) for at, each in enumerate(REQUESTS)])


def search(effort: float) -> tuple[ShowSearch, dict[int, Placed]]:
    asked = asked_of(SHOW)
    songs = numbered_songs(asked, [allocate_request(each.request) for each in asked], 0)
    laid = {at: song.placed(song.alone.layout) for at, song in enumerate(songs)}
    pinned = {0: laid[0]}
    return ShowSearch(songs, SHOW.neighbours, pinned, Watch(effort)), laid


def test_less_is_to_be_relearned_and_all_is_met_as_before() -> None:
    made, laid = search(100.0)
    found = made.improved(laid, 0, 1.0)
    assert made.values(found)[0] < made.values(laid)[0]
    assert found[0] == laid[0]
    for at, request in enumerate(REQUESTS):
        before, after = (check(request, made.songs[at].layout(each[at])) for each in (laid, found))
        assert after.valid
        for tier in ("unplaced", "bundles", "independence"):
            assert after.prices.total(tier) <= before.prices.total(tier)
        on = {route.destination: route.knob for route in made.songs[at].layout(found[at]).routes}
        joined = zip(loads_joined(request, on), made.songs[at].most_joined, strict=True)
        assert all(loads <= most for loads, most in joined)


@pytest.mark.parametrize("step", range(1, 6))
def test_a_step_gets_no_worse_nor_any_before_it(step: int) -> None:
    made, laid = search(100.0)
    values = made.values(made.improved(laid, step, 1.0))
    assert values[: step + 1] <= made.values(laid)[: step + 1]
    assert all(now <= was for now, was in zip(values[:step], made.values(laid)[:step], strict=True))


def test_without_effort_all_stays_as_it_is() -> None:
    made, laid = search(0.0)
    assert made.improved(laid, 0, 1.0) == laid


def test_what_shares_a_knob_may_be_parted_and_another_join() -> None:
    # Alone each song joins what costs least; over the show the three can stay where they are.
    voice = Voice("Organ", [Destination(kind) for kind in ("level", "drive", "cutoff")])
    apart = (
        ("Organ/level", "Organ/drive"),
        ("Organ/drive", "Organ/cutoff"),
        ("Organ/level", "Organ/drive"),
    )
    surface = Surface.row(2)
    songs = [
        Song(f"Song {at}", Request(surface, [voice], rules=[Apart(pair[0], pair[1])]))
        for at, pair in enumerate(apart)
    ]
    asked = asked_of(Show("Apart", songs))
    made = numbered_songs(asked, [allocate_request(each.request) for each in asked], 0)
    places = ((0, 1, 1), (0, 1, 0), (1, 0, 1))
    laid = {
        at: attrs.evolve(song.placed(song.alone.layout), knobs=dict(enumerate(on)))
        for at, (song, on) in enumerate(zip(made, places, strict=True))
    }
    search = ShowSearch(made, (), {}, Watch(100.0))
    assert search.values(laid)[0] > 0
    assert search.values(search.improved(laid, 0, 1.0))[0] == 0


def test_within_what_is_found_nothing_costs_more_and_all_may_stay() -> None:
    made, laid = search(1.0)
    drawn = ShowNeighbourhoods(made.songs, made.free, made.weights)
    found: dict[object, int] = {}
    for at, song in enumerate(made.songs):
        for key, item in song.item_of.items():
            found[key] = found.get(key, 0) | 1 << laid[at].knobs[item]
    some = next(iter(made.songs[1].item_of))
    for keys, songs in (((), ()), ((some,), ()), ((), (2,))):
        open_to = drawn.within(laid, keys, songs)
        assert set(open_to) == set(made.free)
        for at, masks in open_to.items():
            key_of = {item: key for key, item in made.songs[at].item_of.items()}
            for atom, mask in zip(made.songs[at].problem.atoms, masks, strict=True):
                own = [key_of[item] for item in bits(atom.items)]
                assert all(mask >> laid[at].knobs[item] & 1 for item in bits(atom.items))
                if at in songs or set(own) <= set(keys):
                    assert mask == atom.knobs
                elif not keys:
                    assert all(not mask & ~found[key] for key in own if made.weights[key])


def test_every_neighbourhood_holds_where_all_is() -> None:
    made, laid = search(1.0)
    drawn = ShowNeighbourhoods(made.songs, made.free, made.weights)
    larger = 0
    for _ in range(60):
        open_to = drawn.next(laid)
        for at, masks in open_to.items():
            for atom, mask in zip(made.songs[at].problem.atoms, masks, strict=True):
                assert all(mask >> laid[at].knobs[item] & 1 for item in bits(atom.items))
        size = sum(mask.bit_count() for masks in open_to.values() for mask in masks)
        drawn.learn(through=True)
        larger = max(larger, size)
    everywhere = sum(a.knobs.bit_count() for at in made.free for a in made.songs[at].problem.atoms)
    assert larger == everywhere
