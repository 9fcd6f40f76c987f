"""Replay: the steps of a patch sheet applied to a setup, one by one."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any

import attrs

from knobpack.errors import InputError
from knobpack.grouped import grouped
from knobpack.sheets import steps as kinds
from knobpack.sheets.steps import Step, Value
from knobpack.words import (
    Group,
    KnobLabel,
    KnobTravel,
    Route,
    Setup,
    Snapshot,
    Travel,
    Voice,
)
from knobpack.words.fields import as_list, check_kind
from knobpack.words.snapshot import storing

OTHER_STATE = "replay a sheet on the setup it starts from, with its steps in their order"


def replay(before: Setup, steps: Iterable[Step]) -> Setup:
    """The setup that is there when each step has been done.

    After all steps of ``patch_sheet(before, after)`` it equals ``after`` in everything, but for
    what the two say of knobs that are not there, which stays as it is in ``before``: name,
    surface, and every voice, group, route, travel and snapshot, what the knobs show and send, down
    to what is recorded of them. What a setup remembers of edits, broken knobs and its home stays
    as it is in ``before``. Only the order in which they are listed is not compared (nor that of
    the destinations of a voice, the members of a group and what a snapshot moves or names), as it
    says nothing about the instrument; nor is what is remembered of the sources that came, nor the
    travels that are wished for, which are not programmed: ``in_order(replay(before, sheet.steps))
    == in_order(after)``. What is new comes last, so where ``after`` lists it so too, and in the
    order of the steps, the two are equal as they are, but for its arrivals and wishes.

    Args:
        before: the setup to start from.
        steps: all steps of a sheet, or those from the first to any other.

    Returns:
        The setup that is there after them.

    Raises:
        InputError: an argument is of another type, or a step does not start from what is there.

    Example:
        >>> import attrs
        >>> from knobpack import Destination, Route, Setup, Surface, Voice
        >>> from knobpack import patch_sheet
        >>> from knobpack.sheets import in_order, replay
        >>> piano = Voice("Felt piano", (Destination("level"), Destination("tone")), layer=1)
        >>> before = Setup(
        ...     "Evening set",
        ...     Surface.row(2),
        ...     voices=(piano,),
        ...     routes=(Route("Felt piano/level", "K1"),),
        ... )
        >>> after = attrs.evolve(before, routes=(Route("Felt piano/tone", "K2"),))
        >>> steps = patch_sheet(before, after).steps
        >>> in_order(replay(before, steps)) == in_order(after)
        True
        >>> replay(before, steps[:1]).routes
        ()
    """
    check_kind("replay.before", before, Setup)
    given = as_list("replay.steps", steps, "give the steps of a patch sheet")
    state = _State(before)
    for position, step in enumerate(given):
        where = f"replay.steps[{position}]"
        if not isinstance(step, Step):
            raise InputError(where, step, "give a Step")
        state.do(where, step)
    return state.setup()


def in_order(setup: Setup) -> Setup:
    """The same setup with all that it lists in the order of names, to be compared.

    What it remembers of edits, broken knobs and its home, and the travels that are wished for, is
    left out: none of it is programmed.

    Args:
        setup: any setup.

    Returns:
        A new setup without arrivals; its routes are in the order of knobs and destinations.

    Raises:
        InputError: ``setup`` is no Setup.

    Example:
        >>> from knobpack import Destination, Setup, Surface, Voice
        >>> from knobpack.sheets import in_order
        >>> pad, bass = (Voice(name, (Destination("level"),)) for name in ("Pad", "Bass"))
        >>> one = Setup("Night set", Surface.row(2), voices=(pad, bass))
        >>> other = Setup("Night set", Surface.row(2), voices=(bass, pad))
        >>> one == other, in_order(one) == in_order(other)
        (False, True)
    """
    check_kind("in_order.setup", setup, Setup)
    return attrs.evolve(
        setup,
        voices=_by_name(_listed(voice) for voice in setup.voices),
        groups=_by_name(_listed(group) for group in setup.groups),
        routes=tuple(sorted(setup.routes, key=_by_ends)),
        travels=tuple(sorted(setup.travels, key=lambda setting: setting.knob)),
        snapshots=_by_name(_listed(snapshot) for snapshot in setup.snapshots),
        arrivals=(),
        agreed=(),
        edits=(),
        broken=(),
        home=None,
        labels=tuple(sorted(setup.labels, key=lambda setting: setting.knob)),
        sending=tuple(sorted(setup.sending, key=lambda setting: setting.knob)),
    )


def _by_ends(route: Route) -> tuple[str, str, str]:
    return route.knob, route.destination, str(route.travel)


def same_in_any_order(one: Value, other: Value) -> bool:
    """Whether two values are the same but for wishes and the order of what they list."""
    return bool(_listed(one) == _listed(other))


def bare(snapshot: Snapshot) -> Snapshot:
    """A snapshot without its positions: each of those is set by a step of its own."""
    return attrs.evolve(snapshot, positions=())


def _listed(value: Any) -> Any:
    match value:
        case Voice():
            inner = (attrs.evolve(each, travel=None) for each in value.destinations)
            return attrs.evolve(value, destinations=_by_name(inner))
        case Group():
            return attrs.evolve(value, members=tuple(sorted(value.members)))
        case Snapshot():
            return attrs.evolve(
                value,
                moves=tuple(sorted(value.moves)),
                silent=tuple(sorted(value.silent)),
                idle=tuple(sorted(value.idle)),
                positions=tuple(sorted(value.positions, key=lambda each: each.knob)),
            )
    return value


def _by_name(words: Iterable[Any]) -> tuple[Any, ...]:
    return tuple(sorted(words, key=lambda word: word.name))


def parts_of(setup: Setup) -> dict[str, dict[str, Any]]:
    """What a setup holds of each sort of step, by the names that such steps are about."""
    return {
        kinds.VOICE: {voice.name: voice for voice in setup.voices},
        kinds.GROUP: {group.name: group for group in setup.groups},
        kinds.SNAPSHOT: {snapshot.name: bare(snapshot) for snapshot in setup.snapshots},
        kinds.TRAVEL: {setting.knob: setting.travel for setting in setup.travels},
        kinds.LABEL: {each.knob: each.label for each in setup.labels},
        kinds.SENDING: {each.knob: each for each in setup.sending},
    }


class _State:
    """A setup taken apart, so that a step costs no more than what it sets."""

    def __init__(self, setup: Setup) -> None:
        self._start = setup
        self._name = setup.name
        self._named = parts_of(setup)
        self._stored = {snapshot.name: snapshot.stored for snapshot in setup.snapshots}
        self._routes = dict(enumerate(setup.routes))
        self._next = len(self._routes)
        self._numbers = grouped((route, number) for number, route in self._routes.items())

    def do(self, where: str, step: Step) -> None:
        """Set one thing.

        Raises:
            InputError: it does not start from what is there; ``where`` says which step it is.
        """
        if step.what == kinds.ROUTE:
            fits = self._route(step)
        elif step.what == kinds.TRAVEL and step.destination:
            fits = self._route_travel(step)
        elif step.what == kinds.POSITION:
            fits = self._position(step)
        elif step.what == kinds.NAME:
            fits = self._name == step.before
            self._name = str(step.after)
        else:
            fits = self._set(step)
        if not fits:
            raise InputError(where, str(step), OTHER_STATE)

    def setup(self) -> Setup:
        """All of it together."""
        return Setup(
            name=self._name,
            surface=self._start.surface,
            voices=tuple(self._named[kinds.VOICE].values()),
            groups=tuple(self._named[kinds.GROUP].values()),
            routes=tuple(self._routes.values()),
            travels=tuple(KnobTravel(*item) for item in self._named[kinds.TRAVEL].items()),
            snapshots=tuple(
                storing(snapshot, self._stored.get(name, {}))
                for name, snapshot in self._named[kinds.SNAPSHOT].items()
            ),
            labels=tuple(KnobLabel(*item) for item in self._named[kinds.LABEL].items()),
            sending=tuple(self._named[kinds.SENDING].values()),
        )

    def _set(self, step: Step) -> bool:
        held = self._named.get(step.what)
        if held is None or not same_in_any_order(held.get(step.where), step.before):
            return False
        if step.after is None:
            if step.what == kinds.SNAPSHOT:
                self._stored.pop(step.where, None)  # they go with it
            return held.pop(step.where, None) is not None
        # A name is a voice's or a group's, never both at once.
        other = {kinds.VOICE: kinds.GROUP, kinds.GROUP: kinds.VOICE}.get(step.what)
        held[step.where] = step.after
        return other is None or step.where not in self._named[other]

    def _position(self, step: Step) -> bool:
        stored = self._stored.setdefault(step.snapshot, {})
        fits = stored.get(step.where) == step.before
        if isinstance(step.after, int):
            stored[step.where] = step.after
        else:
            fits = stored.pop(step.where, None) is not None and fits
        return fits and step.snapshot in self._named[kinds.SNAPSHOT]

    def _route_travel(self, step: Step) -> bool:
        old, new = (
            each if isinstance(each, Travel) else None for each in (step.before, step.after)
        )
        numbers = self._numbers.get(Route(step.destination, step.where, old))
        if not numbers:
            return False
        number, route = numbers.pop(), Route(step.destination, step.where, new)
        self._routes[number] = route
        self._numbers.setdefault(route, []).append(number)
        return True

    def _route(self, step: Step) -> bool:
        """The last of several that are the same is the one that goes."""
        if step.after is not None:
            route = Route(str(step.after), step.where, step.travel)
            self._numbers.setdefault(route, []).append(self._next)
            self._routes[self._next] = route
            self._next += 1
            return step.before is None
        numbers = self._numbers.get(Route(str(step.before), step.where, step.travel))
        if not numbers:
            return False
        del self._routes[numbers.pop()]
        return True
