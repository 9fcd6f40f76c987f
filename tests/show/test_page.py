"""The page of a show: all of it stands there, and nothing else can act."""

from __future__ import annotations

import base64
import hashlib
import re

from knobpack import Destination, Request, Snapshot, Surface, Voice
from knobpack.present.show_text import show_text
from knobpack.show import Show, Song, allocate_show
from tests.explanation.test_page import HARMLESS, Read
from tests.show.evening import SHOW, laid_out

TABLE = {"table", "caption", "thead", "tbody", "tr", "th", "td"}


def words(page: str) -> str:
    return re.sub(r"\s+", " ", "".join(Read(page).words))


def test_each_song_stands_there_with_what_each_knob_drives() -> None:
    read = Read(laid_out().page())
    assert {tag for tag, _ in read.tags} <= HARMLESS | TABLE
    ids = read.held("id")
    assert [each for each in ids if each.startswith("song-")] == [
        f"song-{at}" for at in range(1, len(SHOW.songs) + 1)
    ]
    assert len(ids) == len(set(ids))
    assert {each.removeprefix("#") for each in read.held("href")} <= set(ids)
    page = laid_out().page()
    for at, song in enumerate(SHOW.songs, 1):
        own = page.split(f'id="song-{at}"')[1].split("</section>")[0]
        for route in laid_out().song(song.name).routes:
            card = own.split(f"<h3><bdi>{route.knob}</bdi></h3>", 1)[1].split("</ul>")[0]
            assert route.destination in re.sub("<[^>]*>", "", card)


def test_what_is_elsewhere_than_before_is_marked_and_nothing_else() -> None:
    page = laid_out().page()
    found = re.findall(r'<li class="moved">(.*?) <span class="was">[^K]*(K\d)', page)
    moved = [(words(name), knob) for name, knob in found]
    expected = [
        (f"{thing.role}/{thing.name}", was.knob)
        for thing in laid_out().things
        for was in thing.came_from.values()
    ]
    # Each stands in the table and in the part of its song.
    assert sorted(moved) == sorted(expected * 2)
    assert expected, "nothing of the evening moves, so that this shows nothing"


def test_what_is_left_out_is_first_of_all_and_in_the_box_of_its_song() -> None:
    """One knob for two that move apart: one of them is left out of the second song."""
    organ, bass = (Voice(name, [Destination("level")]) for name in ("Organ", "Bass"))
    apart = [Snapshot("Organ alone", ("Organ",)), Snapshot("Bass alone", ("Bass",))]
    songs = [
        Song("Opener", Request(Surface.row(1), [organ])),
        Song("Duo", Request(Surface.row(1), [organ, bass], snapshots=apart)),
    ]
    found = allocate_show(Show("Two", songs))
    (out,) = found.song("Duo").unplaced
    said = f"'Duo' leaves {out} out."
    assert found.sentences[0] == said
    assert words(found.page()).count(said) == 1
    assert show_text(found).splitlines()[1].strip() == said
    sections = re.findall(r'<section class="song".*?</section>', found.page(), re.DOTALL)
    boxes = [words(section) for section in sections]
    told = f"No knob drives {out} here."
    assert [told in box for box in boxes] == [False, True]
    assert boxes[1].index(told) < boxes[1].index("After Opener.")


def test_breaks_are_told() -> None:
    told = words(laid_out().page())
    assert "After the break that follows Ballad." in told
    assert "After Opener." in told


def test_nothing_acts_and_only_this_style_is_let_in() -> None:
    page = laid_out().page()
    style = re.search(r"<style>(.*?)</style>", page, re.DOTALL)
    assert style
    digest = base64.b64encode(hashlib.sha256(style[1].encode()).digest()).decode()
    policy = re.search(r'Content-Security-Policy" content="([^"]*)"', page)
    assert policy
    assert policy[1].startswith(f"default-src 'none'; style-src 'sha256-{digest}'")
    assert "<script" not in page
