"""Limits: more than the surface has, of layers, routes, snapshots or destinations on a knob."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import count

from knobpack.auditing import causes
from knobpack.auditing.findings import Finding
from knobpack.auditing.told import quoted
from knobpack.phrases import many
from knobpack.setup_as_read import Reading
from knobpack.words import Setup
from knobpack.words.names import close


def layers(reading: Reading) -> Iterator[Finding]:
    """Voices that stand at one layer, or at one that the surface does not have."""
    setup, most = reading.setup, reading.setup.surface.layers
    free = _free_layers(setup)
    at: dict[int, list[str]] = {}
    for voice in setup.voices:
        if voice.layer is None:
            continue
        if most is None or voice.layer <= most:
            at.setdefault(voice.layer, []).append(voice.name)
        else:
            yield Finding(
                causes.LAYER_BEYOND,
                causes.WRONG,
                _moved((voice.name,), free),
                voices=(voice.name,),
                numbers=(voice.layer, most),
                free_layers=_given((voice.name,), free),
            )
    for layer, names in at.items():
        if len(names) > 1:
            yield Finding(
                causes.SHARED_LAYER,
                causes.WRONG,
                _moved(tuple(names[1:]), free) + _slip(names),
                voices=tuple(names),
                numbers=(layer,),
                free_layers=_given(tuple(names[1:]), free),
            )


def _free_layers(setup: Setup) -> dict[str, int]:
    """A free layer for each voice that cannot stay at its own, as far as there are any."""
    most = setup.surface.layers
    taken = set()
    moving = []
    for voice in setup.voices:
        if voice.layer is None:
            continue
        if voice.layer in taken or (most is not None and voice.layer > most):
            moving.append(voice.name)
        else:
            taken.add(voice.layer)
    every = count(1) if most is None else range(1, most + 1)
    free = (layer for layer in every if layer not in taken)
    return dict(zip(moving, free, strict=False))


def _given(names: tuple[str, ...], free: dict[str, int]) -> tuple[int, ...]:
    return tuple(free[name] for name in names if name in free)


def _moved(names: tuple[str, ...], free: dict[str, int]) -> str:
    parts = [f"put '{name}' at layer {free[name]}" for name in names if name in free]
    out = tuple(name for name in names if name not in free)
    if out:
        parts.append(f"leave {quoted(out)} out, as no layer is free")
    return ", ".join(parts)


def _slip(names: list[str]) -> str:
    """What is asked where voices at one layer are named nearly alike."""
    for at, name in enumerate(names):
        near = close(name, names[:at])
        if near:
            return f"; or is '{name}' a slip for '{near[0]}'? then call both alike"
    return ""


def counts(reading: Reading) -> Iterator[Finding]:
    """More destinations on a knob, routes in all or snapshots than the surface allows."""
    setup, surface = reading.setup, reading.setup.surface
    most = surface.destinations_per_knob
    for knob, names in reading.carries.items():
        if most is not None and len(names) > most:
            yield Finding(
                causes.CROWDED,
                causes.WRONG,
                f"route {len(names) - most} of them to other knobs, or take them off",
                knobs=(knob,),
                destinations=names,
                numbers=(len(names), most, len(names) - most),
            )
    if surface.routes is not None and len(setup.routes) > surface.routes:
        more = len(setup.routes) - surface.routes
        yield Finding(
            causes.ROUTES,
            causes.WRONG,
            f"take {many(more, 'route')} away, first those that do nothing",
            numbers=(len(setup.routes), surface.routes, more),
        )
    if surface.snapshots is not None and len(setup.snapshots) > surface.snapshots:
        more = len(setup.snapshots) - surface.snapshots
        yield Finding(
            causes.SNAPSHOTS,
            causes.WRONG,
            f"take {many(more, 'snapshot')} away, first those that do nothing new",
            snapshots=tuple(each.name for each in setup.snapshots),
            numbers=(len(setup.snapshots), surface.snapshots, more),
        )
