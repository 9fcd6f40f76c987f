"""A show changed: what is programmed stays, and what else changes is told."""

from __future__ import annotations

from itertools import pairwise, permutations

import attrs
import pytest

from knobpack import (
    Destination,
    ImpossibleDemands,
    InputError,
    Request,
    Route,
    Setup,
    Snapshot,
    Surface,
    Swap,
    Travel,
    Voice,
    allocate_request,
    edit,
)
from knobpack.allocation import Tier
from knobpack.limits import Limits
from knobpack.sheets.steps import ROUTES
from knobpack.show import (
    SHOW_TIERS,
    LeftOut,
    PartChange,
    Show,
    ShowAllocation,
    ShowDifference,
    Song,
    ThingChange,
    allocate_show,
    show_in_order,
    with_song,
    with_voice,
    without_song,
    worth_freeing,
)
from knobpack.show.difference import part_changes
from tests.show.evening import BASS, ENCORE, ORGAN, PANEL, PIANO, PROGRAMMED, laid_out

NEW = Song("New", Request(PANEL, [BASS, PIANO]))
FERRY = Song(
    "Ferry",
    Setup(
        "Ferry",
        PANEL,
        [BASS, ORGAN],
        # Its bass is where the ballad has it; its organ is elsewhere than in all others.
        routes=[
            Route("Bass/level", "K1"),
            Route("Organ/level", "K2"),
            Route("Organ/drive", "K3"),
        ],
    ),
)


def names_of(found: ShowAllocation) -> list[str]:
    return [song.name for song in found.show.songs]


def breaks_of(found: ShowAllocation | None) -> tuple[str, ...]:
    assert found is not None
    return found.show.breaks


def routes(found: ShowAllocation, name: str) -> set[Route]:
    return {attrs.evolve(route, travel=None) for route in found.song(name).routes}


def test_only_what_is_new_is_programmed_where_all_else_stays() -> None:
    told = with_song(laid_out(), NEW, after="Opener")
    assert names_of(told.show) == ["Opener", "New", "Ballad", "Waltz", "Encore"]
    first = told.ways[0]
    assert [(each.song, each.new) for each in first.anew] == [("New", True)]
    for name in names_of(laid_out()):
        assert routes(told.show, name) == routes(laid_out(), name)
    assert [way.freed for way in told.ways] == [
        (),
        ("Opener", "Ballad"),
        ("Opener", "Ballad", "Waltz", "Encore"),
    ]
    assert told.sentences[0] == "'New' after 'Opener'."


def test_a_programmed_song_that_is_put_in_is_freed_alone_before_any_other_is() -> None:
    told = with_song(laid_out(), FERRY, after="Opener")
    assert [way.freed for way in told.ways] == [
        (),
        ("Ferry",),
        ("Opener", "Ferry", "Ballad"),
        ("Opener", "Ferry", "Ballad", "Waltz", "Encore"),
    ]
    stays, alone, *_ = told.ways
    assert stays.anew == ()
    assert [(each.song, each.new) for each in alone.anew] == [("Ferry", True)]
    assert alone.moved == ()
    assert stays.gain < alone.gain
    assert any(each.startswith("With 'Ferry' free: less ") for each in told.sentences)
    level, drive = "Organ/level on K3 and K2 (essential, 8)", "Organ/drive on K2 and K3 (high, 4)"
    more = f"Found on more knobs: {level} and {drive}."
    assert told.sentences[2:4] == (more, "Nothing is to be programmed.")
    assert f"{alone.routes_anew} routes are to be programmed: 2 in 'Ferry'." in told.sentences


def test_no_way_is_worse_than_the_one_before() -> None:
    for told in (
        with_song(laid_out(), FERRY, before="Waltz"),
        with_song(laid_out(), NEW, before="Waltz"),
        without_song(laid_out(), "Ballad"),
        show_in_order(laid_out(), ["Encore", "Waltz", "Opener", "Ballad"]),
        with_voice(laid_out(), Voice("Choir", [Destination("level", priority=1)])),
    ):
        assert all(one.gain <= other.gain for one, other in pairwise(told.ways))
        assert told.graph.graph["answer"] in told.graph


