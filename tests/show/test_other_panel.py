"""A show on a spare instrument: what is lost is what the setups say, home and away."""

from __future__ import annotations

import attrs
import pytest

from knobpack import InputError, Setup, Surface, move_home
from knobpack.limits import Limits
from knobpack.show import Show, ShowThere, allocate_show, on_panel
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


def test_each_song_finds_its_way_home(spare: ShowThere) -> None:
    for song in SHOW.songs:
        away = spare.allocation.setup(song.name)
        assert len(away.surface.knobs) == 2
        assert on(move_home(away).setup) == on(laid_out().setup(song.name))


def test_losses_are_said_first() -> None:
    told = on_panel(laid_out(), Surface.row(1))
    lost = [at for at, line in enumerate(told.sentences) if " loses " in line]
    assert lost == list(range(2, 2 + len(lost)))
    assert len(lost) == sum(bool(each.gone) for each in told.songs) > 0


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


def test_the_panel_is_another() -> None:
    with pytest.raises(InputError) as refused:
        on_panel(laid_out(), PANEL)
    assert refused.value.__notes__ == ["This is about the song 'Opener'."]


def test_it_is_cut_short_like_all_else() -> None:
    told = on_panel(laid_out(), attrs.evolve(PANEL, bits=8), limits=Limits(cancel=lambda: True))
    assert told.allocation.stopped == "cancelled"
