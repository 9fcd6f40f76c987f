"""What of a source is to be driven again, what of it did nothing there, and what names nothing."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping

import attrs

from knobpack.combination.held_routes import told
from knobpack.combination.report import NotAsItWas, Slip, Source
from knobpack.definition.phrases import ESSENTIAL
from knobpack.grouped import grouped
from knobpack.positions.resolution import scaled_travel
from knobpack.setups.as_read import Reading, lies_within, stirs
from knobpack.setups.bundles import source_knobs
from knobpack.setups.missed_travels import MissedTravel
from knobpack.words import Destination, Route, Setup, Travel, Voice
from knobpack.words.names import MOST_CLOSE, close


@attrs.frozen
class Sought:
    """A destination that is to be driven: by which knob it was, over which travel of that surface.

    Args:
        voice: its voice in the source.
        destination: itself.
        knob: the knob that drove it; None: none that works.
        travel: the travel of that knob, in the positions of that surface.
        wants: the travel to bring it over, in those positions: that one, or the one that it wants
            itself where that one alarms beside it or came with other bundles, so that it was all
            there was for it there.
        bundle: what the knob of its bundle is called; None: none drove it.
    """

    voice: Voice
    destination: Destination
    knob: str | None = None
    travel: Travel | None = None
    wants: Travel | None = None
    bundle: str | None = None

    @property
    def old_name(self) -> str:
        """Its full name in the source."""
        return self.voice.full_name(self.destination)


def all_of(setup: Setup) -> dict[str, Sought]:
    """All destinations of a setup, by their full names, as what is driven by no knob."""
    every = (Sought(voice, inner) for voice in setup.voices for inner in voice.destinations)
    return {each.old_name: each for each in every}


def driven_by_knobs(
    reading: Reading, picked: Collection[str], bits: int, label: str
) -> tuple[dict[str, Sought], list[NotAsItWas]]:
    """What each knob drives over a travel that is not empty; the routes that cannot be kept.

    Routes that a slip leads nowhere are not among either.
    """
    every = all_of(reading.setup)
    driving: dict[str, Route] = {}
    left: list[NotAsItWas] = []
    for route in reading.setup.routes:
        name = route.destination
        if name not in every or route.knob not in reading.travels:
            continue  # a slip
        why = _still(reading, route, reading.over(route), bits)
        if not why and name in driving:
            why = f"is a second one: {driving[name].knob} drives it already"
        if not why:
            driving[name] = route
        elif every[name].voice.name in picked:
            left.append(NotAsItWas(label, "route", told(route), why))
    bundles = source_knobs(reading, {name: route.knob for name, route in driving.items()})
    on = grouped((route.knob, bundles[name]) for name, route in driving.items())
    driven = {}
    for name, route in driving.items():
        if (each := every[name]).voice.name not in picked:
            continue  # it stays behind with its voice, and is told with it
        joined = len(set(on[route.knob])) > 1
        over, wants = reading.over(route), _wants(each, route, reading, bits, joined)
        if wants != over:
            why = f"is not what it wants: {wants} is asked for here"
            left.append(NotAsItWas(label, "travel", f"{over} of {name}", why))
        elif (wanted := reading.passed_over(route)) is not None:
            why = "is not set where it comes from: it went all the way there, and does here"
            left.append(NotAsItWas(label, "travel", f"{wanted} wanted by {name}", why))
        driven[name] = attrs.evolve(
            each, knob=route.knob, travel=over, wants=wants, bundle=bundles[name]
        )
    return driven, left


def _wants(each: Sought, route: Route, reading: Reading, bits: int, joined: bool) -> Travel:
    """The travel to bring it over: of its knob, or its own where that one alarms beside it.

    Its own too where its knob drives other bundles as well: it is set for all of these.
    """
    inner, over, surface = each.destination, reading.over(route), reading.setup.surface
    if inner.travel is None or _strays(inner, reading.setup, bits):
        return over
    if joined and not surface.per_route:
        return inner.travel
    missed = MissedTravel(
        route.destination, route.knob, inner.travel, over, surface.top, inner.kind
    )
    return inner.travel if missed.alarming else over


def _still(reading: Reading, route: Route, travel: Travel, bits: int) -> str:
    """Why a travel moves nothing, or would not on the new surface; empty if it does."""
    surface = reading.setup.surface
    if travel.empty:
        whose = "its travel" if surface.per_route else "the travel of its knob"
        return f"does nothing: {whose} starts where it ends"
    if not lies_within(travel, surface.top):
        return f"has a travel beyond {surface.top}, the highest position"
    if _rescaled(travel, reading.setup, bits).empty:
        return f"goes over {travel}, too short at {bits} bits: it would start where it ends"
    if route.destination not in reading.drives[route.knob]:
        return f"does nothing: {travel} stays within one step of what it leads to"
    return ""


def as_brought(inner: Destination, wish: Sought | None, setup: Setup, bits: int) -> Destination:
    """A destination as it is brought: its travel rescaled."""
    travel = inner.travel if wish is None else wish.wants
    if travel is not None:
        strays = wish is None and _strays(inner, setup, bits)
        travel = None if strays else _rescaled(travel, setup, bits)
    bundle, place = None, None
    if wish is not None and wish.knob is not None:
        bundle, place = wish.bundle, setup.surface.knob_names.index(wish.knob) + 1
    return attrs.evolve(inner, travel=travel, source_knob=bundle, source_place=place)


def travels_lost(
    setup: Setup, driven: Mapping[str, Sought], picked: Collection[str], bits: int, label: str
) -> list[NotAsItWas]:
    """The travels wanted by what nothing drives that no knob could go over to any effect."""
    return [
        NotAsItWas(label, "travel", f"{each.destination.travel} wanted by {name}", why)
        for name, each in all_of(setup).items()
        if each.voice.name in picked
        and name not in driven
        and (why := _strays(each.destination, setup, bits))
    ]


def _strays(inner: Destination, setup: Setup, bits: int) -> str:
    """Why the travel that is wanted cannot be had, or does nothing; empty if it can."""
    top = setup.surface.top
    if inner.travel is None:
        return ""
    if not lies_within(inner.travel, top):
        return f"lies beyond {top}, the highest position"
    if stirs(_rescaled(inner.travel, setup, bits), inner, bits):
        return ""
    return f"does nothing: it is too short at {bits} bits"


def _rescaled(travel: Travel, setup: Setup, bits: int) -> Travel:
    return scaled_travel(travel, setup.surface.bits, bits)


def slips(
    source: Source, reading: Reading, label: str, undriven: Mapping[str, str]
) -> tuple[Slip, ...]:
    """Every name that stands for nothing, once, with all that calls on it and is lost by it.

    Args:
        source: the setup and the voices to bring; names of voices to bring may be slips too.
        reading: the setup as it is read.
        label: the name that the setup goes by here.
        undriven: for what is essential, comes and is driven by nothing, its full name there, its
            full name now.
    """
    setup = reading.setup
    known: dict[str, Collection[str]] = {
        "knob": setup.surface.knob_names,
        "voice": [voice.name for voice in setup.voices],
        "destination": tuple(reading.destinations),
        "member": reading.known,
    }
    behind = {voice.name for voice in setup.voices} - set(source.picked)
    driven, _ = driven_by_knobs(reading, behind, setup.surface.bits, label)
    stays = {
        name: each
        for name, each in all_of(setup).items()
        if name in driven and each.destination.priority == ESSENTIAL
    }
    uses = grouped(((kind, name), use) for kind, name, use in _calls(source, reading))
    found = []
    for (kind, name), calls in uses.items():
        near = tuple(close(name, sorted(known[kind]))[:MOST_CLOSE])
        lost: Iterable[str] = ()
        if kind == "voice":
            lost = (n for n, each in stays.items() if each.voice.name in near[:1])
        elif kind != "member":
            routed = [r.destination for r in setup.routes if r.knob == name]
            meant = routed if kind == "knob" else near[:1]
            lost = (undriven[each] for each in dict.fromkeys(meant) if each in undriven)
        found.append(Slip(label, kind, name, tuple(dict.fromkeys(calls)), near, tuple(lost)))
    return tuple(found)


def _calls(source: Source, reading: Reading) -> Iterator[tuple[str, str, str]]:
    """What is called upon in vain: what it is taken for, its name, and where it stands."""
    setup = reading.setup
    voices = {voice.name for voice in setup.voices}
    for name in source.voices or ():
        if name not in voices:
            yield "voice", name, "a voice to bring"
    for route in setup.routes:
        if route.destination not in reading.destinations:
            yield "destination", route.destination, f"the knob {route.knob} leads to it"
        if route.knob not in reading.carries:
            yield "knob", route.knob, f"a route from it leads to {route.destination}"
    for setting in setup.travels:
        if setting.knob not in reading.carries:
            yield "knob", setting.knob, f"its travel is {setting.travel}"
    routed = {route.destination for route in setup.routes} - set(reading.destinations)
    for holder, members in (
        *((f"group {group.name}", group.members) for group in setup.groups),
        *((f"snapshot '{each.name}'", each.moves) for each in setup.snapshots),
    ):
        for name in reading.unknown(members):
            yield "destination" if name in routed else "member", name, f"a member of {holder}"
