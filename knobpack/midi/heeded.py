"""Heeded: which control of a recording is which knob's, or the master's."""

from __future__ import annotations

from collections.abc import Collection, Mapping

from knobpack.errors import InputError
from knobpack.midi.knob_numbers import ControllerNumbers
from knobpack.midi.recordings import Control, Recording, pairing
from knobpack.midi.sent import MASTER, Numbers, Sent, own_sent, sent_of
from knobpack.setups.as_read import Reading
from knobpack.words import fields
from knobpack.words.names import listed

Heeded = Numbers | Sent
"""What a knob is heard on: a controller number, the two of 14 bits, or what it is sent on."""


def heard_controls(
    call: str,
    reading: Reading,
    recording: Recording,
    numbers: object,
    also: Control | None = None,
) -> tuple[dict[str, Control], list[str]]:
    """The control of each knob that was heard, in panel order, and what else is to be said.

    ``also`` is the control of the master.
    """
    heeded = _heeded(f"{call}.numbers", reading, numbers)
    notes: list[str] = []
    heard, taken = {}, [also]
    for knob, (sent, channels) in heeded.items():
        found = _of(recording, sent, channels)
        taken += found
        if not found:
            continue
        if knob in reading.endless:
            notes.append(f"{knob} is endless and has no position: it was passed over.")
            continue
        heard[knob] = max(found, key=lambda each: len(each.positions))
        if len({each.last for each in found}) > 1:
            on = listed([str(each.channel) for each in found])
            told = f"{knob} was heard on channels {on}, and not the same"
            notes.append(f"{told}: channel {heard[knob].channel} counts.")
    missing = [knob for knob in heeded if knob not in {*heard, *reading.endless}]
    notes += [f"Not heard: {listed(missing)}."] if missing else []
    strange = [each.name for each in recording.controls if each not in taken]
    if missing or strange:  # so that it is seen whether it was another one that was meant
        whose = [f"{control.name} is {knob}'s" for knob, control in heard.items()]
        whose += [f"{also.name} is the master's"] if also is not None else []
        notes += [f"Heard: {listed(whose, len(whose))}."] if whose else []
    notes += [f"{name[0].upper()}{name[1:]} was heard, and is no knob's." for name in strange]
    return heard, [*notes, *pairing(heard.values()), *recording.remarks]


def _heeded(
    where: str, reading: Reading, numbers: object
) -> dict[str, tuple[Sent, Collection[int]]]:
    """What each knob is heard on, and on which channels; any, where there are none."""
    channels = reading.channels
    if numbers is None:
        own = own_sent(reading)
        if not own:
            right = "the setup does not say what its knobs send: give the number of each knob"
            raise InputError(where, None, right)
        found = {knob: (sent, channels[knob]) for knob, sent in own.items()}
    elif isinstance(numbers, ControllerNumbers):
        known = [each for each in numbers.knobs if each.sent.bits and each.knob in reading.carries]
        found = {each.knob: (each.sent, each.channels) for each in known}
    elif isinstance(numbers, Mapping):
        for knob in numbers:
            fields.check_named(where, knob, reading.carries, "name a knob of the surface")
        found = {
            knob: (sent_as(f"{where}[{knob!r}]", given), channels[knob])
            for knob, given in numbers.items()
        }
    else:
        raise InputError(where, numbers, "give a controller number for each name of a knob")
    return {knob: found[knob] for knob in reading.carries if knob in found}


def sent_as(where: str, given: object) -> Sent:
    """What something is sent on, of :data:`Heeded`."""
    return given if isinstance(given, Sent) else sent_of(where, given)


def _of(recording: Recording, sent: Sent, channels: Collection[int] = ()) -> list[Control]:
    """What was heard of what is sent so; on any channel, where none are known."""
    return [
        each
        for each in recording.controls
        if (each.number, each.parameter) == (sent.number, sent.parameter)
        and (not channels or each.channel in channels)
    ]


def master_heard(recording: Recording, numbers: object) -> Control | None:
    """What was heard of the master, where it is known what it is heard on; None: nothing."""
    if not isinstance(numbers, ControllerNumbers):
        return None
    known = [each.sent for each in numbers.knobs if each.knob == MASTER and each.sent.bits]
    return longest(recording, known[0]) if known else None


def longest(recording: Recording, sent: Sent) -> Control | None:
    """What was heard most of; None: nothing was."""
    return max(_of(recording, sent), key=lambda each: len(each.positions), default=None)
