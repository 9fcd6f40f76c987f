"""Route, layout and setup: what is programmed into the instrument."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import attrs

from knobpack.words import fields
from knobpack.words.snapshot import Snapshot
from knobpack.words.surface import Surface
from knobpack.words.travel import Travel
from knobpack.words.voice import Group, Voice


@attrs.frozen
class Route:
    """One knob driving one destination.

    Args:
        destination: its full name, ``voice/destination``.
        knob: the name of the knob.
    """

    destination: str = fields.name(slash=True)
    knob: str = fields.name()


@attrs.frozen
class KnobTravel:
    """The travel that a knob is set to."""

    knob: str = fields.name()
    travel: Travel = fields.one(Travel)


@attrs.frozen
class VoiceLayer:
    """The layer, counted from 1, that a voice stands at."""

    voice: str = fields.name()
    layer: int = fields.whole(1, fields.MOST_ITEMS)


@attrs.frozen
class Layout:
    """Which knob drives what, over which travel, and where the voices stand.

    Travels and layers may be left out: :func:`knobpack.check` then prices the best travel for
    each knob, and :func:`knobpack.allocate` chooses layers.

    Raises:
        InputError: a field holds a value it cannot hold; a destination is routed twice, or a
            knob or voice is listed twice.
    """

    routes: tuple[Route, ...] = fields.many(Route)
    travels: tuple[KnobTravel, ...] = fields.many(KnobTravel)
    layers: tuple[VoiceLayer, ...] = fields.many(VoiceLayer)

    def __attrs_post_init__(self) -> None:
        fields.check_distinct(
            "Layout.routes[].destination", (route.destination for route in self.routes)
        )
        fields.check_distinct("Layout.travels[].knob", (setting.knob for setting in self.travels))
        fields.check_distinct("Layout.layers[].voice", (place.voice for place in self.layers))

    @classmethod
    def of(cls, knobs: Mapping[str, Iterable[str]]) -> Layout:
        """A layout from what each knob drives: ``Layout.of({"K1": ["Pad/cutoff"]})``."""
        return cls(tuple(Route(name, knob) for knob, driven in knobs.items() for name in driven))


@attrs.frozen
class Setup:
    """Surface, voices, groups, routes, travels and snapshots together, as found or as made.

    A setup may be faulty: a route may lead to a voice that is not there. What it names is
    therefore not looked up here.

    Raises:
        InputError: a field holds a value it cannot hold, or a name is given twice.
    """

    name: str = fields.name()
    surface: Surface = fields.one(Surface)
    voices: tuple[Voice, ...] = fields.many(Voice)
    groups: tuple[Group, ...] = fields.many(Group)
    routes: tuple[Route, ...] = fields.many(Route)
    travels: tuple[KnobTravel, ...] = fields.many(KnobTravel)
    snapshots: tuple[Snapshot, ...] = fields.many(Snapshot)

    def __attrs_post_init__(self) -> None:
        voices = [voice.name for voice in self.voices]
        fields.check_distinct("Setup.voices[].name", voices)
        fields.check_distinct("Setup.groups[].name", (word.name for word in self.groups), voices)
        fields.check_distinct("Setup.snapshots[].name", (word.name for word in self.snapshots))
        fields.check_distinct("Setup.travels[].knob", (setting.knob for setting in self.travels))

    @property
    def layout(self) -> Layout:
        """Its routes, travels and layers.

        Raises:
            InputError: a destination is routed twice.
        """
        placed = (VoiceLayer(v.name, v.layer) for v in self.voices if v.layer is not None)
        return Layout(self.routes, self.travels, tuple(placed))
