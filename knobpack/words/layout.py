"""Route and layout: which knob drives what, over which travel, and where the voices stand."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from functools import cached_property

import attrs

from knobpack.text.shown import Fielded, Told
from knobpack.words import converters, fields
from knobpack.words.names import knob_told
from knobpack.words.travel import Travel


@attrs.frozen
class Route(Fielded):
    """One knob driving one destination.

    Args:
        destination: its full name, ``voice/destination``.
        knob: the name of the knob.
        travel: where the destination goes as the knob goes all the way, in positions of the
            surface's resolution; only on a surface that sets travels on routes. None: all the way.

    Raises:
        InputError: a field holds a value it cannot hold.
    """

    destination: str = attrs.field(validator=fields.name(slash=True))
    knob: str = attrs.field(converter=converters.knob_name, validator=fields.name())
    travel: Travel | None = attrs.field(default=None, validator=fields.one(Travel, optional=True))


@attrs.frozen
class KnobTravel(Fielded):
    """The travel that a knob is set to.

    Args:
        knob: the name of the knob.
        travel: in positions of the surface's resolution.

    Raises:
        InputError: a field holds a value it cannot hold.
    """

    knob: str = attrs.field(converter=converters.knob_name, validator=fields.name())
    travel: Travel = attrs.field(validator=fields.one(Travel))

    def __str__(self) -> str:
        return f"{knob_told(self.knob)} from {self.travel}"


@attrs.frozen
class VoiceLayer(Fielded):
    """The layer that a voice stands at.

    Args:
        voice: the name of the voice.
        layer: counted from 1, 1 to 10,000.

    Raises:
        InputError: a field holds a value it cannot hold.
    """

    voice: str = attrs.field(converter=converters.voice_name, validator=fields.name())
    layer: int = attrs.field(
        converter=converters.whole, validator=fields.whole(1, fields.MOST_ITEMS)
    )


@attrs.frozen
class Layout(Told):
    """Which knob drives what, over which travel, and where the voices stand.

    Travels and layers may be left out: :func:`knobpack.checker.check` then prices the best travel
    for each knob, and :func:`knobpack.allocate` chooses layers.

    Args:
        routes: each destination once.
        travels: the travel of each knob that one is set for, in positions; each knob once.
        layers: where each voice stands whose layer is known; each voice once.

    Raises:
        InputError: a field holds a value it cannot hold; a destination is routed twice, or a
            knob or voice is listed twice.

    Example:
        >>> from knobpack import Layout
        >>> layout = Layout.of({"K1": ["Glass pad/cutoff"], "K2": ["Round bass/drive"]})
        >>> layout.routes[1].knob
        'K2'
    """

    routes: tuple[Route, ...] = attrs.field(
        default=(), converter=converters.routes, validator=fields.several(Route)
    )
    travels: tuple[KnobTravel, ...] = attrs.field(
        default=(), converter=converters.knob_travels, validator=fields.several(KnobTravel)
    )
    layers: tuple[VoiceLayer, ...] = attrs.field(
        default=(), converter=converters.voice_layers, validator=fields.several(VoiceLayer)
    )

    def __attrs_post_init__(self) -> None:
        fields.check_distinct(
            "Layout.routes[].destination", (route.destination for route in self.routes)
        )
        fields.check_distinct("Layout.travels[].knob", (setting.knob for setting in self.travels))
        fields.check_distinct("Layout.layers[].voice", (place.voice for place in self.layers))

    @cached_property
    def goes(self) -> dict[str, Travel]:
        """Over which travel each routed destination goes, as far as one is given.

        That of its route, or of its knob where the route has none of its own.
        """
        of_knob = {setting.knob: setting.travel for setting in self.travels}
        found = {each.destination: each.travel or of_knob.get(each.knob) for each in self.routes}
        return {name: travel for name, travel in found.items() if travel is not None}

    @property
    def sentences(self) -> tuple[str, ...]:
        """What each knob drives, and at which layer each voice stands."""
        driven: dict[str, list[str]] = {}
        for route in self.routes:
            over = f" over {route.travel}" if route.travel else ""
            driven.setdefault(route.knob, []).append(f"{route.destination}{over}")
        travels = {each.knob: f", {each.travel}" for each in self.travels}
        knobs = (f"{knob}{travels.get(knob, '')}: {', '.join(it)}." for knob, it in driven.items())
        layers = (f"{place.voice} is on layer {place.layer}." for place in self.layers)
        return (*knobs, *layers) or ("Nothing is routed.",)

    @classmethod
    def of(cls, knobs: Mapping[str, str | Iterable[str]]) -> Layout:
        """A layout from what each knob drives.

        Args:
            knobs: for the name of each knob the full names of what it drives, or the one it drives.

        Returns:
            The layout, its routes in that order, without travels and layers.

        Raises:
            InputError: a name is not a name, or a destination is named twice.
        """
        for knob, driven in knobs.items():
            fields.check_ordered(f"Layout.of.knobs[{knob!r}]", driven)
        return cls(
            Route(name, knob) for knob, driven in knobs.items() for name in converters.texts(driven)
        )
