"""Imported: what a controller list brought."""

from __future__ import annotations

from typing import ClassVar

import attrs

from knobpack.definition.phrases import many
from knobpack.midi.sent import Listening
from knobpack.text.shown import Fielded, Told
from knobpack.words import Group, Voice
from knobpack.words.names import listed


@attrs.frozen
class ListedController(Fielded):
    """One entry of a list: which controller it is, and what it became here.

    Args:
        title: its title, as a name.
        destination: the full name of what it drives, ``voice/destination``; None: it is none.
        channel: 1 to 256, counted across the Groups of the Function Block.
        ctrl_type: ``cc``, ``chPress``, ``pPress``, ``nrpn``, ``rpn``, ``pBend``, ``pnrc``, ``pnac``
            or ``pnp``.
        ctrl_index: of a cc its number, or the two of a pair, high half first; of a (registered)
            parameter MSB and LSB; empty for what has none.
        default: its default value, 0 to 2**32 - 1; None: none is said.
        significant_bits: how many bits of a value it uses, 1 to 32.
        transmit: ``absolute``, ``relative``, ``both`` or ``none``.
        recognize: the same.
        default_cc_map: whether the list marks it as one of the default controller map.
    """

    title: str
    destination: str | None
    channel: int
    ctrl_type: str
    ctrl_index: tuple[int, ...]
    default: int | None
    significant_bits: int
    transmit: str
    recognize: str
    default_cc_map: bool = False

    @property
    def controller(self) -> str:
        """Which controller it is, in short: ``cc 7 39``, ``nrpn 0 55``, ``pBend``."""
        return " ".join((self.ctrl_type, *map(str, self.ctrl_index)))

    @property
    def driven(self) -> bool:
        """Whether anything that is sent to it does anything."""
        return self.recognize != "none"

    def __str__(self) -> str:
        return f"{self.controller} on channel {self.channel}"


@attrs.frozen
class Imported(Told):
    """The voices of a controller list, ready to be allocated.

    No destination has a source knob: a list says what a voice listens to, not what drove it.

    Args:
        voices: one for each channel, in the order of the channels, which it has as its own where it
            is one of the first 16; destinations in the order of the list, which is the order of
            importance within a priority.
        listening: for each voice the controller numbers it answers to on its channel: both halves
            of a pair, and of a parameter those that carry it, so that no knob is sent on another.
        controllers: one for each entry of the list, in its order.
        groups: destinations of a voice whose paths begin alike. Where no snapshots are asked for,
            each group handed on gets one in which it moves alone.
        remarks: what was tolerated or left out.
        bits: the resolution that the travels are in, 2 to 32.

    Source:
        M2-117-UM 1.0, section 2.1.1.1 (the order of a list).
    """

    question: ClassVar[str] = "controller lists"

    voices: tuple[Voice, ...]
    listening: tuple[Listening, ...]
    controllers: tuple[ListedController, ...]
    groups: tuple[Group, ...]
    remarks: tuple[str, ...]
    bits: int

    @property
    def sentences(self) -> tuple[str, ...]:
        """What was brought, voice by voice, and then every remark."""
        count = many(sum(len(voice.destinations) for voice in self.voices), "destination")
        listing = many(len(self.controllers), "controller")
        found = [
            f"{many(len(self.voices), 'voice')} with {count} from {listing}, {self.bits} bits."
        ]
        for voice, heard in zip(self.voices, self.listening, strict=True):
            names = [each.name for each in voice.destinations]
            told = listed(names) if names else "nothing that a knob can drive"
            found.append(f"{voice.name} receives on channel {heard.channel}: {told}.")
        found += [f"Group {group.name}: {listed(group.members)}." for group in self.groups]
        return (*found, *self.remarks)
