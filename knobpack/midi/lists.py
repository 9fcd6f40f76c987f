"""Lists: voices from the controller lists that instruments give of themselves.

After M2-117-UM v1.0 (MIDI-CI Property Exchange, controller resources): AllCtrlList (section 2),
ChCtrlList (section 3) and CtrlMapList (section 4). All values there have 32 bits (section 1.5).

**Refused**, with the field that holds it, because what follows could only be guessed, or would be
wrong on stage:

- text that is not JSON, a trailing comma or a key without quotes included: to mend it is to guess
  what was meant; the error says line and column. A key given twice, deep nesting, half a character;
- a wrong type, a number with a fraction, and one out of its range, ``default`` above excepted;
- ``title``, ``ctrlType`` or ``ctrlIndex`` missing where it is required, and ``channel`` where
  others of the list have one;
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

from knobpack.grouped import grouped
from knobpack.midi.control_change_table import DATA_ENTRY, NRPN, RPN
from knobpack.midi.imported import Imported, ListedController
from knobpack.midi.list_destination import destination_of, maps_of
from knobpack.midi.list_entry import KEYS, ListEntry, check_listed_once, entry_of
from knobpack.midi.list_keys import Given, Remarks, noted, objects
from knobpack.midi.sent import Listening, check_channel
from knobpack.words import Destination, Group, Voice, fields
from knobpack.words.fields import LONGEST_NAME
from knobpack.words.free_names import shortened, unique
from knobpack.words.voice import CHANNELS

_CARRYING = {"nrpn": (*NRPN, *DATA_ENTRY), "rpn": (*RPN, *DATA_ENTRY)}
"""The controllers that carry a parameter to whoever listens to one (MIDI 1.0, page 17)."""

_HALF = (LONGEST_NAME - 1) // 2


def import_controllers(
    controllers: Given,
    voice: str,
    channel: int = 1,
    *,
    bits: int = 7,
    maps: Mapping[str, Given] | None = None,
    source: str | None = None,
) -> Imported:
    """Make voices of either list: an AllCtrlList says channels, a ChCtrlList does not.

    What is refused and what is tolerated is listed in :mod:`knobpack.midi.lists`.

    Args:
        controllers: the list as JSON text (str or bytes), as the path of a file of it
            (``pathlib.Path``), or as a list of dicts.
        voice: what the voice is called; where the list says several channels, there is one for
            each, and its channel stands behind.
        channel: where the voice receives, 1 to 256 (counted across the Groups of the Function
            Block), if the list does not say it.
        bits: the resolution of the surface that the voices are for, 2 to 32.
        maps: a CtrlMapList for each ctrlMapId that the list names, in any of the same forms.
        source: the name of the setup that the voices come from.

    Returns:
        The voices, with the controllers that each listens to, a group of what stands together in
        its tree of paths, and a remark on all that was tolerated or left out.

    Raises:
        InputError: an argument or the list holds what it cannot hold; the field is the path in
            the list, such as ``[3].ctrlIndex``, in a map, such as ``maps["wave"][0].value``, or
            line and column where the text is no JSON.

    Source:
        M2-117-UM 1.0, sections 2 (AllCtrlList), 3 (ChCtrlList) and 4 (CtrlMapList).

    Example:
        >>> from knobpack.midi import import_controllers
        >>> entry = {"title": "Cutoff", "ctrlType": "cc", "ctrlIndex": [74], "priority": 2}
        >>> (pulse,) = import_controllers([entry], "Pulse").voices
        >>> cutoff = pulse.destinations[0]
        >>> pulse.channel, cutoff.name, cutoff.kind, cutoff.priority
        (1, 'Cutoff', 'brightness', 2)
        >>> listed = [entry | {"channel": 3}, entry | {"channel": 7}]
        >>> [voice.name for voice in import_controllers(listed, "Pulse").voices]
        ['Pulse 3', 'Pulse 7']
    """
    call, remarks = "import_controllers", Remarks()
    fields.check_name(f"{call}.voice", voice)
    check_channel(f"{call}.channel", channel)
    fields.check_whole(f"{call}.bits", bits, 2, 32, "of bits")
    if source is not None:
        fields.check_name(f"{call}.source", source)
    with noted("", controllers):
        keys = list(objects("", controllers, KEYS, remarks))
        said = any("channel" in each.found for each in keys)
        entries = [entry_of(each, None if said else channel) for each in keys]
        check_listed_once(entries)
    channels = sorted({entry.listed.channel for entry in entries}) or [channel]
    names = dict.fromkeys(channels, voice)
    if len(channels) > 1:
        names = {each: f"{shortened(voice, LONGEST_NAME - 4)} {each}" for each in channels}
    return _imported(entries, names, maps_of(maps, remarks), bits, source, remarks)


def _imported(
    entries: Sequence[ListEntry],
    names: Mapping[int, str],
    maps: Mapping[str, tuple[int, ...]],
    bits: int,
    source: str | None,
    remarks: Remarks,
) -> Imported:
    """The voices of a list, by the names that they have on each channel."""
    made: dict[int, dict[str, Destination]] = {channel: {} for channel in names}
    paths: dict[str, tuple[str, ...]] = {}
    controllers = []
    for entry in entries:
        each = entry.listed
        name = _driven(entry, made[each.channel], maps, bits)
        if name is not None:
            each = attrs.evolve(each, destination=f"{names[each.channel]}/{name}")
            paths[f"{names[each.channel]}/{name}"] = entry.path
        controllers.append(each)
    used = {entry.map_id for entry in entries}
    for unused in (map_id for map_id in maps if map_id not in used):
        remarks.add(f'maps["{unused}"]', "no controller names this map")
    voices = [
        # Those of further Groups are on cables that a setup does not name.
        Voice(
            name,
            tuple(made[channel].values()),
            source=source,
            channel=channel if channel <= CHANNELS else None,
        )
        for channel, name in names.items()
    ]
    taken = set(names.values())
    return Imported(
        tuple(voices),
        tuple(Listening(names[each], each, _heard(controllers, each)) for each in names),
        tuple(controllers),
        tuple(group for each in voices for group in _groups(each, paths, taken)),
        remarks.sentences,
        bits,
    )


def _driven(
    entry: ListEntry, own: dict[str, Destination], maps: Mapping[str, tuple[int, ...]], bits: int
) -> str | None:
    """Add what an entry drives to its voice; its name there, or None if it drives nothing."""
    if not entry.listed.driven:
        entry.remark("it is left out: it recognizes nothing, so no knob can drive it")
        return None
    title = entry.listed.title
    name = unique(title, own, entry.listed.controller)
    destination = destination_of(entry, name, maps, bits)
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


def _groups(voice: Voice, paths: Mapping[str, tuple[str, ...]], taken: set[str]) -> Iterator[Group]:
    """The groups of a voice: what stands together in its tree of paths (M2-117-UM, Table 5).

    A branch is one of those that the paths part into; what all of them begin with is none.

    Args:
        voice: the voice.
        paths: for each of its destinations by full name, the parts of its path.
        taken: the names that are in use; those of the groups are added.
    """
    parents = {full: paths[full][:-1] for full in voice.by_full_name}
    steps = zip(*parents.values(), strict=False)
    root = sum(1 for _ in takewhile(lambda parts: len(set(parts)) == 1, steps))
    branches = grouped((parent[root], n) for n, parent in parents.items() if len(parent) > root)
    for branch, names in branches.items():
        if 1 < len(names) < len(parents):
            called = f"{shortened(voice.name, _HALF)} {shortened(branch, _HALF)}"
            taken.add(name := unique(called, taken))
            yield Group(name, tuple(names))
