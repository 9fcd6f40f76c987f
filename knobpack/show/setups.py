"""Setups: each song of a show that is laid out, as what is programmed, and the steps to it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

import attrs

from knobpack.allocation import Allocation
from knobpack.definition.phrases import ESSENTIAL
from knobpack.edits.made import arriving, routed
from knobpack.explanation.what_if import goes_told
from knobpack.grouped import grouped
from knobpack.setups.as_read import read
from knobpack.setups.missed_travels import MissedTravel, alarms_named, missed_told
from knobpack.sheets import PatchSheet, patch_sheet
from knobpack.show.song import Song
from knobpack.words import Home, Setup
from knobpack.words.names import listed, quoted


def song_setup(song: Song, laid: Allocation) -> Setup:
    """A song as a setup; of a setup that was programmed, all else stays as it was.

    Args:
        song: the song.
        laid: how it is laid out.
    """
    played = song.played
    if not isinstance(played, Setup):
        return laid.setup(song.name)
    if song.pinned:
        return played
    was = laid.request.previous
    travels = {each.knob: each.travel for each in laid.travels or ()}
    made = routed(played, laid.routes, travels, was.routes if was else ()).setup
    if song.brings:
        layers = {each.voice: each.new for each in laid.layers}
        voices = (attrs.evolve(v, layer=layers.get(v.name, v.layer)) for v in made.voices)
        made = attrs.evolve(made, voices=tuple(voices))
    home = played.home
    if home is not None and attrs.evolve(played, home=None) == home.arrived:
        # It came to this panel and nothing was edited there: so it arrives as it is laid out.
        made = arriving(home.setup, attrs.evolve(made, home=None)).setup
        made = attrs.evolve(made, home=Home(home.setup, made))
    return made


def programmed(song: Song) -> Setup | None:
    """What a song is programmed as before the show is laid out; None: it is still to be."""
    played = song.played
    if isinstance(played, Allocation):
        return played.setup(song.name)
    return played if isinstance(played, Setup) else None


def sheets_between(was: Mapping[str, Setup], now: Mapping[str, Setup]) -> dict[str, PatchSheet]:
    """The patch sheets of the songs in which anything is to be programmed, by their names.

    Args:
        was: the songs as they are programmed.
        now: as they are to be; what is not in ``was`` starts from an empty panel.
    """
    sheets = {}
    for name, after in now.items():
        sheet = patch_sheet(was.get(name) or Setup(after.name, after.surface), after)
        if sheet.steps:
            sheets[name] = sheet
    return sheets


def undriven_in_songs(undriven: Mapping[str, Iterable[str]]) -> tuple[str, ...]:
    """What is essential and no knob drives, and in which songs.

    Args:
        undriven: full names, by the names of songs.
    """
    alike = grouped((tuple(names), song) for song, names in undriven.items())
    return tuple(
        f"Essential, and driven by no knob in {quoted(songs)}: {listed(names)}."
        for names, songs in alike.items()
        if names
    )


def idle_in_songs(idle: Mapping[str, Iterable[str]]) -> tuple[str, ...]:
    """What no knob drove, and in which songs that are laid out anew it stays so.

    Args:
        idle: full names, by the names of songs.
    """
    alike = grouped((tuple(names), song) for song, names in idle.items())
    return tuple(
        f"In {quoted(songs)} no knob drove {listed(names)}: none is looked for."
        for names, songs in alike.items()
        if names
    )


def essential_moves_told(changed: Mapping[str, tuple[Setup, Setup]]) -> tuple[str, ...]:
    """What is essential and goes to another knob, what it meets there, and in which songs.

    Args:
        changed: each song as it is programmed and as it is to be, by the names of songs.
    """
    told = ((line, song) for song, two in changed.items() for line in _essential_moves(*two))
    return tuple(f"In {quoted(songs)}: {line}." for line, songs in grouped(told).items())


def _essential_moves(before: Setup, after: Setup) -> Iterator[str]:
    was, now = read(before), read(after)
    for name, inner in now.destinations.items():
        old, new = (next(iter(each.knobs_of.get(name, ())), None) for each in (was, now))
        if inner.priority == ESSENTIAL and old and new and old != new:
            met = [n for n in now.carries[new] if n not in was.carries.get(old, (name,))]
            beside = f", where {listed(met)} {'is' if len(met) == 1 else 'are'} too" if met else ""
            yield goes_told([name], old, new) + beside


def alarms_told(alarming: Mapping[str, Iterable[MissedTravel]]) -> tuple[str, ...]:
    """What is alarming, and in which songs; what is the same in several in one sentence.

    Args:
        alarming: what a player must know before the first note, by the names of songs.
    """
    alike = grouped((told, song) for song, those in alarming.items() for told in missed_told(those))
    return tuple(f"In {quoted(songs)}: {told}." for told, songs in alike.items())


def alarms_in_songs(alarming: Mapping[str, Iterable[MissedTravel]]) -> tuple[str, ...]:
    """The same, names and knobs alone.

    Args:
        alarming: what a player must know before the first note, by the names of songs.
    """
    alike = grouped((alarms_named(those), song) for song, those in alarming.items())
    return tuple(f"In {quoted(songs)}: {told}" for told, songs in alike.items() if told)
