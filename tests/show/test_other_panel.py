"""A show on a spare instrument: what is lost is what the setups say, home and away."""

from __future__ import annotations

import re
from html import unescape
from pathlib import Path

import attrs
import pytest

from knobpack import (
    Destination,
    InputError,
    KnobPosition,
    KnobTravel,
    Route,
    Setup,
    Snapshot,
    Surface,
    Travel,
    Voice,
    move_home,
    move_to_panel,
)
from knobpack.checker import check
from knobpack.files import load_show, save
from knobpack.limits import Limits
from knobpack.show import (
    Show,
    ShowAllocation,
    ShowThere,
    Song,
    allocate_show,
    as_laid_out,
    on_panel,
)
from knobpack.show.asked import asked_of
from knobpack.show.definition import priced_show
from knobpack.words.names import listed
from tests.oracles.differential_shows import a_show
from tests.show.evening import PANEL, SHOW, laid_out


def on(setup: Setup) -> dict[str, str]:
    return {route.destination: route.knob for route in setup.routes}


@pytest.fixture(scope="module")
def spare() -> ShowThere:
    return on_panel(laid_out(), Surface.row(2))


def test_what_is_lost_shared_and_moved_is_what_the_setups_say(spare: ShowThere) -> None:
    assert [each.song for each in spare.songs] == [song.name for song in SHOW.songs]
    for each in spare.songs:
        home, away = on(laid_out().setup(each.song)), on(spare.allocation.setup(each.song))
        assert each.gone == tuple(name for name in home if name not in away)
        for shared in each.shared:
            assert {away[name] for name in shared.destinations} == {shared.knob}
            assert {home[name] for name in shared.destinations} == set(shared.knobs)
            assert len(shared.knobs) > 1
        told = {name for shared in each.shared for name in shared.destinations}
        for name in away:
            mates = {home[n] for n in away if away[n] == away[name]}
            assert (name in told) == (len(mates) > 1)
        moved = {m.destination: (m.before, m.after) for m in each.moved}
        assert moved == {n: (home[n], away[n]) for n in away if home[n] != away[n]}
    assert any(each.shared for each in spare.songs)
    assert "'Waltz'" in " ".join(spare.sentences)


def test_stored_positions_are_told_of_the_knobs_that_the_show_puts_things_on() -> None:
    """By itself the first song would have the level of Bass on K1.

    Nor is lost what did nothing at home, and what no knob drove there is told apart.
    """
    inner = [Destination("level", priority=1), Destination("tremolo", priority=4)]
    more = [Destination("sub", priority=1), Destination("echo", priority=4)]
    voices = [Voice("Tines", inner, 1), Voice("Bass", [*inner[:1], *more], 2)]
    names = ("Tines/level", "Tines/tremolo", "Bass/level", "Bass/echo")
    songs = []
    for song, knobs in (("One", "213"), ("Two", "123"), ("Three", "123")):
        on_knobs = [f"K{n}" for n in (*knobs, 4)]
        held = [KnobPosition(k, at) for k, at in zip(on_knobs, (100, 0, 50), strict=False)]
        setup = Setup(
            song,
            Surface.row(4),
            voices,
            routes=list(map(Route, names, on_knobs)),
            travels=[KnobTravel("K4", Travel(9, 9))],
            snapshots=[Snapshot("all", ["Tines", "Bass"]), Snapshot("soft", [], positions=held)],
        )
        songs.append(setup)
    panel = Surface.row(2)
    assert on(move_to_panel(songs[0], panel).setup)["Bass/level"] == "K1"
    there = on_panel(
        allocate_show(Show("Friday", [Song(each.name, each) for each in songs])), panel
    )
    shares = "Tines/tremolo, which shares the knob, stood at 0"
    for each in there.songs:
        setup = there.allocation.setup(each.song)
        assert setup.snapshots[1].stored == {"K1": 100, "K2": 50}
        assert each.notes[-1] == f"In snapshot 'soft' K2 stands at 50 for Bass/level; {shares}."
        assert not any("K1 stands" in line for line in each.notes)
        assert not each.gone
    where = "Essential, and driven by no knob in 'One', 'Two' and 'Three': Bass/sub."
    assert there.headlines[0] == where
    assert where in unescape(re.sub("<[^>]*>", "", there.page()))


def test_each_song_finds_its_way_home(spare: ShowThere) -> None:
    for song in SHOW.songs:
        away = spare.allocation.setup(song.name)
        assert len(away.surface.knobs) == 2
        assert on(move_home(away).setup) == on(laid_out().setup(song.name))


