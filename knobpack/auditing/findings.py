"""Findings: what an audit of a setup says."""

from __future__ import annotations

from typing import ClassVar

import attrs

from knobpack.auditing import causes
from knobpack.definition.phrases import many
from knobpack.text.shown import Fielded, Told, counted
from knobpack.words import Travel
from knobpack.words.names import knobs_told, listed, quoted


@attrs.frozen
class Finding(Fielded):
    """One thing that is amiss in a setup, or that does nothing.

    Args:
        cause: one of :data:`knobpack.auditing.causes.CAUSES`.
        mend: what to do about it, as an instruction; what is always done about such a cause, where
            nothing else is said.
        severity: ``wrong`` (it cannot work as programmed), ``doubtful`` (it works, but is likely
            not meant), ``dead`` (it does nothing) or ``by hand`` (the master does not move it);
            that of its cause, where nothing else is said.
        knobs: the knobs involved, in panel order.
        destinations: the destinations involved, under their full names.
        voices: the voices involved.
        snapshots: the snapshots involved; those that do the same with the first one first.
        groups: the groups involved.
        missing: names that are used and stand for nothing that is there. The destination of a
            route is given in full.
        wronged: of the destinations on a torn knob, those that do the wrong thing.
        numbers: what is told in numbers. A travel: start and end, then the highest position where
            they lie beyond it; or what is wanted. A stored position: the position, then the highest
            one where it lies beyond. Too many: how many there are, how many there may be, and how
            many that is too many. A layer: the layer, then how many there are where it lies beyond.
            A torn knob: how many of its destinations are to be moved and how many to be held. A
            repeated route: how often it is given. A controller number: the number, then the
            channel, where it is known, or that of its high half, where it is sent without. A label:
            its length, then what the display shows. A range of keys or velocities: the lowest, then
            the highest.
        free_layers: the free layer for each voice that must leave its own, as far as there are
            any.
        on_route: whether a travel that is told is that of a route, and not of its knob.
    """

    cause: str
    mend: str = attrs.Factory(lambda own: causes.MENDS[own.cause], takes_self=True)
    severity: str = attrs.Factory(lambda own: causes.SEVERITY[own.cause], takes_self=True)
    knobs: tuple[str, ...] = ()
    destinations: tuple[str, ...] = ()
    voices: tuple[str, ...] = ()
    snapshots: tuple[str, ...] = ()
    groups: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    wronged: tuple[str, ...] = ()
    numbers: tuple[int, ...] = ()
    free_layers: tuple[int, ...] = ()
    on_route: bool = False

    @property
    def fact(self) -> str:
        """What is found, in plain words."""
        knobs, names, numbers = knobs_told(self.knobs), listed(self.destinations), self.numbers
        first, second = (*numbers, 0, 0)[:2]
        missing = "".join(self.missing[:1])
        voice, slash, inner = missing.partition("/")
        route = f"the route from {knobs} to {names}"
        one = len(self.destinations) == 1
        return causes.SAID[self.cause].format(
            knobs=knobs,
            names=names,
            voices=quoted(self.voices),
            groups=quoted(self.groups),
            snapshots=quoted(self.snapshots),
            missing=missing,
            unknown=quoted(self.missing),
            voice=voice,
            n=numbers,
            travel=f"{first} to {second}",
            whose=f"the travel of {route if self.on_route else knobs}",
            its="the travel of its route from" if self.on_route else "the travel of",
            owner=route if self.on_route else knobs,
            other="knobs" if self.on_route else "routes",
            lacks=f"{missing}, but voice '{voice}' has no destination '{inner}'"
            if slash
            else f"'{voice}', which is no destination",
            torn=self._torn(moves=first > second),
            both="both" if len(self.knobs) == 2 else "all",
            channel=f" on channel {second}" if len(numbers) > 1 else "",
            means=f" alone, the low half of {second}"
            if len(numbers) > 1
            else ", which means something else",
            circle=f"group {quoted(self.groups)} holds itself"
            if len(self.groups) == 1
            else f"the groups {quoted(self.groups)} hold one another",
            layers=many(second, "layer"),
            destinations=many(first, "destination"),
            routes=many(first, "route"),
            stored=many(first, "snapshot"),
            are="is" if one else "are",
            s="s" if one else "",
            es="es" if one else "",
            each="" if one else " each",
            ks="s" if len(self.knobs) == 1 else "",
        )

    def _torn(self, *, moves: bool) -> str:
        """What a knob does in a snapshot that tears it, and to whom that is wrong."""
        does = "follows the master" if moves else "does not follow the master"
        wrong = "moved, though to be held" if moves else "held, though to be moved"
        are = "is" if len(self.wronged) == 1 else "are"
        return f"{does}, so {listed(self.wronged)} {are} {wrong}"

    def __str__(self) -> str:
        head = causes.HEADS.get(self.cause, self.severity.capitalize())
        return f"{head}: {self.fact}; {self.mend}."


