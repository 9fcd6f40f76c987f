"""The request that an edit of a setup in use makes.

What the setup drives is asked for where it is, in the order of tiers for a setup in use. What no
knob drives stays so, unless the edit names it: it is left out of the request. A fault of the setup
(a second knob on one destination, a knob with more on it than it takes) is kept out of it as well,
and stays as it is, unless what the edit asks for bears on it: that is laid out as the panel takes
it.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping, Sequence
from typing import Any

import attrs

from knobpack.combination.held_routes import held_routes, kept_layers, open_surface
from knobpack.grouped import grouped
from knobpack.setups.as_read import Reading, lies_within
from knobpack.words import (
    Layout,
    Request,
    Route,
    Rule,
    Snapshot,
    Surface,
    Travel,
    Voice,
)
from knobpack.words.fields import MOST_ITEMS
from knobpack.words.rules import member_lists, rule_on
from knobpack.words.snapshot import storing


@attrs.frozen(eq=False)
class SetupInUse:
    """A setup in use, as far as a request can hold it.

    Args:
        reading: the setup, which may be faulty.
        routes: the routes that a request can hold: each destination once.
        given: those of the setup that they stand for: of what an edit bears on, all.
        surface: its panel, open to what an edit may do.
        layout: those routes, the travels of their knobs, and the layers of the voices.
        bound: those of the routes that stay where they are: their knobs take nothing new.
    """

    reading: Reading
    routes: tuple[Route, ...]
    given: tuple[Route, ...]
    surface: Surface
    layout: Layout
    bound: tuple[Route, ...]

    @classmethod
    def of(
        cls, reading: Reading, about: Collection[str] = (), *, pinned: bool = False
    ) -> SetupInUse:
        """What a request can hold of a setup.

        Args:
            reading: the setup.
            about: the full names of what is to be laid out anew, be it driven by a fault.
            pinned: whether what knobs out of use drive stays on them.
        """
        setup, broken = reading.setup, frozenset() if pinned else reading.broken
        anywhere = dict.fromkeys(reading.destinations, ())
        most = setup.surface.destinations_per_knob or MOST_ITEMS
        over = {knob for knob, names in reading.carries.items() if len(names) > most}
        at = reading.knobs_of
        first = {n: at[n][0] for n in about if len(at[n]) > 1 or not over.isdisjoint(at[n])}
        found, shut, _ = held_routes(reading, anywhere, first)
        # A knob out of use gives up what it has too many as well.
        more = (r for r in reading.routes if r.knob in broken or r.knob == first.get(r.destination))
        once = grouped((route.destination, route) for route in (*found, *more))
        routes = tuple(each[0] for each in once.values())
        held = {(route.destination, route.knob) for route in routes}
        given = tuple(
            r for r in setup.routes if r.destination in first or (r.destination, r.knob) in held
        )
        layers, extra, _ = kept_layers(setup)
        outside = len(setup.routes) - len(given)
        surface, _ = open_surface(setup, {*shut, *broken}, outside, len(routes), extra)
        layout = reading.layout(routes, layers)
        closed = set(surface.reserved) - broken
        bound = tuple(
            route
            for route in layout.routes
            if route.knob in closed and not (route.destination in first and route.knob in over)
        )
        return cls(reading, routes, given, surface, layout, bound)

    def asked(self, edited: Collection[str], previous: Layout) -> frozenset[str]:
        """The full names of what a request asks for: what a fault alone drives is no part of it.

        Args:
            edited: the full names that an edit is about.
            previous: the layout to stay close to.
        """
        there, held = self.reading.knobs_of, {route.destination for route in self.routes}
        names = {*edited, *(route.destination for route in previous.routes)}
        return frozenset(name for name in names & there.keys() if name in held or not there[name])


def request_in_use(
    use: SetupInUse,
    rules: Sequence[Rule],
    edited: Collection[str],
    *,
    must: Collection[str],
    previous: Layout | None = None,
) -> Request:
    """The request that an edit makes.

    Args:
        use: the setup in use.
        rules: what holds: what was agreed before, and what the edit asks for.
        edited: the full names that the edit is about.
        must: the full names of what must be placed.
        previous: the layout to stay close to; None: the one in use.
    """
    reading, before = use.reading, previous or use.layout
    setup, asked = reading.setup, use.asked(edited, before)
    edited = asked.intersection(edited)
    before = attrs.evolve(before, routes=tuple(r for r in before.routes if r.destination in asked))
    goes = _travels(use, before, edited, rules)
    kept = {route.knob for route in use.bound}
    travels = tuple(setting for setting in before.travels if setting.knob in kept)
    snapshots = tuple(
        storing(
            Snapshot(
                play.snapshot.name,
                tuple(name for name in reading.destinations if name in asked & play.moved),
                play.snapshot.break_weight,
            ),
            reading.stands(play),
        )
        for play in reading.plays
    )
    return Request(
        surface=use.surface,
        voices=tuple(_asked(v, asked, must, goes) for v in setup.voices),
        snapshots=snapshots,
        rules=tuple(rules),
        keep=Layout(use.bound, travels, use.layout.layers),
        previous=before,
        in_use=True,
        edited=tuple(name for name in reading.destinations if name in edited),
    )


def _travels(
    use: SetupInUse, before: Layout, edited: Collection[str], rules: Iterable[Rule]
) -> dict[str, Travel]:
    """The travel that each destination is to go over.

    What stays with all that its knob drives goes over the travel of the knob. What the edit parts
    from its knob, or from something that it drives, goes over the travel that it wishes for, where
    it has such a wish. Where each route has a travel of its own, it keeps that.
    """
    reading, there = use.reading, before.goes
    if use.surface.per_route:
        full = Travel.full(use.surface.bits)
        return {route.destination: route.travel or full for route in before.routes}
    on = grouped((route.knob, route.destination) for route in before.routes)
    parting = (rule.effect(tuple, ()).parted for rule in rules)
    sides = [pair for both in parting if both for pair in (both, both[::-1])]
    found = {}
    for names in on.values():
        parted = {name for name in names if name in edited}
        for name in names:
            wish = reading.destinations[name].travel if name in reading.destinations else None
            others = {other for one, two in sides if name in one for other in two} - {name}
            leaves = name in parted and (len(parted) < len(names) or bool(others & parted))
            if leaves and wish is not None and lies_within(wish, use.surface.top):
                found[name] = wish
            elif name in there:
                found[name] = there[name]
    return found


def _asked(
    voice: Voice, asked: Collection[str], must: Collection[str], goes: Mapping[str, Travel]
) -> Voice:
    """A voice with what is asked for of it, each wanting the travel that it is to go over."""
    own = (
        attrs.evolve(inner, travel=goes.get(name, inner.travel), must_place=name in must)
        for name, inner in voice.by_full_name.items()
        if name in asked
    )
    return attrs.evolve(voice, destinations=tuple(own))


def in_request(
    rule: Rule, asked: Collection[str], knobs: Collection[str], broken: Collection[str]
) -> Rule | None:
    """A rule as far as a request can hold it; None: nothing of it is left.

    A rule that puts something on a knob that is broken or not there waits until it is.
    """
    there = rule_on(rule, {knob: knob for knob in knobs})
    if there is None or there.effect(tuple, knobs).on in broken:
        return None
    named = member_lists(there).items()
    left: dict[str, Any] = {each: tuple(n for n in names if n in asked) for each, names in named}
    return attrs.evolve(there, **left) if all(left.values()) else None