def test_freeing_what_is_in_the_way_is_told_with_what_it_saves_and_takes() -> None:
    (bass,) = (thing for thing in laid_out().things if thing.role == "Bass")
    assert bass.knobs == ("K1", "K2")
    told = worth_freeing(laid_out())
    assert [each.freed for each in told.songs] == [("Encore",), ("Ballad",)]
    saved = told.songs[0]
    assert saved.gain[3] == 8
    assert saved.freed == ("Encore",)
    assert told.sentences[0] == (
        "With 'Encore' free: less to relearn "
        f"({laid_out().prices.relearning[0] - 8} points, not {laid_out().prices.relearning[0]}), "
        "proven."
    )
    assert told.sentences[1:3] == (
        "Found on fewer knobs: Bass/level on K1 (essential, 8).",
        "1 route is to be programmed: 1 in 'Encore'.",
    )


def test_a_song_that_an_edit_binds_is_told_with_what_it_would_save_without() -> None:
    voices = [Voice(name, [Destination("level", priority=1)]) for name in ("Lead", "Pad")]
    routes = [Route("Lead/level", "K1"), Route("Pad/level", "K3")]
    setup = Setup("Was", Surface.row(3), voices, routes=routes)
    swapped = edit(setup, Swap("K1", "K3")).setup
    songs = [Song("One", setup), Song("Two", setup), Song("Odd", swapped)]
    told = worth_freeing(allocate_show(Show("Three", songs)))
    (odd,) = [each for each in told.songs if each.freed == ("Odd",)]
    without = "without what was asked of it (K1 and K3 change places)"
    assert told.sentences[0].startswith(f"With 'Odd' free, and {without}: less to relearn (0 ")
    assert odd.allocation is not None
    assert {*odd.allocation.setup("Odd").routes} == {*routes}
    assert "'Odd'" not in told.sentences[-1]


def test_what_makes_a_part_up_adds_up_beside_the_show_and_beside_another_way() -> None:
    turned = show_in_order(laid_out(), ["Encore", "Waltz", "Opener", "Ballad"])
    tried = 0
    for told in (with_song(laid_out(), FERRY, before="Waltz"), turned):
        shows = [laid_out(), *(way.allocation for way in told.ways)]
        for one, other in permutations(filter(None, shows), 2):
            for part in part_changes(one, other):
                assert sum(each.now - each.was for each in part.terms) == part.now - part.was
                tried += len(part.terms)
                for each in part.terms:
                    assert str(each) in part.sentences[0] or part.sentences[0].endswith("more.")
    assert tried > 10


def test_what_would_be_elsewhere_is_told_whatever_decides() -> None:
    level = ThingChange("Organ/level", ("K3", "K4"), 1, 0, 8)
    bass = ThingChange("Bass/level", ("K1",), 1, 8, 0)
    drive = ThingChange("drive", (), None, 1, 0, "kinds")
    parts = (
        PartChange("relearning", "destinations", 8, 8, (level, bass)),
        PartChange("relearning", "kinds", 7, 6, (drive,)),
    )
    before, after = (
        tuple(Tier(name, n * (name == "relearning"), 0, proven=True) for name in SHOW_TIERS)
        for n in (87, 86)
    )
    more, fewer = "Organ/level on K3 and K4 (essential, 8)", "Bass/level on K1 (essential, 8)"
    assert ShowDifference("That", before, after, parts=parts).costs == (
        "That: less to relearn (6 points, not 7), proven.",
        "Found on fewer knobs: drive of any voice (1).",
        f"Found on more knobs: {more}; found on fewer knobs: {fewer}.",
    )


def test_a_show_of_which_nothing_is_programmed_has_nothing_to_free() -> None:
    found = allocate_show(Show("One", [Song("A", Request(PANEL, [ORGAN]))]))
    told = worth_freeing(found)
    assert told.songs == ()
    assert "No song stays as it is" in told.sentences[0]
    (again,) = worth_freeing(allocate_show(found.as_laid_out())).sentences
    assert again == "Freeing 'A' saves nothing, proven."


