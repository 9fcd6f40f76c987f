"""Missed travels: what is wanted and is not had, because a knob has one travel for all on it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator

import attrs

from knobpack.definition.phrases import travel_text
from knobpack.grouped import grouped
from knobpack.setups.as_read import read
from knobpack.text.shown import Fielded
from knobpack.words import Setup, Travel
from knobpack.words.names import knob_told, listed


@attrs.frozen
class MissedTravel(Fielded):
    """A destination that does not get the travel that it wants.

    Args:
        destination: its full name.
        knob: the knob that drives it.
        wanted: the travel that it wants, in positions of the surface.
        given: the travel that the knob has.
        top: the highest position of the surface, 2**bits - 1.
    """

    destination: str
    knob: str
    wanted: Travel
    given: Travel
    top: int

    @property
    def travels(self) -> tuple[str, Travel, Travel]:
        """What misses what, on whatever knob."""
        return self.destination, self.wanted, self.given

    def __str__(self) -> str:
        return next(missed_told((self,)))


def missed_told(missed: Iterable[MissedTravel], show: Callable[[str], str] = str) -> Iterator[str]:
    """Missed travels as ends of sentences: one for all that miss the same on one knob.

    Args:
        missed: what is missed.
        show: what a name is shown as.

    Yields:
        Each, without a full stop.
    """
    alike = grouped(((m.knob, m.wanted, m.given, m.top), show(m.destination)) for m in missed)
    for (knob, wanted, given, top), names in alike.items():
        wants, has = ("wants", "has") if len(names) == 1 else ("want", "have")
        on = show(knob_told(knob))
        yield (
            f"{listed(names)} {wants} {travel_text(wanted, top)} and {has} "
            f"{travel_text(given, top)} on {on}"
        )


def missed_between(before: Setup, after: Setup) -> tuple[MissedTravel, ...]:
    """What is missed in a setup that was not missed in the one that it is made of.

    A destination wants the travel that its voice says; where that says none, the one that it had
    beside other things. What has a knob to itself has the travel that it was given on purpose.

    Args:
        before: the setup as it was, of the same surface.
        after: what it becomes.

    Returns:
        What is missed, knob by knob in panel order; nothing where travels are set on routes.
    """
    old, new = read(before), read(after)
    if after.surface.per_route:
        return ()
    had = {route.destination: old.led(route) for route in old.routes}
    found = []
    for knob, names in new.carries.items():
        given = new.goes[knob]
        same = set(names) == set(old.carries.get(knob, ()))
        for name in names if len(names) > 1 else ():
            before_it = given if same else had.get(name, given)
            wanted = new.destinations[name].travel or before_it
            if given not in (wanted, had.get(name)):
                found.append(MissedTravel(name, knob, wanted, given, after.surface.top))
    return tuple(found)
