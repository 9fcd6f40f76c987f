"""audit(): what the knobs of a setup do, which are dead and why, and what else is amiss."""

from __future__ import annotations

from knobpack.auditing import causes, panel, routes
from knobpack.auditing.findings import Audit, Finding, KnobUse
from knobpack.grouped import grouped
from knobpack.setups.as_read import Reading, read
from knobpack.words import Setup

CHECKS = (
    routes.missing_ends,
    routes.repeated,
    routes.doubled,
    routes.unreached,
    routes.outside,
    routes.unset,
    routes.turned,
    routes.misplaced,
    routes.empty,
    routes.dead_knobs,
    routes.one_step,
    panel.torn,
    panel.same_or_silent,
    panel.positions,
    panel.unknown_names,
    panel.circles,
    panel.numbers,
    panel.labels_shown,
    panel.stray,
    panel.unheard,
    panel.idle,
    panel.layers,
    panel.counts,
)


def audit(setup: Setup) -> Audit:
    """Say what every knob of a setup does, and what is amiss in it.

    A knob is live if its travel is not empty, and it carries a destination that is there; of one
    that is stepped, the travel must reach from one step to another. It follows where more of the
    destinations it carries are to move than to be held; one that never follows is turned by hand.
    A knob whose travel is not set goes all the way; where a travel goes beyond the highest
    position, the knob stays at that position instead. Where the surface sets travels on routes, all
    of that is said of each route. All of this is read as
    :mod:`knobpack.setups.as_read` says, so a sweep of the setup shows the same.

    Where a setup stores no snapshot it is read as if one moved everything that is movable.

    Args:
        setup: any setup, however faulty.

    Returns:
        What is amiss, the worst first, and what every knob does. The same setup gives the same
        audit. No fault of a setup is raised.

    Raises:
        InputError: it is no Setup.

    Example:
        >>> from knobpack import Destination, KnobTravel, Route, Setup, Surface, Travel, Voice
        >>> from knobpack import audit
        >>> piano = Voice("Felt piano", (Destination("level"),), layer=1)
        >>> setup = Setup(
        ...     "Evening set",
        ...     Surface.row(2),
        ...     voices=(piano,),
        ...     routes=(Route("Felt piano/level", "K1"),),
        ...     travels=(KnobTravel("K1", Travel(64, 64)),),
        ... )
        >>> found = audit(setup)
        >>> found.dead
        ('K1', 'K2')
        >>> print(found.findings[0].fact)
        the travel of K1 starts where it ends (64 to 64), so Felt piano/level stays put
    """
    reading = read(setup, "audit.setup")
    findings = findings_in(reading)
    return Audit(setup.name, tuple(findings), _uses(reading, findings), reading.assumed)


def findings_in(reading: Reading) -> list[Finding]:
    """All that is amiss in a setup as it is read, the worst first, then in panel order."""
    findings = [finding for check in CHECKS for finding in check(reading)]
    places = {knob: position for position, knob in enumerate(reading.carries)}

    def rank(finding: Finding) -> tuple[int, int, int]:
        first = min((places.get(k, len(places)) for k in finding.knobs), default=len(places))
        severity = causes.SEVERITIES.index(finding.severity)
        return severity, first, causes.CAUSES.index(finding.cause)

    return sorted(findings, key=rank)


def slips_told(setup: Setup) -> tuple[str, ...]:
    """What a setup says of what is not there, or that a knob cannot do, in sentences."""
    found = findings_in(read(setup))
    return tuple(f"Amiss: {each.fact}." for each in found if each.cause in causes.SLIPS)


def lost_routes_told(setup: Setup) -> tuple[str, ...]:
    """Which routes of a setup lead from or to nothing that is there, and how to mend them."""
    found = findings_in(read(setup))
    return tuple(f"{each.fact}; {each.mend}" for each in found if each.cause in causes.LOST_ROUTES)


def torn_told(setup: Setup, before: Setup | None = None) -> tuple[str, ...]:
    """Where a snapshot of a setup moves a part of what a knob carries and must not, in words.

    Args:
        setup: the setup.
        before: only what does the wrong thing that did not there; None: all.
    """
    known = {(each.snapshots, name) for each in _torn(before) for name in each.wronged}
    return tuple(
        e.fact for e in _torn(setup) if any((e.snapshots, n) not in known for n in e.wronged)
    )


def _torn(setup: Setup | None) -> list[Finding]:
    found = [] if setup is None else findings_in(read(setup))
    return [e for e in found if e.cause == causes.TORN and e.severity == causes.WRONG]


def taken_otherwise(reading: Reading, snapshot: str) -> tuple[str, ...]:
    """What is faulty in a setup of which a snapshot is simulated, in sentences."""
    return tuple(
        f"Amiss: {each.fact}."
        for each in findings_in(reading)
        if each.cause in causes.TAKEN_OTHERWISE and {*each.snapshots} <= {snapshot}
    )


def _uses(reading: Reading, findings: list[Finding]) -> tuple[KnobUse, ...]:
    why = grouped((knob, finding.cause) for finding in findings for knob in finding.knobs)
    follows = grouped((knob, p.snapshot.name) for p in reading.plays for knob in p.follows)
    return tuple(
        KnobUse(
            knob=knob,
            carries=names,
            driven=reading.drives[knob],
            travel=None if reading.setup.surface.per_route else reading.travels[knob],
            follows=tuple(follows.get(knob, ())),
            why_dead=() if reading.drives[knob] else _why(reading, knob, {*why.get(knob, ())}),
        )
        for knob, names in reading.carries.items()
    )


def _why(reading: Reading, knob: str, found: set[str]) -> tuple[str, ...]:
    """The causes for which a dead knob is dead, of those found at it."""
    if not reading.carries[knob]:
        # A reserved knob without a route is no finding, but that is why it does nothing.
        reasons = found & {causes.MISSING_VOICE, causes.MISSING_DESTINATION} or {causes.NO_ROUTE}
    else:
        reasons = found & {causes.EMPTY_TRAVEL, causes.ONE_STEP}
        mine = [route for route in reading.routes if route.knob == knob]
        if any(reading.led(each).empty and not reading.over(each).empty for each in mine):
            reasons |= {causes.OUTSIDE}
    return tuple(cause for cause in causes.WHY_DEAD if cause in reasons)
