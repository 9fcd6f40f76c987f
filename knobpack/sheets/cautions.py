"""Cautions: what a patch sheet, or a change, warns of where a level may change."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from knobpack.auditing.audit import slips_told
from knobpack.definition.phrases import levels_told
from knobpack.setups.as_read import read
from knobpack.setups.missed_travels import MissedTravel, alarming_in, alarms_by_sort, alarms_named
from knobpack.setups.sounding import sounding_told
from knobpack.setups.undriven import undriven_in, undriven_told
from knobpack.sheets.told import Show
from knobpack.words import Setup
from knobpack.words.loudness import level_like
from knobpack.words.names import knobs_told, quoted


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
        What of travels must be known and is new, the caution, and what is not new; each only where
        there is any.
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
    not_new = f"Not new: {not_new}." if not_new else ""
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
