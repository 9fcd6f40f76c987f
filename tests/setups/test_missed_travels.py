"""What a player must know before the first note: what is turned round, louder, still or faint.

What is alarming is common practice, no source: a fader that was full at the bottom and is silent
there now, a level above the one that it was balanced to or that no longer fades out, a send or
drive that is stronger at either end, and a level that is hardly heard.
"""

from __future__ import annotations

import attrs
import pytest

from knobpack import (
    BackInUse,
    Destination,
    Join,
    KnobTravel,
    OnKnob,
    OutOfUse,
    OwnKnob,
    Route,
    Setup,
    Snapshot,
    Surface,
    Swap,
    Travel,
    Voice,
    allocate,
    audit,
    combine,
    edit,
    move_to_panel,
    patch_sheet,
)
from knobpack.midi import Control, Recording, hear_positions, hear_travels
from knobpack.present.combination_text import combination_text
from knobpack.present.setup_text import change_text
from knobpack.present.show_text import show_text
from knobpack.present.text import layout_text
from knobpack.setups.missed_travels import (
    MissedTravel,
    alarming_in,
    alarms_named,
    changed_travels,
    missed_told,
)
from knobpack.show import Show, Song, allocate_show
from tests.setups.sets import ORGAN, PIANO, a_set, a_song


@pytest.mark.parametrize(
    ("kind", "wanted", "given", "alarms"),
    [
        ("level", (0, 100), (0, 127), "higher"),
        ("level", (0, 100), (127, 0), "turned round, higher"),
        ("level", (127, 0), (0, 110), "turned round"),
        ("master volume", (100, 0), (101, 0), "higher"),
        ("level", (60, 127), (0, 127), ""),
        ("cutoff", (0, 100), (0, 127), ""),
        ("cutoff", (0, 100), (127, 0), "turned round"),
        ("level", (0, 100), (101, 101), "higher, still"),
        ("level", (9, 9), (7, 7), ""),
        # What goes nowhere has no way round.
        ("cutoff", (9, 9), (127, 0), ""),
        ("cutoff", (0, 100), (9, 9), "still"),
        # Its low end is higher, whichever end that is; less than one in a hundred is not heard.
        ("level", (0, 127), (30, 127), "below 24 %"),
        ("level", (0, 127), (127, 30), "turned round, below 24 %"),
        ("level", (30, 127), (0, 127), ""),
        ("level", (40, 127), (41, 127), "below 32 %"),
        ("cutoff", (0, 127), (30, 127), ""),
        # More of these is louder as well, though they are not how loud a voice is.
        ("send", (0, 60), (30, 127), "higher, below 24 %"),
        ("reverb", (0, 60), (0, 61), "higher"),
        ("drive", (20, 110), (30, 110), "below 24 %"),
        ("delay time", (20, 110), (30, 127), ""),
        ("send", (0, 127), (0, 40), ""),
        # A level that reaches half of what it is to reach, or less.
        ("level", (0, 127), (0, 40), "only 31 %"),
        ("level", (0, 127), (0, 64), "only 50 %"),
        ("level", (0, 127), (0, 66), ""),
        ("level", (100, 0), (0, 50), "turned round, only 39 %"),
        ("volume", (0, 10), (0, 5), "only 4 %"),
    ],
)
def test_what_a_player_must_know_before_the_first_note(
    kind: str, wanted: tuple[int, int], given: tuple[int, int], alarms: str
) -> None:
    missed = MissedTravel("A/x", "K1", Travel(*wanted), Travel(*given), 127, kind)
    words = {"reversed": "turned round", "louder": "higher", "still": "still"}
    words |= {"lifted": "below", "faint": "only"}
    for field, word in words.items():
        assert getattr(missed, field) == (word in alarms), field
        assert (word in str(missed)) == (word in alarms), str(missed)
    assert missed.alarming == bool(alarms)
    assert all(each in str(missed) for each in alarms.split(", "))


def test_a_position_of_less_than_a_hundredth_is_none_to_tell_of() -> None:
    for low, told in ((5, False), (6, True)):
        missed = MissedTravel("A/x", "K1", Travel(0, 9), Travel(low, 1023), 1023, "level")
        assert missed.lifted == told
        assert ("below 1 %" in str(missed)) == told


