"""What is between songs, priced by hand and by a second reading of the definition."""

from __future__ import annotations

import random

import attrs
import pytest

from knobpack import (
    Allocation,
    Destination,
    KnobTravel,
    Layout,
    Request,
    Route,
    Surface,
    Travel,
    Voice,
)
from knobpack.checker import check
from knobpack.show import (
    FoundAt,
    Relearned,
    Shift,
    Show,
    ShowDestination,
    ShowPrices,
    Song,
    TravelBetween,
    definition,
)
from knobpack.show.asked import asked_of
from knobpack.show.definition import (
    joined_in,
    loads_joined,
    priced_show,
    show_prices,
    sizes_of,
    things_of,
)
from knobpack.show.prices import SongLoads
from knobpack.words import VoiceLayer
from tests.oracles import shows as oracle
from tests.oracles.differential_shows import a_show

PANEL = Surface.row(4)


def laid(request: Request, **on: list[str]) -> Layout:
    """A layout, with a travel for each knob that it uses."""
    made = Layout.of(on)
    return attrs.evolve(made, travels=check(request, made).travels)


def priced(show: Show, layouts: list[Layout]) -> ShowPrices:
    return show_prices(asked_of(show), layouts, (), show.neighbours)


def some_layout(chance: random.Random, request: Request) -> Layout:
    """Any layout, good or bad, that leaves something out now and then."""
    knobs = (*request.surface.knob_names, None)
    on = {name: chance.choice(knobs) for name in request.by_full_name}
    routes = [Route(name, knob) for name, knob in on.items() if knob is not None]
    travels = [
        KnobTravel(knob, chance.choice([Travel(0, 127), Travel(127, 0), Travel(5, 60)]))
        for knob in dict.fromkeys(route.knob for route in routes)
    ]
    return Layout(routes, travels)


@pytest.mark.parametrize("seed", range(60))
def test_any_layouts_cost_what_a_second_reading_says(seed: int) -> None:
    chance = random.Random(seed)  # noqa: S311 - not for secrets
    show = a_show(seed, 2 + seed % 3)
    asked = [song.played for song in show.songs if isinstance(song.played, Request)]
    layouts = [some_layout(chance, request) for request in asked]
    found = priced(show, layouts)
    assert found.relearning == oracle.relearning(show, layouts)
    assert found.moves == oracle.moves(show, layouts)
    assert found.total("travels") == oracle.travels(show, layouts)
    assert all(each.points for each in found.relearned)
    assert all(each.points for each in found.turned)
    assert all(term.bundles for term in found.shifts)
    for request, layout in zip(asked, layouts, strict=True):
        on = {route.destination: route.knob for route in layout.routes}
        assert loads_joined(request, on) == oracle.joined(request, layout)


def organ(name: str, priority: int = 1) -> Voice:
    return Voice(
        name,
        [
            Destination("level", priority=priority),
            Destination("drive", priority=3, travel=Travel(0, 100)),
            Destination("tone", kind="cutoff", priority=5),
        ],
    )


def evening() -> tuple[Show, list[Layout]]:
    """Three songs of an organ that has another name in the second, then one more by itself."""
    bass = Voice("Bass", [Destination("level", priority=2)])
    requests = [
        Request(PANEL, [organ("Organ", 2), bass]),
        Request(PANEL, [organ("Reeds"), bass]),
        Request(PANEL, [organ("Organ", 4)]),
        Request(PANEL, [bass]),
    ]
    show = Show(
        "By hand",
        [
            Song("One", requests[0]),
            Song("Two", requests[1], {"Reeds": "Organ"}),
            Song("Three", requests[2]),
            Song("Four", requests[3]),
        ],
        breaks=["Three"],
    )
    layouts = [
        laid(requests[0], K1=["Organ/level", "Organ/drive"], K4=["Bass/level", "Organ/tone"]),
        laid(requests[1], K3=["Reeds/level"], K2=["Reeds/drive"], K4=["Bass/level"]),
        laid(requests[2], K3=["Organ/level"], K2=["Organ/drive"], K1=["Organ/tone"]),
        laid(requests[3], K2=["Bass/level"]),
    ]
    others = [each for each in layouts[2].travels if each.knob != "K3"]
    turned = KnobTravel("K3", Travel(127, 0))
    layouts[2] = attrs.evolve(layouts[2], travels=[*others, turned])
    return show, layouts


