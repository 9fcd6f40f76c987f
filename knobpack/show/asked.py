"""What each song of a show asks for, and how its destinations are called in the show."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import attrs

from knobpack.allocation import Allocation
from knobpack.edits.in_question import with_torn_as_wishes
from knobpack.edits.request import SetupInUse, in_request, request_in_use
from knobpack.grouped import grouped
from knobpack.setups.as_read import Reading, lies_within, read
from knobpack.setups.bundles import source_knobs
from knobpack.show.song import Show, Song
from knobpack.words import Destination, Layout, Request, Snapshot, Surface, Voice, Weights
from knobpack.words.free_names import unique

Key = tuple[str, str]
"""A destination of the show: its role, and its name there."""


_SINGLE: dict[str, Any] = {
    each.name: 0 for each in attrs.fields(Weights) if type(each.default) is int
}
_NOTHING = Weights(**_SINGLE, travel=(0,) * 5)
"""What a song that is not played costs by itself."""


@attrs.frozen
class AskedSong:
    """What one song asks for.

    Args:
        song: the song.
        request: what is to be laid out of it.
        layout: how it stays; None: it is to be laid out.
    """

    song: Song
    request: Request
    layout: Layout | None

    def key_of(self, destination: str) -> Key:
        """What a destination, given by its full name, is in the show."""
        voice = self.request.voice_of[destination].name
        return self.song.role_of(voice), self.request.by_full_name[destination].name


def asked_of(show: Show) -> tuple[AskedSong, ...]:
    """What each song of a show asks for, in their order."""
    return tuple(_asked(song) for song in show.songs)


def known_of(show: Sequence[AskedSong]) -> tuple[AskedSong, ...]:
    """Where the hand knows things to be before the show, as songs that are not played.

    They count in what is to be relearned, and cost nothing by themselves.

    Args:
        show: what each song asks for.
    """
    found, names = list[AskedSong](), {each.song.name for each in show}
    for each in show:
        inner, knobs = each.request.by_full_name, each.request.surface.knob_names
        known = (r for r in each.song.known if r.destination in inner and r.knob in knobs)
        on = {route.destination: route for route in known}
        if not on:
            continue
        voices = []
        for voice in each.request.voices:
            own = [one for one in voice.destinations if voice.full_name(one) in on]
            if own:
                voices.append(Voice(voice.name, own))
        surface = Surface(each.request.surface.knobs, bits=each.request.surface.bits)
        moved = Snapshot("known", [voice.name for voice in voices])
        request = Request(surface, voices, snapshots=[moved], weights=_NOTHING)
        roles = [one for one in each.song.roles if one.voice in {voice.name for voice in voices}]
        name = unique(each.song.name, names)
        names.add(name)
        there = Allocation.of(request, Layout(list(on.values())))
        found.append(_asked(Song(name, there, roles)))
    return tuple(found)


def _asked(song: Song) -> AskedSong:
    played = song.played
    if isinstance(played, Request):
        return AskedSong(song, played, None)
    if isinstance(played, Allocation):
        if song.pinned:
            return AskedSong(song, played.request, played.layout)
        # What is programmed changes no more than it must for the tiers before.
        return AskedSong(song, attrs.evolve(played.request, previous=played.layout), None)
    reading = read(with_torn_as_wishes(played))
    use = SetupInUse.of(reading, pinned=song.pinned)
    if song.pinned:
        # Of what stays as it is no layer is asked: voices without one are given one here alone.
        use = attrs.evolve(use, surface=attrs.evolve(use.surface, layers=None))
        stays = attrs.evolve(use.layout, layers=())
        return AskedSong(song, _anew(reading, use, request_in_use(use, (), (), must=())), stays)
    names = {route.destination for route in use.routes}
    knobs = use.surface.knob_names
    rules = (in_request(rule, names, knobs, reading.broken) for rule in played.agreed)
    held = tuple(rule for rule in rules if rule is not None)
    new = tuple(
        voice.full_name(inner)
        for voice in played.voices
        if voice.name in song.brings
        for inner in voice.destinations
        if voice.full_name(inner) not in names
    )
    request = _anew(reading, use, request_in_use(use, held, new, must=()))
    if not song.free:  # what is brought comes beside what is there
        there = attrs.evolve(use.layout, routes=use.routes)
        request = attrs.evolve(request, keep=there)
    return AskedSong(song, request, None)


def _anew(reading: Reading, use: SetupInUse, request: Request) -> Request:
    """The request of a setup in use with its own bundles: what is only joined is none."""
    setup, at = reading.setup, {route.destination: route.knob for route in use.routes}
    bundles = source_knobs(reading, at)
    on = grouped((at[name], bundle) for name, bundle in bundles.items())

    def asked(name: str, inner: Destination) -> Destination:
        if name not in at:
            return inner
        place = setup.surface.knob_names.index(at[name]) + 1
        wish = reading.destinations[name].travel
        joined = len(set(on[at[name]])) > 1 and wish and lies_within(wish, setup.surface.top)
        travel = wish if joined and not setup.surface.per_route else inner.travel
        return attrs.evolve(inner, travel=travel, source_knob=bundles[name], source_place=place)

    voices = tuple(
        attrs.evolve(
            voice,
            source=setup.name,
            destinations=tuple(asked(*each) for each in voice.by_full_name.items()),
        )
        for voice in request.voices
    )
    return attrs.evolve(request, voices=voices, in_use=False, edited=())