def test_the_alarming_is_told_first_and_what_is_alike_together() -> None:
    one = MissedTravel("A/cutoff", "K1", Travel(0, 9), Travel(0, 127), 127, "cutoff")
    two = MissedTravel("A/level", "K1", Travel(0, 9), Travel(0, 127), 127, "level")
    three = MissedTravel("A/pan", "K1", Travel(9, 0), Travel(0, 127), 127, "pan")
    four = attrs.evolve(two, destination="B/level")
    five = attrs.evolve(two, wanted=Travel(0, 127), given=Travel(0, 93), destination="C/level")
    assert tuple(missed_told((one, three, two, five, four))) == (
        "A/level and B/level go higher than they want on K1: 0 to 127 (full), not 0 to 9 (7 %)",
        "C/level can no longer be turned above 73 % on K1: 0 to 93 (73 %), not 0 to 127 (full)",
        "A/pan is turned round on K1: 0 to 127 (full), not 9 to 0 (reversed, 7 %)",
        "A/cutoff wants 0 to 9 (7 %) and has 0 to 127 (full) on K1",
    )


def test_a_combination_tells_it_first_and_all_cautions_name_it() -> None:
    source = a_set(
        "Organ set", {"level": ("level", Travel(127, 0)), "fade": ("level", Travel(90, 0))}
    )
    found = combine(PIANO, source)
    assert found.headlines[0] == (
        "Organ/fade goes higher than it wants on K2: 127 to 0 (reversed), not 90 to 0 "
        "(reversed, 71 %)."
    )
    named = "Higher than it was: Organ/fade (K2)."
    assert named in layout_text(found.allocation, setup=found.setup)
    assert named in layout_text(found.allocation)
    assert combination_text(found).splitlines()[1].startswith("  Organ/fade goes higher")
    sheet = patch_sheet(PIANO, found.setup)
    assert named in sheet.text()
    assert "Higher than it was: <bdi>Organ</bdi>/<bdi>fade</bdi> (<bdi>K2</bdi>)." in sheet.page()
    # The caution of a later sheet names it still; that of another setup does not.
    assert named in patch_sheet(found.setup, attrs.evolve(found.setup, name="Later")).text()
    assert "Higher" not in patch_sheet(None, PIANO).text()
    # Knobs of voices that come and that sound in a snapshot of the base are to be set by ear.
    base = attrs.evolve(PIANO, snapshots=(*PIANO.snapshots, Snapshot("Still")))
    told = combination_text(combine(base, source))
    assert "K2 is the level of Organ, which sounds there unless you set it." in told


def test_an_edit_tells_what_is_turned_round_by_it_and_cautions() -> None:
    joined = combine(PIANO, ORGAN).setup
    wide = attrs.evolve(joined, surface=Surface.row(3))
    (knob,) = {route.knob for route in joined.routes if route.destination == "Organ/level"}
    before = attrs.evolve(wide, travels=(KnobTravel(knob, Travel(0, 99)),))
    done = edit(before, OwnKnob(("Organ/level",)))
    assert done.sentences[0] == (
        "Organ/level goes the other way and goes higher than before on K3: 127 to 0 (reversed), "
        "as it wants, before 0 to 99 (78 %)."
    )
    text = change_text("EDIT", done)
    assert "Otherwise than before, as wanted: Organ/level (K3)." in text
    assert "Turned round" not in text
    assert "Levels, or what can change them, are set otherwise on K3." in text
    assert "SET BY EAR" in text
    # An edit that touches no level, and no travel, needs no caution.
    quiet = change_text("EDIT", edit(PIANO, OwnKnob(("Piano/tone",), "K2")))
    assert "CAUTION" not in quiet
    assert "set by ear" not in quiet


def test_what_an_edit_of_a_travel_turned_round_is_named_in_all_later_cautions() -> None:
    lone = attrs.evolve(ORGAN, surface=Surface.row(4))
    shared = edit(lone, Join(("K1", "K2"))).setup
    for setup, gone in ((lone, Travel(0, 110)), (shared, Travel(0, 127))):
        (knob,) = {route.knob for route in setup.routes if route.destination == "Organ/level"}
        other = "K4" if knob != "K4" else "K3"
        turned = edit(setup, KnobTravel(knob, gone)).setup
        again = edit(turned, KnobTravel(knob, Travel(0, 120))).setup
        for before in (turned, again):
            after = edit(before, Swap(knob, other))
            named = f"Turned round: Organ/level ({other})"
            told = f"Not new: Organ/level ({other}) turned round"
            assert told in " ".join(change_text("EDIT", after).split())
            assert named in " ".join(after.sheet.text().split())
        back = edit(again, KnobTravel(knob, Travel(127, 0))).setup
        assert not [each for each in alarming_in(None, back) if each.destination == "Organ/level"]
        assert "Organ/level" not in str(alarming_in(None, edit(back, Swap(knob, other)).setup))


