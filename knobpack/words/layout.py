"""Route, layout and setup: what is programmed into the instrument."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cached_property

import attrs

from knobpack.errors import InputError
from knobpack.shown import Fielded, Sentences, Table, Told
from knobpack.words import converters, fields
from knobpack.words.asked import EDITS, Edit
from knobpack.words.knob_settings import KnobLabel, KnobSending
from knobpack.words.names import knob_told, knobs_told, many
from knobpack.words.rules import RULES, Rule
from knobpack.words.snapshot import ONLY, Snapshot
from knobpack.words.surface import Surface
from knobpack.words.travel import Travel, travel_text
from knobpack.words.voice import Group, Voice


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
        default=(), converter=converters.routes, validator=fields.many(Route)
    )
    travels: tuple[KnobTravel, ...] = attrs.field(
        default=(), converter=converters.knob_travels, validator=fields.many(KnobTravel)
    )
    layers: tuple[VoiceLayer, ...] = attrs.field(
        default=(), converter=converters.voice_layers, validator=fields.many(VoiceLayer)
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
        return cls(
            Route(name, knob) for knob, driven in knobs.items() for name in converters.texts(driven)
        )


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
        default=(), converter=converters.moved_routes, validator=fields.many(MovedRoute)
    )
    travels: tuple[KnobTravel, ...] = attrs.field(
        default=(), converter=converters.knob_travels, validator=fields.many(KnobTravel)
    )
    labels: tuple[KnobLabel, ...] = attrs.field(
        default=(), converter=converters.knob_labels, validator=fields.many(KnobLabel)
    )
    were: tuple[Snapshot, ...] = attrs.field(
        default=(), converter=converters.snapshots, validator=fields.many(Snapshot)
    )

    def __attrs_post_init__(self) -> None:
        for field in ("travels", "labels"):
            knobs = (setting.knob for setting in getattr(self, field))
            fields.check_distinct(f"Arrival.{field}[].knob", knobs)
        fields.check_distinct("Arrival.were[].name", (each.name for each in self.were))


@attrs.frozen
class BrokenKnob(Fielded):
    """A knob that is not used until it is mended, and what moved because of it.

    Args:
        knob: its name.
        before: where what moved was, with the travels that were set anew as they had been.
        after: where it went, and those travels as they were set. What moved and is not in it was
            left out.
        gave_way: what earlier edits had asked for and gave way, so that nothing need be left out.

    Raises:
        InputError: a field holds a value it cannot hold.
    """

    knob: str = attrs.field(converter=converters.knob_name, validator=fields.name())
    before: Layout = attrs.field(default=Layout(), validator=fields.one(Layout))
    after: Layout = attrs.field(default=Layout(), validator=fields.one(Layout))
    gave_way: tuple[Rule, ...] = attrs.field(
        default=(), converter=converters.rules, validator=fields.many(*RULES)
    )


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
        default=None, converter=converters.maybe_voices, validator=fields.many(Voice, optional=True)
    )
    groups: tuple[Group, ...] | None = attrs.field(
        default=None, converter=converters.maybe_groups, validator=fields.many(Group, optional=True)
    )
    routes: tuple[Route, ...] | None = attrs.field(
        default=None, converter=converters.maybe_routes, validator=fields.many(Route, optional=True)
    )
    travels: tuple[KnobTravel, ...] | None = attrs.field(
        default=None,
        converter=converters.maybe_knob_travels,
        validator=fields.many(KnobTravel, optional=True),
    )
    snapshots: tuple[Snapshot, ...] | None = attrs.field(
        default=None,
        converter=converters.maybe_snapshots,
        validator=fields.many(Snapshot, optional=True),
    )
    arrivals: tuple[Arrival, ...] | None = attrs.field(
        default=None,
        converter=converters.maybe_arrivals,
        validator=fields.many(Arrival, optional=True),
    )
    agreed: tuple[Rule, ...] | None = attrs.field(
        default=None, converter=converters.maybe_rules, validator=fields.many(*RULES, optional=True)
    )
    broken: tuple[BrokenKnob, ...] | None = attrs.field(
        default=None,
        converter=converters.maybe_broken_knobs,
        validator=fields.many(BrokenKnob, optional=True),
    )
    labels: tuple[KnobLabel, ...] | None = attrs.field(
        default=None,
        converter=converters.maybe_knob_labels,
        validator=fields.many(KnobLabel, optional=True),
    )
    sending: tuple[KnobSending, ...] | None = attrs.field(
        default=None,
        converter=converters.maybe_knob_sendings,
        validator=fields.many(KnobSending, optional=True),
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


@attrs.frozen
class Home(Fielded):
    """Where a setup comes from that was taken to another panel: so it can be taken back.

    Args:
        setup: the setup as it was at home.
        arrived: the setup as it was when it came to the other panel. What differs from it now was
            edited there.

    Raises:
        InputError: a field holds a value it cannot hold, or a setup that is away from home itself.
    """

    setup: Setup = attrs.field(validator=fields.one_of_later(lambda: Setup))
    arrived: Setup = attrs.field(validator=fields.one_of_later(lambda: Setup))

    def __attrs_post_init__(self) -> None:
        for field in ("setup", "arrived"):
            if getattr(self, field).home is not None:
                right = "a home has none itself; leave its home out"
                raise InputError(f"Home.{field}.home", getattr(self, field).home, right)


@attrs.frozen
class Setup(Told):
    """Surface, voices, groups, routes, travels and snapshots together, as found or as made.

    A setup may be faulty: a route may lead to a voice that is not there. What it names is
    therefore not looked up here.

    Args:
        name: what it is called.
        surface: its panel.
        voices: the layered voices, in order; each name once.
        groups: named sets of voices or destinations; no name that a voice has.
        routes: which knob drives what; the same may be listed twice.
        travels: the travel of each knob that one is set for, in positions; each knob once.
        snapshots: what can be recalled, in order; each name once.
        arrivals: the sources that came to it, in order, and what must be known to take them away
            again; each once.
        agreed: rules that edits laid down and that hold through later ones; each is required.
        broken: knobs that are not used until they are mended; each once.
        home: where it comes from, if it was taken to another panel.
        labels: what the displays of the knobs show; each knob once.
        sending: what the knobs send and how they take over, where that is known; each knob once.
        edits: the edits that were made of it, the first one first, so that they can be taken back.

    Raises:
        InputError: a field holds a value it cannot hold, a name is given twice, or a rule that is
            agreed has a weight.
    """

    name: str = attrs.field(validator=fields.name())
    surface: Surface = attrs.field(validator=fields.one(Surface))
    voices: tuple[Voice, ...] = attrs.field(
        default=(), converter=converters.voices, validator=fields.many(Voice)
    )
    groups: tuple[Group, ...] = attrs.field(
        default=(), converter=converters.groups, validator=fields.many(Group)
    )
    routes: tuple[Route, ...] = attrs.field(
        default=(), converter=converters.routes, validator=fields.many(Route)
    )
    travels: tuple[KnobTravel, ...] = attrs.field(
        default=(), converter=converters.knob_travels, validator=fields.many(KnobTravel)
    )
    snapshots: tuple[Snapshot, ...] = attrs.field(
        default=(), converter=converters.snapshots, validator=fields.many(Snapshot)
    )
    arrivals: tuple[Arrival, ...] = attrs.field(
        default=(), converter=converters.arrivals, validator=fields.many(Arrival)
    )
    agreed: tuple[Rule, ...] = attrs.field(
        default=(), converter=converters.rules, validator=fields.many(*RULES)
    )
    broken: tuple[BrokenKnob, ...] = attrs.field(
        default=(), converter=converters.broken_knobs, validator=fields.many(BrokenKnob)
    )
    home: Home | None = attrs.field(default=None, validator=fields.one(Home, optional=True))
    labels: tuple[KnobLabel, ...] = attrs.field(
        default=(), converter=converters.knob_labels, validator=fields.many(KnobLabel)
    )
    sending: tuple[KnobSending, ...] = attrs.field(
        default=(), converter=converters.knob_sendings, validator=fields.many(KnobSending)
    )
    edits: tuple[PastEdit, ...] = attrs.field(
        default=(), converter=converters.past_edits, validator=fields.many(PastEdit)
    )

    def __attrs_post_init__(self) -> None:
        voices = [voice.name for voice in self.voices]
        fields.check_distinct("Setup.voices[].name", voices)
        fields.check_distinct("Setup.groups[].name", (word.name for word in self.groups), voices)
        fields.check_distinct("Setup.snapshots[].name", (word.name for word in self.snapshots))
        for field in ("travels", "labels", "sending"):
            knobs = (setting.knob for setting in getattr(self, field))
            fields.check_distinct(f"Setup.{field}[].knob", knobs)
        fields.check_distinct("Setup.arrivals[].source", (each.source for each in self.arrivals))
        fields.check_distinct("Setup.broken[].knob", (each.knob for each in self.broken))
        for position, rule in enumerate(self.agreed):
            if rule.weight is not None:
                right = "what is agreed is required; leave the weight out"
                raise InputError(f"Setup.agreed[{position}].weight", rule.weight, right)

    @property
    def layout(self) -> Layout:
        """Its routes, travels and layers.

        Raises:
            InputError: a destination is routed twice.
        """
        placed = (VoiceLayer(v.name, v.layer) for v in self.voices if v.layer is not None)
        return Layout(self.routes, self.travels, tuple(placed))

    @property
    def sentences(self) -> tuple[str, ...]:
        """How much it holds, then knob by knob and snapshot by snapshot, as it stands."""
        return tuple(self._told())

    def _told(self) -> Iterator[str]:
        surface = self.surface
        yield (
            f"Setup '{self.name}': {many(len(surface.knobs), 'knob')} at {surface.bits} bits, "
            f"{many(len(self.voices), 'voice')}, {many(len(self.routes), 'route')}, "
            f"{many(len(self.snapshots), 'snapshot')}."
        )
        for knob, label, travel, driven, sends in self._knobs():
            called = f"{knob_told(knob)} '{label}'" if label else knob_told(knob)
            sent = f"; {sends}" if sends else ""
            yield f"{called}, {travel}: drives {driven or 'nothing'}{sent}."
        for told, knobs in (
            ("Reserved", surface.reserved),
            ("Out of use", [each.knob for each in self.broken]),
        ):
            if knobs:
                yield f"{told}: {knobs_told(knobs)}."
        for voice in self.voices:
            if voice.played:
                yield f"Voice '{voice.name}': {', '.join(voice.played)}."
        for snapshot in self.snapshots:
            silent = f"; {', '.join(snapshot.silent)} silent" if snapshot.silent else ""
            idle = f"; {', '.join(snapshot.idle)} idle" if snapshot.idle else ""
            moves = ", ".join(snapshot.moves) or "nothing"
            held = f"; holds {snapshot.places}" if snapshot.positions else ""
            yield f"Snapshot '{snapshot.name}' moves {moves}{held}{silent}{idle}."
        for number, past in enumerate(self.edits, 1):
            yield f"Edit {number}: {past}."

    def _knobs(self) -> Iterator[tuple[str, str, str, str, str]]:
        """Each knob that is there or named: label, travel, what is routed to it, what it sends."""
        top, full = self.surface.top, Travel.full(self.surface.bits)
        travels = {each.knob: travel_text(each.travel, top) for each in self.travels}
        labels = {each.knob: each.label for each in self.labels}
        sends = {each.knob: str(each) for each in self.sending}
        driven: dict[str, list[str]] = {name: [] for name in self.surface.knob_names}
        for route in self.routes:
            over = "" if route.travel is None else f" over {travel_text(route.travel, top)}"
            driven.setdefault(route.knob, []).append(f"{route.destination}{over}")
        unset = "travel on each route" if self.surface.per_route else travel_text(full, top)
        for knob, names in driven.items():
            yield (
                knob,
                labels.get(knob, ""),
                travels.get(knob, unset),
                ", ".join(names),
                sends.get(knob, ""),
            )

    @property
    def _parts(self) -> Sequence[Sentences | Table]:
        voices = (
            (
                v.name,
                "" if v.layer is None else str(v.layer),
                v.source or "",
                ", ".join(inner.name for inner in v.destinations),
                ", ".join(v.played),
            )
            for v in self.voices
        )
        stored = (
            (
                each.name,
                ", ".join(each.moves),
                each.places,
                ", ".join(each.silent),
                ", ".join(each.idle),
            )
            for each in self.snapshots
        )
        edits = ((str(number), str(past)) for number, past in enumerate(self.edits, 1))
        knobs = ("knob", "label", "travel", "drives", "sends")
        return (
            Sentences(self.sentences[:1]),
            _filled("Knobs", knobs, tuple(self._knobs()), ("label", "sends")),
            _filled(
                "Voices",
                ("voice", "layer", "from", "destinations", "played"),
                tuple(voices),
                ("played",),
            ),
            _filled(
                "Snapshots",
                ("snapshot", "moves", "holds", "silent", "idle"),
                tuple(stored),
                ("holds", "silent", "idle"),
            ),
            *(() if not self.edits else (Table("Edits", ("number", "edit"), tuple(edits)),)),
        )


def _filled(
    title: str, heads: tuple[str, ...], rows: tuple[tuple[str, ...], ...], spare: tuple[str, ...]
) -> Table:
    """A table without those of its ``spare`` columns in which nothing stands."""
    shown = [
        at for at, head in enumerate(heads) if head not in spare or any(row[at] for row in rows)
    ]
    return Table(
        title,
        tuple(heads[at] for at in shown),
        tuple(tuple(row[at] for at in shown) for row in rows),
    )
