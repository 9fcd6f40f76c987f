"""Lists: voices from an AllCtrlList or a ChCtrlList."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from knobpack.combination.naming import unique
from knobpack.controllers.listening import CHANNELS as CHANNELS_OF_ALL
from knobpack.controllers.listening import Listening, check_channel
from knobpack.errors import InputError
from knobpack.exchange.entry import Entry, entry_of
from knobpack.exchange.given import Given, noted, plain_list
from knobpack.exchange.groups import MOST_LEVELS, groups_of
from knobpack.exchange.imported import Imported, ListedController
from knobpack.exchange.made import destination_of
from knobpack.exchange.maps import maps_of
from knobpack.exchange.once import check_once
from knobpack.exchange.remarks import Remarks
from knobpack.words import Destination, Voice, fields
from knobpack.words.voice import CHANNELS


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

    What is refused and what is tolerated is listed in :mod:`knobpack.exchange`.

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
    _check_options(call, bits, source, levels)
    called = _names(f"{call}(names)", names)
    remarks = Remarks()
    entries = _entries(controllers, None, remarks)
    by_channel: dict[int, str] = {}
    for channel in sorted({entry.channel for entry in entries}):
        by_channel[channel] = called.get(channel, f"Channel {channel}")
    right = "another channel has this name; give each its own"
    for channel, name in by_channel.items():
        if list(by_channel.values()).count(name) > 1:
            raise InputError(f"{call}(names)[{channel}]", name, right)
    return _imported(entries, by_channel, maps, bits, source, levels, remarks)


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

    What is refused and what is tolerated is listed in :mod:`knobpack.exchange`.

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
    _check_options(call, bits, source, levels)
    fields.check_name(f"{call}(voice)", voice)
    check_channel(f"{call}(channel)", channel)
    remarks = Remarks()
    entries = _entries(controllers, channel, remarks)
    return _imported(entries, {channel: voice}, maps, bits, source, levels, remarks)


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
    fields.check_name("import_controllers(voice)", voice)
    check_channel("import_controllers(channel)", channel)
    with noted("", controllers):
        entries = plain_list("", controllers)
    said = [each[key] for each in entries for key in each if key.casefold() == "channel"]
    if not said:
        return import_channel_controllers(entries, voice, channel, bits=bits, source=source)
    channels = sorted({each for each in said if type(each) is int and 1 <= each <= CHANNELS_OF_ALL})
    names = {each: f"{voice} {each}" if len(channels) > 1 else voice for each in channels}
    return import_all_controllers(entries, bits=bits, names=names, source=source)


def _check_options(call: str, bits: object, source: object, levels: object) -> None:
    fields.check_whole(f"{call}(bits)", bits, 2, 32, "of bits")
    fields.check_whole(f"{call}(levels)", levels, 0, MOST_LEVELS)
    if source is not None:
        fields.check_name(f"{call}(source)", source)


def _names(where: str, given: object) -> dict[int, str]:
    if given is None:
        return {}
    if not isinstance(given, Mapping):
        raise InputError(where, given, "give a mapping from channel to name, or None")
    for channel, name in given.items():
        check_channel(where, channel)
        fields.check_name(f"{where}[{channel}]", name)
    return dict(given)


def _entries(given: object, channel: int | None, remarks: Remarks) -> list[Entry]:
    with noted("", given):
        found = [
            entry_of(f"[{position}]", entry, channel, remarks)
            for position, entry in enumerate(plain_list("", given))
        ]
        check_once(found)
    return found


def _imported(
    entries: Sequence[Entry],
    by_channel: Mapping[int, str],
    maps: object,
    bits: int,
    source: str | None,
    levels: int,
    remarks: Remarks,
) -> Imported:
    values = maps_of(maps, remarks)
    made: dict[int, dict[str, Destination]] = {channel: {} for channel in by_channel}
    paths: dict[int, dict[str, tuple[str, ...]]] = {channel: {} for channel in by_channel}
    controllers = []
    for entry in entries:
        own = made[entry.channel]
        name = _driven(entry, own, values, bits, remarks)
        if name is not None:
            paths[entry.channel][name] = entry.path
        controllers.append(_listed(entry, by_channel[entry.channel], name))
    used = {entry.map_id for entry in entries}
    for unused in (map_id for map_id in values if map_id not in used):
        remarks.add(f'maps["{unused}"]', "no controller names this map")
    voices = {
        channel: Voice(
            name,
            tuple(made[channel].values()),
            source=source,
            # Those of further Groups are on cables that a setup does not name.
            channel=channel if channel <= CHANNELS else None,
        )
        for channel, name in by_channel.items()
    }
    taken = set(by_channel.values())
    return Imported(
        voices=tuple(voices.values()),
        listening=tuple(
            Listening(voice.name, channel, _heard(entries, channel))
            for channel, voice in voices.items()
        ),
        controllers=tuple(controllers),
        groups=tuple(
            group
            for channel, voice in voices.items()
            for group in groups_of(voice, paths[channel], levels, taken)
        ),
        remarks=remarks.sentences,
        bits=bits,
    )


def _driven(
    entry: Entry,
    own: dict[str, Destination],
    maps: Mapping[str, tuple[int, ...]],
    bits: int,
    remarks: Remarks,
) -> str | None:
    """Add what an entry drives to its voice; its name there, or None if it drives nothing."""
    if not entry.driven:
        remarks.add(entry.place, "it is left out: it recognizes nothing, so no knob can drive it")
        return None
    name = unique(entry.name, own, entry.called)
    destination = destination_of(entry, name, maps, bits, remarks)
    if destination is None:
        return None
    if name != entry.name:
        remarks.add(f"{entry.place}.title", f"another has this title; it is called {name!r} here")
    own[name] = destination
    return name


def _listed(entry: Entry, voice: str, name: str | None) -> ListedController:
    return ListedController(
        title=entry.name,
        destination=None if name is None else f"{voice}/{name}",
        channel=entry.channel,
        ctrl_type=entry.ctrl_type,
        ctrl_index=entry.index,
        default=entry.default,
        significant_bits=entry.significant_bits,
        transmit=entry.transmit,
        recognize=entry.recognize,
        default_cc_map=entry.default_cc_map,
    )


def _heard(entries: Sequence[Entry], channel: int) -> tuple[int, ...]:
    """The controller numbers that are recognized on a channel, ascending."""
    return tuple(
        sorted(
            number
            for entry in entries
            if entry.channel == channel and entry.ctrl_type == "cc" and entry.driven
            for number in entry.index
        )
    )
