"""Altering: setups changed in one respect."""

from __future__ import annotations

from collections.abc import Collection
from typing import Any

import attrs

from knobpack.words import Setup


def without_routes(setup: Setup, names: Collection[str], knobs: Collection[str]) -> Setup:
    """The setup without the routes from these knobs to these names."""
    left = [r for r in setup.routes if not (r.destination in names and r.knob in knobs)]
    return attrs.evolve(setup, routes=tuple(left))


def changed(setup: Setup, names: Collection[str], **change: Any) -> Setup:
    """The setup with something changed at the destinations named."""
    voices = tuple(
        attrs.evolve(
            voice,
            destinations=tuple(
                attrs.evolve(inner, **change) if voice.full_name(inner) in names else inner
                for inner in voice.destinations
            ),
        )
        for voice in setup.voices
    )
    return attrs.evolve(setup, voices=voices)