def test_each_term_by_hand() -> None:
    show, layouts = evening()
    found = priced(show, layouts)
    assert found.relearned == (
        Relearned("destination", "Organ/level", ("K1", "K3"), 1, 8),
        Relearned("destination", "Organ/drive", ("K1", "K2"), 1, 2),
        # The tone is hidden, so that it is elsewhere costs nothing.
        Relearned("destination", "Bass/level", ("K2", "K4"), 1, 4),
        Relearned("role", "Organ", ("K1", "K2", "K3", "K4"), 3, 1),
        Relearned("role", "Bass", ("K2", "K4"), 1, 1),
        Relearned("kind", "level", ("K1", "K2", "K3", "K4"), 2, 2),
        Relearned("kind", "drive", ("K1", "K2"), 1, 1),
        Relearned("kind", "cutoff", ("K1", "K4"), 1, 1),
    )
    # One knob is left and two are come to; after the break nothing follows anything.
    moved = (("level", "K1", "K3"), ("drive", "K1", "K2"))
    assert found.shifts == (Shift("One", "Two", "Organ", moved, 2, 10),)
    assert found.turned == (
        TravelBetween("Two", "Three", "Organ/level", "K3", Travel(0, 127), Travel(127, 0), 1600),
    )
    assert found.relearning == (14, 2, 4)
    assert found.moves == (2, 10)
    size = 10**6
    assert found.sizes == (size * size, size, size)
    assert found.total("relearning") == (14 * size + 2) * size + 4


def test_the_least_that_counts_is_one_point_and_two_that_move_together_are_one_bundle() -> None:
    voice = Voice("Organ", [Destination("level", priority=4), Destination("tone", priority=5)])
    request = Request(PANEL, [voice])
    show = Show("Two", [Song("A", request), Song("B", request)])
    both = ["Organ/level", "Organ/tone"]
    found = priced(show, [laid(request, K1=both), laid(request, K2=both)])
    assert found.relearned[0] == Relearned("destination", "Organ/level", ("K1", "K2"), 1, 1)
    assert [each.what for each in found.relearned] == ["Organ/level", "Organ", "level", "tone"]
    assert found.moves == (1, 1)


def test_a_show_of_one_song_costs_nothing_between_songs() -> None:
    request = Request(PANEL, [organ("Organ")])
    show = Show("One", [Song("A", request)])
    found = priced(show, [laid(request, K1=["Organ/level"])])
    assert (found.relearned, found.shifts, found.turned) == ((), (), ())
    with pytest.raises(ValueError, match="shorter"):
        priced(show, [])


def test_what_the_hand_knows_counts_as_a_song_more() -> None:
    request = Request(PANEL, [organ("Organ")])
    home = Song("A", request, known=[Route("Organ/level", "K4")])
    show = Show("Home", [home, Song("B", request)])
    layouts = [laid(request, K1=["Organ/level"]), laid(request, K2=["Organ/level"])]
    own = [check(request, layout).prices for layout in layouts]
    found = priced_show(asked_of(show), layouts, own, show.neighbours)
    assert found.relearned[0] == Relearned("destination", "Organ/level", ("K1", "K2", "K4"), 1, 16)
    assert (found.songs, found.moves) == (tuple(own), (1, 8))


def test_of_a_travel_that_is_not_known_nothing_is_told() -> None:
    request = Request(PANEL, [organ("Organ")])
    show = Show("Two", [Song("A", request), Song("B", request)])
    pair = [laid(request, K1=["Organ/level"]), Layout.of({"K1": ["Organ/level"]})]
    assert priced(show, pair).turned == priced(show, pair[::-1]).turned == ()


