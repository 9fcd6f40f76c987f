"""Why here: what keeps a destination on its knob, and what any other knob would cost it."""

from __future__ import annotations

from collections.abc import Iterator

import attrs

from knobpack.allocation import Allocation
from knobpack.errors import InputError
from knobpack.explanation.case import Case
from knobpack.explanation.not_there import NotThere, not_there
from knobpack.facts import FIXED, KEPT, Fact
from knobpack.words.demand import listed

MOST_ALTERNATIVES = 3
"""Other knobs whose price sentences name, at most."""


@attrs.frozen
class Here:
    """Why a destination is on its knob.

    Args:
        destination: its full name.
        knob: the knob it is on.
        beside: what else is on the knob.
        pins: the facts that keep or fix it there, or something that it is bound to.
        others: every other knob of the surface: first those it could be moved to, the cheapest
            first, then those that are closed to it as the layout stands, then those that are
            closed to it whatever the layout.
    """

    destination: str
    knob: str
    beside: tuple[str, ...]
    pins: tuple[Fact, ...]
    others: tuple[NotThere, ...]

    @property
    def ties(self) -> tuple[str, ...]:
        """The knobs that would be just as good for it, all else staying where it is."""
        return tuple(each.knob for each in self.others if each.price and not each.price.tier)

    @property
    def sentences(self) -> tuple[str, ...]:
        """The reasons in plain sentences, what matters most first."""
        beside = f", with {listed(self.beside)}" if self.beside else ", alone"
        found = [f"{self.destination} is on {self.knob}{beside}."]
        if self.pins:
            found.append(f"It must be there: {listed([str(pin) for pin in self.pins])}.")
            return tuple(found)
        allowed = [each for each in self.others if each.allowed]
        if not allowed:
            found.append("No other knob could take it, all else staying where it is.")
        found += [each.sentences[0] for each in allowed[:MOST_ALTERNATIVES]]
        if len(allowed) > MOST_ALTERNATIVES:
            rest = listed([each.knob for each in allowed[MOST_ALTERNATIVES:]])
            found.append(f"{rest} would cost more still, or as much.")
        found += self._closed()
        return tuple(found)

    def __str__(self) -> str:
        return "\n".join(self.sentences)

    def _closed(self) -> Iterator[str]:
        """What closes the other knobs to it, a sentence each."""
        closed = [each for each in self.others if not each.allowed]
        if closed:
            yield "Closed to it:"
        for each in closed:
            yield f"  {each.obstacles[0]}."


def why_here(allocation: Allocation, destination: str) -> Here:
    """Tell why a destination is on the knob that it is on.

    Args:
        allocation: what :func:`knobpack.allocate` gave back.
        destination: the full name of the destination.

    Raises:
        InputError: there is no such destination, or it is left out.
    """
    case = Case(allocation)
    return here(case, case.destination(destination))


def here(case: Case, destination: str) -> Here:
    """As :func:`why_here`, for a name that is known."""
    knob = case.knob_of.get(destination)
    if knob is None:
        raise InputError("destination", destination, "it is left out; ask why it is unplaced")
    pins: list[Fact] = []
    for each in case.ground.unit(destination):
        held = [fact for fact in case.ground.placing[each] if fact.kind in (KEPT, FIXED)]
        if held and not pins:
            pins = [*case.ground.bonds(destination, each), *held]
    others = [not_there(case, destination, name) for name in case.on if name != knob]
    others.sort(key=_order)
    beside = tuple(name for name in case.on[knob] if name != destination)
    return Here(destination, knob, beside, tuple(pins), tuple(others))


def _order(other: NotThere) -> tuple[bool, bool, tuple[int, ...]]:
    return (not other.allowed, other.lasting, other.price.rank if other.price else ())
