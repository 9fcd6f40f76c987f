"""Controller lists to test with: the example of the standard, corrected, and entries by hand."""

from __future__ import annotations

from typing import Any

from knobpack.midi import Imported, import_controllers
from knobpack.words import Destination

# M2-117-UM, the example body of an AllCtrlList, in other words and made valid JSON (what is
# printed is not).
EXAMPLE = """
[{"title":"Volume","channel":1,"ctrlType":"cc","ctrlIndex":[7,39],"default":4294967295,
  "paramPath":"/volume","priority":1},
 {"title":"Filter Cutoff","channel":2,"ctrlType":"nrpn","ctrlIndex":[0,55],"default":2147483648,
  "paramPath":"/filter/cutoff","recognize":"both","priority":2},
 {"title":"LFO Wave","channel":2,"ctrlType":"cc","ctrlIndex":[14],"default":0,
  "paramPath":"/lfo/waveType","typeHint":"valueSelect","ctrlMapId":"lfo_wave"}]
"""
WAVES = """
[{"value":715827883,"title":"Sine"},{"value":2147483648,"title":"Saw"},
 {"value":3579139413,"title":"Square"}]
"""

HALF, TOP = 2**31, 2**32 - 1


def entry(*left_out: str, **keys: Any) -> dict[str, Any]:
    """An entry of an AllCtrlList, on channel 1 and cc 74, but for what is said otherwise."""
    made = {
        "title": "Cutoff",
        "channel": 1,
        "ctrlType": "cc",
        "ctrlIndex": [74],
        "priority": 2,
        **keys,
    }
    return {key: value for key, value in made.items() if key not in left_out}


def brought(*entries: object, **options: Any) -> Imported:
    """What an AllCtrlList of these entries brings."""
    return import_controllers(list(entries), "Lead", **options)


def one(*left_out: str, bits: int = 7, maps: Any = None, **keys: Any) -> Imported:
    """What an AllCtrlList of one entry brings."""
    return brought(entry(*left_out, **keys), bits=bits, maps=maps)


def of_channel(*entries: dict[str, Any], **options: Any) -> Imported:
    """What a ChCtrlList of these entries, their channels taken out, brings to channel 5."""
    bare = [{k: v for k, v in each.items() if k != "channel"} for each in entries]
    return import_controllers(bare, "Lead", 5, **options)


def only(found: Imported) -> Destination:
    """The one destination there is."""
    ((destination,),) = (voice.destinations for voice in found.voices)
    return destination
