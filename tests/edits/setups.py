"""Small setups in use, and edits of them, from a seed."""

from __future__ import annotations

import random

import attrs

from knobpack.words import (
    Destination,
    Fixed,
    KnobLabel,
    KnobPosition,
    KnobSending,
    KnobTravel,
    Route,
    Setup,
    Snapshot,
    Surface,
    Travel,
    Voice,
)
from knobpack.words.setup_edits import Join, OnKnob, OutOfUse, OwnKnob, Part, Swap

Routing = OwnKnob | OnKnob | Swap | Part | Join | OutOfUse
VOICES = {"Organ": ("level", "drive"), "Bass": ("level", "cutoff"), "Strings": ("level", "attack")}


def on_routes(setup: Setup, draw: random.Random) -> Setup:
    """The same setup on a panel that sets travels on routes, most of which have one."""
    return attrs.evolve(
        setup,
        surface=attrs.evolve(setup.surface, travel_on="route"),
        routes=tuple(attrs.evolve(each, travel=wish(draw)) for each in setup.routes),
        travels=(),
    )


def small_setup(seed: int, knobs: int = 4) -> Setup:
    """A setup of three voices on a few knobs; some snapshots are broken, some knobs are free."""
    draw = random.Random(seed)  # noqa: S311 (no secret)
    voices = tuple(
        Voice(
            name,
            tuple(
                Destination(each, priority=draw.randint(1, 5), travel=wish(draw)) for each in inner
            ),
            layer,
        )
        for layer, (name, inner) in enumerate(VOICES.items(), 1)
    )
    names = [voice.full_name(inner) for voice in voices for inner in voice.destinations]
    panel = [f"K{number}" for number in range(1, knobs + 1)]
    home = {voice: draw.sample(panel, draw.randint(1, 2)) for voice in VOICES}
    routes = tuple(
        Route(name, draw.choice(home[name.split("/")[0]])) for name in names if draw.random() < 0.9
    )
    travels = tuple(
        KnobTravel(knob, Travel(draw.randint(0, 127), draw.randint(0, 127)))
        for knob in panel
        if draw.random() < 0.5
    )
    everything = Snapshot("All", tuple(VOICES))
    alone = [
        Snapshot(
            voice, (voice,), positions=(KnobPosition(draw.choice(panel), draw.randint(0, 127)),)
        )
        for voice in VOICES
        if draw.random() < 0.5
    ]
    fullest = max(sum(route.knob == knob for route in routes) for knob in panel)
    limit = draw.choice((None, None, max(2, fullest), fullest + 1))
    surface = Surface.row(knobs, destinations_per_knob=limit)
    return Setup(
        "Evening", surface, voices, routes=routes, travels=travels, snapshots=(everything, *alone)
    )


def wish(draw: random.Random) -> Travel | None:
    """A travel that a destination wishes for, or none."""
    return Travel(draw.randint(0, 127), draw.randint(0, 127)) if draw.random() < 0.4 else None


def some_edit(setup: Setup, draw: random.Random) -> Routing:
    """An edit of a setup, which may not be possible."""
    panel, routed = setup.surface.knob_names, [route.destination for route in setup.routes]
    used = list(dict.fromkeys(route.knob for route in setup.routes))
    names = tuple(draw.sample(routed, draw.randint(1, min(2, len(routed)))))
    kinds = [OwnKnob, OnKnob, Swap, Part, Join, OutOfUse]
    kind = draw.choice(kinds)
    if kind is OwnKnob:
        return OwnKnob(names, draw.choice((None, None, draw.choice(panel))))
    if kind is OnKnob:
        return OnKnob(names, draw.choice(panel))
    if kind is Swap:
        one, other = draw.choice(used), draw.choice(panel)
        return Swap(one, other)
    if kind is Part and len(routed) > 1:
        return Part(tuple(draw.sample(routed, 2)))
    if kind is Join and len(used) > 1:
        return Join(tuple(draw.sample(used, 2)))
    return OutOfUse(draw.choice(panel))


def one_by_one(first: int, count: int) -> Setup:
    """A setup at 10 bits, each of whose positions is another one."""
    voices = tuple(
        Voice(f"Voice {n}", (Destination("level", priority=1),), n) for n in range(1, count + 1)
    )
    return Setup(
        "Positions",
        Surface.row(count, bits=10),
        voices,
        routes=tuple(Route(f"Voice {n}/level", f"K{n}") for n in range(1, count + 1)),
        travels=tuple(
            KnobTravel(f"K{n}", Travel(first + n - 1, 1023 - first - n + 1))
            for n in range(1, count + 1)
        ),
        snapshots=(
            Snapshot("All", tuple(voice.name for voice in voices)),
            Snapshot(
                "Held",
                (),
                positions=tuple(
                    KnobPosition(f"K{n}", (first + n - 1)) for n in range(1, count + 1)
                ),
            ),
        ),
    )


STAGE = Setup(
    "Stage",
    Surface.row(4, bits=10, layers=4),
    (
        Voice("Organ", (Destination("level", priority=1), Destination("drive")), 1),
        Voice("Bass", (Destination("level", priority=1), Destination("cutoff")), 2),
        Voice("Wind", (Destination("level", priority=4),), 3),
    ),
    routes=(
        Route("Organ/level", "K1"),
        Route("Organ/drive", "K2"),
        Route("Bass/level", "K3"),
        Route("Bass/cutoff", "K3"),
        Route("Wind/level", "K4"),
    ),
    travels=(KnobTravel("K3", Travel(1001, 17)), KnobTravel("K4", Travel(3, 997))),
    snapshots=(
        Snapshot("All", ("Organ", "Bass", "Wind")),
        Snapshot("Bass", ("Bass",), positions=(KnobPosition("K1", 777), KnobPosition("K4", 5))),
        Snapshot("Organ", ("Organ",)),
        Snapshot("Wind", ("Wind",)),
    ),
    agreed=(Fixed(("Wind/level",), "K4"),),
    labels=(KnobLabel("K3", "BASS"),),
    sending=(KnobSending("K1", 74),),
)
