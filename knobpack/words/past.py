"""Past: what a setup remembers of what came to it, and of what was edited."""

from __future__ import annotations

import attrs

from knobpack.text.shown import Fielded
from knobpack.words import converters, fields
from knobpack.words.knob_settings import KnobLabel, KnobSending
from knobpack.words.layout import KnobTravel, Route
from knobpack.words.rules import RULES, Rule
from knobpack.words.setup_edits import EDITS, Edit
from knobpack.words.snapshot import ONLY, Snapshot
from knobpack.words.voice import Group, Voice


@attrs.frozen
class MovedRoute(Fielded):
    """A route of what was there that gave way.

    Args:
        place: where it stood among the routes, counted from 1, 1 to 10,000.
        route: the route as it was.
        now: the knob that drives its destination since; None: none.

    Raises:
        InputError: a field holds a value it cannot hold.
    """

    place: int = attrs.field(
        converter=converters.whole, validator=fields.whole(1, fields.MOST_ITEMS)
    )
    route: Route = attrs.field(validator=fields.one(Route))
    now: str | None = attrs.field(
        default=None, converter=converters.maybe_knob_name, validator=fields.name(optional=True)
    )


@attrs.frozen
class Arrival(Fielded):
    """A source that came to a setup, and what must be known to take it away again.

    Voices say themselves which source they came from, and snapshots that took something in name
    what it is. Here stands what cannot be seen in the setup.

    Args:
        source: the name that its voices have as their ``source``.
        base: what the setup was called before it came.
        snapshots: the names of the snapshots that came with it. They go when the last source that
            lists them goes.
        routes: the routes that gave way.
        travels: the travels, as they were, of knobs whose travel was set anew.
        labels: the labels of all knobs as they were, if some gave way.
        were: the snapshots, as they were, in which positions or idle knobs gave way.
        wishes: the full names of what was given another travel, and wishes for the one that it had
            since.
        at_once: whether it came in one go with the source that is listed before it.

    Raises:
        InputError: a field holds a value it cannot hold, or a name is given twice.
    """

    source: str = attrs.field(validator=fields.name())
    base: str = attrs.field(validator=fields.name())
    snapshots: tuple[str, ...] = attrs.field(
        default=(),
        converter=converters.texts,
        validator=fields.names(longest=fields.LONGEST_NAME + len(ONLY)),
    )
    routes: tuple[MovedRoute, ...] = attrs.field(
        default=(), converter=converters.moved_routes, validator=fields.several(MovedRoute)
    )
    travels: tuple[KnobTravel, ...] = attrs.field(
        default=(), converter=converters.knob_travels, validator=fields.several(KnobTravel)
    )
    labels: tuple[KnobLabel, ...] = attrs.field(
        default=(), converter=converters.knob_labels, validator=fields.several(KnobLabel)
    )
    were: tuple[Snapshot, ...] = attrs.field(
        default=(), converter=converters.snapshots, validator=fields.several(Snapshot)
    )
    wishes: tuple[str, ...] = attrs.field(
        default=(), converter=converters.texts, validator=fields.names(slash=True)
    )
    at_once: bool = attrs.field(default=False, validator=fields.flag())

    def __attrs_post_init__(self) -> None:
        for field in ("travels", "labels"):
            knobs = (setting.knob for setting in getattr(self, field))
            fields.check_distinct(f"Arrival.{field}[].knob", knobs)
        fields.check_distinct("Arrival.were[].name", (each.name for each in self.were))


@attrs.frozen
class BrokenKnob(Fielded):
    """A knob that is not used until it is mended; the edit that took it out of use is remembered.

    Args:
        knob: its name.

    Raises:
        InputError: the field holds a value it cannot hold.
    """

    knob: str = attrs.field(converter=converters.knob_name, validator=fields.name())


@attrs.frozen
class SetupPart(Fielded):
    """What differs of a setup before and after an edit; None: it does not.

    Args:
        name: what it was called.
        voices: its voices, as for the rest those of a :class:`Setup`.
        groups: its groups.
        routes: its routes.
        travels: the travels of its knobs.
        snapshots: its snapshots.
        arrivals: the sources that came to it.
        agreed: the rules that edits laid down.
        broken: its broken knobs.
        labels: the labels of its knobs.
        sending: what its knobs send.

    Raises:
        InputError: a field holds a value it cannot hold.
    """

    name: str | None = attrs.field(default=None, validator=fields.name(optional=True))
    voices: tuple[Voice, ...] | None = attrs.field(
        default=None, validator=fields.several(Voice, optional=True)
    )
    groups: tuple[Group, ...] | None = attrs.field(
        default=None, validator=fields.several(Group, optional=True)
    )
    routes: tuple[Route, ...] | None = attrs.field(
        default=None, validator=fields.several(Route, optional=True)
    )
    travels: tuple[KnobTravel, ...] | None = attrs.field(
        default=None, validator=fields.several(KnobTravel, optional=True)
    )
    snapshots: tuple[Snapshot, ...] | None = attrs.field(
        default=None, validator=fields.several(Snapshot, optional=True)
    )
    arrivals: tuple[Arrival, ...] | None = attrs.field(
        default=None, validator=fields.several(Arrival, optional=True)
    )
    agreed: tuple[Rule, ...] | None = attrs.field(
        default=None, validator=fields.several(*RULES, optional=True)
    )
    broken: tuple[BrokenKnob, ...] | None = attrs.field(
        default=None, validator=fields.several(BrokenKnob, optional=True)
    )
    labels: tuple[KnobLabel, ...] | None = attrs.field(
        default=None, validator=fields.several(KnobLabel, optional=True)
    )
    sending: tuple[KnobSending, ...] | None = attrs.field(
        default=None, validator=fields.several(KnobSending, optional=True)
    )


@attrs.frozen
class PastEdit(Fielded):
    """An edit that was made of a setup, and what it changed: so it can be taken back.

    Args:
        what: the edit; None: whatever was edited while the setup was on another panel.
        before: what it changed, as it was.
        after: the same as it then was.

    Raises:
        InputError: a field holds a value it cannot hold.
    """

    what: Edit | None = attrs.field(default=None, validator=fields.one_among(*EDITS, optional=True))
    before: SetupPart = attrs.field(default=SetupPart(), validator=fields.one(SetupPart))
    after: SetupPart = attrs.field(default=SetupPart(), validator=fields.one(SetupPart))

    def __str__(self) -> str:
        return "edited on another panel" if self.what is None else str(self.what)
