"""Questions about a show: the prices are those of the show laid out again."""

from __future__ import annotations

import attrs
import pytest

from knobpack import (
    Destination,
    Fixed,
    InputError,
    Layout,
    Request,
    Route,
    Setup,
    Snapshot,
    Surface,
    Voice,
    show,
)
from knobpack.heavy_imports import BoundQuestion
from knobpack.questions import AskedOfShow
from knobpack.show import (
    SHOW_TIERS,
    OddSong,
    Show,
    Song,
    allocate_show,
    as_laid_out,
    odd_songs,
    one_more_knob,
    what_if_show,
    why_elsewhere,
)
from tests.oracles.differential_shows import a_show
from tests.oracles.shows import relearning
from tests.show.evening import BASS, ORGAN, PIANO, SHOW, laid_out

PANEL = Surface.row(3)


def values(found: object) -> list[int]:
    return [tier.value for tier in found.tiers]  # type: ignore[attr-defined]


def test_a_show_as_it_is_laid_out_stays_so() -> None:
    found = laid_out()
    kept = as_laid_out(found)
    assert all(song.pinned for song in kept.songs)
    again = allocate_show(kept)
    assert [song.routes for song in again.songs] == [song.routes for song in found.songs]
    assert not as_laid_out(found, ["Opener"]).songs[0].pinned


def test_a_song_that_is_put_in_moves_nothing_else() -> None:
    found = laid_out()
    kept = as_laid_out(found)
    new = Song("New", Request(PANEL, [BASS, PIANO]))
    longer = attrs.evolve(kept, songs=(*kept.songs[:2], new, *kept.songs[2:]))
    told = what_if_show(found, longer)
    assert told.moved == ()
    assert told.allocation is not None
    assert told.after == told.allocation.tiers
    assert told.routes_anew > 0
    assert told.sentences[-1] == f"{told.routes_anew} routes are to be programmed: {told.anew[0]}."
    assert "No route moves." not in told.sentences


def test_what_another_knob_costs_is_what_the_show_costs_with_it_there() -> None:
    found = laid_out()
    here = found.song("Waltz").knob_of("Organ/level")
    for knob in PANEL.knob_names:
        told = why_elsewhere(found, "Waltz", "Organ/level", knob)
        assert told.allocation is not None
        assert told.allocation.song("Waltz").knob_of("Organ/level") == knob
        if knob == here:
            assert told.deciding is None
            continue
        assert told.proven
        assert [each.value for each in told.after] > values(found)
        asked = SHOW.songs[2].played
        assert isinstance(asked, Request)
        forced = attrs.evolve(asked, rules=(Fixed("Organ/level", knob),))
        kept = as_laid_out(found).songs
        songs = (*kept[:2], Song("Waltz", forced), kept[3])
        assert values(allocate_show(attrs.evolve(SHOW, songs=songs))) == [
            each.value for each in told.after
        ]


def test_a_song_that_is_programmed_answers_as_if_it_alone_were_free() -> None:
    found = laid_out()
    told = why_elsewhere(found, "Encore", "Bass/level", "K1")
    assert told.sentences[0].startswith(
        "Bass/level on K1 in 'Encore', where it is on K2: less to relearn (0 points, not 8), "
        "proven."
    )
    assert told.freed == ("Encore",)
    free = [attrs.evolve(each, free=each.name == "Encore") for each in as_laid_out(found).songs]
    saved = what_if_show(found, attrs.evolve(found.show, songs=tuple(free)))
    # Freed, it goes there by itself; what is named may change.
    kept = [[tier for tier in each if tier.name != "change"] for each in (told.after, saved.after)]
    assert kept[0] == kept[1]


