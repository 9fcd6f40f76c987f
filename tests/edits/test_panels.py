"""A setup taken to another panel, edited there, and taken back home."""

from __future__ import annotations

import random

import attrs
import pytest

from knobpack import edit, move_home, move_to_panel
from knobpack.files import dumps, loads
from knobpack.positions import scaled
from knobpack.setups.as_read import read
from knobpack.words import (
    Alone,
    Destination,
    Fixed,
    Knob,
    KnobLabel,
    KnobTravel,
    Route,
    Setup,
    Snapshot,
    Surface,
    Travel,
    Voice,
)
from knobpack.words.setup_edits import (
    Away,
    BackInUse,
    Edit,
    Join,
    OnKnob,
    OutOfUse,
    OwnKnob,
    Part,
    Swap,
)
from tests.edits.every_layout import knob_of
from tests.edits.setups import STAGE, on_routes, one_by_one, small_setup
from tests.oracles.amount import EXAMPLES
from tests.oracles.replay import in_order, replay


def test_any_setup_is_back_home_what_it_was() -> None:
    fewer = 0
    for seed in range(max(24, EXAMPLES // 10)):
        draw = random.Random(seed)  # noqa: S311 (no secret)
        home = small_setup(seed, knobs=6)
        if seed % 3 == 0:
            home = on_routes(home, draw)
        panel = Surface.row(
            draw.randint(2, 9),
            bits=draw.choice((7, 10, 14)),
            layers=draw.choice((None, 2)),
            travel_on=draw.choice(("knob", "route")),
        )
        if panel == home.surface:
            continue
        away = move_to_panel(home, panel)
        assert away.proven
        assert loads(dumps(away.setup)) == away.setup
        back = move_home(away.setup)
        assert back.setup == home, seed
        assert back.proven
        assert move_to_panel(away.setup, home.surface) == back
        there, here = knob_of(away.setup), knob_of(home)
        for name, knob in there.items():
            if here[name] != knob:
                assert here[name] not in panel.knob_names or away.reasons, (seed, name)
        assert set(here) - set(there) >= set(away.left_out)
        fewer += len(there) < len(here)
        assert in_order(replay(away.before, away.sheet.steps)) == in_order(
            attrs.evolve(away.setup, home=None)
        )
    assert fewer > 5


def test_names_and_places_stay_where_the_panel_has_them() -> None:
    panel = Surface(
        (Knob("K2", 1, 1), Knob("Left", 1, 2), Knob("K9", 1, 3), Knob("K4", 2, 1), Knob("K1", 2, 2))
    )
    away = move_to_panel(STAGE, panel).setup
    now = knob_of(away)
    assert (now["Organ/level"], now["Organ/drive"], now["Wind/level"]) == ("K1", "K2", "K4")
    # K3 stood third in the first row, where K9 stands here.
    assert now["Bass/level"] == now["Bass/cutoff"] == "K9"
    assert [each.name for each in away.snapshots] == ["All", "Bass", "Organ", "Wind"]
    assert away.labels == (KnobLabel("K9", "BASS"),)
    assert away.sending == ()
    assert away.agreed == STAGE.agreed
    assert move_to_panel(away, STAGE.surface).setup == STAGE


def test_what_finds_no_room_stays_behind_and_is_there_again_at_home() -> None:
    panel = Surface.row(3, layers=2, snapshots=2)
    found = move_to_panel(STAGE, panel)
    away = found.setup
    assert [each.name for each in away.voices] == ["Organ", "Bass"]
    assert [each.name for each in away.snapshots] == ["All", "Bass"]
    told = str(found)
    assert "Wind stays behind: there are 2 layers." in told
    assert "Snapshots that stay behind: Organ and Wind" in told
    assert "Rules that wait until it is back home: 1." in told
    assert move_to_panel(away, STAGE.surface).setup == STAGE


def test_what_was_edited_away_from_home_is_so_at_home_and_all_else_is_as_it_was() -> None:
    away = move_to_panel(STAGE, Surface.row(5)).setup
    away = edit(away, OwnKnob(("Bass/cutoff",))).setup
    away = edit(away, Swap("K1", "K2")).setup
    away = attrs.evolve(
        away,
        name="Stage late",
        travels=tuple(
            KnobTravel("K4", Travel(64, 0)) if each.knob == "K4" else each for each in away.travels
        ),
    )
    back = move_to_panel(away, STAGE.surface)
    home = back.setup
    now = knob_of(home)
    assert (now["Organ/level"], now["Organ/drive"]) == ("K2", "K1")
    assert now["Bass/level"] == "K3"
    assert read(home).goes["K3"] == Travel(1001, 17)
    assert read(home).goes["K4"] == Travel(512, 0)
    assert home.name == "Stage late"
    assert home.sending == STAGE.sending
    # On five knobs it had one of its own; four are not enough for that, and this is said first.
    assert not back.left_out
    assert back.gave_way == (Alone(("Bass/cutoff",)),)
    assert back.sentences[0].startswith("Bass/cutoff on a knob of its own, which an earlier edit")
    stored = home.snapshots[1].stored
    assert stored["K2"] == 777
    assert home.home is None


def test_a_voice_that_went_away_there_is_away_at_home_too() -> None:
    away = move_to_panel(STAGE, Surface.row(4)).setup
    away = edit(away, Away(("Wind",))).setup
    home = move_home(away).setup
    assert [each.name for each in home.voices] == ["Organ", "Bass"]
    assert [each.name for each in home.snapshots] == ["All", "Bass", "Organ"]
    assert "Wind/level" not in knob_of(home)


def test_from_one_panel_to_a_third_nothing_is_scaled_twice() -> None:
    second = move_to_panel(STAGE, Surface.row(4)).setup
    third = move_to_panel(second, Surface.row(4, bits=14)).setup
    assert read(third).goes["K3"] == Travel(scaled(1001, 10, 14), scaled(17, 10, 14))
    assert move_to_panel(third, STAGE.surface).setup == STAGE


def test_what_is_put_on_a_knob_there_is_on_it_at_home() -> None:
    away = move_to_panel(STAGE, Surface.row(4)).setup
    away = edit(away, OnKnob(("Organ/level",), "K2")).setup
    home = move_home(away).setup
    assert knob_of(home)["Organ/level"] == knob_of(home)["Organ/drive"] == "K2"
    assert Fixed(("Organ/level",), "K2") in home.agreed


@pytest.mark.parametrize(
    ("what", "moved"),
    [
        (Swap("K1", "K3"), {"Voice 1/level": "K3", "Voice 3/level": "K1"}),
        (Join(("K1", "K2")), {"Voice 2/level": "K1"}),
        (
            OnKnob(("Voice 1/level", "Voice 4/level"), "K3"),
            {"Voice 1/level": "K3", "Voice 4/level": "K3"},
        ),
    ],
)
def test_what_a_knob_drives_there_alone_has_its_own_again_at_home(
    what: Edit, moved: dict[str, str]
) -> None:
    """Voice 4 shares a knob there; it goes along at home only where it is named itself."""
    home = one_by_one(0, 4)
    away = move_to_panel(home, Surface.row(3)).setup
    assert knob_of(away)["Voice 4/level"] == "K1"
    assert knob_of(move_home(edit(away, what).setup).setup) == knob_of(home) | moved


@pytest.mark.parametrize(
    "what", [OwnKnob(("Voice 4/level",)), Part(("Voice 4/level",), ("Voice 1/level",))]
)
def test_what_made_room_there_is_where_it_was_at_home(what: Edit) -> None:
    home = one_by_one(0, 4)
    away = move_to_panel(home, Surface.row(3)).setup
    parted = edit(away, what).setup
    assert knob_of(parted) != knob_of(away)
    back = move_home(parted).setup
    assert knob_of(back) == knob_of(home)


def test_what_is_otherwise_at_home_wishes_for_no_travel_that_it_never_had() -> None:
    """Joined or set anew there, at home what wishes for a travel is what does so there."""
    home = attrs.evolve(STAGE, travels=(KnobTravel("K2", Travel(200, 900)),))
    away = move_to_panel(home, Surface.row(4)).setup
    for what in (OnKnob(("Organ/level",), "K2"), KnobTravel("K2", Travel(25, 110))):
        there = edit(away, what).setup
        wishing = [
            [name for name, inner in read(each).destinations.items() if inner.travel is not None]
            for each in (there, move_home(there).setup)
        ]
        assert wishing == [["Organ/drive"] if isinstance(what, OnKnob) else []] * 2


def test_what_gave_way_on_a_narrower_panel_holds_again_at_home() -> None:
    home = edit(STAGE, OwnKnob(("Organ/level",))).setup
    away = move_to_panel(attrs.evolve(home, snapshots=()), Surface.row(1))
    assert away.gave_way == (Alone(("Organ/level",)),)
    assert not away.left_out
    assert move_home(away.setup).setup == attrs.evolve(home, snapshots=())


def test_each_route_keeps_its_travel_where_the_panel_sets_travels_on_routes() -> None:
    routes = tuple(
        attrs.evolve(route, travel=Travel(at, 1023 - at)) for at, route in enumerate(STAGE.routes)
    )
    by_route = attrs.evolve(STAGE.surface, travel_on="route")
    home = attrs.evolve(STAGE, surface=by_route, routes=routes, travels=(), agreed=())
    found = edit(home, Swap("K1", "K3")).setup
    goes = {route.destination: route.travel for route in found.routes}
    assert goes == {route.destination: route.travel for route in home.routes}
    broken = edit(home, OutOfUse("K3")).setup
    assert {route.destination: route.travel for route in broken.routes} == goes
    assert set(edit(broken, BackInUse("K3")).setup.routes) == set(home.routes)
    parted = edit(home, OwnKnob(("Bass/level",), "K3")).setup
    assert {r.destination: r.travel for r in parted.routes}["Bass/level"] == Travel(2, 1021)
    away = move_to_panel(home, Surface.row(4, bits=7, travel_on="route")).setup
    assert away.routes[1].travel == Travel(1 >> 3, 1022 >> 3)
    away = edit(away, Swap("K1", "K3")).setup
    back = move_to_panel(away, home.surface).setup
    assert {route.destination: route.travel for route in back.routes} == goes


def test_what_the_panel_has_no_place_for_follows_in_the_order_of_its_home() -> None:
    """Two rows of four on one row of eight."""
    knobs = tuple(
        Knob(str(number), row=(number + 3) // 4, column=(number - 1) % 4 + 1)
        for number in range(1, 9)
    )
    organ = Voice("Organ", tuple(Destination(f"drawbar {n}") for n in range(1, 9)), 1)
    # What is named last is on the first knob: the order is that of knobs, not of names.
    routes = tuple(Route(f"Organ/drawbar {9 - n}", str(n)) for n in range(1, 9))
    home = Setup("Evening set", Surface(knobs), (organ,), routes=routes)
    found = move_to_panel(home, Surface.row(8))
    now = {route.destination: route.knob for route in found.setup.routes}
    assert [now[route.destination] for route in routes] == [f"K{n}" for n in range(1, 9)]
    assert [str(each.before) for each in found.moved] == ["8", "7", "6", "5"]
    assert move_to_panel(found.setup, home.surface).setup == home


def test_what_is_joined_there_came_from_knobs_of_the_panel_at_home() -> None:
    voice = Voice("Organ", tuple(Destination(name) for name in ("level", "cutoff", "drive")), 1)
    routes = tuple(
        Route(f"Organ/{inner.name}", f"K{at}") for at, inner in enumerate(voice.destinations, 1)
    )
    home = Setup("Evening set", Surface.row(3), (voice,), routes=routes)
    panel = Surface((Knob("low", 2, 1), Knob("high", 2, 2)))
    found = move_to_panel(home, panel)
    (joined,) = (each for each in found.sentences if " now drives " in each)
    knob = next(k for k in ("low", "high") if len(read(found.setup).carries[k]) == 2)
    were = [route.knob for route in routes if knob_of(found.setup)[route.destination] == knob]
    assert joined.startswith(f"{knob} now drives ")
    assert f", which were on {were[0]} and {were[1]}: " in joined


def test_a_travel_set_there_is_not_that_of_what_has_a_knob_of_its_own_at_home() -> None:
    """On two knobs the sweep, turned round at home on K2, goes along with the level."""
    inner = Destination("level", priority=1), Destination("sweep", priority=2)
    home = Setup(
        "Pad set",
        Surface.row(3),
        (Voice("Pad", inner, 1), Voice("Bass", (Destination("level", priority=1),), 2)),
        routes=(Route("Pad/level", "K1"), Route("Pad/sweep", "K2"), Route("Bass/level", "K3")),
        travels=(KnobTravel("K2", Travel(127, 0)),),
        snapshots=(Snapshot("all", ("Pad", "Bass")), Snapshot("bass", ("Bass",))),
    )
    there = move_to_panel(home, Surface((Knob("Red"), Knob("Blue", column=2)))).setup
    knob = knob_of(there)["Pad/level"]
    assert knob_of(there)["Pad/sweep"] == knob
    back = move_home(edit(there, KnobTravel(knob or "", Travel(0, 100))).setup).setup
    assert {each.knob: each.travel for each in back.travels} == {
        "K1": Travel(0, 100),
        "K2": Travel(127, 0),
    }
