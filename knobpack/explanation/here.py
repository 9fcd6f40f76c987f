"""Why: what keeps a destination on its knob, and what any other would cost it; or why it is out."""

from __future__ import annotations

from typing import ClassVar

import attrs

from knobpack.allocation import Allocation
from knobpack.definition.phrases import travel_text
from knobpack.definition.travel_prices import missed
from knobpack.errors import InputError
from knobpack.explanation.case import Case
from knobpack.explanation.instead import Instead, instead
from knobpack.explanation.not_there import NotThere, not_there, others_told
from knobpack.explanation.unplaced import Unplaced, why_unplaced
from knobpack.limits import DEFAULT_EFFORT, Limits, begun
from knobpack.reasons.answer_graph import Answer
from knobpack.reasons.facts import FIXED, KEPT, Fact
from knobpack.words import Request, Travel
from knobpack.words.fields import check_kind
from knobpack.words.names import knob_told, listed


@attrs.frozen
class Here(Answer):
    """Why a destination is on its knob.

    Args:
        destination: its full name.
        knob: the knob it is on.
        beside: what else is on the knob.
        travel: the travel that it goes over, in positions: that of its knob, or of its route where
            the surface sets travels on routes.
        wanted: the travel that it wants, in positions.
        top: the highest position of the surface, 2**bits - 1.
        missed: by how many hundredths of full travel it misses that, 0 to 200.
        mates: what is beside it that its source knob carried too; in a setup in use, what its knob
            drove there too.
        joined: of these, in a setup in use, what another knob drove in its source.
        bonds: the preferred together rules, as text, that have all they name on the knob.
        pins: the facts that keep or fix it there, or something that it is bound to.
        others: every other knob of the surface: first those it could be moved to, the cheapest
            first, then those that are closed to it, in the order of the panel.
        in_use: whether it is about a setup in use, in which what is there stays.
        open: whether its knob takes what is new; one that does not may drive what no layout was
            looked for.
        instead: which others could share in place of what shares its knob, the cheapest first, if
            that was asked for.
    """

    question: ClassVar[str] = "why"

    destination: str
    knob: str
    beside: tuple[str, ...]
    travel: Travel
    wanted: Travel
    top: int
    missed: int
    mates: tuple[str, ...]
    joined: tuple[str, ...]
    bonds: tuple[str, ...]
    pins: tuple[Fact, ...]
    others: tuple[NotThere, ...]
    in_use: bool
    open: bool = True
    instead: tuple[Instead, ...] = ()

    @property
    def ties(self) -> tuple[str, ...]:
        """The knobs that would be just as good for it, all else staying where it is."""
        return tuple(
            each.knob for each in self.others if each.comparison and not each.comparison.tier
        )

    @property
    def turned(self) -> bool:
        """Whether it goes the other way than it wants."""
        return self.wanted.reversed != self.travel.reversed and not self.travel.empty

    @property
    def sentences(self) -> tuple[str, ...]:
        """The reasons in plain sentences, what matters most first."""
        alone = ", alone" if self.open else ""
        beside = f", with {listed(self.beside)}" if self.beside else alone
        found = [f"{self.destination} is on {knob_told(self.knob)}{beside}."]
        found.append(self._gets())
        if self.pins:
            found.append(f"It must be there: {listed([str(pin) for pin in self.pins])}.")
            return tuple(found)
        found += [f"{each}." for each in self.instead]
        if not any(each.allowed for each in self.others):
            found.append("No other knob could take it, all else staying where it is.")
        return (*found, *others_told(self.others))

    def _gets(self) -> str:
        """What it has there."""
        has = f"its travel is {travel_text(self.travel, self.top)}"
        told = [f"{has}, {'as it is now' if self.in_use else 'as it wants'}"]
        if self.missed:
            wanted = travel_text(self.wanted, self.top)
            wants = "was to have" if self.in_use else "wants"
            turned = ", so it is turned round" if self.turned else ""
            told = [f"{has}; it {wants} {wanted}{turned}"]
        if self.mates:
            way = "as in its source"
            if self.in_use:
                way = "as it was joined" if self.joined else "as it is now"
            told.append(f"it stays with {listed(self.mates)}, {way}")
        if self.joined:
            told.append(f"in its source another knob drove {listed(self.joined)}")
        told += [f"the preferred rule {rule} is met" for rule in self.bonds]
        return f"There {'; '.join(told)}."


