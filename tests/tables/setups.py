"""Hypothesis strategies: setups all of which a table holds."""

from __future__ import annotations

import attrs
from hypothesis import strategies as st
from hypothesis.strategies import DrawFn

from knobpack import (
    KnobLabel,
    KnobPosition,
    KnobTravel,
    Route,
    Setup,
    Snapshot,
    Voice,
)
from tests.words_strategies import NAMES, sending, some, surfaces, travels, voices

RISKY = st.sampled_from(
    ["=1+1", "@a", "'b", "'=c", "-d", "+e", "007", "1-2", "Mar 5", "TRUE", "1.5", "12", "'12"]
)
"""Names that spreadsheets run or rewrite, or that look as if they were guarded from that."""


def _in_panel_order(chosen: tuple[str, ...], panel: tuple[str, ...]) -> list[str]:
    return [each for each in panel if each in chosen]


@st.composite
def whole_setups(draw: DrawFn) -> Setup:
    """Setups in which all that is named is there, in the order in which a table is read."""
    surface = draw(surfaces())
    reserved = tuple(_in_panel_order(surface.reserved, surface.knob_names))
    surface = attrs.evolve(surface, reserved=reserved)
    called = draw(st.lists(RISKY | NAMES, unique=True, max_size=4))
    made = tuple(draw(voices(name, surface.top)) for name in called)
    full = [(voice, voice.full_name(inner)) for voice in made for inner in voice.destinations]
    panel = surface.knob_names
    routes, turned = [], []
    for _, name in full if panel else ():
        for knob in draw(st.lists(st.sampled_from(panel), max_size=2)):
            own = draw(st.none() | travels(surface.top)) if surface.per_route else None
            routes.append(Route(name, knob, own))
    if not surface.per_route:
        turned = [KnobTravel(knob, draw(travels(surface.top))) for knob in draw(_some(panel))]
    return Setup(
        draw(RISKY | NAMES),
        surface,
        made,
        groups=(),
        routes=tuple(routes),
        travels=tuple(turned),
        snapshots=tuple(
            _snapshot(draw, name, made, panel, surface.top)
            for name in draw(st.lists(RISKY | NAMES, unique=True, max_size=3))
        ),
        labels=tuple(KnobLabel(knob, draw(RISKY | NAMES)) for knob in draw(_some(panel))),
        sending=tuple(draw(sending(knob)) for knob in draw(_some(panel))),
    )


def _snapshot(
    draw: DrawFn, name: str, made: tuple[Voice, ...], panel: tuple[str, ...], top: int
) -> Snapshot:
    moves: list[str] = []
    for voice in made:
        names = [voice.full_name(inner) for inner in voice.destinations]
        chosen = draw(some(names))
        whole = set(chosen) == set(names) if names else draw(st.booleans())
        moves += [voice.name] if whole else [each for each in names if each in chosen]
    held = [KnobPosition(knob, draw(st.integers(0, top))) for knob in draw(_some(panel))]
    silent = _in_panel_order(draw(some([v.name for v in made])), tuple(v.name for v in made))
    return Snapshot(name, tuple(moves), None, tuple(held), tuple(silent), tuple(draw(_some(panel))))


def _some(panel: tuple[str, ...]) -> st.SearchStrategy[list[str]]:
    return some(panel).map(lambda chosen: _in_panel_order(chosen, panel))
