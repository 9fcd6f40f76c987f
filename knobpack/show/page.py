"""Page: a whole show as one HTML page that needs nothing else, no script.

First all songs side by side, then each song by itself: printed, every song has a sheet of paper of
its own for the music stand.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from functools import cached_property
from html import escape
from typing import TYPE_CHECKING

import attrs

from knobpack.definition.phrases import CAUTION
from knobpack.setups.as_read import read
from knobpack.setups.missed_travels import alarms_named
from knobpack.setups.sounding import held_told
from knobpack.sheets.page import STYLE as SHEET_STYLE
from knobpack.sheets.page import by_itself, file_beside, page
from knobpack.sheets.panel_picture import panel_figure
from knobpack.sheets.state import knob_states
from knobpack.text.columns import sentence
from knobpack.words.names import knob_told, knobs_told, listed, quoted

if TYPE_CHECKING:
    from knobpack.setups.missed_travels import MissedTravel
    from knobpack.show.answer import ShowAllocation
    from knobpack.show.prices import ShowDestination
    from knobpack.words import Setup

ABREAST = 8
"""Songs side by side in one table, at most."""

BAR = (
    "what was on another knob, goes another way, higher or less far, or is a level, or none, "
    "unlike in most songs"
)
"""What the bar beside something in a song tells."""

STYLE = file_beside(__file__, "page.css")


def show_page(
    laid_out: ShowAllocation,
    setups: Sequence[Setup],
    alarming: Mapping[str, Sequence[MissedTravel]],
    first: Sequence[str] = (),
    lost: Mapping[str, Sequence[str]] | None = None,
    known: Mapping[str, Sequence[MissedTravel]] | None = None,
) -> str:
    """The page of a show, as HTML.

    Args:
        laid_out: the show.
        setups: each song as what is programmed.
        alarming: what a player must know before the first note, by the names of songs.
        first: sentences that come before all others.
        lost: what was on a knob at home and is on none here, by the names of songs.
        known: what is alarming but was so at home too, by the names of songs.
    """
    return _Page(laid_out, tuple(setups), alarming, tuple(first), lost or {}, known or {}).text()


@attrs.frozen(eq=False)
class _Page:
    laid_out: ShowAllocation
    setups: tuple[Setup, ...]
    alarming: Mapping[str, Sequence[MissedTravel]]
    first: tuple[str, ...]
    lost: Mapping[str, Sequence[str]]
    known: Mapping[str, Sequence[MissedTravel]]

    @cached_property
    def names(self) -> tuple[str, ...]:
        return tuple(song.name for song in self.laid_out.show.songs)

    @cached_property
    def on(self) -> dict[tuple[str, str | None], list[ShowDestination]]:
        """What is found in each song on each knob."""
        found: dict[tuple[str, str | None], list[ShowDestination]] = {}
        for thing in self.laid_out.things:
            for each in thing.found:
                found.setdefault((each.song, each.knob), []).append(thing)
        return found

    @cached_property
    def levels(self) -> set[tuple[str, str, str]]:
        """Song, knob, role and name of what is a level, or is none, where it mostly is not so."""
        found = self.laid_out.jumps.levels
        return {(song, e.knob, name) for e in found for song in e.songs for name in e.unlike}

    def text(self) -> str:
        title = self.laid_out.show.name
        body = (
            '<div class="whole">',
            f"<h1>{by_itself(title)}</h1>",
            *(f"<p>{by_itself(each)}</p>" for each in self._first()),
            *self._contents(),
            *self._across(),
            f'<div class="caution"><h2>Caution</h2><p>{escape(CAUTION)}</p></div>',
            "</div>",
            *(line for at in range(len(self.names)) for line in self._song(at)),
        )
        return page(title, body, style=SHEET_STYLE + STYLE)

    def _first(self) -> tuple[str, ...]:
        return (*self.first, *self.laid_out.verdict, *self.laid_out.travel_sentences)

    def _contents(self) -> Iterator[str]:
        links = (
            f'<li><a href="#song-{at}">{at} {by_itself(name)}</a></li>'
            for at, name in enumerate(self.names, 1)
        )
        yield f'<nav aria-label="Songs"><ul role="list">{"".join(links)}</ul></nav>'

    # All songs side by side

    def _across(self) -> Iterator[str]:
        for first in range(0, len(self.names), ABREAST):
            those = self.names[first : first + ABREAST]
            caption = f"Songs {first + 1} to {first + len(those)}: what each knob drives."
            if len(self.names) == 1:
                caption = "What each knob drives."
            yield f'<div class="across" tabindex="0" role="group" aria-label="{caption}"><table>'
            yield f"<caption><span>{caption} A bar marks {BAR}.</span></caption>"
            heads = "".join(
                f'<th scope="col">{at} {by_itself(name)}</th>'
                for at, name in enumerate(those, first + 1)
            )
            yield f'<thead><tr><th scope="col">Knob</th>{heads}</tr></thead><tbody>'
            for knob in self.laid_out.show.surface.knob_names:
                cells = "".join(f"<td>{self._things(knob, name)}</td>" for name in those)
                yield f'<tr><th scope="row">{by_itself(knob)}</th>{cells}</tr>'
            out = [self._out(name) for name in those]
            if any(out):
                cells = "".join(f"<td>{by_itself(listed(names, len(names)))}</td>" for names in out)
                yield f'<tr><th scope="row">No knob</th>{cells}</tr>'
            yield "</tbody></table></div>"

    def _out(self, song: str) -> tuple[str, ...]:
        """What no knob drives in a song, what another panel cost it first."""
        laid = self.laid_out.song(song)
        return tuple(dict.fromkeys((*self.lost.get(song, ()), *laid.unplaced)))

    def _things(self, knob: str, song: str) -> str:
        """What is on a knob in a song, what is elsewhere or goes the other way there marked."""
        lines = []
        for thing in self.on.get((song, knob), ()):
            was = thing.came_from.get(song)
            told = f"{by_itself(thing.role)}/{by_itself(thing.name)}"
            if was is not None:
                told += f' <span class="was">(was {by_itself(knob_told(str(was.knob)))})</span>'
            travel = next(travel for travel, songs in thing.travels if song in songs)
            here = next(each.destination for each in thing.found if each.song == song)
            told_of = (*self.alarming[song], *self.known.get(song, ()))
            alarm = next((m for m in told_of if m.destination == here), None)
            turned = alarm is not None and alarm.reversed
            told += f' <span class="travel">{"turned round: " * turned}{travel}</span>'
            other_way = song in thing.turned_in
            if other_way:
                told += f", the other way than in {by_itself(quoted(thing.travels[0][1][:1]))}"
            level = (song, knob, f"{thing.role}/{thing.name}") in self.levels
            mark = ' class="moved"' if other_way or alarm or was or level else ""
            lines.append(f"<li{mark}>{told}</li>")
        return f'<ul role="list">{"".join(lines)}</ul>' if lines else ""

    # Song by song

    def _song(self, at: int) -> Iterator[str]:
        name, setup = self.names[at], self.setups[at]
        number = at + 1
        yield f'<section class="song" id="song-{number}" aria-labelledby="name-{number}">'
        yield f'<h2 id="name-{number}">{number} {by_itself(name)}</h2>'
        yield from self._before_it(at)
        yield from panel_figure(setup.surface, knob_states(setup), caption="")
        yield '<ul class="stand" role="list">'
        idle = read(setup).idle
        for knob in setup.surface.knob_names:
            things = self._things(knob, name)
            if knob in idle:
                things += f'<p class="none">{"nothing: " * (not things)}it {idle[knob]}</p>'
            things = things or '<p class="none">nothing</p>'
            yield f"<li><h3>{by_itself(sentence(knob_told(knob)))}</h3>{things}</li>"
        yield "</ul>"
        following = self.laid_out.songs[at].following
        if following:
            held = {p.snapshot.name: held_told(read(setup), p) for p in read(setup).plays}
            yield "<h3>Snapshots</h3><dl>"
            for each in following:
                moves = knobs_told(each.knobs, len(each.knobs)) or "nothing"
                told = [
                    f"{by_itself(moves)} with the master",
                    *map(by_itself, held.get(each.snapshot, ())),
                ]
                yield f"<div><dt>{by_itself(each.snapshot)}</dt><dd>{'; '.join(told)}</dd></div>"
            yield "</dl>"
        yield "</section>"

    def _before_it(self, at: int) -> Iterator[str]:
        """What is to be known before a song begins."""
        name = self.names[at]
        out = self._out(name)
        if out:
            yield f"<p><b>No knob drives {by_itself(listed(out, len(out)))} here.</b></p>"
        yield f"<p>{self._after(at)}</p>"
        jumps = self.laid_out.jumps
        begins = jumps.into(name)
        if begins:
            yield f"<p>Jumps as it begins: {by_itself('; '.join(begins))}.</p>"
        for each in jumps.levels:
            if name in each.songs:
                yield f"<p><b>{by_itself(each.here)}.</b></p>"
        if self.alarming[name]:
            yield f"<p><b>{by_itself(alarms_named(self.alarming[name]))}</b></p>"
        if self.known.get(name):
            names = listed([each.destination for each in self.known[name]])
            yield f"<p>Not as wanted, but no worse than at home: {by_itself(names)}.</p>"

    def _after(self, at: int) -> str:
        if not at:
            return "The first song."
        before = by_itself(self.names[at - 1])
        if self.names[at - 1] in self.laid_out.show.breaks:
            return f"After the break that follows {before}."
        return f"After {before}."
