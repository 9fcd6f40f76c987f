"""Song and show: what is played, in which order, and what of it is programmed already."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cached_property

import attrs

from knobpack.allocation import Allocation
from knobpack.errors import InputError
from knobpack.text.shown import Fielded, Told
from knobpack.words import Request, Route, Setup, Surface, converters, fields
from knobpack.words.names import many, near_to


@attrs.frozen
class VoiceRole(Fielded):
    """What part a voice plays in the show, where it is called otherwise in other songs.

    Args:
        voice: the name of a voice of the song.
        role: what it is to the show: the same name in every song in which it is the same thing.

    Raises:
        InputError: a field holds a value it cannot hold.
    """

    voice: str = attrs.field(converter=converters.voice_name, validator=fields.name())
    role: str = attrs.field(validator=fields.name())


def voice_roles(
    given: Mapping[str, str] | Iterable[VoiceRole],
) -> tuple[VoiceRole, ...]:
    """The roles of voices, one by one or under the names of the voices."""
    if isinstance(given, Mapping):
        return tuple(VoiceRole(voice, role) for voice, role in given.items())
    return converters.as_tuple(given)


def song_name(given: str | Song) -> str:
    """The name of a song."""
    return converters.name_of(given, _song)


def song_names(given: str | Song | Iterable[str | Song]) -> tuple[str, ...]:
    """The names of songs, one alone or several."""
    return converters.names_of(given, _song)


def _song() -> tuple[type, ...]:
    return (Song,)


def given_songs(given: Iterable[Song]) -> tuple[Song, ...]:
    """Songs, in any list."""
    return converters.as_tuple(given)


@attrs.frozen
class Song(Fielded):
    """One song of a show: what it is played with, and whether that may still be laid out anew.

    Args:
        name: what it is called; each song of a show has its own.
        played: what it is played with. A Request is still to be laid out. An Allocation and a Setup
            are programmed already: they stay as they are.
        roles: the voices that are the same thing as one of another name in other songs, and what
            that is called in the show; all others are called what they are.
        free: whether an Allocation or Setup may be laid out anew as well. What is one bundle of a
            Setup then stays together, and what no knob drives stays so.
        brings: the voices of a Setup that no knob drives yet and that are to be placed.
        known: routes, such as ``Route("Bass/cutoff", "K1")``: where the hand knows destinations to
            be, perhaps from the panel that the song was taken from. It is relearned if they are
            elsewhere.

    Raises:
        InputError: a field holds a value it cannot hold, a voice is named that is not there, two
            voices would be one thing in the show, or something else than a Setup brings voices.

    Example:
        >>> from knobpack import Destination, Request, Surface, Voice
        >>> from knobpack.show import Song
        >>> organ = Voice("Soft organ", (Destination("level"),))
        >>> song = Song("Ballad", Request(Surface.row(4), (organ,)), {"Soft organ": "Organ"})
        >>> song.role_of("Soft organ")
        'Organ'
    """

    name: str = attrs.field(validator=fields.name())
    played: Request | Allocation | Setup = attrs.field(
        validator=fields.one_among(Request, Allocation, Setup)
    )
    roles: tuple[VoiceRole, ...] = attrs.field(
        default=(), converter=voice_roles, validator=fields.several(VoiceRole)
    )
    free: bool = attrs.field(default=False, validator=fields.flag())
    brings: tuple[str, ...] = attrs.field(
        default=(), converter=converters.voice_names, validator=fields.names()
    )
    known: tuple[Route, ...] = attrs.field(
        default=(), converter=converters.routes, validator=fields.several(Route)
    )

    def __attrs_post_init__(self) -> None:
        if self.brings and not isinstance(self.played, Setup):
            right = "only a Setup brings voices; all of any other are placed"
            raise InputError("Song.brings", self.brings, right)
        for at, voice in enumerate(self.brings):
            fields.check_named(f"Song.brings[{at}]", voice, self._voices, "name a voice of it")
        fields.check_distinct("Song.roles[].voice", (each.voice for each in self.roles))
        for at, each in enumerate(self.roles):
            if each.voice not in self._voices:
                right = f"name a voice of '{self.name}'{near_to(each.voice, self._voices)}"
                raise InputError(f"Song.roles[{at}].voice", each.voice, right)
        fields.check_distinct("Song.roles[].role", map(self.role_of, self._voices))

    @property
    def surface(self) -> Surface:
        """The panel that it is played on."""
        played = self.played
        return played.request.surface if isinstance(played, Allocation) else played.surface

    @property
    def pinned(self) -> bool:
        """Whether it stays as it is."""
        return not (self.free or self.brings or isinstance(self.played, Request))

    def role_of(self, voice: str) -> str:
        """What a voice is called in the show.

        Args:
            voice: the name of a voice of the song.

        Returns:
            Its role; its own name where it has been given none.
        """
        return self._roles.get(voice, voice)

    @cached_property
    def _roles(self) -> dict[str, str]:
        return {each.voice: each.role for each in self.roles}

    @cached_property
    def _voices(self) -> tuple[str, ...]:
        of = self.played.request if isinstance(self.played, Allocation) else self.played
        return tuple(voice.name for voice in of.voices)


@attrs.frozen
class Show(Told):
    """Songs in the order they are played, on one surface.

    Args:
        name: what it is called.
        songs: in playing order; one or more.
        breaks: the songs after which there is a break: those before and after it do
            not follow each other.

    Raises:
        InputError: a field holds a value it cannot hold, there is no song, two are called alike,
            their surfaces have other knobs, resolutions or places where travels are set, or a break
            names no song.

    Example:
        >>> from knobpack import Destination, Request, Surface, Voice
        >>> from knobpack.show import Show, Song
        >>> organ = Voice("Organ", (Destination("level"),))
        >>> request = Request(Surface.row(4), (organ,))
        >>> show = Show("Evening", [Song("Opener", request), Song("Ballad", request)])
        >>> show.neighbours
        ((0, 1),)
    """

    name: str = attrs.field(validator=fields.name())
    songs: tuple[Song, ...] = attrs.field(converter=given_songs, validator=fields.several(Song))
    breaks: tuple[str, ...] = attrs.field(
        default=(), converter=song_names, validator=fields.names()
    )

    def __attrs_post_init__(self) -> None:
        if not self.songs:
            raise InputError("Show.songs", self.songs, "give one song or more")
        names = tuple(song.name for song in self.songs)
        fields.check_distinct("Show.songs[].name", names)
        for at, each in enumerate(self.breaks):
            fields.check_named(f"Show.breaks[{at}]", each, names, "name a song of the show")
        first, *others = self.songs
        for at, song in enumerate(others, 1):
            for what, other in _other_panel(first.surface, song.surface):
                right = f"all songs are on one surface: that of '{first.name}' is another"
                raise InputError(f"Show.songs[{at}].surface.{what}", other, right)

    @property
    def surface(self) -> Surface:
        """The panel: that of the first song. Others may reserve other knobs on it."""
        return self.songs[0].surface

    @property
    def neighbours(self) -> tuple[tuple[int, int], ...]:
        """The positions of each two songs that follow each other without a break."""
        return tuple(
            (at, at + 1)
            for at, song in enumerate(self.songs[:-1])
            if song.name not in set(self.breaks)
        )

    @property
    def sentences(self) -> tuple[str, ...]:
        """How long it is, and the songs in their order."""
        songs, knobs = many(len(self.songs), "song"), many(len(self.surface.knobs), "knob")
        return (
            f"Show '{self.name}': {songs} on {knobs}.",
            *(
                f"{at}. '{song.name}'{', stays as it is' if song.pinned else ''}"
                f"{', then a break' if song.name in self.breaks else ''}."
                for at, song in enumerate(self.songs, 1)
            ),
        )


def _other_panel(one: Surface, other: Surface) -> list[tuple[str, object]]:
    """In what another surface differs that must be as it is on one: what, and how it is there."""
    here, there = (
        {
            "knobs": [(knob.name, knob.row, knob.column) for knob in each.knobs],
            "bits": each.bits,
            "travel_on": each.travel_on,
        }
        for each in (one, other)
    )
    return [(what, value) for what, value in there.items() if value != here[what]]
