"""Cautions: what a patch sheet, or a change, warns of where a level may change.

And which knobs, and which levels, stand no one knows where in which snapshots.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

from knobpack.auditing.audit import slips_told
from knobpack.definition.phrases import levels_told
from knobpack.setups.as_read import Reading, read
from knobpack.setups.missed_travels import MissedTravel, alarming_in, alarms_by_sort, alarms_named
from knobpack.setups.sounding import sounding_told
from knobpack.setups.undriven import undriven_in, undriven_told
from knobpack.sheets.told import Show, names_in
from knobpack.text.columns import sentence
from knobpack.words import Setup
from knobpack.words.loudness import is_level, level_like
from knobpack.words.names import knobs_told, quoted, voice_part


def unheld_levels(before: Setup, after: Setup, show: Show = str) -> Iterator[str]:
    """Which voices come that sound, and whose levels no knob drives, in a sentence.

    Args:
        before: the setup as it was.
        after: what it becomes.
        show: what a name is shown as.

    Yields:
        The sentence; none where there is no such voice.
    """
    new, had = read(after), {voice.name for voice in before.voices}
    silent = [set(each.silent) for each in after.snapshots]
    found = []
    for voice in after.voices:
        levels = [n for n, inner in voice.by_full_name.items() if is_level(inner.kind)]
        sounds = not silent or any(voice.name not in names for names in silent)
        if voice.name not in had and sounds and levels and not any(map(new.knobs_of.get, levels)):
            found.append(voice.name)
    if found:
        one = len(found) == 1
        sound, they = ("sounds", "it stands") if one else ("sound", "they stand")
        its = "its level" if one else "their levels"
        yield f"{names_in(found, show)} {sound} at whatever level {they}: no knob drives {its}."


def by_ear(
    before: Setup, after: Setup, show: Show = str
) -> Iterator[tuple[list[str], tuple[str, ...], str]]:
    """In which snapshots knobs are held where no one knows, but for those that were so before.

    In a snapshot in which a knob was held where no one knew, it is told again for nothing but what
    it comes to drive. What is of voices that are silent there is passed over.

    Args:
        before: the setup as it was.
        after: what it becomes.
        show: what a name is shown as.

    Yields:
        Snapshots, the knobs in them, and which of those come to be levels that sound there, as a
        sentence; empty where none is.
    """
    old, new = read(before), read(after)
    was = {
        (play.snapshot.name, knob): old.carries[knob]
        for play in old.stored_plays
        for knob in old.by_ear(play)
    }
    alike: dict[tuple[tuple[str, ...], str], list[str]] = {}
    for play in new.stored_plays:
        snapshot, silent = play.snapshot.name, play.snapshot.silent
        came = {
            knob: [
                name
                for name in new.carries[knob]
                if voice_part(name) not in silent and name not in was.get((snapshot, knob), ())
            ]
            for knob in new.by_ear(play)
        }
        knobs = tuple(knob for knob, names in came.items() if names)
        if knobs:
            alike.setdefault((knobs, _sounding(came, new, show)), []).append(snapshot)
    yield from ((names, knobs, loud) for (knobs, loud), names in alike.items())


def _sounding(came: Mapping[str, Iterable[str]], new: Reading, show: Show) -> str:
    """Which knobs are levels, of what voices, by what counts of all that each drives."""
    voices: dict[str, None] = {}
    loud = []
    for knob, names in came.items():
        levels = [each for each in names if is_level(new.destinations[each].kind)]
        voices |= dict.fromkeys(map(voice_part, levels))
        loud += [knob] if levels else []
    if not loud:
        return ""
    are = "is the level" if len(loud) == 1 else "are the levels"
    sound = "sounds" if len(voices) == 1 else "sound"
    them = "it" if len(loud) == 1 else "them"
    told = f"{knobs_told(loud, show=show)} {are} of {names_in(voices, show)}"
    return f"{sentence(told)}, which {sound} there unless you set {them}."


def caution(before: Setup, after: Setup, show: Show = str) -> str:
    """What is amiss, what no knob drives, and what to take care of where a level may change.

    Empty where there is nothing of it.
    """
    amiss = map(show, slips_told(after))
    alarming = alarms_named(alarming_in(before, after), show)
    sounding = sounding_told(before, after, show)
    told = (*amiss, *_undriven(after, show), alarming, *sounding, *_loud(before, after, show))
    return " ".join(filter(None, told))


def caution_of_change(
    before: Setup, after: Setup, alarming: Iterable[MissedTravel] = ()
) -> tuple[str, ...]:
    """What to take care of where a level, or what can change one, is set otherwise than before.

    Args:
        before: the setup as it was.
        after: what it became.
        alarming: what must be known before the first note, and is so since the change.

    Returns:
        What of travels must be known and is new, the caution, and, unless all is where it was, what
        is not new; each only where there is any.
    """
    new, old, reading = tuple(alarming), read(before), read(after)
    known = {each.destination for each in new}
    more = [each for each in alarming_in(before, after) if each.destination not in known]
    not_new = "; ".join(f"{named} {what}" for what, named in alarms_by_sort(more))
    had = {(each.destination, each.knob): old.led(each) for each in old.routes}
    was = {each.name: each.stored.items() for each in before.snapshots}
    stood = {
        knob
        for each in after.snapshots
        for knob, _ in each.stored.items() - was.get(each.name, each.stored.items())
    }
    loud = {
        each.knob
        for each in reading.routes
        if level_like(reading.destinations[each.destination].kind)
        and (had.get((each.destination, each.knob)) != reading.led(each) or each.knob in stood)
    }
    knobs = [knob for knob in after.surface.knob_names if knob in loud]
    told = levels_told(f"are set otherwise on {knobs_told(knobs)}") if knobs else ""
    same = (old.carries, old.goes) == (reading.carries, reading.goes)
    not_new = f"Not new: {not_new}." if not_new and not same else ""
    return tuple(filter(None, (alarms_named(new), told, not_new)))


def _undriven(after: Setup, show: Show) -> Iterator[str]:
    """What no knob of the finished setup drives, the essential first; hidden ones are left out."""
    reading = read(after)
    essential, rest = undriven_in(after)
    yield from undriven_told(essential, rest, show)
    told = {*essential, *rest}
    plays = reading.stored_plays
    moved = [each.snapshot.name for each in plays if told & reading.moved(each.snapshot)]
    if moved:
        called, one = quoted(map(show, moved), 6), len(moved) == 1
        called = f"Snapshot {called} is" if one else f"Snapshots {called} are"
        yield f"{called} to move {'it' if len(told) == 1 else 'some of it'}, and nothing moves it."


def _loud(before: Setup, after: Setup, show: Show) -> Iterator[str]:
    """A caution where a level, or what can change one, is routed, or was on another knob."""
    was, now = map(_level_knobs, (before, after))
    left = [knob for knob in was if knob not in now]
    told = [
        f"{are} driven by {knobs_told(knobs, show=show)}"
        for are, knobs in (("are", now), ("were", left))
        if knobs
    ]
    if told:
        yield levels_told(", and ".join(told))
        yield "So can each step that sets a travel or a route."


def _level_knobs(setup: Setup) -> list[str]:
    """The knobs that work and drive a level, or what can change one, in panel order."""
    reading = read(setup)
    kinds = {name: inner.kind for name, inner in reading.destinations.items()}
    loud = {each.knob for each in reading.routes if level_like(kinds[each.destination])}
    return [knob for knob in setup.surface.knob_names if knob in loud - reading.broken]
