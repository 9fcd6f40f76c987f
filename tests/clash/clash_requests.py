"""Requests for the tests of clashes: by hand, drawn, and from a seed."""

from __future__ import annotations

import random
from typing import Any, cast

import attrs

from knobpack.clash.find import Clash, find_clash
from knobpack.solver.watch import Watch
from knobpack.words import Destination, Layout, Request, Rule, Snapshot, Surface, Voice
from tests.oracles.strategies import PANELS, Choices, small_request

SMALL_PANELS = (*PANELS[:4], *PANELS[-3:])


def watch() -> Watch:
    return Watch(effort=100.0)


def clash_of(request: Request, ways: int = 5) -> Clash:
    clash = find_clash(request, watch(), ways=ways)
    assert clash is not None
    return clash


def told(clash: Clash) -> list[str]:
    return [str(demand) for demand in clash.demands]


def voices(count: int, each: int, priority: int = 3) -> tuple[Voice, ...]:
    """Voices V1, V2, … with destinations d1, d2, … that must be placed."""
    names = (f"d{number + 1}" for number in range(each))
    inner = tuple(Destination(name, priority=priority, must_place=True) for name in names)
    return tuple(Voice(f"V{number + 1}", inner) for number in range(count))


def pads(
    *rules: Rule, surface: Surface, snapshots: tuple[Snapshot, ...] = (), keep: Layout | None = None
) -> Request:
    """Two voices, Pad and Bass, with two destinations each that need not be placed."""
    inner = (Destination("cutoff"), Destination("level"))
    both = (Voice("Pad", inner), Voice("Bass", inner))
    return Request(surface, both, snapshots=snapshots, rules=rules, keep=keep or Layout())


def strict(request: Request) -> Request:
    """The same request, all of it required: most are then impossible."""
    return attrs.evolve(
        request,
        voices=tuple(
            attrs.evolve(
                voice,
                destinations=tuple(attrs.evolve(d, must_place=True) for d in voice.destinations),
            )
            for voice in request.voices
        ),
        snapshots=tuple(attrs.evolve(each, break_weight=None) for each in request.played),
        rules=tuple(attrs.evolve(cast("Any", rule), weight=None) for rule in request.rules),
    )


def drawn_request(choose: Choices) -> Request:
    """At most 4 destinations on 3 knobs, two in three of them strict."""
    request = small_request(choose, (1, 2, 3, 4, 4), SMALL_PANELS)
    return strict(request) if choose.chance(67) else request


def seeded(seed: int) -> Request:
    return drawn_request(Choices(random.Random(seed).randint))  # noqa: S311 (no secret)
