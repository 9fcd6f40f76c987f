"""What the knobs show and send, voices that no note reaches, and more than there is room for."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import count

from knobpack.auditing import causes
from knobpack.auditing.findings import Finding
from knobpack.definition.phrases import many
from knobpack.grouped import grouped
from knobpack.setups.as_read import Reading
from knobpack.words import Setup
from knobpack.words.knob_settings import LOW_HALF, RESERVED
from knobpack.words.names import close, quoted

LOW_HALVES = range(LOW_HALF, 2 * LOW_HALF)
"""They go with their high halves alone (MIDI 1.0, page 12)."""


def numbers(reading: Reading) -> Iterator[Finding]:
    """Numbers that carry no position, and those that two knobs send on one channel.

    A receiver cannot tell these apart.

    A knob for which no channel is given sends on those of the voices that it carries. Where those
    are not known either, it is only compared with knobs of which that is so, too.
    """
    panel = {knob: position for position, knob in enumerate(reading.carries)}
    sending = [each for each in reading.setup.sending if each.knob in panel]
    sending.sort(key=lambda each: panel[each.knob])
    for each in sending:
        if each.number is not None and (each.number in RESERVED or each.number in LOW_HALVES):
            high = (each.number - LOW_HALF,) if each.number not in RESERVED else ()
            sent = (each.number, *high)
            yield Finding(causes.NO_POSITION, knobs=(each.knob,), numbers=sent)
    senders = grouped(
        ((number, channel), each.knob)
        for each in sending
        for channel in reading.channels[each.knob] or (None,)
        for number in each.numbers
    )
    for (number, channel), knobs in senders.items():
        if len(knobs) > 1:
            sent = (number,) if channel is None else (number, channel)
            yield Finding(causes.SAME_NUMBER, knobs=tuple(knobs), numbers=sent)


def labels_shown(reading: Reading) -> Iterator[Finding]:
    """Labels that the display cannot show, or that two knobs show, capitals aside."""
    setup, most = reading.setup, reading.setup.surface.label_length
    given = {each.knob: each.label for each in setup.labels}
    label = {knob: given[knob] for knob in reading.carries if knob in given}
    for knob, shown in label.items():
        if most is not None and len(shown) > most:
            mend = f"shorten it to {most} or fewer"
            yield Finding(causes.LONG_LABEL, mend, knobs=(knob,), numbers=(len(shown), most))
    for knobs in grouped((shown.casefold(), knob) for knob, shown in label.items()).values():
        if len(knobs) > 1:
            yield Finding(causes.SAME_LABEL, knobs=tuple(knobs))


def stray(reading: Reading) -> Iterator[Finding]:
    """What is shown or sent by knobs that the surface does not have."""
    shown = (each.knob for each in reading.setup.labels)
    sent = (each.knob for each in reading.setup.sending)
    for knob in dict.fromkeys((*shown, *sent)):
        if knob not in reading.carries:
            yield Finding(causes.STRAY_PANEL, missing=(knob,))


def unheard(reading: Reading) -> Iterator[Finding]:
    """Voices that answer to no key or velocity, or that are silent in all snapshots."""
    for voice in reading.setup.voices:
        for cause, given, sounding in (
            (causes.NO_KEY, voice.keys, voice.sounding_keys),
            (causes.NO_VELOCITY, voice.velocities, voice.sounding_velocities),
        ):
            if given is not None and not sounding:
                yield Finding(cause, voices=(voice.name,), numbers=(given.low, given.high))
        stored = reading.setup.snapshots
        if stored and all(voice.name in each.silent for each in stored):
            yield Finding(causes.MUTED, voices=(voice.name,))


def idle(reading: Reading) -> Iterator[Finding]:
    """Knobs that follow in a snapshot although they drive nothing, and those only said to."""
    for snapshot in reading.setup.snapshots:
        named = set(snapshot.idle)
        noted = {knob: names for knob, names in reading.carries.items() if knob in named}
        none, of = tuple(knob for knob in noted if not noted[knob]), (snapshot.name,)
        if none:
            mend = f"switch {'it' if len(none) == 1 else 'them'} off there"
            yield Finding(causes.IDLE, mend, knobs=none, snapshots=of)
        for knob, names in noted.items():
            if names:
                yield Finding(causes.NOT_IDLE, knobs=(knob,), destinations=names, snapshots=of)


def layers(reading: Reading) -> Iterator[Finding]:
    """Voices that stand at one layer, or at one that the surface does not have."""
    setup, most = reading.setup, reading.setup.surface.layers
    free = _free_layers(setup)
    at = grouped((voice.layer, voice.name) for voice in setup.voices if voice.layer is not None)
    for voice in setup.voices:
        if voice.layer is not None and most is not None and voice.layer > most:
            at.pop(voice.layer, None)
            yield Finding(
                causes.LAYER_BEYOND,
                _moved((voice.name,), free),
                voices=(voice.name,),
                numbers=(voice.layer, most),
                free_layers=_given((voice.name,), free),
            )
    for layer, names in at.items():
        if len(names) > 1:
            yield Finding(
                causes.SHARED_LAYER,
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
                f"route {len(names) - most} of them to other knobs, or take them off",
                knobs=(knob,),
                destinations=names,
                numbers=(len(names), most, len(names) - most),
            )
    if surface.routes is not None and len(setup.routes) > surface.routes:
        more = len(setup.routes) - surface.routes
        yield Finding(
            causes.ROUTES,
            f"take {many(more, 'route')} away, first those that do nothing",
            numbers=(len(setup.routes), surface.routes, more),
        )
    if surface.snapshots is not None and len(setup.snapshots) > surface.snapshots:
        more = len(setup.snapshots) - surface.snapshots
        yield Finding(
            causes.SNAPSHOTS,
            f"take {many(more, 'snapshot')} away, first those that do nothing new",
            snapshots=tuple(each.name for each in setup.snapshots),
            numbers=(len(setup.snapshots), surface.snapshots, more),
        )