def test_what_goes_along_and_what_shares_the_knob_is_said() -> None:
    """What one knob of a source drove, or drives of a setup, goes along."""
    both = [Destination(name, priority=2, source_knob="K1") for name in ("level", "cutoff")]
    stays = Layout([Route("Bass/level", "K3")])
    every = Snapshot("all", ["Organ", "Bass"])
    asked = Request(PANEL, [Voice("Organ", both), BASS], keep=stays, snapshots=[every])
    found = allocate_show(Show("One", [Song("Opener", asked)]))
    told = why_elsewhere(found, "Opener", "Organ/cutoff", "K3")
    assert told.allocation is not None
    there = {"Organ/cutoff", "Organ/level", "Bass/level"}
    assert {*told.allocation.song("Opener").on("K3")} == there
    assert (told.along, told.beside) == (("Organ/level",), ("Bass/level",))
    assert told.sentences[-3:-1] == (
        "Organ/level goes along, as one knob drove both.",
        "There it would share a knob with Bass/level.",
    )
    routes = [Route(name, "K1") for name in ("Organ/level", "Organ/cutoff")]
    organ = Voice("Organ", [Destination("level"), Destination("cutoff")])
    setup = Setup("Was", PANEL, [organ], routes=routes)
    found = allocate_show(Show("One", [Song("Opener", setup)]))
    alone = why_elsewhere(found, "Opener", "Organ/cutoff", "K3")
    assert (alone.along, alone.beside) == (("Organ/level",), ())
    here = why_elsewhere(found, "Opener", "Organ/cutoff", "K1")
    assert here.moved == ()
    assert here.asked.endswith("where it is already, the song laid out anew")


def test_a_saving_that_no_song_may_make_as_more_would_share_a_knob_is_called_so() -> None:
    """Both are on one knob in the opener; in the coda each has its own, and one has to stay."""
    lead = Voice("Lead", [Destination("level", priority=1)])
    songs = []
    for name, knobs in (("Opener", ("K1", "K1")), ("Coda", ("K1", "K2"))):
        routes = [Route(f"{v}/level", k) for v, k in zip(("Bass", "Lead"), knobs, strict=True)]
        bass = Voice("Bass", [Destination("level", priority=1)])
        stays = [Fixed(["Bass/level"], "K1")]
        setup = Setup(name, PANEL, [bass, lead], routes=routes, agreed=stays)
        songs.append(Song(name, setup))
    found = allocate_show(Show("Two", songs))
    told = why_elsewhere(found, "Coda", "Lead/level")
    assert told.joined is not None
    assert (told.joined.song, told.joined.loads, told.joined.allowed) == ("Coda", 1, 0)
    assert "would have 1 more share a knob than it needs to" in told.sentences[0]
    assert told.sentences[2].startswith("Beside that: less to relearn (")
    (freed,) = [each for each in found.worth_freeing().songs if each.freed == ("Coda",)]
    assert freed.allocation is not None
    assert freed.allocation.song("Coda").knob_of("Lead/level") == "K2"
    assert freed.deciding is None
    # In the opener both may stay together, as they are in use so.
    assert why_elsewhere(found, "Opener", "Lead/level", "K2").joined is None


def test_where_no_knob_is_named_it_is_the_one_that_most_other_songs_have() -> None:
    organ = Voice("Organ", [Destination("level")])
    soft = Voice("Soft organ", [Destination("level")])

    def song(name: str, knob: str, voice: Voice = organ) -> Song:
        routes = [Route(f"{voice.name}/level", knob)]
        setup = Setup(name, PANEL, [voice], routes=routes)
        return Song(name, setup, {voice.name: "Organ"})

    songs = [song("A", "K1"), song("B", "K3", soft), song("C", "K3"), song("D", "K1")]
    found = allocate_show(Show("Four", songs))
    for name, voice, knob in (("A", organ, "K3"), ("B", soft, "K1"), ("C", organ, "K1")):
        full = f"{voice.name}/level"
        assert why_elsewhere(found, name, full) == why_elsewhere(found, name, full, knob)
    # Of as many on either knob the first on the panel is asked for.
    three = allocate_show(Show("Three", songs[:3]))
    assert why_elsewhere(three, "C", "Organ/level").asked.startswith("Organ/level on K1 in 'C'")
    one = allocate_show(Show("One", songs[:1]))
    with pytest.raises(InputError, match="no other song has the destination"):
        why_elsewhere(one, "A", "Organ/level")


