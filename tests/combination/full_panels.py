"""Setups that fill their panels, each destination on a knob of its own."""

from __future__ import annotations

from knobpack.combination.answer import Combination
from knobpack.words import Destination, Route, Setup, Snapshot, Surface, Voice


def voice(name: str, *inner: str, layer: int = 1, priority: int = 2) -> Voice:
    return Voice(name, tuple(Destination(each, priority=priority) for each in inner), layer)


def setup(name: str, knobs: int, *on: str, **more: object) -> Setup:
    """A setup of one voice or several, the first destination on the first knob, and so on."""
    voices: dict[str, list[str]] = {}
    for full in on:
        owner, inner = full.split("/")
        voices.setdefault(owner, []).append(inner)
    made = tuple(voice(*item, layer=n) for n, item in enumerate(_flat(voices), 1))
    routes = tuple(Route(full, f"K{number}") for number, full in enumerate(on, 1))
    return Setup(name, Surface.row(knobs), made, routes=routes, **more)  # type: ignore[arg-type]


def _flat(voices: dict[str, list[str]]) -> list[tuple[str, ...]]:
    return [(name, *inner) for name, inner in voices.items()]


BASE = setup(
    "Evening set", 2, "Piano/level", "Piano/tone", snapshots=(Snapshot("all", ("Piano",)),)
)


BRASS = setup("Brass set", 1, "Brass/level")


def offer_of(found: Combination, what: str) -> int:
    return next(place for place, each in enumerate(found.offers) if each.what == what)


WIDE = setup(
    "Evening set",
    6,
    "Piano/level",
    "Piano/tone",
    "Piano/decay",
    "Harp/swell",
    "Bells/tone",
    "Bells/level",
    snapshots=(Snapshot("all", ("Piano", "Harp", "Bells")),),
)
"""Of its six knobs any could be freed, and not all are as cheap to join."""
