"""Places in single songs exchanged: less is to be relearned, and every demand is met as before."""

from __future__ import annotations

import attrs

from knobpack import Apart, Barred, Destination, Fixed, Request, Surface, Voice, allocate_request
from knobpack.checker import check
from knobpack.show import Show, Song
from knobpack.show.asked import asked_of
from knobpack.show.definition import joined
from knobpack.show.exchanges import exchanged
from knobpack.show.numbered import Placed, numbered
from knobpack.show.search import Search
from knobpack.solver.watch import Watch
from tests.show.evening import BASS, ORGAN, PANEL, PIANO

RULES = (Fixed("Organ/level", "K3"), Barred("Organ/drive", ["K1"]))
PLAYED = ([ORGAN], [BASS, ORGAN], [PIANO, BASS], [ORGAN, PIANO], [PIANO], [BASS, PIANO])
REQUESTS = [Request(PANEL, voices) for voices in PLAYED]
REQUESTS[3] = attrs.evolve(REQUESTS[3], rules=RULES)
SHOW = Show("Friday", [Song(f"Song {at}", each) for at, each in enumerate(REQUESTS)])


def search(effort: float) -> tuple[Search, dict[int, Placed]]:
    asked = asked_of(SHOW)
    songs = numbered(asked, [allocate_request(each.request) for each in asked], 0)
    laid = {at: song.placed(song.alone.layout) for at, song in enumerate(songs)}
    pinned = {0: laid[0]}
    return Search(songs, SHOW.neighbours, pinned, Watch(effort)), laid


def test_less_is_to_be_relearned_and_all_is_met_as_before() -> None:
    made, laid = search(100.0)
    found = exchanged(made.songs, laid, made.free, made.weights, made.watch)
    assert made.values(found)[:3] < made.values(laid)[:3]
    assert found[0] == laid[0]
    for at, request in enumerate(REQUESTS):
        before, after = (check(request, made.songs[at].layout(each[at])) for each in (laid, found))
        assert after.valid
        for tier in ("unplaced", "bundles", "independence"):
            assert after.prices.total(tier) <= before.prices.total(tier)
        on = {route.destination: route.knob for route in made.songs[at].layout(found[at]).routes}
        assert joined(request, on) <= made.songs[at].most_joined


def test_without_effort_all_stays_as_it_is() -> None:
    made, laid = search(0.0)
    found = exchanged(made.songs, laid, made.free, made.weights, made.watch)
    assert {at: each.knobs for at, each in found.items()} == {
        at: each.knobs for at, each in laid.items()
    }


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
    made = numbered(asked, [allocate_request(each.request) for each in asked], 0)
    places = ((0, 1, 1), (0, 1, 0), (1, 0, 1))
    laid = {
        at: attrs.evolve(song.placed(song.alone.layout), knobs=dict(enumerate(on)))
        for at, (song, on) in enumerate(zip(made, places, strict=True))
    }
    search = Search(made, (), {}, Watch(100.0))
    assert search.values(laid)[0] > 0
    assert search.values(exchanged(made, laid, search.free, search.weights, search.watch))[0] == 0