def test_where_a_song_comes_and_what_becomes_of_breaks() -> None:
    found = laid_out()
    assert found.show.breaks == ("Ballad",)
    after = with_song(found, NEW, after="Ballad").show
    assert names_of(after)[1:3] == ["Ballad", "New"]
    assert breaks_of(after) == ("New",)
    before = with_song(found, NEW, before="Waltz").show
    assert names_of(before)[1:4] == ["Ballad", "New", "Waltz"]
    assert breaks_of(before) == ("Ballad",)
    instead = with_song(found, NEW, instead_of="Ballad")
    assert names_of(instead.show) == ["Opener", "New", "Waltz", "Encore"]
    assert breaks_of(instead.show) == ("New",)
    assert "Ballad" not in {name for way in instead.ways for name in way.freed}
    assert names_of(with_song(found, NEW).show)[-1] == "New"
    assert breaks_of(without_song(found, "Ballad").show) == ("Opener",)
    assert breaks_of(without_song(found, "Opener").show) == ("Ballad",)
    turned = show_in_order(found, ["Encore", "Waltz", "Ballad", "Opener"]).show
    assert names_of(turned) == ["Encore", "Waltz", "Ballad", "Opener"]
    assert breaks_of(turned) == ("Waltz",)


def test_what_a_song_costs_by_itself_is_no_cost_of_putting_it_in() -> None:
    """Nothing of it is anywhere else, so it costs no more than it does alone."""
    crowd = Request(PANEL, [Voice("Choir", [Destination(f"tone {at}") for at in range(5)])])
    told = with_song(laid_out(), Song("Chorale", crowd), after="Encore").ways[0]
    assert told.allocation is not None
    assert told.allocation.song("Chorale").prices.total("sharing") > 0
    assert told.gain[:6] == (0,) * 6
    gone = without_song(attrs.evolve(told.allocation), "Chorale").ways[0]
    assert gone.gain[:6] == (0,) * 6


def test_what_a_new_song_leaves_out_is_said() -> None:
    many = [Voice(f"Reed {at}", [Destination("level", priority=1)]) for at in range(4)]
    told = with_song(laid_out(), Song("Reeds", Request(PANEL, many)))
    (left,) = told.ways[0].out
    assert left == LeftOut("Reeds", told.ways[0].allocation.song("Reeds").unplaced[0])  # type: ignore[union-attr]
    assert f"'Reeds' leaves {left.destination} out." in told.sentences


def test_a_voice_comes_to_songs_of_every_sort_and_moves_nothing() -> None:
    choir = Voice("Choir", [Destination("level", priority=1), Destination("tone", priority=5)])
    told = with_voice(laid_out(), choir)
    first = told.ways[0]
    assert first.allocation is not None
    assert first.moved == ()
    for name in names_of(laid_out()):
        assert routes(first.allocation, name) >= routes(laid_out(), name)
        assert set(first.allocation.song(name).request.by_full_name) >= {"Choir/level"}
    setup = first.allocation.setup("Ballad")
    assert (setup.name, setup.routes[:3]) == (PROGRAMMED.name, PROGRAMMED.routes)
    (came,) = (voice for voice in setup.voices if voice.name == "Choir")
    assert came.layer == 3
    assert setup.snapshots == (Snapshot("all", ("Organ", "Bass", "Choir")),)


def test_a_setup_that_brings_a_voice_keeps_all_it_has() -> None:
    voices = (*ENCORE.voices, Voice("Choir", [Destination("level", priority=1)]))
    bringing = attrs.evolve(ENCORE, voices=voices)
    song = Song("Encore", bringing, brings=["Choir"])
    assert not song.pinned
    found = allocate_show(Show("One", [song]))
    setup = found.setup("Encore")
    assert {(r.destination, r.knob) for r in setup.routes} > {("Bass/level", "K2")}
    assert found.song("Encore").knob_of("Choir/level") is not None
    assert [voice.layer for voice in setup.voices] == [1, 2]
    assert found.as_laid_out().songs[0] == Song("Encore", setup)


@pytest.mark.parametrize("limits", [Limits(cancel=lambda: True), Limits(0)])
def test_what_is_cut_short_says_what_it_has_not_looked_at(limits: Limits) -> None:
    told = with_song(laid_out(), NEW, after="Opener", limits=limits)
    assert len(told.ways) == 1
    assert told.untold == ("With 'Opener' and 'Ballad' free", "With every song free")
    assert told.stopped == ("cancelled" if limits.cancel else "time limit")
    assert told.sentences[-1].startswith("Not told, as it was stopped")
    freed = worth_freeing(laid_out(), limits=limits)
    assert freed.untold == ("Ballad", "Encore")
    assert freed.stopped == told.stopped


