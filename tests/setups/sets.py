"""Setups of one voice each, for tests of what travels miss."""

from __future__ import annotations

import attrs

from knobpack import (
    Destination,
    KnobTravel,
    Route,
    Setup,
    Snapshot,
    Surface,
    Travel,
    Voice,
)


def a_set(name: str, kinds: dict[str, tuple[str, Travel]]) -> Setup:
    """A setup of one voice, each destination on a knob of its own."""
    inner = tuple(Destination(each, kind, priority=1) for each, (kind, _) in kinds.items())
    knobs = [f"K{place}" for place in range(1, len(kinds) + 1)]
    voice = name.removesuffix(" set")
    return Setup(
        name,
        Surface.row(len(kinds)),
        (Voice(voice, inner, 1),),
        routes=tuple(Route(f"{voice}/{n}", k) for n, k in zip(kinds, knobs, strict=True)),
        travels=tuple(
            KnobTravel(k, travel) for k, (_, travel) in zip(knobs, kinds.values(), strict=True)
        ),
        snapshots=(Snapshot("All", (voice,)),),
    )


PIANO = attrs.evolve(a_set("Piano set", {"tone": ("tone", Travel(0, 127))}), surface=Surface.row(2))


ORGAN = a_set("Organ set", {"level": ("level", Travel(127, 0)), "swell": ("swell", Travel(0, 99))})


def a_song(travel: Travel) -> Setup:
    """The lead, which is to go all the way, beside its cutoff on one knob of three."""
    inner = Destination("level", priority=1, travel=Travel(0, 127)), Destination("cutoff")
    routes = tuple(Route(f"Lead/{name}", "K1") for name in ("level", "cutoff"))
    return Setup(
        "Lead set",
        Surface.row(3),
        (Voice("Lead", inner, 1),),
        routes=routes,
        travels=(KnobTravel("K1", travel),),
        snapshots=(Snapshot("All", ("Lead",)),),
    )
