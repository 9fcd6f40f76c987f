"""Setup: what is programmed into an instrument, as found or as made."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import attrs

from knobpack.errors import InputError
from knobpack.questions import AskedElsewhere
from knobpack.text.shown import Fielded, Told, html_list, html_table
from knobpack.words import converters, fields
from knobpack.words.knob_settings import KnobLabel, KnobSending
from knobpack.words.layout import KnobTravel, Layout, Route, VoiceLayer
from knobpack.words.names import NOT_THERE, knob_told, knobs_told, many
from knobpack.words.past import Arrival, BrokenKnob, PastEdit
from knobpack.words.rules import RULES, Rule
from knobpack.words.snapshot import Snapshot
from knobpack.words.surface import Surface
from knobpack.words.travel import Travel, travel_text
from knobpack.words.voice import Group, Voice


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
class Setup(Told, AskedElsewhere):
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
        default=(), converter=converters.voices, validator=fields.several(Voice)
    )
    groups: tuple[Group, ...] = attrs.field(
        kw_only=True, default=(), converter=converters.groups, validator=fields.several(Group)
    )
    routes: tuple[Route, ...] = attrs.field(
        kw_only=True, default=(), converter=converters.routes, validator=fields.several(Route)
    )
    travels: tuple[KnobTravel, ...] = attrs.field(
        kw_only=True,
        default=(),
        converter=converters.knob_travels,
        validator=fields.several(KnobTravel),
    )
    snapshots: tuple[Snapshot, ...] = attrs.field(
        kw_only=True, default=(), converter=converters.snapshots, validator=fields.several(Snapshot)
    )
    arrivals: tuple[Arrival, ...] = attrs.field(
        kw_only=True, default=(), converter=converters.arrivals, validator=fields.several(Arrival)
    )
    agreed: tuple[Rule, ...] = attrs.field(
        kw_only=True, default=(), converter=converters.rules, validator=fields.several(*RULES)
    )
    broken: tuple[BrokenKnob, ...] = attrs.field(
        kw_only=True,
        default=(),
        converter=converters.broken_knobs,
        validator=fields.several(BrokenKnob),
    )
    home: Home | None = attrs.field(
        kw_only=True, default=None, validator=fields.one(Home, optional=True)
    )
    labels: tuple[KnobLabel, ...] = attrs.field(
        kw_only=True,
        default=(),
        converter=converters.knob_labels,
        validator=fields.several(KnobLabel),
    )
    sending: tuple[KnobSending, ...] = attrs.field(
        kw_only=True,
        default=(),
        converter=converters.knob_sendings,
        validator=fields.several(KnobSending),
    )
    edits: tuple[PastEdit, ...] = attrs.field(
        kw_only=True,
        default=(),
        converter=converters.past_edits,
        validator=fields.several(PastEdit),
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
        inner = {name for voice in self.voices for name in voice.by_full_name}
        driven: dict[str, list[str]] = {name: [] for name in self.surface.knob_names}
        for route in self.routes:
            over = "" if route.travel is None else f" over {travel_text(route.travel, top)}"
            there = "" if route.destination in inner else NOT_THERE
            driven.setdefault(route.knob, []).append(f"{route.destination}{over}{there}")
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
    def _parts(self) -> Sequence[str]:
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
            html_list(self.sentences[:1]),
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
            *(() if not self.edits else (html_table("Edits", ("number", "edit"), tuple(edits)),)),
        )


def _filled(
    title: str, heads: tuple[str, ...], rows: tuple[tuple[str, ...], ...], spare: tuple[str, ...]
) -> str:
    """A table without those of its ``spare`` columns in which nothing stands."""
    shown = [
        at for at, head in enumerate(heads) if head not in spare or any(row[at] for row in rows)
    ]
    return html_table(
        title,
        tuple(heads[at] for at in shown),
        tuple(tuple(row[at] for at in shown) for row in rows),
    )
