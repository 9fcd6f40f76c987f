"""Held routes: what of a setup in use a request can hold, and where it takes nothing new."""

from __future__ import annotations

from collections.abc import Collection, Mapping

import attrs

from knobpack.combination.report import NotAsItWas
from knobpack.setups.as_read import Reading
from knobpack.words import Route, Rule, Setup, Surface, VoiceLayer
from knobpack.words.fields import MOST_ITEMS
from knobpack.words.names import knob_told, many
from knobpack.words.rules import member_lists, rule_knobs

Ways = Mapping[str, tuple[bool, ...]]
"""For each destination, whether the master may move it, and does in each firm snapshot."""


def held_routes(
    reading: Reading, ways: Ways, freed: Collection[str], cleared: Collection[str] = ()
) -> tuple[list[Route], set[str], list[NotAsItWas]]:
    """The routes that a request can hold; the knobs that others are on; what those others are."""
    setup, there, knobs = reading.setup, reading.destinations, reading.carries
    most = setup.surface.destinations_per_knob or MOST_ITEMS
    held: dict[str, Route] = {}
    on: dict[str, list[str]] = {}
    shut: set[str] = set()
    left = []
    for route in setup.routes:
        name, knob = route.destination, route.knob
        if knob in cleared:
            continue
        before = on.get(knob, [])
        if name not in there or knob not in knobs:
            why = "leads nowhere and stays so"
            if knob in knobs and setup.surface.destinations_per_knob is not None:
                shut.add(knob)  # where a knob carries only so many, a dead route takes up room
                why += f"; {knob_told(knob)} takes nothing new"
            left.append(NotAsItWas(setup.name, "route", told(route), why))
            continue
        if name in freed:
            continue
        if name in held or knob != reading.knobs_of[name][0]:
            why = f"is a second one: {reading.knobs_of[name][0]} drives it too"
        elif before and ways[before[0]] != ways[name]:
            why = f"moves in other snapshots than {before[0]}, which {knob_told(knob)} drives too"
        elif len(before) >= most:
            why = f"is one too many: a knob carries at most {most}"
        else:
            held[name] = route
            on.setdefault(knob, []).append(name)
            continue
        shut.add(knob)
        why += f"; it stays so, and {knob_told(knob)} takes nothing new"
        left.append(NotAsItWas(setup.name, "route", told(route), why))
    return list(held.values()), shut, left


def told(route: Route) -> str:
    """A route in words."""
    return f"{knob_told(route.knob)} to {route.destination}"


def kept_layers(setup: Setup) -> tuple[tuple[VoiceLayer, ...], int, list[NotAsItWas]]:
    """The layers that are kept, how many of them are made up, and the voices misplaced.

    A voice at a layer that is taken or not there stays at it; so that nothing else makes room for
    it, the request has it at one beyond those of the surface.
    """
    most = MOST_ITEMS if setup.surface.layers is None else setup.surface.layers
    at: dict[int, str] = {}
    astray: list[str] = []
    left = []
    for voice in setup.voices:
        if voice.layer is None:
            continue
        if voice.layer in at:
            why = f"is on layer {voice.layer}, where {at[voice.layer]} is too, and stays there"
        elif voice.layer > most:
            why = f"is on layer {voice.layer} of {most} and stays there"
        else:
            at[voice.layer] = voice.name
            continue
        astray.append(voice.name)
        left.append(NotAsItWas(setup.name, "voice", voice.name, why))
    if setup.surface.layers is None or most + len(astray) > MOST_ITEMS:
        downward = range(MOST_ITEMS, max(0, MOST_ITEMS - len(at) - len(astray)), -1)
        spare = [layer for layer in downward if layer not in at]
    else:
        spare = list(range(most + 1, most + 1 + len(astray)))
    kept = [VoiceLayer(name, layer) for layer, name in at.items()]
    kept += [VoiceLayer(name, layer) for name, layer in zip(astray, spare, strict=False)]
    return tuple(kept), len(astray), left


def open_surface(
    setup: Setup, shut: Collection[str], outside: int, own: int, extra: int
) -> tuple[Surface, list[NotAsItWas]]:
    """The surface as it is open to what is new; where the base goes beyond it already.

    Args:
        setup: the base.
        shut: knobs that take nothing new.
        outside: routes of the base that stay and are not in the request.
        own: routes of the base that are in the request, kept or freed.
        extra: layers that are made up.
    """
    surface = setup.surface
    told = []
    routes, snapshots, layers = surface.routes, surface.snapshots, surface.layers
    if routes is not None:
        if outside + own > routes:
            told.append(
                f"has more than the {many(routes, 'route')} that its surface takes, and keeps them"
            )
        routes = max(own, routes - outside)
    if snapshots is not None and len(setup.snapshots) > snapshots:
        told.append(f"has more than the {many(snapshots, 'snapshot')} that its surface stores")
        snapshots = len(setup.snapshots)
    if layers is not None and layers + extra <= MOST_ITEMS:
        layers += extra
    closed = tuple(k for k in surface.knob_names if k in shut and k not in surface.reserved)
    found = attrs.evolve(
        surface,
        reserved=(*surface.reserved, *closed),
        routes=routes,
        snapshots=snapshots,
        layers=layers,
    )
    return found, [NotAsItWas(setup.name, "setup", setup.name, why) for why in told]


def meets(reading: Reading, rule: Rule) -> bool:
    """Whether a setup as it stands meets a required rule, which names what is there.

    Args:
        reading: the setup, which may be faulty.
        rule: any rule; its weight does not matter.
    """
    panel = reading.setup.surface.knob_names
    names = {name for each in member_lists(rule).values() for name in each}
    if reading.unknown(names) or not set(panel).issuperset(rule_knobs(rule).values()):
        return False
    effect = rule.effect(lambda some: tuple(reading.named(some)), panel)
    return not effect.breaches(reading.carries)
