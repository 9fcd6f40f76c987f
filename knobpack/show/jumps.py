"""Jumps: what the master holds elsewhere as a song begins, and levels that the hand finds there."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import TYPE_CHECKING, ClassVar

import attrs

from knobpack.definition.phrases import CAUTION, ESSENTIAL
from knobpack.grouped import grouped
from knobpack.reasons.answer_graph import Answer
from knobpack.show.prices import ShowDestination
from knobpack.simulation import Jump
from knobpack.text.shown import Fielded
from knobpack.words.loudness import is_level
from knobpack.words.names import knob_told, listed, quoted

if TYPE_CHECKING:
    from knobpack.show.answer import ShowAllocation


@attrs.frozen
class LevelHere(Fielded):
    """A knob that is an essential level in some songs, and no level of any priority in others.

    Args:
        knob: the knob.
        songs: the songs in which it is unlike in the others: of both sorts those that are fewer, or
            where it is a level, if as many.
        levels: role and name of each essential level that it drives.
        elsewhere: role and name of what it drives where it is none.
        usual: whether it is a level in most songs.
    """

    knob: str
    songs: tuple[str, ...]
    levels: tuple[str, ...]
    elsewhere: tuple[str, ...]
    usual: bool = False

    @property
    def unlike(self) -> tuple[str, ...]:
        """Role and name of what it drives in these songs and is not looked for there."""
        return self.elsewhere if self.usual else self.levels

    @property
    def here(self) -> str:
        """The same for what stands beside the song: no full stop."""
        return self._told("here" + f" ({listed(self.levels)})" * (not self.usual))

    def __str__(self) -> str:
        return self._told(self._where)

    @property
    def _where(self) -> str:
        return f"in {quoted(self.songs)}" + f" ({listed(self.levels)})" * (not self.usual)

    def _beside(self, others: Iterable[LevelHere]) -> str:
        """The same of it and others of its knob, which drives the same where it is no level."""
        rows = [each._where for each in (self, *others)]
        return self._told(listed(rows, len(rows)))

    def _told(self, where: str) -> str:
        others = listed(self.elsewhere)
        if self.usual:
            drives = f"{knob_told(self.knob)} drives {others} {where}"
            return f"{drives}, and in other songs a level ({listed(self.levels)})"
        return f"{knob_told(self.knob)} is a level {where}, and in other songs {others}"


@attrs.frozen
class LevelsMoved(Fielded):
    """Essential levels that are on another knob in some songs than in most.

    Args:
        songs: those songs.
        levels: role and name of each, the knob that drives it there, and that of most songs.
    """

    songs: tuple[str, ...]
    levels: tuple[tuple[str, str, str], ...]

    def __str__(self) -> str:
        told = [
            f"{name} is on {knob_told(knob)}, not {knob_told(usual)}"
            for name, knob, usual in self.levels
        ]
        return f"In {quoted(self.songs)} {listed(told, len(told))}"


@attrs.frozen
class SongJumps(Answer):
    """What jumps from song to song while the master stands still.

    A destination is looked at that both of two songs play and the master moves in both, whichever
    knobs they have it on. Where the master stands is not known: it is told where most jumps. What
    a snapshot holds is left to :func:`knobpack.simulation.worst_changes` of each song.

    Args:
        jumps: the furthest first; a song stands for a snapshot, and the knob is that of the song
            that begins.
        by_hand: what is on another knob or over another travel in the next song, and of which it is
            not known where it stands, as in one of the two no snapshot moves it: role and name.
        levels: the knobs that are a level in some songs, and something else in others.
        moved: the levels that are on another knob in some songs than in most.
    """

    question: ClassVar[str] = "jumps from song to song"

    jumps: tuple[Jump, ...]
    by_hand: tuple[str, ...] = ()
    levels: tuple[LevelHere, ...] = ()
    moved: tuple[LevelsMoved, ...] = ()

    def __iter__(self) -> Iterator[Jump]:
        return iter(self.jumps)

    def __len__(self) -> int:
        return len(self.jumps)

    @property
    def sentences(self) -> tuple[str, ...]:
        """What jumps where, the furthest first; what becomes a level; a caution if loud."""
        found = []
        for jump, goes in self._alike():
            where = f"'{jump.after}' after '{jump.before}' with the master at {jump.master}"
            found.append(f"{where}: {goes}.")
        if not found:
            found.append("Nothing that the master moves jumps from one song to the next.")
        if self.by_hand:
            stand, them = ("stands", "it") if len(self.by_hand) == 1 else ("stand", "them")
            told = f"Where {listed(self.by_hand)} {stand} is not known, as no snapshot moves"
            found.append(f"{told} {them} in both of two songs.")
        found += [f"{each}: look where it stands before." for each in self.levels_told]
        loud = dict.fromkeys(jump.destination for jump in self.jumps if jump.level_like)
        if loud:
            found.append(f"Levels, or what can change them: {listed(list(loud))}. {CAUTION}")
        return tuple(found)

    @property
    def levels_told(self) -> tuple[str, ...]:
        """What is a level in some songs alone, knob by knob, and what is on another knob there."""
        alike = grouped(((e.knob, e.elsewhere, e.usual), e) for e in self.levels)
        return (*(one._beside(more) for one, *more in alike.values()), *map(str, self.moved))

    def into(self, song: str) -> tuple[str, ...]:
        """What jumps as one song begins, in words, the furthest first.

        Args:
            song: the name of a song; of another name nothing is told.

        Returns:
            A line for each knob and place of the master.
        """
        return tuple(
            f"{goes} with the master at {jump.master}"
            for jump, goes in self._alike()
            if jump.after == song
        )

    def _alike(self) -> Iterator[tuple[Jump, str]]:
        """One of those that jump equally far at one point, and what all of them do, by knobs."""
        alike = grouped(((j.percent, j.before, j.after, j.master), j) for j in self.jumps)
        for those in alike.values():
            on = grouped(((j.knob, j.from_position, j.to_position), j.destination) for j in those)
            goes = [
                f"{listed(names)} ({knob_told(knob)}) from {was} to {now}"
                for (knob, was, now), names in on.items()
            ]
            yield those[0], f"{listed(goes)} at once ({those[0].percent} %)"


def song_jumps(found: ShowAllocation) -> SongJumps:
    """What jumps from song to song.

    Args:
        found: a show laid out. A break keeps songs apart.
    """
    top, songs = found.show.surface.top, found.show.songs
    follow = {
        song.name: {knob for each in laid.following for knob in each.knobs}
        for song, laid in zip(songs, found.songs, strict=True)
    }
    jumps, by_hand = list[Jump](), dict[str, None]()
    for thing in found.things:
        name = f"{thing.role}/{thing.name}"
        led = {
            e.song: (e.knob, e.travel)
            for e in thing.found
            if e.knob and e.travel is not None and not e.travel.empty
        }
        for one, other in found.show.neighbours:
            before, after = songs[one].name, songs[other].name
            if before not in led or after not in led:
                continue
            (left, was), (knob, now) = led[before], led[after]
            if left not in follow[before] or knob not in follow[after]:
                if (left, was) != (knob, now):
                    by_hand[name] = None
                continue
            ends = ((0, was.start, now.start), (top, was.end, now.end))
            master, old, new = max(ends, key=lambda each: abs(each[2] - each[1]))
            if old != new:
                jumps.append(
                    Jump(
                        destination=name,
                        kind=thing.kind,
                        knob=knob,
                        before=before,
                        after=after,
                        master=master,
                        top=top,
                        from_position=old,
                        to_position=new,
                        from_received=old / top,
                        to_received=new / top,
                        share=abs(new - old) / top,
                        from_known=True,
                        to_known=True,
                    )
                )
    jumps.sort(key=lambda jump: (-jump.share, not jump.level_like))
    return SongJumps(tuple(jumps), tuple(by_hand), levels_here(found.things), _moved(found.things))


def levels_here(things: Iterable[ShowDestination]) -> tuple[LevelHere, ...]:
    """Where a knob is an essential level in some songs, and no level in others.

    Args:
        things: every destination of a show.

    Returns:
        One for each knob and the levels that it drives, in the order in which things are given.
    """
    on = grouped(
        ((each.knob, each.song), thing)
        for thing in things
        for each in thing.found
        if each.knob is not None
    )
    found = list[LevelHere]()
    for knob, songs in grouped(on).items():
        quiet = [song for song in songs if not any(is_level(t.kind) for t in on[knob, song])]
        loud = grouped((_levels(on[knob, song]), song) for song in songs)
        other = dict.fromkeys(f"{t.role}/{t.name}" for song in quiet for t in on[knob, song])
        if other and 2 * len(quiet) < len(songs):
            levels = tuple(dict.fromkeys(name for names in loud for name in names))
            each = LevelHere(str(knob), tuple(quiet), levels, tuple(other), usual=True)
            found += [each] if levels else []
        elif other:
            found += [
                LevelHere(str(knob), tuple(here), levels, tuple(other))
                for levels, here in loud.items()
                if levels
            ]
    return tuple(found)


def _moved(things: Iterable[ShowDestination]) -> tuple[LevelsMoved, ...]:
    """The essential levels that are on another knob in some songs than in most."""
    rows = list[tuple[str, tuple[str, str, str]]]()
    for thing in things:
        on = grouped((each.knob, each.song) for each in thing.found if each.knob is not None)
        usual = max(on, key=lambda knob: len(on[knob]), default=None)
        for name in _levels([thing]):
            rows += (
                (song, (name, str(knob), str(usual)))
                for knob, songs in on.items()
                for song in songs
                if knob != usual
            )
    alike = grouped((tuple(levels), song) for song, levels in grouped(rows).items())
    return tuple(LevelsMoved(tuple(songs), levels) for levels, songs in alike.items())


def _levels(things: Iterable[ShowDestination]) -> tuple[str, ...]:
    own = (t for t in things if is_level(t.kind) and t.priority == ESSENTIAL)
    return tuple(f"{thing.role}/{thing.name}" for thing in own)
