"""Panel: what the knobs show and send, and the voices that no note reaches."""

from __future__ import annotations

from collections.abc import Iterator

from knobpack.auditing import causes
from knobpack.auditing.findings import Finding
from knobpack.setup_as_read import Reading
from knobpack.words.knob_settings import LOW_HALF, RESERVED

LOW_HALVES = range(LOW_HALF, 2 * LOW_HALF)
"""They go with their high halves alone (MIDI 1.0, page 12)."""


def numbers(reading: Reading) -> Iterator[Finding]:
    """Numbers that carry no position, and those that two knobs send on one channel.

    A receiver cannot tell these apart.

    A knob for which no channel is given sends on those of the voices that it carries. Where those
    are not known either, it is only compared with knobs of which that is so, too.
    """
    sent: dict[tuple[int, int | None], list[str]] = {}
    panel = {knob: position for position, knob in enumerate(reading.carries)}
    sending = [each for each in reading.setup.sending if each.knob in panel]
    for each in sorted(sending, key=lambda each: panel[each.knob]):
        if each.number is not None and (each.number in RESERVED or each.number in LOW_HALVES):
            high = (each.number - LOW_HALF,) if each.number not in RESERVED else ()
            yield Finding(
                causes.NO_POSITION,
                causes.WRONG,
                "let it send another number",
                knobs=(each.knob,),
                numbers=(each.number, *high),
            )
        for channel in reading.channels[each.knob] or (None,):
            for number in each.numbers:
                sent.setdefault((number, channel), []).append(each.knob)
    for (number, channel), knobs in sent.items():
        if len(knobs) > 1:
            yield Finding(
                causes.SAME_NUMBER,
                causes.WRONG,
                "let each send a number of its own",
                knobs=tuple(knobs),
                numbers=(number,) if channel is None else (number, channel),
            )


def labels(reading: Reading) -> Iterator[Finding]:
    """Labels that the display cannot show, or that two knobs show, capitals aside."""
    setup, most = reading.setup, reading.setup.surface.label_length
    shown: dict[str, list[str]] = {}
    label = {each.knob: each.label for each in setup.labels}
    for knob in reading.carries:
        if knob in label:
            shown.setdefault(label[knob].casefold(), []).append(knob)
            if most is not None and len(label[knob]) > most:
                yield Finding(
                    causes.LONG_LABEL,
                    causes.DOUBTFUL,
                    f"shorten it to {most} or fewer",
                    knobs=(knob,),
                    numbers=(len(label[knob]), most),
                )
    for knobs in shown.values():
        if len(knobs) > 1:
            mend = "give each a label of its own"
            yield Finding(causes.SAME_LABEL, causes.DOUBTFUL, mend, knobs=tuple(knobs))


def stray(reading: Reading) -> Iterator[Finding]:
    """What is shown or sent by knobs that the surface does not have."""
    shown = (each.knob for each in reading.setup.labels)
    sent = (each.knob for each in reading.setup.sending)
    for knob in dict.fromkeys((*shown, *sent)):
        if knob in reading.carries:
            continue
        yield Finding(
            causes.STRAY_PANEL,
            causes.WRONG,
            "give it to a knob of the surface, or take it away",
            missing=(knob,),
        )


def unheard(reading: Reading) -> Iterator[Finding]:
    """Voices that answer to no key or velocity, or that are silent in all snapshots."""
    for voice in reading.setup.voices:
        if voice.keys is not None and not voice.sounding_keys:
            yield Finding(
                causes.NO_KEY,
                causes.DEAD,
                "set its highest key no lower than its lowest",
                voices=(voice.name,),
                numbers=(voice.keys.low, voice.keys.high),
            )
        if voice.velocities is not None and not voice.sounding_velocities:
            yield Finding(
                causes.NO_VELOCITY,
                causes.DEAD,
                "set its highest velocity above 0, and no lower than its lowest",
                voices=(voice.name,),
                numbers=(voice.velocities.low, voice.velocities.high),
            )
        stored = reading.setup.snapshots
        if stored and all(voice.name in each.silent for each in stored):
            mend = "let it sound in one, or take it away"
            yield Finding(causes.MUTED, causes.DEAD, mend, voices=(voice.name,))


def idle(reading: Reading) -> Iterator[Finding]:
    """Knobs that follow in a snapshot although they drive nothing, and those only said to."""
    for snapshot in reading.setup.snapshots:
        noted = set(snapshot.idle)
        none = tuple(k for k, names in reading.carries.items() if k in noted and not names)
        if none:
            it = "it" if len(none) == 1 else "them"
            yield Finding(
                causes.IDLE,
                causes.DEAD,
                f"switch {it} off there",
                knobs=none,
                snapshots=(snapshot.name,),
            )
        for knob, names in reading.carries.items():
            if knob in noted and names:
                yield Finding(
                    causes.NOT_IDLE,
                    causes.WRONG,
                    "take the note away",
                    knobs=(knob,),
                    destinations=names,
                    snapshots=(snapshot.name,),
                )