def why(
    allocation: Allocation,
    destination: str,
    *,
    solve: bool = True,
    effort: float = DEFAULT_EFFORT,
    limits: Limits | None = None,
) -> Here | Unplaced:
    """Tell why a destination is where it is: on its knob, or left out.

    Args:
        allocation: what :func:`knobpack.allocate` gave back.
        destination: the full name of the destination.
        solve: whether to look for what would place one that is left out, which is solved anew.
        effort: deterministic effort for all that is searched, 0 to 10**9; the usual 10 take half a
            minute at most.
        limits: in place of ``effort``, all that may cut it short: seconds and a cancel too.

    Returns:
        What :func:`why_here` tells of what is placed, and what else could share in place of what
        shares its knob; of what is left out what :func:`why_unplaced` tells.

    Raises:
        InputError: ``allocation`` is no Allocation, there is no such destination, ``solve`` is not
            true or false, ``effort`` no number from 0 to 10**9, or ``limits`` no Limits.

    Example:
        >>> from knobpack import Destination, Surface, Voice, allocate
        >>> organ = Voice("Organ", [Destination("level", priority=1)])
        >>> bass = Voice("Bass", [Destination("tone")])
        >>> allocation = allocate((organ, bass), Surface.row(1))
        >>> print(allocation.why("Organ/level").sentences[0])
        Organ/level is on K1, alone.
        >>> print(allocation.why("Bass/tone").sentences[0])
        Bass/tone is left out: that costs 16 points in 'destinations left out'.
    """
    check_kind("why.allocation", allocation, Allocation)
    check_kind("why.solve", solve, bool)
    run = begun("why", effort, limits)
    case = Case(allocation)
    name = case.destination("why", destination)
    if name in case.knob_of:
        found = here(case, name)
        return found if found.pins else attrs.evolve(found, instead=instead(case, found.knob))
    return why_unplaced(allocation, name, solve=solve, limits=run)


def why_here(allocation: Allocation, destination: str) -> Here:
    """Tell why a destination is on the knob that it is on.

    Args:
        allocation: what :func:`knobpack.allocate` gave back.
        destination: the full name of the destination.

    Returns:
        The reasons, the knobs that would be as good, and what each other knob would cost or why it
        is closed.

    Raises:
        InputError: ``allocation`` is no Allocation, there is no such destination, or it is left
            out.

    Example:
        >>> from knobpack import Destination, Surface, Voice, allocate
        >>> from knobpack.questions import why_here
        >>> pad = Voice("Glass pad", (Destination("cutoff", priority=1), Destination("level")))
        >>> bass = Voice("Round bass", (Destination("drive", priority=2),))
        >>> allocation = allocate((pad, bass), Surface.row(2))
        >>> here = why_here(allocation, "Round bass/drive")
        >>> print(here.sentences[1])
        There its travel is 0 to 127 (full), as it wants.
        >>> here.ties
        ()
    """
    check_kind("why_here.allocation", allocation, Allocation)
    case = Case(allocation)
    return here(case, case.destination("why_here", destination))


def here(case: Case, destination: str) -> Here:
    """As :func:`why_here`, for a name that is known."""
    knob = case.knob_of.get(destination)
    if knob is None:
        raise InputError("why_here.destination", destination, "it is left out; ask why_unplaced")
    pins: list[Fact] = []
    for each in case.ground.unit(destination):
        held = [fact for fact in case.ground.placing[each] if fact.kind in (KEPT, FIXED)]
        if held and not pins:
            pins = [*case.ground.bonds(destination, each), *held]
    request = case.request
    travel = case.goes[destination]
    wanted = request.wanted(destination)
    others = [not_there(case, destination, name) for name in case.on if name != knob]
    others.sort(key=_order)
    beside = tuple(name for name in case.on[knob] if name != destination)
    mates = _mates(request, destination, beside)
    return Here(
        destination=destination,
        knob=knob,
        beside=beside,
        travel=travel,
        wanted=wanted,
        top=request.surface.top,
        missed=missed(wanted, travel, request.surface.top),
        mates=mates,
        joined=tuple(name for name in mates if _came_apart(request, destination, name)),
        bonds=tuple(
            str(each.rule)
            for each in request.preferred
            if destination in each.joined
            if len(each.joined) > 1 and {destination, *beside}.issuperset(each.joined)
        ),
        pins=tuple(pins),
        others=tuple(others),
        in_use=request.in_use,
        open=knob not in request.surface.reserved,
    )


def _mates(request: Request, destination: str, beside: tuple[str, ...]) -> tuple[str, ...]:
    """What is beside a destination that was on one knob with it in its source."""
    bundle = request.bundle_of.get(destination)
    return tuple(name for name in beside if bundle and name in bundle.names)


def _came_apart(request: Request, one: str, other: str) -> bool:
    """Whether two destinations of one source are known to have been on two knobs there."""
    if not request.in_use or request.voice_of[one].source != request.voice_of[other].source:
        return False
    knobs = {request.by_full_name[name].source_knob for name in (one, other)}
    return len(knobs) > 1 and None not in knobs


def _order(other: NotThere) -> tuple[bool, tuple[int, ...]]:
    price = other.comparison
    return price is None, () if price is None else price.rank
