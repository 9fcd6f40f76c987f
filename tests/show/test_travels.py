"""Travels over a show: what is the other way or rescaled in some song is told, shown and drawn."""

from __future__ import annotations

import html
import re
from functools import cache

import attrs
import matplotlib as mpl
from matplotlib import pyplot

from knobpack import (
    Destination,
    KnobTravel,
    Request,
    Route,
    Setup,
    Snapshot,
    Surface,
    Travel,
    Voice,
    allocate_request,
)
from knobpack.pictures import draw_show
from knobpack.present.show_text import show_text
from knobpack.show import SeveralTravels, Show, ShowAllocation, Song, allocate_show

PANEL = Surface.row(3)
ORGAN = Voice("Organ", [Destination("level", priority=1), Destination("drive", priority=2)])
PAD = Voice("Pad", [Destination("cutoff", priority=2)])
UP, DOWN, LESS = Travel(40, 127), Travel(127, 0), Travel(0, 90)


@cache
def evening() -> ShowAllocation:
    """Four songs as they are: the organ goes down in the waltz, the pad less far in the ballad."""
    wanted = {
        "Opener": (UP, Travel(0, 127)),
        "Ballad": (UP, LESS),
        "Waltz": (DOWN, Travel(0, 127)),
        "Finale": (UP, Travel(0, 127)),
    }
    songs = [
        Song(
            name,
            Setup(
                name,
                PANEL,
                [ORGAN, PAD],
                routes=[
                    Route("Organ/level", "K1"),
                    Route("Organ/drive", "K1"),
                    Route("Pad/cutoff", "K2"),
                ],
                travels=[KnobTravel("K1", organ), KnobTravel("K2", pad)],
            ),
        )
        for name, (organ, pad) in wanted.items()
    ]
    return allocate_show(Show("Friday", songs))


def test_what_goes_the_other_way_in_a_song_is_told_first() -> None:
    organ, pad = evening().several_travels
    others = ("Opener", "Ballad", "Finale")
    both = "Organ/level", "Organ/drive"
    assert organ == SeveralTravels(both, ("K1",), ((UP, others), (DOWN, ("Waltz",))))
    assert organ.turned_round == ((DOWN, ("Waltz",)),)
    assert pad.turned_round == ()
    usual = "in 'Opener', 'Ballad' and 'Finale' over 40 to 127"
    turned = f"the other way in 'Waltz': 127 to 0; {usual}"
    assert evening().travel_sentences == (
        f"K1: Organ/level and Organ/drive go {turned}.",
        "Over another travel in some songs: Pad/cutoff.",
    )
    told = " ".join(show_text(evening()).split("THE SONGS", maxsplit=1)[0].split())
    assert all(each in told for each in evening().travel_sentences)
    less = "K2: Pad/cutoff goes in 'Opener', 'Waltz' and 'Finale' over 0 to 127 and in 'Ballad'"
    assert f"{less} 0 to 90." in evening().sentences


def test_the_table_tells_each_travel_by_the_numbers_of_its_songs() -> None:
    rows = show_text(evening()).split("NOT OVER ONE TRAVEL")[1].splitlines()
    assert [re.split(r"  +", row.strip()) for row in rows[1:4]] == [
        ["K1", "Organ/level", "40 to 127 in 1, 2 and 4; 127 to 0, the other way, in 3"],
        ["K1", "Organ/drive", "40 to 127 in 1, 2 and 4; 127 to 0, the other way, in 3"],
        ["K2", "Pad/cutoff", "0 to 127 in 1, 3 and 4; 0 to 90 in 2"],
    ]


def test_the_page_says_every_travel_and_marks_what_goes_the_other_way() -> None:
    page = evening().page()
    for at, song in enumerate(evening().show.songs, 1):
        own = page.split(f'id="song-{at}"')[1].split("</section>")[0]
        own = own.replace("<bdi>", "").replace("</bdi>", "")
        listed = re.findall(r'<li( class="moved")?>([^<]+) <span[^>]*>(.*?)</li>', own)
        found = [(m, n, html.unescape(re.sub("<[^>]*>", "", told))) for m, n, told in listed]
        organ = ("", "40 to 127")
        if song.name == "Waltz":
            way = "127 to 0, the other way than in 'Opener'"
            organ = (' class="moved"', way)
        pad = ("", "0 to 90" if song.name == "Ballad" else "0 to 127")
        of = {"Organ/level": organ, "Organ/drive": organ, "Pad/cutoff": pad}
        assert found == [(mark, name, travel) for name, (mark, travel) in of.items()]
    assert "go the other way in" in page.split("<table>")[0]
    # Nothing of it is turned round against what its setup had.
    assert not any(evening().alarming.values())
    assert "turned round" not in page