def test_a_travel_of_one_position_is_told_first_and_cautioned_of() -> None:
    done = edit(ORGAN, KnobTravel("K1", Travel(50, 50)))
    assert done.sentences[0] == (
        "Organ/level stands still on K1: 50 to 50 (does nothing), before 127 to 0 (reversed)."
    )
    named = "Standing still: Organ/level (K1)."
    assert named in change_text("EDIT", done)
    assert named in done.sheet.text()
    # It is named still later on; what did nothing before, and was never to do more, is not.
    nines = KnobTravel("K1", Travel(9, 9))
    not_new = "Not new: Organ/level (K1) standing still."
    assert not_new in change_text("EDIT", edit(done.setup, nines))
    never = attrs.evolve(ORGAN, travels=(KnobTravel("K1", Travel(7, 7)),))
    assert "tanding still" not in change_text("EDIT", edit(never, nines))


def test_what_was_heard_is_told_like_an_edit() -> None:
    turned = Recording((Control(1, 16, None, 7, ((0, 0), (300, 30), (600, 127))),))
    heard = hear_travels(ORGAN, turned, numbers={"K1": 16})
    assert heard.sentences[0].startswith("Organ/level is turned round on K1: 0 to 127 (full), befo")
    assert "are set otherwise on K1." in change_text("HEARD", heard)
    still = attrs.evolve(ORGAN, snapshots=(*ORGAN.snapshots, Snapshot("Still")))
    stored = hear_positions(still, turned, "Still", numbers={"K1": 16})
    assert stored.alarming == ()
    assert "are set otherwise on K1." in change_text("HEARD", stored)
    swell = hear_positions(still, turned, "Still", numbers={"K2": 16})
    assert "CAUTION" not in change_text("HEARD", swell)


def test_nothing_is_alarming_where_travels_are_on_routes_or_it_was_made_of_none() -> None:
    assert alarming_in(None, ORGAN) == ()
    other = attrs.evolve(ORGAN, travels=(KnobTravel("K1", Travel(0, 127)),))
    assert [each.destination for each in alarming_in(ORGAN, other)] == ["Organ/level"]
    free = attrs.evolve(ORGAN.surface, travel_on="route")
    both = (attrs.evolve(each, surface=free, travels=()) for each in (ORGAN, other))
    assert alarming_in(*both) == ()


def test_that_a_level_is_lower_than_before_does_not_hide_that_it_reaches_half() -> None:
    """It wants 100 %, had 60 % and has 45 %: lower than it was, and half of what it wants."""
    setup = a_song(Travel(0, 127))
    before, after = (
        attrs.evolve(setup, travels=(KnobTravel("K1", Travel(0, end)),)) for end in (76, 57)
    )
    (alarm,) = alarming_in(before, after)
    assert (alarm.faint, alarm.wanted, alarm.had) == (True, Travel(0, 127), False)
    (told,) = (m for m in changed_travels(before, after) if m.told_first)
    assert (told.lowered, told.alarming, told.had) == (True, False, True)


def test_what_an_edit_does_not_touch_is_named_but_not_told_as_if_it_were_new() -> None:
    low = "Lead/level can no longer be turned below 24 % on K1: 30 to 127 (76 %), "
    setup = a_song(Travel(0, 127))
    first = edit(setup, KnobTravel("K1", Travel(30, 127)))
    assert first.sentences[0] == f"{low}before 0 to 127 (full)."
    away = attrs.evolve(first.setup, voices=(*first.setup.voices, ORGAN.voices[0]))
    wide = attrs.evolve(away, routes=(*away.routes, Route("Organ/level", "K2")))
    later = edit(wide, OnKnob(("Organ/level",), "K3"))
    assert later.sentences[0].startswith("Organ/level on K3: 1 route moves, from K2; proven")
    assert later.alarming == ()
    # What is new is told first: that a level has gone to another knob.
    care = change_text("EDIT", later).partition("CAUTION\n")[2].splitlines()
    assert care[0].startswith("  Levels, or what can change them, are set otherwise on K3.")
    assert care[-1] == "  Not new: Lead/level (K1) not as low as it was."
    # Named for it, and gone on over the same travel on the same knob, it is told, but not first.
    same = edit(wide, OnKnob(("Lead/level",), "K1"))
    assert same.sentences[0].startswith("Lead/level on K1: already there, and nothing moves")


def test_the_caution_of_a_show_names_it_song_by_song() -> None:
    given = a_song(Travel(30, 127))
    full = attrs.evolve(given, travels=())
    songs = (Song("Opener", given), Song("Waltz", full), Song("Ballad", given))
    told = show_text(allocate_show(Show("Friday", songs))).split("CAUTION")
    assert "turned below" not in told[0]
    named = "In 'Opener' and 'Ballad': Not as low as it was: Lead/level (K1). Check at"
    assert named in " ".join(told[1].split())


