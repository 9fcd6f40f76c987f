"""Sweeps: a snapshot with the master swept, as a Standard MIDI File to be heard or checked."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from functools import cached_property

import attrs

from knobpack.definition.phrases import CAUTION
from knobpack.errors import InputError
from knobpack.heavy_imports import load
from knobpack.midi.held_notes import Note, midi_file, notes_of
from knobpack.midi.knob_numbers import ControllerNumbers
from knobpack.midi.sent import Numbers, own_sent
from knobpack.midi.sweep_streams import (
    LONGEST,
    SHORTEST,
    Stream,
    Timing,
    events,
    streams_of,
    timing,
)
from knobpack.midi.sweep_told import Swept, starting
from knobpack.positions.resolution import scaled, scaled_array
from knobpack.setups.as_read import Reading, read
from knobpack.setups.response import nearest_array, positions_at
from knobpack.simulation.given import Standing, by_hand, snapshot_named, standing
from knobpack.storage.disk import numbered_name
from knobpack.text.shown import Told
from knobpack.words import Setup, Snapshot, Travel, fields


@attrs.frozen
class SweepFile(Told):
    """A Standard MIDI File that sweeps the master through one snapshot and back.

    Args:
        setup: the name of the setup.
        snapshot: the name of the snapshot.
        file_name: what the file is called where it is saved to a folder; no two snapshots of a
            setup have the same.
        timing: when the master stands where.
        data: the file.
        sentences: what it does, what it leaves out, and a caution where it can be loud.
    """

    setup: str
    snapshot: str
    file_name: str
    timing: Timing = attrs.field(repr=False)
    data: bytes = attrs.field(repr=False)
    sentences: tuple[str, ...] = attrs.field(repr=False)

    @property
    def moments(self) -> tuple[tuple[int, int], ...]:
        """Every position of the master: when, in milliseconds from the start, and where.

        All that a position asks for is sent at that moment. So from then until the next, every
        knob stands where :func:`knobpack.simulation.sweep` puts it for that position of the master.
        """
        return tuple(self.timing.moments)

    @property
    def loud(self) -> bool:
        """Whether it can be loud: it moves or sets levels, or plays notes; a caution says so."""
        return any(CAUTION in each for each in self.sentences)


def sweep_file(
    setup: Setup,
    snapshot: str | Snapshot,
    numbers: Mapping[str, Numbers] | ControllerNumbers | None = None,
    *,
    channel: int | None = None,
    master_number: Numbers | None = None,
    seconds: float = 8.0,
    notes: bool = False,
    start: Mapping[str, int] | None = None,
) -> SweepFile:
    """Write a file that sweeps the master from bottom to top and back, with all that follows it.

    It is of format 0. At its start every knob that has a number is set to where it stands, those
    that are held first, and a text event says where those stand; the master moves a second later.
    A knob that is held where no one knows is set to the start of its travel, or to the lower end
    if a level is on it, and told. Every knob that follows sends its
    position whenever it is a new one. Positions are those of :func:`knobpack.simulation.sweep`,
    scaled once from the resolution of the surface to 7 or 14 bits (down: shifted).

    A line of MIDI 1.0 carries 1,042 messages a second. Where all positions of the master would
    ask for more than 1,000, it stands at fewer, spread evenly, and ``sentences`` says so.

    Args:
        setup: what is programmed. Its faults are taken as a sweep takes them.
        snapshot: the snapshot, or its name; where none is stored, there is ``everything``.
        numbers: for each name of a knob a controller number, for 7 bits, or two, for 14: the coarse
            half (MSB) and the fine one (LSB), higher by 32. A knob without one is not sent. What
            :func:`controller_numbers` gives back stands for the master's as well, and for the
            channels. None: what the setup says that its knobs really send.
        channel: 1 to 16, for all that is sent. None: each knob sends on its own, or on those of the
            voices that it drives, as ``numbers`` or the setup says; on 1 where nothing is said.
        master_number: the same for the master; None: as ``numbers`` says, or it is not sent.
        seconds: how long the sweep takes, 1 to 600, to the nearest of 2 ms.
        notes: whether something is to sound: the key of each voice that sounds nearest to middle C
            is held, struck moderately, on the channel of its voice, and ended; a voice that is
            silent in the snapshot has none.
        start: for each name of a knob where it stands that is held, 0 to 2**bits - 1, in place of
            where the snapshot puts it.

    Returns:
        The file, with what it does in sentences; nothing is saved.

    Raises:
        InputError: an argument is of another type or out of range, names what the setup does not
            have, or two knobs would be heard on one number.
        MissingExtra: mido is not installed.

    Source:
        M2-115-U 1.0.2, section 3 (positions at 7 and 14 bits); MIDI 1.0 Detailed Specification,
        page 12 (a high half is sent before its low half), Table II (keys, velocities).

    Example:
        >>> from knobpack import Destination, KnobTravel, Route, Setup, Snapshot
        >>> from knobpack import Surface, Travel, Voice
        >>> from knobpack.midi import sweep_file
        >>> piano = Voice("Felt piano", (Destination("level"),), layer=1)
        >>> setup = Setup(
        ...     "Evening set",
        ...     Surface.row(2),
        ...     voices=(piano,),
        ...     routes=(Route("Felt piano/level", "K1"),),
        ...     travels=(KnobTravel("K1", Travel(20, 100)),),
        ...     snapshots=(Snapshot("Swell", ("Felt piano",)), Snapshot("Still")),
        ... )
        >>> file = sweep_file(setup, "Swell", {"K1": 16}, seconds=2)
        >>> file.file_name
        '01 Swell.mid'
        >>> file.data[:4]
        b'MThd'
    """
    args = (numbers, channel, master_number, seconds, notes, start)
    sweeps = _Sweeps("sweep_file", read(setup, "sweep_file.setup"), *args)
    return sweeps.file(snapshot_named("sweep_file.snapshot", sweeps.reading, snapshot))


def sweep_files(
    setup: Setup,
    numbers: Mapping[str, Numbers] | ControllerNumbers | None = None,
    *,
    channel: int | None = None,
    master_number: Numbers | None = None,
    seconds: float = 8.0,
    notes: bool = False,
    start: Mapping[str, int] | None = None,
) -> tuple[SweepFile, ...]:
    """The files of all snapshots, in their order, each as :func:`sweep_file` makes it.

    Args:
        setup: what is programmed.
        numbers: as there.
        channel: as there.
        master_number: as there.
        seconds: as there.
        notes: as there.
        start: as there.

    Returns:
        A file for each snapshot; where none is stored, one for ``everything``.

    Raises:
        InputError: an argument is of another type or out of range, names what the setup does not
            have, or two knobs would be heard on one number.
        MissingExtra: mido is not installed.

    Example:
        >>> from knobpack import Destination, KnobTravel, Route, Setup, Snapshot
        >>> from knobpack import Surface, Travel, Voice
        >>> from knobpack.midi import sweep_files
        >>> piano = Voice("Felt piano", (Destination("level"),), layer=1)
        >>> setup = Setup(
        ...     "Evening set",
        ...     Surface.row(2),
        ...     voices=(piano,),
        ...     routes=(Route("Felt piano/level", "K1"),),
        ...     travels=(KnobTravel("K1", Travel(20, 100)),),
        ...     snapshots=(Snapshot("Swell", ("Felt piano",)), Snapshot("Still")),
        ... )
        >>> [file.file_name for file in sweep_files(setup, {"K1": 16}, seconds=2)]
        ['01 Swell.mid', '02 Still.mid']
    """
    args = (numbers, channel, master_number, seconds, notes, start)
    sweeps = _Sweeps("sweep_files", read(setup, "sweep_files.setup"), *args)
    return tuple(map(sweeps.file, sweeps.reading.snapshots))


@attrs.frozen
class _Sweeps:
    """The files of a setup, by what was asked of ``call``."""

    call: str
    reading: Reading
    numbers: Mapping[str, Numbers] | ControllerNumbers | None
    channel: int | None
    master_number: Numbers | None
    seconds: float
    notes: bool
    start: Mapping[str, int] | None

    def __attrs_post_init__(self) -> None:
        if self.channel is not None:
            fields.check_whole(f"{self.call}.channel", self.channel, 1, 16)
        number = isinstance(self.seconds, int | float) and not isinstance(self.seconds, bool)
        if not number or not SHORTEST <= self.seconds <= LONGEST:
            right = f"give a number of seconds from {SHORTEST} to {LONGEST}"
            raise InputError(f"{self.call}.seconds", self.seconds, right)
        for snapshot in self.reading.snapshots:
            self.held_notes(snapshot)

    @cached_property
    def streams(self) -> tuple[Stream | None, tuple[Stream, ...]]:
        """What is sent: of the master, and of the knobs; those that are endless are not."""
        given, master_number, reading = self.numbers, self.master_number, self.reading
        channels = dict(reading.channels)
        if given is None:
            given = {k: each.numbers for k, each in own_sent(reading).items() if each.numbers}
        elif isinstance(given, ControllerNumbers):
            master_number = master_number or given.master_number
            channels |= {k.knob: k.channels for k in given.knobs if k.knob in channels}
            given = given.numbers
        master, knobs = streams_of(self.call, channels, given, master_number, self.channel)
        return master, tuple(each for each in knobs if each.who not in reading.endless)

    @cached_property
    def hand(self) -> dict[str, int]:
        """Where knobs stand by hand."""
        return by_hand(f"{self.call}.start", self.reading, self.start)

    def held_notes(self, snapshot: Snapshot) -> tuple[Note, ...]:
        """What is held in a snapshot."""
        where = f"{self.call}.notes"
        return notes_of(where, self.reading.setup, snapshot, self.notes, self.channel)

    def file(self, snapshot: Snapshot) -> SweepFile:
        """The file of a snapshot."""
        reading, setup = self.reading, self.reading.setup
        play = reading.play(snapshot)
        bits, top = setup.surface.bits, setup.surface.top
        held = standing("start", reading, play, self.hand)
        ways = list(self._ways(held, top))
        times = timing(top, round(self.seconds * 500), sum(_burst(*way, bits) for way in ways))
        streams = [attrs.evolve(each, values=_values(each, way, bits, times)) for each, way in ways]
        place = 1 + reading.snapshots.index(snapshot)
        notes = self.held_notes(snapshot)
        return SweepFile(
            setup=setup.name,
            snapshot=snapshot.name,
            file_name=numbered_name(place, len(reading.snapshots), snapshot.name, ".mid"),
            timing=times,
            data=midi_file(
                f"{setup.name}: {snapshot.name}",
                events(times, streams),
                times.end,
                text=starting(setup, self.streams[1], held),
                notes=notes,
            ),
            sentences=Swept(reading, play, streams, times, held.supposed, notes).sentences,
        )

    def _ways(self, held: Standing, top: int) -> Iterator[tuple[Stream, Travel]]:
        """Over what all go that are sent, in the order in which they are; what is held stays."""
        at, (master, knobs) = held.positions, self.streams
        yield from ((k, Travel(at[k.who], at[k.who])) for k in knobs if k.who in at)
        if master is not None:
            yield master, Travel(0, top)
        yield from ((k, self.reading.goes[k.who]) for k in knobs if k.who not in at)


def _burst(stream: Stream, way: Travel, bits: int) -> int:
    """How many messages a position of the master asks for, at most."""
    start, end = (scaled(at, bits, stream.sent.bits) for at in (way.start, way.end))
    return len(stream.messages(end, start))


def _values(stream: Stream, way: Travel, bits: int, times: Timing) -> tuple[int, ...]:
    """What is sent on the way up, the master standing at so many points."""
    load("numpy")
    import numpy as np

    if way.empty:
        return (scaled(way.start, bits, stream.sent.bits),)
    points = np.arange(times.points, dtype=np.uint64)
    master = nearest_array(points, times.top, times.points - 1)
    positions = positions_at(way, master, times.top)
    return tuple(scaled_array(positions, bits, stream.sent.bits).tolist())