def test_what_is_named_is_looked_at_before_all_else() -> None:
    for song, knob in (("Ballad", "K1"), ("Opener", None), ("Opener", "K9")):
        with pytest.raises(InputError, match="destination") as error:
            why_elsewhere(laid_out(), song, "Organ/levl", knob)
        assert "Organ/level" in str(error.value)


def test_rules_that_clash_are_an_answer() -> None:
    fixed = Request(PANEL, [ORGAN], rules=(Fixed("Organ/level", "K2"),))
    found = allocate_show(Show("One", [Song("A", fixed)]))
    told = why_elsewhere(found, "A", "Organ/level", "K1")
    assert told.clash is not None
    assert told.after == ()
    assert "no layout is possible" in told.sentences[0]


@pytest.mark.parametrize("seed", range(4))
def test_the_odd_one_out_is_that_without_which_least_is_relearned(seed: int) -> None:
    found = allocate_show(a_show(seed))
    whole = relearning(found.show, [song.layout for song in found.songs])
    ranked = odd_songs(found).songs
    assert [each.less for each in ranked] == sorted((each.less for each in ranked), reverse=True)
    weights = {(each.role, each.name): each.weight for each in found.things}
    for each in ranked:
        at = [song.name for song in found.show.songs].index(each.song)
        rest = [n for n in range(len(found.songs)) if n != at]
        shorter = attrs.evolve(found.show, songs=[found.show.songs[n] for n in rest], breaks=())
        left = relearning(shorter, [found.songs[n].layout for n in rest])
        same = {(d.role, d.name): d.weight for d in allocate_show(shorter).things}
        if all(weights[key] == weight for key, weight in same.items()):
            assert each.less == tuple(a - b for a, b in zip(whole, left, strict=True))


def test_what_differs_is_told_in_what_is_less_and_what_is_more() -> None:
    assert str(OddSong("Waltz", True, 4, 0, -1)) == (
        "Without 'Waltz', which stays as it is, what is to be relearned is "
        "4 less in destinations and 1 more in kinds of destination"
    )
    assert str(OddSong("Waltz", False, 0, 2, 0)) == (
        "Without 'Waltz' what is to be relearned is 2 less in voices"
    )


def test_one_more_knob_never_costs_before_sharing() -> None:
    found = laid_out()
    told = one_more_knob(found)
    assert told.allocation is not None
    assert len(told.allocation.show.surface.knobs) == len(PANEL.knobs) + 1
    place = SHOW_TIERS.index("relearning")
    assert [each.value for each in told.after][:place] <= values(found)[:place]


def test_every_answer_has_its_graph() -> None:
    found = laid_out()
    for told in (odd_songs(found), why_elsewhere(found, "Waltz", "Organ/level", "K2")):
        graph = told.graph
        assert graph.graph["answer"] in graph
        assert len(graph) > len(SHOW.songs)


def test_each_is_a_method_of_the_show() -> None:
    asked = [name for name, value in vars(AskedOfShow).items() if isinstance(value, BoundQuestion)]
    assert len(asked) == 11
    called = {"what_if": "what_if_show", "in_order": "show_in_order"}
    for name in asked:
        assert getattr(AskedOfShow, name) is getattr(show, called.get(name, name))
    assert laid_out().odd_songs() == odd_songs(laid_out())


def test_parts_are_weighed_alike_in_shows_of_any_size_and_told_one_by_one() -> None:
    found = laid_out()
    wider = found.one_more_knob()
    assert wider.allocation is not None
    assert wider.allocation.prices.sizes == found.prices.sizes
    # The bass is essential, so another knob for it is 8 points more.
    (bass,) = (thing for thing in found.things if thing.role == "Bass")
    other = next(knob for knob in PANEL.knob_names if knob not in bass.knobs)
    elsewhere = Request(PANEL, [BASS], rules=[Fixed("Bass/level", other)])
    songs = (*as_laid_out(found).songs, Song("Coda", elsewhere))
    told = found.what_if(attrs.evolve(SHOW, songs=songs))
    part = next(each for each in told.parts if each.what == "destinations")
    assert (part.tier, part.now - part.was) == ("relearning", 8)
    costs = f"more to relearn ({part.now} points, not {part.was})"
    assert costs in told.sentences[0]
