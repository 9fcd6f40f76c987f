"""Replay: the steps of a patch sheet applied to a setup, one by one, and setups in one order."""

from __future__ import annotations

from collections.abc import Iterable

import attrs

from knobpack.errors import InputError
from knobpack.grouped import grouped
from knobpack.sheets import steps as kinds
from knobpack.sheets.difference import by_name, in_name_order, parts_of, same_in_any_order
from knobpack.sheets.steps import Step
from knobpack.words import (
    KnobLabel,
    KnobTravel,
    Route,
    Setup,
    Travel,
)
from knobpack.words.fields import as_list, check_kind
from knobpack.words.snapshot import storing

OTHER_STATE = "replay a sheet on the setup it starts from, with its steps in their order"


def replay(before: Setup, steps: Iterable[Step]) -> Setup:
    """The setup that is there when each step has been done.

    Raises:
        InputError: the state on the way is not what a step starts from.
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
    """A setup with all that it lists in the order of names, and without what it remembers."""
    return attrs.evolve(
        setup,
        voices=by_name(in_name_order(voice) for voice in setup.voices),
        groups=by_name(in_name_order(group) for group in setup.groups),
        routes=tuple(sorted(setup.routes, key=_by_ends)),
        travels=tuple(sorted(setup.travels, key=lambda setting: setting.knob)),
        snapshots=by_name(in_name_order(snapshot) for snapshot in setup.snapshots),
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
