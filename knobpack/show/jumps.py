"""Jumps: what the master holds elsewhere as one song ends and the next begins."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, ClassVar

import attrs

from knobpack.definition.phrases import CAUTION
from knobpack.grouped import grouped
from knobpack.reasons.answer_graph import Answer
from knobpack.simulation import Jump
from knobpack.words.names import listed

if TYPE_CHECKING:
    from knobpack.show.answer import ShowAllocation


@attrs.frozen
class SongJumps(Answer):
    """What jumps from song to song while the master stands still.

    A destination is looked at that both of two songs play and the master moves in both, whichever
    knobs they have it on. Where the master stands is not known: it is told where most jumps. What
    a snapshot holds is left to :func:`knobpack.simulation.worst_changes` of each song.

    Args:
        jumps: the furthest first; a song stands for a snapshot, and the knob is that of the song
            that begins.
    """

    question: ClassVar[str] = "jumps from song to song"

    jumps: tuple[Jump, ...]

    @property
    def sentences(self) -> tuple[str, ...]:
        """What jumps where, the furthest first, and a caution where it can be loud."""
        if not self.jumps:
            return ("Nothing that the master moves jumps from one song to the next.",)
        alike = grouped(((j.percent, j.before, j.after, j.master), j) for j in self.jumps)
        found = []
        for (percent, before, after, master), those in alike.items():
            goes = listed(
                [f"{j.destination} from {j.from_position} to {j.to_position}" for j in those]
            )
            where = f"'{after}' after '{before}' with the master at {master}"
            found.append(f"{where}: {goes} at once ({percent} %).")
        loud = dict.fromkeys(jump.destination for jump in self.jumps if jump.level_like)
        if loud:
            found.append(f"Levels, or what can change them: {listed(list(loud))}. {CAUTION}")
        return tuple(found)


def song_jumps(found: ShowAllocation) -> SongJumps:
    """What jumps from song to song.

    Args:
        found: a show laid out. A break keeps songs apart.
    """
    jumps = sorted(_jumps(found), key=lambda jump: (-jump.share, not jump.level_like))
    return SongJumps(tuple(jumps))


def _jumps(found: ShowAllocation) -> Iterator[Jump]:
    top, songs = found.show.surface.top, found.show.songs
    follow = {
        song.name: {knob for each in laid.following for knob in each.knobs}
        for song, laid in zip(songs, found.songs, strict=True)
    }
    for thing in found.things:
        led = {
            each.song: (each.knob, each.travel)
            for each in thing.found
            if each.knob in follow[each.song] and each.travel is not None
        }
        for one, other in found.show.neighbours:
            before, after = songs[one].name, songs[other].name
            if before not in led or after not in led:
                continue
            (_, was), (knob, now) = led[before], led[after]
            ends = ((0, was.start, now.start), (top, was.end, now.end))
            master, old, new = max(ends, key=lambda each: abs(each[2] - each[1]))
            if old != new:
                yield Jump(
                    destination=f"{thing.role}/{thing.name}",
                    kind=thing.kind,
                    knob=str(knob),
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