def test_losses_are_said_first() -> None:
    told = on_panel(laid_out(), Surface.row(1))
    lost = [f"'{each.song}' loses {listed(each.gone)}." for each in told.songs if each.gone]
    assert lost
    assert told.headlines == told.sentences[: len(told.headlines)]
    assert told.headlines[: len(lost)] == tuple(lost)
    page = re.sub("<[^>]*>", "", unescape(told.page()))
    assert all(page.index(line) < page.index("in several songs") for line in lost)
    for at, each in enumerate(told.songs, 1):
        own = told.page().split(f'id="song-{at}"')[1].split("</section>")[0]
        words = re.sub("<[^>]*>", "", unescape(own))
        if each.gone:
            names = listed(each.gone, len(each.gone))
            assert words.partition("No knob drives ")[2].startswith(f"{names} here.")
            assert re.match(r"[^.]*No knob drives", words.partition(each.song)[2])
        else:
            assert "No knob drives" not in words


def test_what_was_so_at_home_comes_last_in_one_sentence() -> None:
    """The send is turned round at home and here; the level is louder here, on the one knob."""
    voice = Voice(
        "Pad",
        [
            Destination("level", priority=1),
            Destination("cutoff"),
            Destination("send", travel=Travel(127, 0)),
        ],
    )
    routes = (Route("Pad/level", "K1"), Route("Pad/cutoff", "K2"), Route("Pad/send", "K2"))
    travels = (KnobTravel("K1", Travel(0, 50)), KnobTravel("K2", Travel(0, 127)))
    home = Setup("Home", Surface.row(2), [voice], routes=routes, travels=travels)
    found = on_panel(allocate_show(Show("One", [Song("A", home)])), Surface.row(1))
    (song,) = found.songs
    (there,) = found.allocation.setup("A").travels
    assert not there.travel.reversed
    louder = ["Pad/level"] if there.travel.end > 50 else []
    assert [m.destination for m in song.alarming] == louder
    assert [m.destination for m in song.as_at_home] == ["Pad/send"]
    assert found.headlines[-1] == "Not as wanted, but no worse than at home: Pad/send."
    assert not any("Pad/send" in line for line in found.headlines[:-1])
    card = unescape(found.page()).partition('id="song-1"')[2]
    assert re.search(r"no worse than at home: <bdi>Pad/send</bdi>", card)
    marked = r'<li class="moved"><bdi>Pad</bdi>/<bdi>send</bdi>.*?turned round'
    assert re.search(marked, card)


def test_what_is_turned_round_or_louder_than_at_home_is_said_before_all_else() -> None:
    panel = Surface.row(2)
    voice = Voice("Pad", [Destination("level"), Destination("cutoff"), Destination("depth")])
    routes = (Route("Pad/level", "K1"), Route("Pad/cutoff", "K2"), Route("Pad/depth", "K2"))
    travels = (KnobTravel("K1", Travel(0, 40)), KnobTravel("K2", Travel(100, 0)))
    home = Setup("Home", panel, [voice], routes=routes, travels=travels)
    small = Surface.row(1, bits=8)
    found = on_panel(allocate_show(Show("Two", [Song("A", home), Song("B", home)])), small)
    was = {"Pad/level": (0, 81), "Pad/cutoff": (201, 0), "Pad/depth": (201, 0)}  # n * 255 / 127
    for each in found.songs:
        (there,) = found.allocation.setup(each.song).travels
        goes = there.travel
        turned = {n for n, (a, b) in was.items() if (b < a) != goes.reversed}
        louder = {"Pad/level"} if max(goes.start, goes.end) > 81 else set()
        named = {alarm.destination for alarm in each.alarming}
        assert named == turned | louder != set()
        wanted = {a.destination: (a.wanted.start, a.wanted.end) for a in each.alarming}
        for name, (start, end) in wanted.items():  # scaled, to the nearest
            assert max(abs(start - was[name][0]), abs(end - was[name][1])) <= 1
    assert found.sentences[0].startswith("In 'A' and 'B': Pad/")
    assert "turned round" in found.sentences[0] or "higher than before" in found.sentences[0]


def test_every_route_that_is_elsewhere_is_told_once() -> None:
    voices = [Voice(name, [Destination("level")]) for name in "ABCD"]
    routes = [Route(f"{name}/level", f"K{at}") for at, name in enumerate("ABCD", 1)]
    alone = [Snapshot(*each) for each in (("pair", "AB"), ("third", "C"), ("last", "D"))]
    home = Setup("Home", Surface.row(4), voices, routes=routes, snapshots=alone)
    (there,) = on_panel(allocate_show(Show("One", [Song("A", home)])), Surface.row(3)).songs
    assert {each.destination for each in there.moved} == {"B/level", "D/level"}
    assert there.told == (
        "K1 drives A/level and B/level, which were on K1 and K2",
        "1 other route elsewhere: D/level from K4 to K2",
    )