def test_the_picture_breaks_a_band_where_its_travel_is_another() -> None:
    mpl.use("Agg")
    texts = [text.get_text() for text in draw_show(evening()).texts]
    pyplot.close("all")
    assert [text for text in texts if text.startswith("Organ/level")] == [
        "Organ/level",
        "Organ/level \u21c5",
        "Organ/level",
    ]
    assert [text for text in texts if text.startswith("Pad/cutoff")] == [
        "Pad/cutoff",
        "Pad/cutoff \u2260",
        "Pad/cutoff",
    ]
    assert texts[-3:] == [
        "\u21c5  turned round: the other way than it wants, or than in most songs",
        "\u2260  over another travel than in most songs",
        "\u258c  elsewhere, otherwise, or a level or none unlike in most songs",
    ]


def test_nothing_is_told_where_every_song_has_the_same_travel() -> None:
    show = evening().show
    same = allocate_show(Show("Short", [show.songs[0], show.songs[3]]))
    assert not same.several_travels
    assert not same.travel_sentences
    assert "NOT OVER ONE TRAVEL" not in show_text(same)


def test_on_a_narrow_page_what_is_on_one_knob_stands_below_each_other() -> None:
    songs = "in songs all"
    found = show_text(evening(), 40).split("WHAT THE HAND FINDS")[1].splitlines()
    assert found[1:4] == [
        f"  K1  Organ/level; {songs}",
        f"      Organ/drive; {songs}",
        f"  K2  Pad/cutoff; {songs}",
    ]


def test_what_the_master_holds_elsewhere_as_a_song_ends_and_the_next_begins_jumps() -> None:
    """The organ drops from 127 to 0 into the waltz with the master up, and leaps back after it."""
    told = evening().jumps
    assert [(j.destination, j.before, j.master, j.percent) for j in told] == [
        ("Organ/level", "Ballad", 127, 100),
        ("Organ/level", "Waltz", 127, 100),
        ("Organ/drive", "Ballad", 127, 100),
        ("Organ/drive", "Waltz", 127, 100),
        ("Pad/cutoff", "Opener", 127, 29),
        ("Pad/cutoff", "Ballad", 127, 29),
    ]
    both = "Organ/level and Organ/drive (K1) from 127 to 0 at once (100 %)."
    assert len(told) == 6
    assert told.sentences[0] == f"'Waltz' after 'Ballad' with the master at 127: {both}"
    assert told.sentences[-1].startswith("Levels, or what can change them: Organ/level and")
    apart = attrs.evolve(evening().show, breaks=("Opener", "Ballad", "Waltz"))
    assert allocate_show(apart).jumps.jumps == ()


def test_what_no_snapshot_moves_does_not_jump() -> None:
    held = [Snapshot("still", ["Pad"])]
    songs = [
        Song(s.name, attrs.evolve(evening().setup(s.name), snapshots=held))
        for s in evening().show.songs
    ]
    found = allocate_show(Show("Still", songs))
    assert {each.destination for each in found.jumps.jumps} == {"Pad/cutoff"}
    assert found.jumps.by_hand == ("Organ/level", "Organ/drive")
    where = "Where Organ/level and Organ/drive stand is not known, as no snapshot moves them"
    assert f"{where} in both of two songs." in found.jumps.sentences
    card = html.unescape(found.page()).partition('id="song-2"')[2].partition("</section>")[0]
    assert "Pad/cutoff (K2) from 127 to 90 at once (29 %) with the master at 127" in card


def test_what_is_turned_round_against_what_a_song_wants_is_first_and_on_its_card() -> None:
    inner = [Destination("level", priority=1), Destination("send", travel=Travel(127, 0))]
    crowded = Request(Surface.row(1), [Voice("Organ", inner, 1)])
    for played in (crowded, allocate_request(crowded)):
        found = allocate_show(Show("One", [Song("Opener", played)]))
        ((name, (alarm,)),) = found.alarming.items()
        assert (name, alarm.destination, alarm.reversed) == ("Opener", "Organ/send", True)
        # What stays as it is was told when it came to be so.
        turned = "Organ/send is turned round on K1: 0 to 127 (full), not 127 to 0 (reversed)."
        first = (f"In 'Opener': {turned}",)
        assert found.alarm_sentences == (first if played is crowded else ())
        assert found.sentences[: len(found.alarm_sentences)] == found.alarm_sentences
        text = re.sub(r"\s+", " ", show_text(found, first=found.alarm_sentences))
        assert all(text.startswith(f"SHOW One {each}") for each in found.alarm_sentences)
        card = found.page().partition('<section class="song"')[2]
        assert "Turned round: Organ/send (K1)." in card
        bare = card.replace("<bdi>", "").replace("</bdi>", "")
        assert re.search(r'<li class="moved">Organ/send.*turned round: 0 to 127', bare)
