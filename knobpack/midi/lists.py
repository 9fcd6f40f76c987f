"""Lists: voices from the controller lists that instruments give of themselves.

After M2-117-UM v1.0 (MIDI-CI Property Exchange, controller resources): AllCtrlList (section 2),
ChCtrlList (section 3) and CtrlMapList (section 4). All values there have 32 bits (section 1.5).

**Refused**, with the field that holds it, because what follows could only be guessed, or would be
wrong on stage:

- text that is not JSON, a trailing comma or a key without quotes included: to mend it is to guess
  what was meant; the error says line and column. A key given twice, deep nesting, half a character;
- a wrong type, a number with a fraction, and one out of its range, ``default`` above excepted;
- ``title``, ``ctrlType``, ``ctrlIndex`` or (AllCtrlList) ``channel`` missing where it is required;
  another channel within a ChCtrlList;
- a ``ctrlType``, ``transmit`` or ``recognize`` that the standard does not have;
- of what is recognized: a controller number that is reserved, and 127, 127 as parameter number,
  which is the null one; two numbers that are no high half and its own low half;
- one controller twice, but for once with transmit ``none`` and once with recognize ``none``; a
  controller number that is in a pair of another counts as the same;
- ``stepCount`` with ``minMax``; fewer steps than two; a range that does not rise;
- ``valueSelect`` without ``ctrlMapId``; a ``ctrlMapId`` that is no such id;
- a ``paramPath`` of more than 256 bytes;
- control, format and bidirectional characters in ``title`` and ``paramPath``, which become names.

**Tolerated**, each with a remark:

- a key or a word of a list of choices in other case (``Title``); ``null`` for a missing value;
  capitals in ``ctrlMapId``;
- keys that are not known (``requireId`` and ``requireResId``, which belong to ResourceList, among
  them), and keys that do not belong to this list or sort of controller: passed over;
- ``default`` above 2**32 - 1: left out, since to guess it could be loud;
- no ``priority``, for which the standard has no default: medium, 3;
- a ``typeHint`` that is not known, and a ``paramPath`` that is no JSON Pointer: passed over;
- a map that was not given, or does not fit; a range that is finer than a position;
- names that are too long, hold a ``/``, end in spaces, or are there twice: changed.

The other defaults are the standard's own and are taken without a word: ``transmit`` and
``recognize`` absolute, ``numSigBits`` 32, ``defaultCCMap`` false.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from itertools import takewhile

import attrs

from knobpack.errors import InputError
from knobpack.midi.control_change_table import DATA_ENTRY, NRPN, RPN
from knobpack.midi.imported import Imported, ListedController
from knobpack.midi.list_destination import destination_of, maps_of
from knobpack.midi.list_entry import KEYS, ListEntry, check_listed_once, entry_of
from knobpack.midi.list_keys import Given, Remarks, noted, objects, plain_list
from knobpack.midi.sent import CHANNELS as CHANNELS_OF_ALL
from knobpack.midi.sent import Listening, check_channel
from knobpack.words import Destination, Group, Voice, fields
from knobpack.words.fields import LONGEST_NAME
from knobpack.words.free_names import shortened, unique
from knobpack.words.voice import CHANNELS

MOST_LEVELS = 8
"""Levels of paths that groups are made of, at most."""

_CARRYING = {"nrpn": (*NRPN, *DATA_ENTRY), "rpn": (*RPN, *DATA_ENTRY)}
"""The controllers that carry a parameter to whoever listens to one (MIDI 1.0, page 17)."""

_HALF = (LONGEST_NAME - 1) // 2


def import_all_controllers(
    controllers: Given,
    *,
    bits: int = 7,
    maps: Mapping[str, Given] | None = None,
    names: Mapping[int, str] | None = None,
    source: str | None = None,
    levels: int = 1,
) -> Imported:
    """Make a voice of each channel of an AllCtrlList.

    What is refused and what is tolerated is listed in :mod:`knobpack.midi.lists`.

    Args:
        controllers: the list as JSON text (str or bytes), as the path of a file of it
            (``pathlib.Path``), or as a list of dicts.
        bits: the resolution of the surface that the voices are for, 2 to 32.
        maps: a CtrlMapList for each ctrlMapId that the list names, in any of the same forms.
        names: for each channel, 1 to 256, what its voice is called; ``Channel 3`` and so on where
            it is not said.
        source: the name of the setup that the voices come from.
        levels: how many levels of paramPath become groups, 0 to 8.

    Returns:
        The voices, with the controllers that each listens to, the groups, and a remark on all that
        was tolerated or left out.

    Raises:
        InputError: an argument or the list holds what it cannot hold; the field is the path in
            the list, such as ``[3].ctrlIndex``, in a map, such as ``maps["wave"][0].value``, or
            line and column where the text is no JSON.

    Source:
        M2-117-UM 1.0, sections 2 (AllCtrlList) and 4 (CtrlMapList).

    Example:
        >>> from knobpack.midi import import_all_controllers
        >>> listed = [
        ...     {"title": "Cutoff", "channel": 1, "ctrlType": "cc", "ctrlIndex": [74]},
        ...     {"title": "Volume", "channel": 2, "ctrlType": "cc", "ctrlIndex": [7]},
        ... ]
        >>> imported = import_all_controllers(listed, names={1: "Pulse"})
        >>> [(voice.name, voice.destinations[0].name) for voice in imported.voices]
        [('Pulse', 'Cutoff'), ('Channel 2', 'Volume')]
    """
    call = "import_all_controllers"
    making = _Import(call, bits, maps, source, levels)
    called = _names(f"{call}.names", names)
    entries = making.entries(controllers, None)
    channels = sorted({entry.listed.channel for entry in entries})
    by_channel = {channel: called.get(channel, f"Channel {channel}") for channel in channels}
    for channel, name in by_channel.items():
        if list(by_channel.values()).count(name) > 1:
            right = "another channel has this name; give each its own"
            raise InputError(f"{call}.names[{channel}]", name, right)
    return making.imported(entries, by_channel)


def import_channel_controllers(
    controllers: Given,
    voice: str,
    channel: int,
    *,
    bits: int = 7,
    maps: Mapping[str, Given] | None = None,
    source: str | None = None,
    levels: int = 1,
) -> Imported:
    """Make one voice of a ChCtrlList, which does not say its channel.

    What is refused and what is tolerated is listed in :mod:`knobpack.midi.lists`.

    Args:
        controllers: as of :func:`import_all_controllers`.
        voice: what the voice is called.
        channel: where it receives, 1 to 256, counted across the Groups of the Function Block.
        bits: the resolution of the surface that the voice is for, 2 to 32.
        maps: a CtrlMapList for each ctrlMapId that the list names, in any of the same forms.
        source: the name of the setup that the voice comes from.
        levels: how many levels of paramPath become groups, 0 to 8.

    Returns:
        As of :func:`import_all_controllers`, with one voice.

    Raises:
        InputError: as of :func:`import_all_controllers`.

    Source:
        M2-117-UM 1.0, sections 3 (ChCtrlList) and 4 (CtrlMapList).

    Example:
        >>> from knobpack.midi import import_channel_controllers
        >>> listed = '[{"title": "Cutoff", "ctrlType": "cc", "ctrlIndex": [74], "priority": 2}]'
        >>> imported = import_channel_controllers(listed, "Pulse", channel=2)
        >>> (cutoff,) = imported.voices[0].destinations
        >>> cutoff.name, cutoff.kind, cutoff.priority
        ('Cutoff', 'brightness', 2)
        >>> imported.listening
        (Listening(voice='Pulse', channel=2, numbers=(74,)),)
    """
    call = "import_channel_controllers"
    making = _Import(call, bits, maps, source, levels)
    fields.check_name(f"{call}.voice", voice)
    check_channel(f"{call}.channel", channel)
    return making.imported(making.entries(controllers, channel), {channel: voice})


def import_controllers(
    controllers: Given, voice: str, channel: int = 1, *, bits: int = 7, source: str | None = None
) -> Imported:
    """Make voices of either list: an AllCtrlList says channels, a ChCtrlList does not.

    Args:
        controllers: as of :func:`import_all_controllers`.
        voice: what the voice is called; where the list says several channels, what the names of
            all of them begin with.
        channel: where the voice receives, 1 to 256, if the list does not say it.
        bits: the resolution of the surface that the voices are for, 2 to 32.
        source: the name of the setup that the voices come from.

    Returns:
        As of :func:`import_all_controllers`.

    Raises:
        InputError: as of :func:`import_all_controllers`.

    Source:
        M2-117-UM 1.0, sections 2 (AllCtrlList) and 3 (ChCtrlList).

    Example:
        >>> from knobpack.midi import import_controllers
        >>> entry = {"title": "Cutoff", "ctrlType": "cc", "ctrlIndex": [74]}
        >>> [
        ...     (each.voices[0].name, each.voices[0].channel)
        ...     for each in (
        ...         import_controllers([entry], "Pulse"),
        ...         import_controllers([entry | {"channel": 3}], "Pulse"),
        ...     )
        ... ]
        [('Pulse', 1), ('Pulse', 3)]
    """
    fields.check_name("import_controllers.voice", voice)
    check_channel("import_controllers.channel", channel)
    with noted("", controllers):
        entries = plain_list("", controllers)
    said = [each[key] for each in entries for key in each if key.casefold() == "channel"]
    if not said:
        return import_channel_controllers(entries, voice, channel, bits=bits, source=source)
    channels = sorted({each for each in said if type(each) is int and 1 <= each <= CHANNELS_OF_ALL})
    names = {each: f"{voice} {each}" if len(channels) > 1 else voice for each in channels}
    return import_all_controllers(entries, bits=bits, names=names, source=source)


def _names(where: str, given: object) -> dict[int, str]:
    if given is None:
        return {}
    if not isinstance(given, Mapping):
        raise InputError(where, given, "give a mapping from channel to name, or None")
    for channel, name in given.items():
        check_channel(where, channel)
        fields.check_name(f"{where}[{channel}]", name)
    return dict(given)


@attrs.frozen
class _Import:
    """What a list is made into voices with: the arguments that both sorts of lists have."""

    call: str
    bits: int
    maps: object
    source: str | None
    levels: int
    remarks: Remarks = attrs.Factory(Remarks)

    def __attrs_post_init__(self) -> None:
        fields.check_whole(f"{self.call}.bits", self.bits, 2, 32, "of bits")
        fields.check_whole(f"{self.call}.levels", self.levels, 0, MOST_LEVELS)
        if self.source is not None:
            fields.check_name(f"{self.call}.source", self.source)

    def entries(self, given: object, channel: int | None) -> list[ListEntry]:
        """The entries of a list, each checked, and all of them together."""
        with noted("", given):
            found = [entry_of(each, channel) for each in objects("", given, KEYS, self.remarks)]
            check_listed_once(found)
        return found

    def imported(self, entries: Sequence[ListEntry], names: Mapping[int, str]) -> Imported:
        """The voices of a list, by the names that they have on each channel."""
        maps = maps_of(self.maps, self.remarks)
        made: dict[int, dict[str, Destination]] = {channel: {} for channel in names}
        paths: dict[str, tuple[str, ...]] = {}
        controllers = []
        for entry in entries:
            each = entry.listed
            name = self._driven(entry, made[each.channel], maps)
            if name is not None:
                each = attrs.evolve(each, destination=f"{names[each.channel]}/{name}")
                paths[f"{names[each.channel]}/{name}"] = entry.path
            controllers.append(each)
        used = {entry.map_id for entry in entries}
        for unused in (map_id for map_id in maps if map_id not in used):
            self.remarks.add(f'maps["{unused}"]', "no controller names this map")
        voices = [
            # Those of further Groups are on cables that a setup does not name.
            Voice(
                name,
                tuple(made[channel].values()),
                source=self.source,
                channel=channel if channel <= CHANNELS else None,
            )
            for channel, name in names.items()
        ]
        taken = set(names.values())
        groups = [group for each in voices for group in _groups(each, paths, self.levels, taken)]
        return Imported(
            tuple(voices),
            tuple(Listening(names[each], each, _heard(controllers, each)) for each in names),
            tuple(controllers),
            tuple(groups),
            self.remarks.sentences,
            self.bits,
        )

    def _driven(
        self, entry: ListEntry, own: dict[str, Destination], maps: Mapping[str, tuple[int, ...]]
    ) -> str | None:
        """Add what an entry drives to its voice; its name there, or None if it drives nothing."""
        if not entry.listed.driven:
            entry.remark("it is left out: it recognizes nothing, so no knob can drive it")
            return None
        title = entry.listed.title
        name = unique(title, own, entry.listed.controller)
        destination = destination_of(entry, name, maps, self.bits)
        if destination is None:
            return None
        if name != title:
            entry.keys.remark("title", f"another has this title; it is called {name!r} here")
        own[name] = destination
        return name


def _heard(controllers: Sequence[ListedController], channel: int) -> tuple[int, ...]:
    """The controller numbers that are recognized on a channel, ascending."""
    heard: set[int] = set()
    for each in controllers:
        if each.channel == channel and each.driven:
            heard.update(_CARRYING.get(each.ctrl_type, ()))
            heard.update(each.ctrl_index if each.ctrl_type == "cc" else ())
    return tuple(sorted(heard))


def _groups(
    voice: Voice, paths: Mapping[str, tuple[str, ...]], levels: int, taken: set[str]
) -> Iterator[Group]:
    """The groups of a voice: what stands together in its tree of paths (M2-117-UM, Table 5).

    Each holds two destinations or more, and not all there are. Levels are counted below what all
    its paths begin with. A group that would hold the same as the one around it is left out.

    Args:
        voice: the voice.
        paths: the parts of its path, for the full name of each destination.
        levels: how many levels of paths become groups.
        taken: the names that voices and other groups have; new ones are added.
    """
    parents = {full: paths[full][:-1] for full in voice.by_full_name}
    steps = zip(*parents.values(), strict=False)
    root = sum(1 for _ in takewhile(lambda parts: len(set(parts)) == 1, steps))
    held: dict[tuple[str, ...], list[str]] = {(): list(parents)}
    for name, parent in parents.items():
        below = parent[root:]
        for depth in range(1, min(levels, len(below)) + 1):
            held.setdefault(below[:depth], []).append(name)
    for branch, names in held.items():
        if len(names) < 2 or not branch or len(names) == len(held[branch[:-1]]):
            continue
        called = f"{shortened(voice.name, _HALF)} {shortened(' '.join(branch), _HALF)}"
        name = unique(called, taken)
        taken.add(name)
        yield Group(name, tuple(names))
