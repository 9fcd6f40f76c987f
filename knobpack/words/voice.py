"""Voice, destination and group: what the knobs drive."""

from __future__ import annotations

import attrs

from knobpack.words import fields
from knobpack.words.travel import Travel


@attrs.frozen
class Destination:
    """One controllable input of a voice.

    Outside its voice it is named ``voice/destination``.

    Args:
        name: unique in its voice.
        kind: what it controls (cutoff, level, …); the name itself where it is left out.
        priority: 1 essential, 2 high, 3 medium, 4 low, 5 hidden.
        travel: the travel wanted, in the resolution of the surface; None: the full travel.
        source_knob: the knob that carried it in its source. Destinations of one source with one
            source knob are a bundle.
        movable: whether the master may move it at all; if not, every snapshot holds it.
        steps: how many values a stepped destination takes, 2 to 2**32; None: it is continuous.
        must_place: whether a layout without it is no layout.

    Raises:
        InputError: a field holds a value it cannot hold.

    Source:
        The scale of priorities is that of M2-117-UM 1.0, MIDI-CI Property Exchange controller
        resources.
    """

    name: str = fields.name()
    kind: str = fields.name(default=attrs.Factory(lambda self: self.name, takes_self=True))
    priority: int = fields.whole(1, 5, default=3, unit="(1 essential, 5 hidden)")
    travel: Travel | None = fields.one(Travel, optional=True)
    source_knob: str | None = fields.name(optional=True)
    movable: bool = fields.flag(True)
    steps: int | None = fields.whole(2, 2**32, optional=True)
    must_place: bool = fields.flag(False)


@attrs.frozen
class Voice:
    """One sound of a layered setup.

    Args:
        name: unique among the voices and groups of a request.
        destinations: its controllable inputs; names unique in the voice.
        layer: the layer it has in its source, counted from 1, 1 to 10,000; None: none yet.
        source: the name of the setup it comes from; None: none, or the base itself.

    Raises:
        InputError: a field holds a value it cannot hold, or a name is given twice.
    """

    name: str = fields.name()
    destinations: tuple[Destination, ...] = fields.many(Destination)
    layer: int | None = fields.whole(1, fields.MOST_ITEMS, optional=True)
    source: str | None = fields.name(optional=True)

    def __attrs_post_init__(self) -> None:
        inner = (destination.name for destination in self.destinations)
        fields.check_distinct("Voice.destinations[].name", inner)

    def full_name(self, destination: Destination) -> str:
        """How ``destination`` of this voice is named outside it.

        Args:
            destination: one of its destinations.

        Returns:
            ``voice/destination``.
        """
        return f"{self.name}/{destination.name}"


@attrs.frozen
class Group:
    """A named set of voices, groups or destinations.

    Args:
        name: unique among the voices and groups of a request.
        members: names of voices, of other groups, or ``voice/destination``.

    Raises:
        InputError: a field holds a value it cannot hold, or a member is given twice.
    """

    name: str = fields.name()
    members: tuple[str, ...] = fields.names(slash=True, least=1)