@attrs.frozen
class KnobUse(Fielded):
    """What one knob of the surface does.

    Args:
        knob: its name.
        carries: the destinations that are there and that a route leads to from it, each once, as
            routed.
        driven: those of them that it really moves over its travel, with the master or, where it
            follows in no snapshot, by hand: none, if the knob is dead; if it is live all, but for
            stepped ones that stay at one step.
        travel: the travel that it is set to, in positions; the full one where none is set. None
            where the surface sets travels on routes.
        follows: the snapshots in which it follows the master.
        why_dead: the causes for which it does nothing, in the order of
            :data:`knobpack.auditing.causes.WHY_DEAD`; none if it is live.
    """

    knob: str
    carries: tuple[str, ...]
    driven: tuple[str, ...]
    travel: Travel | None
    follows: tuple[str, ...]
    why_dead: tuple[str, ...]

    @property
    def live(self) -> bool:
        """Whether it does something, be it by hand alone."""
        return bool(self.driven)

    @property
    def by_hand(self) -> bool:
        """Whether it does something, and follows in no snapshot: it is turned by hand."""
        return self.live and not self.follows


@attrs.frozen
class Audit(Told):
    """What a setup does, and what is amiss in it.

    Args:
        setup: its name.
        findings: what is amiss: the wrong, the doubtful, the dead, then what is for the hand alone;
            in panel order.
        by_knob: what every knob of the surface does, in panel order.
        assumed: whether the setup stores no snapshot, and is read as if the master moved
            everything that is movable. That state is then called ``everything``.
    """

    question: ClassVar[str] = "audit"

    setup: str
    findings: tuple[Finding, ...] = attrs.field(repr=counted)
    by_knob: tuple[KnobUse, ...] = attrs.field(repr=counted)
    assumed: bool

    @property
    def live(self) -> tuple[str, ...]:
        """The knobs that do something: each moves a destination, with the master or by hand."""
        return tuple(use.knob for use in self.by_knob if use.live)

    @property
    def dead(self) -> tuple[str, ...]:
        """The knobs that do nothing."""
        return tuple(use.knob for use in self.by_knob if not use.live)

    @property
    def clean(self) -> bool:
        """Whether nothing needs to be mended.

        Free knobs, knobs that are turned by hand and destinations that no knob reaches are told,
        but may stay as they are.
        """
        return all(finding.cause in causes.UNUSED for finding in self.findings)

    @property
    def sentences(self) -> tuple[str, ...]:
        """The verdict, then every finding, the worst first; free knobs in one sentence."""
        free = tuple(f for f in self.findings if f.cause == causes.NO_ROUTE)
        told = [self._verdict()]
        if self.assumed:
            told.append(
                "No snapshot is stored: this is read as if the master moved everything "
                "that is movable."
            )
        for finding in self.findings:
            if finding.cause != causes.NO_ROUTE or len(free) == 1:
                told.append(str(finding))
            elif finding is free[0]:
                knobs = knobs_told(knob for each in free for knob in each.knobs)
                told.append(
                    f"{causes.HEADS[causes.NO_ROUTE]}: no route leads from {knobs}; route a "
                    "destination to each, or reserve what is to stay free."
                )
        return tuple(told)

    def _verdict(self) -> str:
        knobs = f"{len(self.live)} of {many(len(self.by_knob), 'knob')}"
        do = "does" if len(self.live) == 1 else "do"
        names = f" ({knobs_told(self.live)})" if self.live else ""
        amiss = sum(finding.cause not in causes.UNUSED for finding in self.findings)
        needs = "needs" if amiss == 1 else "need"
        rest = f"{many(amiss, 'thing')} {needs} mending" if amiss else "nothing needs mending"
        return f"In '{self.setup}' {knobs} {do} something{names}; {rest}."
