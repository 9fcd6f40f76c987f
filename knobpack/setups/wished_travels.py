"""Wished travels: what goes over another travel than it had wishes for that one from then on.

Which edit would set a travel right, and what that costs whom, is told here too.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping

import attrs

from knobpack.definition.phrases import MATTERS, travel_text
from knobpack.grouped import grouped
from knobpack.setups.as_read import Reading, read
from knobpack.setups.missed_travels import MissedTravel, missed_told
from knobpack.words import Setup, Travel
from knobpack.words.loudness import is_level
from knobpack.words.names import knob_told, listed


def with_wishes(had: Mapping[str, Travel], after: Setup) -> Setup:
    """A setup in which what goes over another travel than it had wishes for that one from now on.

    So it gets it back when it can. What has a wish already keeps that.

    Args:
        had: over what each destination went, in positions of the surface; what goes nowhere now is
            passed over, and what did nothing.
        after: the setup as it became.
    """
    reading = read(after)
    first = {(name, knobs[0]) for name, knobs in reading.knobs_of.items() if knobs}
    routes = (r for r in reading.routes if (r.destination, r.knob) in first)
    goes = {route.destination: reading.led(route) for route in routes}
    changed = {
        name: travel
        for name, travel in had.items()
        if name in goes
        and not travel.empty
        and travel != goes[name]
        and reading.destinations[name].travel is None
    }
    return with_travels(after, changed) if changed else after


def wishes_over(reading: Reading, knob: str, travel: Travel) -> dict[str, Travel]:
    """What wishes for another travel than it did once a knob goes over one.

    What is alarming by it has what it had as a wish, so that every later caution names it; anything
    else that has the knob to itself wishes for the new one, where it had a wish.

    Args:
        reading: the setup before.
        knob: the knob.
        travel: what it goes over from then on.

    Returns:
        The wishes by full names.
    """
    names, had, top = reading.carries[knob], reading.goes[knob], reading.setup.surface.top
    found = {}
    for name in names:
        inner = reading.destinations[name]
        missed = MissedTravel(name, knob, inner.travel or had, travel, top, inner.kind)
        if missed.alarming:
            found[name] = missed.wanted
        elif len(names) == 1 and inner.travel is not None:
            found[name] = travel
    return found


def with_travels(setup: Setup, wishes: Mapping[str, Travel | None]) -> Setup:
    """A setup, some destinations of which wish for other travels; None: for none of their own."""
    voices = tuple(
        attrs.evolve(
            voice,
            destinations=tuple(
                attrs.evolve(inner, travel=wishes.get(voice.full_name(inner), inner.travel))
                for inner in voice.destinations
            ),
        )
        for voice in setup.voices
    )
    return attrs.evolve(setup, voices=voices)


def unwanted_told(before: Setup, after: Setup) -> Iterator[str]:
    """The travels of knobs that nothing on them wants since something has left them.

    Args:
        before: the setup as it was.
        after: what it became.

    Yields:
        A sentence for each, with the edit that sets the travel of what matters most there.
    """
    if after.surface != before.surface or after.surface.per_route:
        return
    old, new, top = read(before), read(after), after.surface.top
    for knob, names in new.carries.items():
        given = new.goes[knob]
        wishes = {name: new.destinations[name].travel or given for name in names}
        less = names and set(names) < set(old.carries[knob]) and old.goes[knob] == given
        if not less or given in wishes.values():
            continue
        first = min(names, key=new.rank.__getitem__)
        goes, wanted = travel_text(given, top), travel_text(wishes[first], top)
        yield (
            f"Nothing on {knob_told(knob)} wants its {goes} any more: {first} wants {wanted}; the "
            f"edit {_set_by(knob, wishes[first])} sets it."
        )


def regained_told(missed: Iterable[MissedTravel], setup: Setup) -> Iterator[str]:
    """How a level that matters could have its travel, and what that costs what shares its knob.

    Args:
        missed: what is missed in a setup.
        setup: the setup.

    Yields:
        A sentence for each travel that an essential or high-ranking level needs and has not, where
        no more levels than it gains are as bad then; with more than one harm it is no advice.
    """
    reading, top = read(setup), setup.surface.top
    own = reading.destinations
    need = grouped(
        ((each.knob, own[each.destination].travel or each.wanted, each.given), each.destination)
        for each in missed
        if each.alarming and not each.right and is_level(each.kind)
        if own[each.destination].priority <= MATTERS
    )
    for (knob, wanted, given), levels in need.items():
        shared = {name: own[name] for name in reading.carries[knob]}
        loses = [
            MissedTravel(name, knob, inner.travel or given, wanted, top, inner.kind)
            for name, inner in shared.items()
            if name not in levels and (inner.travel or given) != wanted
        ]
        harm = tuple(missed_told(loses))
        worse = sum(each.told_first and is_level(each.kind) for each in loses)
        if len(harm) == 1 and worse <= len(levels):
            its = "its" if len(levels) == 1 else "their"
            gives = f"The edit {_set_by(knob, wanted)} gives {listed(levels)} {its} travel"
            yield f"{gives}; then {harm[0]}."


def _set_by(knob: str, travel: Travel) -> str:
    return f"'travel {knob} {travel.start} {travel.end}'"