def test_a_song_that_clashes_is_an_answer() -> None:
    voice = Voice("Organ", [Destination("level", must_place=True)])
    clashing = Request(Surface.row(3, reserved=["K1", "K2", "K3"]), [voice])
    told = with_song(laid_out(), Song("New", clashing))
    with pytest.raises(ImpossibleDemands) as refused:
        _ = told.show
    assert refused.value.song == "New"
    assert "no layout is possible for 'New'" in told.sentences[1]
    assert all(isinstance(way, ShowDifference) and way.clash for way in told.ways)
    assert {way.song for way in told.ways} == {"New"}


def test_what_will_not_do_is_refused() -> None:
    found = laid_out()
    with pytest.raises(InputError, match="close to it: Ballad"):
        with_song(found, NEW, after="Balad")
    with pytest.raises(InputError, match="give one of after, before and instead_of"):
        with_song(found, NEW, after="Ballad", before="Waltz")
    with pytest.raises(InputError, match=r"with_song\.song\.name"):
        with_song(found, Song("Opener", NEW.played))
    with pytest.raises(InputError, match="it is the only song"):
        without_song(allocate_show(Show("One", [NEW])), "New")
    with pytest.raises(InputError, match="missing: 'Waltz' and 'Encore'"):
        show_in_order(found, ["Opener", "Ballad"])
    with pytest.raises(InputError, match="twice"):
        show_in_order(found, ["Opener", "Opener", "Ballad", "Waltz", "Encore"])
    with pytest.raises(InputError) as refused:
        with_voice(found, BASS)
    assert (refused.value.song, refused.value.field) == ("Ballad", "with_voice.voice.name")
    with pytest.raises(InputError, match=r"with_song\.song\.surface\.knobs"):
        with_song(found, Song("New", Request(Surface.row(9), [BASS])))
    with pytest.raises(InputError, match="only a Setup brings voices"):
        Song("New", NEW.played, brings=["Bass"])
    with pytest.raises(InputError, match="name a voice of it"):
        Song("Encore", ENCORE, brings=["Bas"])


def test_a_travel_that_turns_is_programmed_anew() -> None:
    """The route stays on its knob, and the knob has another travel."""
    voice = Voice("Organ", [Destination("level", priority=1, travel=Travel(127, 0))])
    setup = Setup("Was", Surface.row(1), [voice], routes=[Route("Organ/level", "K1")])
    found = allocate_show(Show("One", [Song("A", setup)]))
    turned = Request(Surface.row(1), [voice])
    told = with_song(found, Song("A", turned), instead_of="A").ways[0]
    assert told.moved == ()
    assert told.routes_anew == 1


@pytest.mark.parametrize("panel", [PANEL, Surface.row(2), Surface.row(4, bits=5)])
def test_a_song_is_replaced_by_one_of_its_name_that_asks_for_less(panel: Surface) -> None:
    found = allocate_show(Show("Two", [Song("A", Request(PANEL, [ORGAN, BASS])), NEW]))
    songs = [Song(name, Request(panel, [BASS])) for name in ("A", "New")]
    if panel == PANEL:
        told = with_song(found, songs[0], instead_of="A")
        assert names_of(told.show) == ["A", "New"]
        assert routes(told.show, "A") <= routes(found, "A")
    other = found.what_if(Show("Two", songs)).allocation
    assert other is not None
    assert [len(laid.routes) for laid in other.songs] == [1, 1]


def test_what_is_programmed_in_a_song_that_is_put_in_is_not_programmed_anew() -> None:
    told = with_song(laid_out(), attrs.evolve(FERRY, free=True)).ways[0]
    assert told.allocation is not None
    sheet = told.allocation.sheets()["Ferry"]
    added = [step for step in sheet.steps if step.stage == ROUTES]
    assert 0 < told.routes_anew == len(added) < len(told.allocation.song("Ferry").routes)
    assert [(each.song, each.new) for each in told.anew] == [("Ferry", True)]
    laid = allocate_request(Request(PANEL, [BASS, ORGAN]))
    assert with_song(laid_out(), Song("Ferry", laid)).ways[0].anew == ()
