"""Sounding: levels that follow the master, or are held where they sound, as they did not before.

Where a knob comes to follow in a snapshot, as what held it there went elsewhere or something that
moves there came, the level on it goes with the master from the moment the snapshot is recalled.
What came is held in the base's snapshots, and the base in those that came, where it stood wherever
its own setup held it: a voice can sound there that nobody put there. That it be silent instead is
not known to be wanted, and so it is told, not done. What was turned down in a snapshot can sound
there too, if its knob goes by something more important now, and what was heard be silent.

What a knob that stands still held, and no knob drives any more, is told here too.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

import attrs

from knobpack.grouped import grouped
from knobpack.setups.as_read import Play, Reading, read
from knobpack.setups.response import position_at
from knobpack.text.columns import sentence
from knobpack.words import Setup
from knobpack.words.loudness import is_level, louder_with_more
from knobpack.words.names import knob_told, knobs_told, listed, quoted, voice_part


def sounding_told(
    before: Setup, after: Setup, show: Callable[[str], str] = str, than: Setup | None = None
) -> Iterator[str]:
    """In which snapshots levels follow, or are held where they sound, though not so before.

    Those that are held were turned down there, or one of both is new and the snapshot moves nothing
    that came with the level, or what came otherwise is on its knob. What is held where no one knows
    is not among them: it is to be set by ear.

    Args:
        before: the setup as it was; where it has no voices, all is new, and what follows or was
            turned down is told as unlike at home, where there is a home.
        after: what it becomes, on the same surface.
        show: what a name is shown as.
        than: what it could become instead: what is held so there too is not told.

    Yields:
        A sentence for all levels that follow, then that sound, in the same snapshots; and for what
        was heard there and is not any more.
    """
    at_home = after.home if not before.voices else None
    old, new = read(at_home.setup if at_home else before), read(after)
    yield from _following_told(old, new, "at home" if at_home else "before", show)
    so = set() if than is None else set(_heard(before, old, read(than)))
    heard = [each for each in _heard(before, old, new) if each not in so]
    rows = (((on[0], tuple(names)), on[1:]) for on, names in grouped(heard).items())
    for (down, names), levels in grouped(rows).items():
        on_knobs = grouped(((knob, stands), show(level)) for level, knob, stands in levels)
        told = [f"{listed(n)} ({show(knob_told(k))} at {at})" for (k, at), n in on_knobs.items()]
        are, were = ("is held where it sounds", "was") if len(levels) == 1 else _SEVERAL
        yield f"{_in(names, show)} {listed(told)} {are}" + f", and {were} turned down" * down + "."

    yield from _unheard_told(old, new, show)


def _heard(
    before: Setup, old: Reading, new: Reading
) -> Iterator[tuple[tuple[bool, str, str, int], str]]:
    """Levels held where they sound: whether turned down before, name, knob, where; and snapshot."""
    here, tops = read(before).destinations, (old.setup.surface.top, new.setup.surface.top)
    known = {play.snapshot.name: _held(old, play) for play in old.stored_plays}
    source = {voice.name: voice.source for voice in new.setup.voices}

    def came_with(name: str) -> str | bool | None:
        return name in here or source[voice_part(name)]

    for play in new.stored_plays:
        name, moved = play.snapshot.name, {came_with(each) for each in play.moved}
        for level, at in _held(new, play).items():
            was = known.get(name, {}).get(level)
            up = at.position * tops[0] > (was.position if was else 0) * tops[1]
            down = was is not None and not was.sounds and up
            fresh = name not in known or level not in here
            own = came_with(level)
            strange = own not in moved or any(came_with(n) != own for n in new.carries[at.knob])
            if at.sounds and (down or (fresh and strange)):
                yield (down, level, at.knob, at.stands), name


def _unheard_told(old: Reading, new: Reading, show: Callable[[str], str]) -> Iterator[str]:
    """What was heard in a snapshot that holds it, and stands at 0 there now."""
    before = {p.snapshot.name: _held(old, p, louder_with_more) for p in old.stored_plays}
    gone = []
    for play in new.stored_plays:
        was, now = before.get(play.snapshot.name, {}), _held(new, play, louder_with_more)
        levels = [n for n, inner in new.destinations.items() if is_level(inner.kind)]
        heard = {n for n in levels if n in _following(new, play) or (n in now and now[n].sounds)}
        dumb = {voice_part(n) for n in levels} - {voice_part(n) for n in heard}
        gone += [
            ((name, at.knob, at.stands), play.snapshot.name)
            for name, at in now.items()
            if name in was and was[name].sounds and not at.sounds
            if is_level(new.destinations[name].kind) or voice_part(name) not in dumb
        ]
    of = grouped((tuple(names), on) for on, names in grouped(gone).items())
    for names, those in of.items():
        told = listed([f"{show(n)} ({show(knob_told(k))} at {at})" for n, k, at in those])
        yield f"{_in(names, show)} {told} {'is' if len(those) == 1 else 'are'} not heard any more."


def _in(snapshots: Sequence[str], show: Callable[[str], str]) -> str:
    return f"In snapshot{'s' * (len(snapshots) > 1)} {quoted(map(show, snapshots))}"


_SEVERAL = "are held where they sound", "were"


def held_told(reading: Reading, play: Play) -> tuple[str, ...]:
    """Which knobs a snapshot holds where, which levels sound for it, and what is set by ear.

    Args:
        reading: a setup.
        play: one of its snapshots.
    """
    stands, ear = reading.stands(play), reading.by_ear(play)
    levels = grouped((e.knob, name) for name, e in _held(reading, play).items() if e.sounds)
    told = [
        f"{knob_told(knob)} held at {at}"
        + (f", where {listed(own)} {'sounds' if len(own) == 1 else 'sound'}" if own else "")
        for knob, at in stands.items()
        for own in (levels.get(knob, []),)
    ]
    return (*told, *([f"{knobs_told(ear)} by ear"] if ear else []))


def _following_told(
    old: Reading, new: Reading, then: str, show: Callable[[str], str]
) -> Iterator[str]:
    before = {play.snapshot.name: _following(old, play) for play in old.stored_plays}
    starts = [
        ((level, knob), play.snapshot.name)
        for play in new.stored_plays
        for level, knob in _following(new, play).items()
        if level in old.destinations and level not in before.get(play.snapshot.name, (level,))
    ]
    of = grouped((tuple(names), on) for on, names in grouped(starts).items())
    for names, levels in of.items():
        on_knobs = grouped((knob, show(level)) for level, knob in levels)
        told = listed([f"{listed(n)} ({show(knob_told(k))})" for k, n in on_knobs.items()])
        follow, jump = ("follows", "it jumps") if len(levels) == 1 else ("follow", "they jump")
        then_set = f"unlike {then}: {jump} to where that stands, so set the master first."
        yield f"{_in(names, show)} {told} {follow} the master, {then_set}"


def _following(reading: Reading, play: Play) -> dict[str, str]:
    """The levels of voices that are not silent which the master moves, each with its knob."""
    return {
        route.destination: route.knob
        for route in reading.routes
        if route.knob in play.works
        and is_level(reading.destinations[route.destination].kind)
        and voice_part(route.destination) not in play.snapshot.silent
        and not reading.led(route).empty
    }


@attrs.frozen
class _Held:
    """A level that is held: its knob, where that stands, and where the level is for it."""

    knob: str
    stands: int
    position: int
    sounds: bool


def _held(
    reading: Reading, play: Play, kinds: Callable[[str], bool] = is_level
) -> dict[str, _Held]:
    """The levels of voices that are not silent which are held where that is known."""
    found = {}
    stands, surface = reading.stands(play), reading.setup.surface
    for route in reading.routes:
        name, travel = route.destination, reading.led(route)
        silent = voice_part(name) in play.snapshot.silent
        if route.knob in stands and kinds(reading.destinations[name].kind) and not silent:
            at = stands[route.knob]
            position = position_at(travel, at, surface.top) if surface.per_route else at
            found[name] = _Held(route.knob, at, position, position > 0)
    return found


def held_still_told(
    before: Setup, after: Setup, show: Callable[[str], str] = str
) -> tuple[str, ...]:
    """Where knobs with a travel that starts where it ends held what no knob drives any more.

    Args:
        before: the setup as it was.
        after: what it becomes, perhaps on another panel.
        show: what a name is shown as.

    Returns:
        A sentence for each knob and position, in positions of the panel as it was.
    """
    old, new = read(before), read(after)
    stood = grouped(
        ((route.knob, over.start), route.destination)
        for route in old.routes
        if (over := old.led(route)).empty and new.knobs_of.get(route.destination) == ()
    )
    return tuple(
        f"{show(sentence(knob_told(knob)))} held {listed([*map(show, names)])} at {at} of "
        f"{before.surface.top}, and does no more: set that on "
        f"the {'voice' if len({*map(voice_part, names)}) == 1 else 'voices'}."
        for (knob, at), names in stood.items()
    )
