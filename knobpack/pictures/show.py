"""A show: knobs down, songs across, and how long each thing is found where it is."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import TYPE_CHECKING, Any

import attrs

from knobpack.grouped import grouped
from knobpack.pictures.canvas import (
    GREY,
    PALE,
    Canvas,
    canvas,
    fitted,
    length,
    look_of,
    room_for,
)
from knobpack.sheets.panel_picture import TURNED
from knobpack.show import FoundAt, ShowAllocation, ShowDestination
from knobpack.words.fields import check_kind

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_WIDE, _WIDEST, _LANE, _GAP, _MARK = 1.15, 1.8, 0.21, 0.12, 0.12
"""Inches: a song, and at most so that what is elsewhere is read whole, a line of a knob, between
parts, and the mark of a kind."""

_PART = 0.06 + _MARK
"""Inches from the left edge of a band to its name."""

_NAME = 1.1
"""Inches that the name of a knob or of a kind may take."""

_OTHER = "\u2260"
_SIGNS = {
    TURNED: "turned round: the other way than it wants, or than in most songs",
    _OTHER: "over another travel than in most songs",
}
"""What stands in a band whose travel is not the one that is wanted, or that of most songs."""


@attrs.frozen
class _Band:
    """Where one thing is found on one knob, over one travel, in songs one after the other.

    Args:
        thing: what it is.
        knob: the knob.
        first: the position of the first of these songs.
        last: the position of the last.
        came: the knob that it was on where it was found before; None: this one, or nowhere.
        bar: whether it is that, alarming, or a level, or none, unlike in most songs.
        sign: of :data:`_SIGNS`, what is to be known of its travel; empty: nothing.
    """

    thing: ShowDestination
    knob: str
    first: int
    last: int
    came: str | None
    sign: str
    bar: bool


def draw_show(laid_out: ShowAllocation, *, ax: Axes | None = None) -> Axes:
    """Draw a whole show: what the hand finds on each knob, song by song.

    A row for each knob, a column for each song. A band is a destination, as long as it stays on
    the knob and goes over one travel; the mark at its left and the stripe below it tell its kind. A
    band with a heavy left edge has a bar on the page of the show, too: where it is found elsewhere
    in a song before, its knob there stands in brackets. Signs, explained below, tell where it is
    turned round, or goes over another travel than in most songs. A double line is a break; songs
    that stay as they are are underlined.

    Args:
        laid_out: what :func:`knobpack.show.allocate_show` gave.
        ax: what to draw on; None: a new figure.

    Returns:
        The Axes. Nothing is shown or saved.

    Raises:
        InputError: ``laid_out`` is no ShowAllocation, or ``ax`` no Axes.
        MissingExtra: matplotlib is not installed.

    Example:
        >>> from knobpack import Destination, Request, Surface, Voice
        >>> from knobpack.pictures import draw_show
        >>> from knobpack.show import Show, Song, allocate_show
        >>> organ = Voice("Organ", [Destination("level", priority=1)])
        >>> request = Request(Surface.row(2), [organ])
        >>> laid_out = allocate_show(Show("Evening", [Song("Opener", request)]))
        >>> axes = draw_show(laid_out)
        >>> [text.get_text() for text in axes.texts]
        ['Evening', '1  Opener', 'K1', 'Organ/level', 'K2', 'level']
    """
    check_kind("draw_show.laid_out", laid_out, ShowAllocation)
    show = laid_out.show
    bands = tuple(_bands(laid_out))
    lanes = {knob: _lanes(bands, knob) for knob in show.surface.knob_names}
    kinds = tuple(dict.fromkeys(thing.kind for thing in laid_out.things))
    left = room_for(lanes, 9, _NAME, bold=True) + 2 * _GAP
    wide = min(max([_WIDE, *map(_needed, bands)]), _WIDEST)
    width = max(left + len(show.songs) * wide + _GAP, 5.0)
    foot = tuple(_in_lines(kinds, width - 2 * _GAP))
    head = 2 * _LANE + 2 * _GAP
    signs = [f"{sign}  {told}" for sign, told in _SIGNS.items() if sign in {b.sign for b in bands}]
    if any(band.came is not None for band in bands):
        signs.append("( )  the knob that it was on before")
    if any(band.bar for band in bands):
        signs.append("\u258c  elsewhere, otherwise, or a level or none unlike in most songs")
    below = (len(foot) + len(signs)) * _LANE + 2 * _GAP
    rows = sum(max(len(each), 1) * _LANE + _GAP for each in lanes.values())
    drawn = canvas(ax, width, head + rows + below)
    top = head + rows + below
    title: dict[str, Any] = {"size": 9, "fontweight": "bold"}
    drawn.text(_GAP, top - _GAP - _LANE / 2, show.name, room=width - 2 * _GAP, **title)
    top -= head
    _songs(drawn, laid_out, (left, wide), top, below)
    look = {kind: at for at, kind in enumerate(kinds)}
    for knob, within in lanes.items():
        high = max(len(within), 1) * _LANE + _GAP
        drawn.line((_GAP, width - _GAP), (top, top), color=PALE, linewidth=0.8, zorder=0)
        colour = "black" if within else GREY
        drawn.text(_GAP, top - high / 2, knob, room=left - 2 * _GAP, color=colour, **title)
        for at, lane in enumerate(within):
            for band in lane:
                _draw(drawn, band, look, (left, wide), top - _GAP / 2 - (at + 1) * _LANE)
        top -= high
    for row, line in enumerate(foot):
        y = below - _GAP - (row + 0.5) * _LANE
        for x, kind in line:
            drawn.voice(_GAP + x, y, look[kind])
            drawn.text(_GAP + x + 1.5 * _MARK, y, kind, room=_NAME, size=7)
    for row, told in enumerate(signs, len(foot)):
        y = below - _GAP - (row + 0.5) * _LANE
        drawn.text(_GAP, y, told, room=width - 2 * _GAP, size=7)
    return drawn.axes


def _bands(laid_out: ShowAllocation) -> Iterator[_Band]:
    at = {song.name: place for place, song in enumerate(laid_out.show.songs)}
    turned = {
        (song, each.destination)
        for song, those in laid_out.alarming.items()
        for each in those
        if each.reversed
    }
    alarming = {(song, m.destination) for song, ms in laid_out.alarming.items() for m in ms}
    levels = {
        (song, each.knob, name)
        for each in laid_out.jumps.levels
        for song in each.songs
        for name in each.unlike
    }
    for thing in laid_out.things:
        came = thing.came_from
        runs: list[list[tuple[int, FoundAt, str, bool]]] = []
        for found in thing.found:
            if found.knob is None:
                continue
            place, sign = at[found.song], ""
            if found.song in thing.turned_in or (found.song, found.destination) in turned:
                sign = TURNED
            elif found.travel != thing.travels[0][0]:
                sign = _OTHER
            unlike = (found.song, found.knob, f"{thing.role}/{thing.name}") in levels
            bar = unlike or sign == TURNED or (found.song, found.destination) in alarming
            now = (found.travel, sign, bar)
            last_place, last, *was = runs[-1][-1] if runs else (None, found, sign, bar)
            goes_on = last_place == place - 1 and (last.travel, *was) == now
            if not goes_on or found.song in came:
                runs.append([])
            runs[-1].append((place, found, sign, bar))
        for run in runs:
            (first, found, sign, bar), (end, *_) = run[0], run[-1]
            before, knob = came.get(found.song), str(found.knob)
            was_on = before.knob if before else None
            yield _Band(thing, knob, first, end, was_on, sign, bar or was_on is not None)


def _lanes(bands: Sequence[_Band], knob: str) -> list[list[_Band]]:
    """The bands of a knob in as few lines as they fit into, each thing in one line of them."""
    of = grouped((f"{b.thing.role}/{b.thing.name}", b) for b in bands if b.knob == knob)
    lanes: list[list[_Band]] = []
    for those in sorted(of.values(), key=lambda some: some[0].first):
        taken = {at for band in those for at in range(band.first, band.last + 1)}
        for lane in lanes:
            if not any(at in taken for band in lane for at in range(band.first, band.last + 1)):
                lane.extend(those)
                break
        else:
            lanes.append(list(those))
    return lanes


def _songs(
    drawn: Canvas, laid_out: ShowAllocation, across: tuple[float, float], top: float, low: float
) -> None:
    """The names of the songs, and the breaks between them."""
    show, (left, wide) = laid_out.show, across
    for at, song in enumerate(show.songs):
        x, y = left + at * wide + 0.03, top + _GAP / 2 + _LANE / 2
        drawn.text(x, y, f"{at + 1}  {song.name}", room=wide - 0.06, size=7, fontweight="bold")
        if song.pinned:
            under = top + _GAP / 2
            drawn.line((x, x + wide - 0.06), (under, under), linewidth=1.5)
        edge = left + (at + 1) * wide
        if song.name in show.breaks:
            for beside in (-0.015, 0.015):
                line = (edge + beside, edge + beside)
                drawn.line(line, (low, top + _LANE), color=GREY, linewidth=0.8)
        else:
            drawn.line((edge, edge), (low, top), color=PALE, linewidth=0.5, zorder=0)


def _beside(band: _Band) -> str:
    """What stands behind the name in a band: where it was, and the sign of its travel."""
    came = f" ({band.came})" if band.came is not None else ""
    return f"{came} {band.sign}" if band.sign else came


def _needed(band: _Band) -> float:
    """Inches for each song so that a band that says something of itself is read whole."""
    beside = _beside(band)
    told = f"{band.thing.role}/{band.thing.name}{beside}"
    songs = band.last - band.first + 1
    return (length(told, 6.5) + _PART + 0.09 + 0.02) / songs if beside else 0.0


def _draw(
    drawn: Canvas, band: _Band, look: Mapping[str, int], across: tuple[float, float], low: float
) -> None:
    left, song = across
    x, wide = left + band.first * song + 0.03, (band.last - band.first + 1) * song - 0.06
    high = _LANE - 0.03
    kind = look[band.thing.kind]
    drawn.box(x, low, wide, high, facecolor="white", edgecolor=GREY, linewidth=0.6)
    drawn.box(x, low, wide, 0.03, facecolor=look_of(kind).colour, edgecolor="none", linewidth=0)
    drawn.voice(x + 0.03, low + high / 2 + 0.005, kind)
    if band.bar:
        drawn.line((x, x), (low, low + high), linewidth=3.0)
    beside, room = _beside(band), wide - _PART - 0.03
    name = fitted(f"{band.thing.role}/{band.thing.name}", room - length(beside, 6.5), 6.5)
    drawn.text(x + _PART, low + high / 2 + 0.01, name + beside, room=room, size=6.5)


def _in_lines(kinds: Sequence[str], width: float) -> Iterator[list[tuple[float, str]]]:
    """The kinds below the picture, line by line, each with where it begins."""
    line: list[tuple[float, str]] = []
    x = 0.0
    for kind in kinds:
        takes = 2 * _MARK + min(length(kind, 7), _NAME) + _GAP
        if line and x + takes > width:
            yield line
            line, x = [], 0.0
        line.append((x, kind))
        x += takes
    if line:
        yield line