def test_a_move_cautions_of_levels_that_are_otherwise_there_and_of_no_others() -> None:
    """A knob of the same name goes over the same part of its range: nothing is otherwise."""
    before = attrs.evolve(ORGAN, travels=(KnobTravel("K1", Travel(0, 127)), *ORGAN.travels[1:]))
    wider = move_to_panel(before, Surface.row(3, bits=10))
    assert wider.moved == ()
    assert "CAUTION" not in change_text("MOVE", wider)
    # What goes to the one knob there is otherwise.
    second = attrs.evolve(before, routes=(Route("Organ/level", "K2"),))
    narrow = move_to_panel(second, Surface.row(1))
    assert {each.destination for each in narrow.moved} == {"Organ/level"}
    text = " ".join(change_text("MOVE", narrow).split())
    assert "are set otherwise on K1." in text.partition("CAUTION")[2]


def test_an_allocation_says_it_first_as_a_combination_does() -> None:
    ways = {"level": Travel(0, 127), "cutoff": Travel(127, 0)}
    inner = [Destination(name, priority=1, travel=goes) for name, goes in ways.items()]
    found = allocate([Voice("Organ", inner)], Surface.row(1))
    knobs = {"K1": "level", "K2": "cutoff"}
    source = Setup(
        "Source",
        Surface.row(2),
        [Voice("Organ", [Destination(name, priority=1) for name in ways])],
        routes=[Route(f"Organ/{name}", knob) for knob, name in knobs.items()],
        travels=[KnobTravel(knob, ways[name]) for knob, name in knobs.items()],
    )
    combined = combine(Setup("Base", Surface.row(1)), source)
    told = "Organ/cutoff is turned round on K1: 0 to 127 (full), not 127 to 0 (reversed)."
    for each in (found, combined, combined.allocation):
        assert each.headlines[0] == each.sentences[0] == told
        assert [missed.destination for missed in each.alarming] == ["Organ/cutoff"]
        assert set(each.alarming) <= set(each.missed)
    assert told in found.explain(solve=False).page()
    (doubt,) = audit(found.setup("Organ")).findings
    assert doubt.fact == (
        "Organ/cutoff wants 127 to 0 and is turned round: the travel of K1 is 0 to 127"
    )


def test_what_comes_back_to_its_own_way_is_not_told_as_turned_round() -> None:
    """It wants 112 to 12: over 127 to 0 it goes its way, which is told as that; over 112 to 12 too.

    What wants none any more as it is where it was again goes as it wanted; that is told late.
    """
    for given, told in (
        (Travel(127, 0), "goes the other way as it wants on K1: 127 to 0 (reversed), before"),
        (
            Travel(112, 12),
            "goes the other way on K1: 112 to 12 (reversed, 79 %), as it wants, before",
        ),
        (Travel(0, 90), "had 0 to 127 (full) and now has 0 to 90 (71 %) on K1"),
    ):
        before = a_set("Saw set", {"cut": ("cutoff", Travel(0, 127))})
        (voice,) = before.voices
        inner = attrs.evolve(voice.destinations[0], travel=Travel(112, 12))
        before = attrs.evolve(before, voices=(attrs.evolve(voice, destinations=(inner,)),))
        after = attrs.evolve(before, travels=(KnobTravel("K1", given),))
        (found,) = changed_travels(before, after)
        assert str(found).startswith(f"Saw/cut {told}")
        named = alarms_named((found,)) if found.alarming else ""
        assert "Turned round" not in named
        assert ("as wanted: Saw/cut (K1)." in named) == found.alarming
        unwished = attrs.evolve(inner, travel=None)
        mended = attrs.evolve(after, voices=(attrs.evolve(voice, destinations=(unwished,)),))
        (again,) = changed_travels(before, mended)
        assert (again.its_way, again.right) == (given.reversed, given == Travel(112, 12))


def test_what_is_turned_back_when_a_knob_is_back_in_use_is_no_alarm() -> None:
    voices = [Voice(name, (Destination("pan", priority=1),), n) for n, name in enumerate("AB", 1)]
    routes = (Route("A/pan", "K1"), Route("B/pan", "K2"))
    travels = (KnobTravel("K1", Travel(0, 127)), KnobTravel("K2", Travel(127, 0)))
    setup = Setup("Two", Surface.row(2), voices, routes=routes, travels=travels)
    broken = edit(setup, OutOfUse("K2"))
    assert "turned round" in broken.headlines[0] or "turned round" in broken.headlines[1]
    mended = edit(broken.setup, BackInUse("K2"))
    assert mended.setup.routes == setup.routes
    assert mended.headlines[0].startswith("K2 back in use: ")
    assert any("goes the other way on" in told for told in mended.sentences)
    assert "urned round" not in change_text("EDIT", mended)