def test_where_each_thing_is_found() -> None:
    show, layouts = evening()
    level, drive, tone, bass = things_of(asked_of(show), layouts)
    assert (level.role, level.name, level.kind, level.priority) == ("Organ", "level", "level", 1)
    assert level.found[1] == FoundAt("Two", "Reeds/level", "K3", Travel(0, 127))
    assert drive.found[0] == FoundAt("One", "Organ/drive", "K1", Travel(0, 127))
    assert drive.found[1].travel == Travel(0, 100)
    assert tone == ShowDestination(
        "Organ",
        "tone",
        "cutoff",
        5,
        (
            FoundAt("One", "Organ/tone", "K4", Travel(0, 127)),
            FoundAt("Two", "Reeds/tone", None, None),
            FoundAt("Three", "Organ/tone", "K1", Travel(0, 127)),
        ),
    )
    assert [each.song for each in bass.found] == ["One", "Two", "Four"]


@pytest.mark.parametrize(
    ("least", "sizes"),
    [(1, (10 * 100, 100, 100)), (10, (10 * 100, 100, 100)), (1_000, (10**6, 10**3, 10**3))],
)
def test_each_part_counts_more_than_all_of_the_next(
    least: int, sizes: tuple[int, int, int], monkeypatch: pytest.MonkeyPatch
) -> None:
    """Three kinds and two roles on four knobs, twelve destinations asked for in all."""
    monkeypatch.setattr(definition, "LEAST_SIZE", least)
    assert sizes_of(asked_of(evening()[0])) == sizes


def test_a_size_is_above_what_it_is_for_and_no_more_than_it_must(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(definition, "LEAST_SIZE", 1)
    # On five knobs two kinds come to ten at most, and ten is not above that.
    voices = [Voice("Organ", [Destination("level"), Destination("drive")])]
    show = Show("One", [Song("A", Request(Surface.row(5), voices))])
    assert sizes_of(asked_of(show)) == (10 * 100, 100, 100)
    # Two roles and two kinds on five knobs: ten. Three destinations of eight points: 24.
    voices.append(Voice("Bass", [Destination("level")]))
    both = Show("Both", [Song("A", Request(Surface.row(5), voices))])
    assert sizes_of(asked_of(both)) == (100 * 100, 100, 100)
    # Thirteen destinations of one kind: 104.
    one = [Voice("Organ", [Destination(f"drawbar {at}", "level") for at in range(13)])]
    small = Show("One", [Song("A", Request(Surface.row(1), one))])
    assert sizes_of(asked_of(small)) == (100, 10, 1000)


def test_loads_that_share_knobs_are_counted_knob_by_knob() -> None:
    bundle = [Destination(each, source_knob="A") for each in ("level", "drive")]
    request = Request(PANEL, [Voice("Organ", bundle), organ("Reeds")])
    together = {"Organ/level": "K1", "Organ/drive": "K1", "Reeds/level": "K1", "Reeds/tone": "K1"}
    assert loads_joined(request, together) == (2, 3)
    assert loads_joined(request, together | {"Reeds/level": "K2"}) == (1, 0)
    assert loads_joined(request, together | {"Organ/drive": "K2", "Reeds/level": "K2"}) == (2, 1)
    assert loads_joined(request, {}) == (0, 0)


def test_more_loads_may_share_in_what_is_not_programmed() -> None:
    request = Request(PANEL, [organ("Organ")])
    parted, joined = (
        Allocation.of(request, laid(request, **on))
        for on in ({"K1": ["Organ/level"]}, {"K1": ["Organ/level", "Organ/drive"]})
    )
    show = Show("Two", [Song("A", request), Song("B", parted)])
    assert joined_in([joined, parted], [parted, joined], show, 2) == (
        *(SongLoads("A", 1, 1, 0 + 2, 0 + 2), SongLoads("B", 0, 0, 1, 1)),
    )


def test_travels_set_on_routes_count_route_by_route() -> None:
    panel = Surface.row(2, travel_on="route")
    voice = Voice("Organ", [Destination("level", priority=1), Destination("drive", priority=1)])
    songs = [Song(name, Request(panel, [voice])) for name in ("A", "B")]
    one, other = (
        Layout(
            [Route("Organ/level", "K1", Travel(0, 127)), Route("Organ/drive", "K1", goes)],
            layers=[VoiceLayer("Organ", 1)],
        )
        for goes in (Travel(0, 127), Travel(127, 0))
    )
    (turned,) = priced(Show("Two", songs), [one, other]).turned
    assert (turned.what, turned.points) == ("Organ/drive", 1600)
