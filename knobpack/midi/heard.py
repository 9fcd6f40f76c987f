"""Heard: positions and travels that were turned, put into a setup as an edit of it."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from typing import ClassVar, Final

import attrs

from knobpack.definition.phrases import travel_text
from knobpack.errors import InputError
from knobpack.midi.heeded import Heeded, heard_controls, longest, master_heard, sent_as
from knobpack.midi.knob_numbers import ControllerNumbers
from knobpack.midi.recordings import Control, Recording
from knobpack.positions import scaled
from knobpack.setups.as_read import read
from knobpack.setups.missed_travels import MissedTravel, alarming_in, missed_told
from knobpack.sheets import PatchSheet, patch_sheet
from knobpack.simulation.given import snapshot_named
from knobpack.text.shown import Told
from knobpack.words import KnobTravel, Setup, Snapshot, Travel, fields
from knobpack.words.names import listed
from knobpack.words.snapshot import storing

_TAKE_UP: Final = 4
"""A first step of more than this part of the range is no turn (common practice, no source)."""


@attrs.frozen
class Heard(Told):
    """A setup into which was put what was heard.

    Args:
        before: the setup as it was.
        setup: the setup as it is now.
        done: what was put into it, in sentences.
        notes: what was heard of no knob, what was not heard, and how halves were paired.
    """

    question: ClassVar[str] = "heard"

    before: Setup = attrs.field(repr=False)
    setup: Setup = attrs.field(repr=False)
    done: tuple[str, ...]
    notes: tuple[str, ...] = ()

    @property
    def stood(self) -> Setup:
        """Against what it is told what is set otherwise: the setup as it was."""
        return self.before

    @property
    def sheet(self) -> PatchSheet:
        """What to program, step by step, to turn the setup as it was into this one."""
        return patch_sheet(self.before, self.setup)

    @property
    def sentences(self) -> tuple[str, ...]:
        """What must be known of travels, what was put into the setup, then the notes."""
        alarming = (f"{told}." for told in missed_told(self.alarming))
        return (*alarming, *(self.done or ("Nothing was put into the setup.",)), *self.notes)

    @property
    def alarming(self) -> tuple[MissedTravel, ...]:
        """What must be known of travels before the first note, unlike before."""
        return tuple(each for each in alarming_in(self.before, self.setup) if each.had)


def hear_positions(
    setup: Setup,
    recording: Recording,
    snapshot: str | Snapshot,
    *,
    numbers: Mapping[str, Heeded] | ControllerNumbers | None = None,
) -> Heard:
    """Store in a snapshot where knobs were left in a recording.

    A position is scaled once from its 7 or 14 bits to the resolution of the surface: 64 of 127 is
    512 of 1023. A knob that follows the master in the snapshot has no position there.

    Args:
        setup: the setup in use.
        recording: what was recorded.
        snapshot: the snapshot, or its name.
        numbers: for each knob that counts, by its name, what it is heard on; None: what the setup
            says that its knobs send. It is heard on the channels that it sends on, where known.

    Returns:
        The new setup, what was stored, and the sheet to program it from.

    Raises:
        InputError: an argument is of another type or names what is not there, or no knob has a
            number.

    Source:
        M2-115-U 1.0.2, section 3 (positions at other resolutions).

    Example:
        >>> from knobpack import Destination, Route, Setup, Snapshot, Surface, Voice
        >>> from knobpack.words import KnobSending
        >>> from knobpack.midi import Control, Recording, hear_positions
        >>> organ = Voice("Organ", (Destination("level"),), layer=1)
        >>> setup = Setup(
        ...     "Evening set",
        ...     Surface.row(1, bits=10),
        ...     voices=(organ,),
        ...     routes=(Route("Organ/level", "K1"),),
        ...     snapshots=(Snapshot("Still"),),
        ...     sending=(KnobSending("K1", 16),),
        ... )
        >>> recording = Recording((Control(1, 16, None, 7, ((0, 20), (9, 64))),))
        >>> print(hear_positions(setup, recording, "Still"))
        In 'Still' K1 is put at 512, which was not known before.
    """
    call = "hear_positions"
    reading = read(setup, f"{call}.setup")
    wanted = snapshot_named(f"{call}.snapshot", reading, snapshot)
    if reading.assumed:
        raise InputError(f"{call}.snapshot", snapshot, "the setup stores no snapshot; add one")
    fields.check_kind(f"{call}.recording", recording, Recording)
    master = master_heard(recording, numbers)
    heard, notes = heard_controls(call, reading, recording, numbers, master)
    follows = set(reading.play(wanted).follows)
    stored, done = wanted.stored, []
    for knob, control in heard.items():
        if knob in follows:
            continue
        position = scaled(control.last, control.bits, setup.surface.bits)
        was = stored.get(knob)
        before = "which was not known before" if was is None else f"and was at {was}"
        before = "as before" if was == position else before
        done.append(f"In '{snapshot}' {knob} is put at {position}, {before}.")
        stored[knob] = position
    moving = [knob for knob in heard if knob in follows]
    told, have = ("follows", "it has") if len(moving) == 1 else ("follow", "they have")
    told = f"{listed(moving)} {told} the master in '{snapshot}': {have} no position there."
    changed = tuple(
        storing(each, stored) if each.name == snapshot else each for each in setup.snapshots
    )
    after = attrs.evolve(setup, snapshots=changed)
    return Heard(setup, after, tuple(done), (*([told] if moving else []), *notes))


def hear_travels(
    setup: Setup,
    recording: Recording,
    *,
    numbers: Mapping[str, Heeded] | ControllerNumbers | None = None,
    master_number: Heeded | None = None,
) -> Heard:
    """Set the travels of knobs to the ways over which they were turned.

    Where the master was recorded too, a travel goes from where the knob stood with the master at
    its lowest to where it stood with it at its highest. Else it goes between the two ends that the
    knob was turned to, from the one that it came to first. A first step of more than a quarter of
    the range is a knob being taken up and no turn.

    Args:
        setup: the setup in use.
        recording: what was recorded.
        numbers: for each knob that counts, by its name, what it is heard on; None: what the setup
            says that its knobs send. It is heard on the channels that it sends on, where known.
        master_number: what the master is heard on; None: it was not recorded, or ``numbers`` says
            it.

    Returns:
        The new setup, what was set, and the sheet to program it from.

    Raises:
        InputError: an argument is of another type or names what is not there, no knob has a
            number, the master is not in the recording, or the surface sets travels on routes.

    Source:
        M2-115-U 1.0.2, section 3 (positions at other resolutions).

    Example:
        >>> from knobpack import Destination, Route, Setup, Surface, Voice
        >>> from knobpack.midi import Control, Recording, hear_travels
        >>> organ = Voice("Organ", (Destination("tone"),), layer=1)
        >>> routes = (Route("Organ/tone", "K1"),)
        >>> setup = Setup("Evening set", Surface.row(1), voices=(organ,), routes=routes)
        >>> turned = ((0, 90), (5, 100), (300, 60), (600, 20), (650, 30))
        >>> recording = Recording((Control(1, 16, None, 7, turned),))
        >>> print(hear_travels(setup, recording, numbers={"K1": 16}))
        Organ/tone is turned round on K1: 100 to 20 (reversed, 63 %), before 0 to 127 (full).
        K1 goes from 100 to 20 (reversed, 63 %); before, no travel was set.
    """
    call = "hear_travels"
    reading = read(setup, f"{call}.setup")
    fields.check_kind(f"{call}.recording", recording, Recording)
    if setup.surface.per_route:
        right = "this surface sets the travel on each route, and a knob of it goes all the way"
        raise InputError(f"{call}.setup", setup.name, right)
    master = None
    if master_number is not None:
        where = f"{call}.master_number"
        master = longest(recording, sent_as(where, master_number))
        if master is None:
            raise InputError(where, master_number, "it is not in the recording; leave it out")
    else:
        master = master_heard(recording, numbers)
    heard, others = heard_controls(call, reading, recording, numbers, master)
    travels = {each.knob: each.travel for each in setup.travels}
    done: list[str] = []
    notes: list[str] = []
    for knob, control in heard.items():
        if master is None:
            ends = _ends(control, knob, notes)
        else:  # where it stood with the master at its lowest, and at its highest
            ends = _beside(control, master, min), _beside(control, master, max)
        start, end = (scaled(value, control.bits, setup.surface.bits) for value in ends)
        if start == end:
            notes.append(f"{knob} was not turned: its travel stays.")
            continue
        was = travels.get(knob)
        before = "before, no travel was set" if was is None else f"before, {was}"
        if was == Travel(start, end):
            before = "as before"
        travels[knob] = Travel(start, end)
        told = travel_text(travels[knob], setup.surface.top)
        done.append(f"{knob} goes from {told}; {before}.")
    placed = tuple(KnobTravel(knob, travel) for knob, travel in travels.items())
    return Heard(setup, attrs.evolve(setup, travels=placed), tuple(done), (*notes, *others))


def _beside(control: Control, master: Control, end: Callable[[Iterable[int]], int]) -> int:
    """Where a knob stood while the master was last at an end of its way."""
    extreme = end([value for _, value in master.positions])
    at = max(place for place, (_, value) in enumerate(master.positions) if value == extreme)
    until = master.positions[at + 1][0] if at + 1 < len(master.positions) else None
    before = [value for time, value in control.positions if until is None or time < until]
    return before[-1] if before else control.positions[0][1]


def _ends(control: Control, knob: str, notes: list[str]) -> tuple[int, int]:
    """The two ends that a knob was turned to, the one first that it came to first."""
    values = [value for _, value in control.positions]
    if len(values) > 1 and abs(values[1] - values[0]) * _TAKE_UP > (1 << control.bits) - 1:
        notes.append(
            f"{knob} first sent {values[0]}, then leapt to {values[1]}: as no hand turns so fast, "
            f"{values[0]} does not count."
        )
        del values[0]
    low, high = min(values), max(values)
    if {low, high} == set(values) == {0, (1 << control.bits) - 1}:
        notes.append(f"{knob} was only at its two ends: it may be a switch.")
    return (low, high) if values.index(low) < values.index(high) else (high, low)
