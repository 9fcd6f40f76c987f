"""Sweep told: what is in a sweep file, in sentences."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence

import attrs

from knobpack.auditing.audit import taken_otherwise
from knobpack.definition.phrases import CAUTION, first_of, levels_told, many
from knobpack.midi.held_notes import Note
from knobpack.midi.sent import MASTER
from knobpack.midi.sweep_streams import LONGEST, Stream, Timing
from knobpack.setups.as_read import Play, Reading
from knobpack.simulation.given import Standing, places_told
from knobpack.words import Setup
from knobpack.words.loudness import level_like
from knobpack.words.names import knob_told, knobs_told, listed


def starting(setup: Setup, knobs: Sequence[Stream], held: Standing) -> str:
    """Where the knobs stand that are sent and held, in positions; nothing where there is none."""
    sent = dict.fromkeys(each.who for each in knobs if each.who in held.positions)
    places = ((knob, f"{knob_told(knob)} at {held.positions[knob]}") for knob in sent)
    told = places_told(places, held.supposed, "Held", "Not known, set", most=len(sent))
    return " ".join(f"{each}, of {setup.surface.top}." for each in told)


@attrs.frozen
class Swept:
    """What a file does, what it leaves out, and a caution where it can be loud.

    Args:
        reading: the setup as it is read.
        play: what the master does in the snapshot.
        streams: all that is sent.
        timing: when the master stands where.
        supposed: the knobs of which it is not known where they are held.
        notes: what is held.
    """

    reading: Reading
    play: Play
    streams: Sequence[Stream]
    timing: Timing
    supposed: Collection[str]
    notes: Sequence[Note]

    @property
    def sentences(self) -> tuple[str, ...]:
        """All of it, the caution last."""
        return (
            self._summary(),
            *first_of(list(self._following()), "more knob", " that follow"),
            *self._others(),
            *self._not_sent(),
            *self._coarser(),
            *self._held(),
            *self._recall(),
            *first_of(taken_otherwise(self.reading, self.play.snapshot.name), "more remark"),
            *self._caution(),
        )

    def _summary(self) -> str:
        count, whole = len(self.play.follows), many(len(self.reading.goes), "knob")
        way = f"the master goes from bottom to top and back in {self.timing.half / 500:g} s"
        verb = "follows" if count == 1 else "follow"
        return f"Snapshot {self.play.snapshot.name!r}: {way}; {count} of {whole} {verb}."

    def _on(self, stream: Stream) -> str:
        """What it is sent on, with the channel where it is not 1 for all."""
        told = {each.channel for each in self.streams} != {1}
        return f"{stream.sent}{f' on channel {stream.channel}' if told else ''}"

    def _following(self) -> Iterator[str]:
        for each in self.streams:
            if each.who in self.play.follows:
                start, end = each.values[0], each.values[-1]
                way = f"from {start} to {end} and back" if each.moving else f"and stays at {start}"
                yield f"{each.who} is sent on {self._on(each)}, {way}."

    def _others(self) -> Iterator[str]:
        """Of the master, and of what is held."""
        for each in self.streams:
            if each.who == MASTER:
                yield f"The master is sent on {self._on(each)}."
        places = (
            (each.who, f"{each.who} at {each.values[0]} ({self._on(each)})")
            for each in self.streams
            if each.who not in (*self.play.follows, MASTER)
        )
        unknown = "Not known where it is held, so check it by ear; set at the start"
        for told in places_told(places, self.supposed, "Set at the start and then held", unknown):
            yield f"{told}."

    def _not_sent(self) -> Iterator[str]:
        endless = [knob for knob in self.reading.goes if knob in self.reading.endless]
        if endless:
            are = "it is endless and sends" if len(endless) == 1 else "they are endless and send"
            yield f"Not sent, because {are} changes alone: {listed(endless)}."
        known = {*endless, *(each.who for each in self.streams)}
        silent = [knob for knob in self.reading.goes if knob not in known]
        if silent:
            yield f"Not sent, for want of a number: {listed(silent)}."

    def _coarser(self) -> Iterator[str]:
        """Where the file is coarser than the surface."""
        bits, timing = self.reading.setup.surface.bits, self.timing
        sent = {each.who: each.sent.bits for each in self.streams}
        for width in (7, 14):
            coarse = [k for k in (*self.reading.goes, MASTER) if sent.get(k, bits) == width < bits]
            if coarse:
                names = listed([who or "the master" for who in coarse])
                yield f"Sent in {width} bits, where the surface has {bits}: {names}."
        if timing.points <= timing.top and any(each.moving for each in self.streams):
            most = (
                f"Each way the master stands at {timing.points:,} of its {timing.top + 1:,} "
                "positions, so that a line has to carry no more than 1,000 messages a second"
            )
            if all(each.in_steps for each in self.streams):
                yield f"{most}; no value that can be sent is left out."
            else:
                yield f"{most}. A longer sweep, of {LONGEST} s at most, is finer."

    def _held(self) -> Iterator[str]:
        """The notes, and the voices that have none because the snapshot silences them."""
        told = [
            f"Held throughout: {listed(each.voices)}, key {each.key} on channel {each.channel} at "
            f"velocity {each.velocity}."
            for each in self.notes
        ]
        yield from first_of(told, "more note")
        snapshot = self.play.snapshot
        there = [v.name for v in self.reading.setup.voices if v.name in snapshot.silent]
        if self.notes and there:
            yield f"Silent in {snapshot.name!r}, so without a note: {listed(there)}."

    def _recall(self) -> Iterator[str]:
        if any(each.who == MASTER for each in self.streams):
            yield f"Recall {self.play.snapshot.name!r} before you play it: the file does not."

    def _caution(self) -> Iterator[str]:
        """Where the file moves what can be loud, or sets it, or lets something sound."""
        reading, sent = self.reading, {each.who for each in self.streams}
        moving, still = [], []
        for knob, names in reading.carries.items():
            loud = {name for name in names if level_like(reading.destinations[name].kind)}
            moves = knob in self.play.follows and not loud.isdisjoint(reading.drives[knob])
            if moves and not sent.isdisjoint((knob, MASTER)):
                moving.append(knob)
            elif loud and knob in sent:
                still.append(knob)
        where = [f"move on {knobs_told(moving)}"] if moving else []
        where += [f"are set at the start on {knobs_told(still)}"] if still else []
        if where:
            yield levels_told(" and ".join(where))
        elif self.notes:
            yield f"The file plays notes by itself. {CAUTION}"
