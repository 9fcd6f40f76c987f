"""What snapshots tear and name wrongly; what knobs show and send; more than there is room for.

And voices that no note reaches.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from itertools import count

from knobpack.auditing import causes
from knobpack.auditing.findings import Finding
from knobpack.definition.phrases import many
from knobpack.grouped import grouped
from knobpack.setups.as_read import Play, Reading, TornKnob
from knobpack.words import Setup
from knobpack.words.knob_settings import LOW_HALF, RESERVED
from knobpack.words.names import close, knob_told, listed, quoted


def torn(reading: Reading) -> Iterator[Finding]:
    """Snapshots that move something and hold something else on one knob."""
    for each in reading.torn:
        yield Finding(
            causes.TORN,
            _untorn(reading, each),
            causes.WRONG if each.firm else causes.DOUBTFUL,
            knobs=(each.knob,),
            destinations=reading.carries[each.knob],
            snapshots=(each.play.snapshot.name,),
            wronged=each.wronged,
            numbers=(len(each.moved), len(each.held)),
        )


def _untorn(reading: Reading, torn: TornKnob) -> str:
    knob, wronged = torn.knob, torn.wronged
    other = f"route {listed(wronged)} to another knob than {knob_told(knob)}"
    if reading.assumed:
        return f"{other}, or store the snapshots that are wanted"
    it = "it" if len(wronged) == 1 else "them"
    if knob not in torn.play.follows:
        return f"{other}, or let the snapshot hold {it}"
    if reading.fixed(wronged):
        return f"{other}, or let the snapshot hold all that {knob_told(knob)} carries"
    return f"{other}, or let the snapshot move {it} too"


def same_or_silent(reading: Reading) -> Iterator[Finding]:
    """Snapshots that do nothing, and those that move, place and silence the same."""
    if reading.assumed:
        return
    voices = {voice.name for voice in reading.setup.voices}
    doing: list[tuple[tuple[object, ...], Play]] = []
    for play in reading.plays:
        name, puts = play.snapshot.name, frozenset(reading.puts(play).items())
        silent = voices.intersection(play.snapshot.silent)
        if play.works:
            doing.append(((play.works, puts, frozenset(silent)), play))
        elif not puts and not silent:
            yield Finding(causes.SILENT, snapshots=(name,))
    for alike in grouped(doing).values():
        if len(alike) > 1:
            names = tuple(play.snapshot.name for play in alike)
            mend = f"keep '{names[0]}' alone, or change what the others move"
            yield Finding(causes.IDENTICAL, mend, knobs=alike[0].works, snapshots=names)


def positions(reading: Reading) -> Iterator[Finding]:
    """Stored positions that cannot be, or that do nothing because their knob follows."""
    if reading.assumed:
        return
    top = reading.setup.surface.top
    for play in reading.plays:
        of = (play.snapshot.name,)
        for each in play.snapshot.positions:
            at = (each.position,)
            if each.knob not in reading.carries:
                missing = (each.knob,)
                yield Finding(causes.STRAY_POSITION, snapshots=of, missing=missing, numbers=at)
                continue
            of_knob = partial(
                Finding,
                knobs=(each.knob,),
                destinations=reading.carries[each.knob],
                snapshots=of,
            )
            if each.position > top:
                mend = f"store one from 0 to {top}"
                yield of_knob(causes.POSITION_OUTSIDE, mend, numbers=(*at, top))
            if each.knob in play.follows:
                yield of_knob(causes.IDLE_POSITION, numbers=at)


def unknown_names(reading: Reading) -> Iterator[Finding]:
    """Snapshots and groups that name what is not there, or not movable."""
    setup = reading.setup
    voices = {voice.name for voice in setup.voices}
    for snapshot in setup.snapshots:
        lost = (
            *reading.unknown(snapshot.moves),
            *(name for name in snapshot.silent if name not in voices),
            *(knob for knob in snapshot.idle if knob not in reading.carries),
        )
        missing = tuple(dict.fromkeys(lost))
        if missing:
            of, mend = (snapshot.name,), _put_right(missing)
            yield Finding(causes.SNAPSHOT_NAMES, mend, snapshots=of, missing=missing)
        fixed = reading.fixed(name for name in snapshot.moves if name in reading.destinations)
        if fixed:
            it = "it" if len(fixed) == 1 else "them"
            mend = f"leave {it} out of the snapshot, or let {it} be movable"
            yield Finding(causes.IMMOVABLE, mend, destinations=fixed, snapshots=(snapshot.name,))
    for group in setup.groups:
        missing = reading.unknown(group.members)
        if missing:
            of, mend = (group.name,), _put_right(missing)
            yield Finding(causes.GROUP_NAMES, mend, groups=of, missing=missing)


def _put_right(missing: tuple[str, ...]) -> str:
    if len(missing) == 1:
        return f"take the name {quoted(missing)} away, or put it right"
    return f"take the names {quoted(missing)} away, or put them right"


def circles(reading: Reading) -> Iterator[Finding]:
    """Groups that hold themselves, directly or through others."""
    for inside in reading.circles:
        mend = f"take {quoted(inside)} out of itself"
        if len(inside) > 1:
            mend = "take one out of the other, so that none holds itself through others"
        yield Finding(causes.CIRCLE, mend, groups=inside)


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
            yield _misplaced(causes.LAYER_BEYOND, [voice.name], 0, free, voice.layer, most)
    for layer, names in at.items():
        if len(names) > 1:
            yield _misplaced(causes.SHARED_LAYER, names, 1, free, layer)


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


def _misplaced(
    cause: str, voices: list[str], stay: int, free: dict[str, int], *numbers: int
) -> Finding:
    """What is amiss with voices, all but the first ``stay`` of which must leave their layer."""
    placed = {name: free[name] for name in voices[stay:] if name in free}
    mend = [f"put '{name}' at layer {layer}" for name, layer in placed.items()]
    out = [name for name in voices[stay:] if name not in free]
    mend += [f"leave {quoted(out)} out, as no layer is free"] if out else []
    return Finding(
        cause,
        ", ".join(mend) + _slip(voices),
        voices=tuple(voices),
        numbers=numbers,
        free_layers=tuple(placed.values()),
    )


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
    stored = tuple(each.name for each in setup.snapshots)
    for cause, what, nothing, given, room, names in (
        (causes.ROUTES, "route", "nothing", setup.routes, surface.routes, ()),
        (causes.SNAPSHOTS, "snapshot", "nothing new", stored, surface.snapshots, stored),
    ):
        if room is not None and len(given) > room:
            more = len(given) - room
            mend = f"take {many(more, what)} away, first those that do {nothing}"
            yield Finding(cause, mend, snapshots=names, numbers=(len(given), room, more))
