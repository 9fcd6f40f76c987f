"""Travels to set: which edit sets the travel of a knob right, and what that costs whom."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from knobpack.definition.phrases import MATTERS, travel_text
from knobpack.grouped import grouped
from knobpack.setups.as_read import read
from knobpack.setups.missed_travels import MissedTravel, missed_told
from knobpack.words import Setup, Travel
from knobpack.words.loudness import is_level
from knobpack.words.names import knob_told, listed


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
        A sentence for each travel that an essential or high-ranking level needs and has not.
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
        if loses:
            its = "its" if len(levels) == 1 else "their"
            gives = f"The edit {_set_by(knob, wanted)} gives {listed(levels)} {its} travel"
            yield f"{gives}; then {'; '.join(missed_told(loses))}."


def _set_by(knob: str, travel: Travel) -> str:
    return f"'travel {knob} {travel.start} {travel.end}'"