def test_nothing_is_lost_where_every_knob_is_there_too() -> None:
    told = on_panel(laid_out(), Surface.row(4))
    # There all is programmed anew, so the bass of the encore can be where the ballad has it.
    assert told.sentences[-2:] == (
        "'Encore': 1 route elsewhere: Bass/level from K2 to K1.",
        "Nothing is lost in 'Opener', 'Ballad' and 'Waltz', and no route is elsewhere.",
    )
    one = on_panel(allocate_show(Show("One", SHOW.songs[:1])), Surface.row(4))
    assert one.sentences[-1] == "Nothing is lost in any song, and no route is elsewhere."
    assert told.graph.graph["answer"] in told.graph


def test_what_is_at_home_on_a_knob_that_is_there_stays_at_its_place() -> None:
    """Both drives on one knob would be one kind less to relearn, and the clav elsewhere."""
    panel = Surface.row(3)
    home = {
        "Funk": {"Clav/level": "K1", "Bass/drive": "K3"},
        "Jam": {"Lead/cutoff": "K2", "Sub/drive": "K3"},
    }
    songs = []
    for name, on_knobs in home.items():
        voices = [
            Voice(voice, [Destination(kind, priority=1)])
            for voice, kind in (full.split("/") for full in on_knobs)
        ]
        routes = [Route(*each) for each in on_knobs.items()]
        songs.append(Song(name, Setup(name, panel, voices, routes=routes)))
    found = on_panel(allocate_show(Show("Two", songs)), Surface.row(2))
    assert on(found.allocation.setup("Funk")) == {"Clav/level": "K1", "Bass/drive": "K2"}
    assert on(found.allocation.setup("Jam")) == {"Lead/cutoff": "K2", "Sub/drive": "K1"}


def usual_of(found: ShowAllocation) -> dict[tuple[str, str], str]:
    """The knob that most songs have each thing on, of those that a panel of two has too."""
    usual = {}
    for thing in found.things:
        knobs = [each.knob for each in thing.found if each.knob in {"K1", "K2"}]
        if knobs:
            usual[thing.role, thing.name] = max(dict.fromkeys(knobs), key=knobs.count)
    return usual


@pytest.mark.parametrize("seed", range(6))
def test_what_is_elsewhere_than_at_home_is_relearned_and_no_exchange_is_better(seed: int) -> None:
    found = allocate_show(a_show(seed, 2))
    away = on_panel(found, Surface.row(2)).allocation
    usual = usual_of(found)
    points = 0
    for thing in away.things:
        knobs = {*thing.knobs, *([usual[k]] if (k := (thing.role, thing.name)) in usual else [])}
        points += thing.weight * max(0, len(knobs) - 1)
    assert away.prices.relearning[0] == points
    assert away.proven
    asked = asked_of(away.show)
    turned = {"K1": "K2", "K2": "K1"}
    for at, song in enumerate(away.songs):
        routes = [attrs.evolve(route, knob=turned[route.knob]) for route in song.routes]
        travels = [attrs.evolve(each, knob=turned[each.knob]) for each in song.travels or ()]
        swapped = attrs.evolve(song.layout, routes=tuple(routes), travels=tuple(travels))
        other = check(song.request, swapped)
        assert other.valid
        laid = [s.layout for s in away.songs]
        own = [s.prices for s in away.songs]
        laid[at], own[at] = swapped, other.prices
        assert priced_show(asked, laid, own, away.show.neighbours).totals >= away.prices.totals


def test_what_the_hand_knows_is_asked_about_and_stored_with_the_show(tmp_path: Path) -> None:
    away = on_panel(laid_out(), Surface.row(2)).allocation
    again = as_laid_out(away)
    assert [song.known for song in again.songs] == [song.known for song in away.show.songs]
    save(tmp_path / "show.json", again)
    assert load_show(tmp_path / "show.json").songs[0].known == again.songs[0].known != ()
    assert away.what_if(again).deciding in {None, "change"}


def test_the_panel_is_another() -> None:
    with pytest.raises(InputError, match="the show is on that panel already") as refused:
        on_panel(laid_out(), PANEL)
    assert refused.value.field == "on_panel.surface"


def test_it_is_cut_short_like_all_else() -> None:
    told = on_panel(laid_out(), attrs.evolve(PANEL, bits=8), limits=Limits(cancel=lambda: True))
    assert told.allocation.stopped == "cancelled"
