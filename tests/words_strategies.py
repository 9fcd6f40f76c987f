"""Hypothesis strategies: layouts, setups and requests of moderate size, all of them valid."""

from __future__ import annotations

import unicodedata
from collections.abc import Sequence
from typing import Any, cast, get_args

import attrs
from hypothesis import strategies as st
from hypothesis.strategies import DrawFn, SearchStrategy

from knobpack.words import (
    Arrival,
    BrokenKnob,
    Destination,
    Group,
    Home,
    Knob,
    KnobLabel,
    KnobPosition,
    KnobSending,
    KnobTravel,
    Layout,
    MovedRoute,
    PastEdit,
    Request,
    Route,
    Rule,
    Setup,
    SetupPart,
    Snapshot,
    Span,
    Surface,
    Travel,
    Voice,
    VoiceLayer,
    Weights,
)
from knobpack.words.knob_settings import Turning
from knobpack.words.rules import RULES
from knobpack.words.setup_edits import (
    Away,
    BackInUse,
    Edit,
    Join,
    OneMore,
    OnKnob,
    OutOfUse,
    OwnKnob,
    Part,
    Swap,
)


def _printable(text: str) -> bool:
    # Python and hypothesis may know different versions of Unicode.
    return text == text.strip() and all(unicodedata.category(mark)[0] != "C" for mark in text)


NAMES = st.text(
    st.characters(exclude_categories=["C", "Zl", "Zp"], exclude_characters="/"),
    min_size=1,
    max_size=6,
).filter(_printable)
FULL_NAMES = st.one_of(NAMES, st.builds("{}/{}".format, NAMES, NAMES))
WEIGHTS = st.integers(0, 10_000)
DATA = st.integers(0, 127)
RULE_WEIGHTS = st.none() | st.integers(1, 10_000)


def some(choices: Sequence[str], least: int = 0) -> SearchStrategy[tuple[str, ...]]:
    """Some of ``choices``, each once, in any order."""
    if not choices:
        return st.just(())
    picked = st.lists(st.sampled_from(choices), unique=True, min_size=least, max_size=4)
    return picked.map(tuple)


def travels(top: int = 127) -> SearchStrategy[Travel]:
    """Travels within 0 to ``top``."""
    positions = st.integers(0, top)
    return st.builds(Travel, positions, positions)


@st.composite
def positions(
    draw: DrawFn, knobs: SearchStrategy[str], top: int = 2**32 - 1
) -> tuple[KnobPosition, ...]:
    """Stored positions of at most three knobs."""
    held = draw(st.lists(knobs, unique=True, max_size=3))
    return tuple(KnobPosition(knob, draw(st.integers(0, top))) for knob in held)


@st.composite
def surfaces(draw: DrawFn) -> Surface:
    """Surfaces of at most six knobs."""
    places = draw(
        st.lists(st.tuples(st.integers(1, 3), st.integers(1, 4)), unique=True, max_size=6)
    )
    names = draw(st.lists(NAMES, unique=True, min_size=len(places), max_size=len(places)))
    usual = st.lists(NAMES, unique=True, max_size=2).map(tuple)
    knobs = tuple(
        Knob(name, row, column, draw(usual))
        for name, (row, column) in zip(names, sorted(places), strict=True)
    )
    limit = st.none() | st.integers(1, 10_000)
    return Surface(
        knobs,
        draw(st.integers(2, 32)),
        draw(some(names)),
        draw(some(names)),
        draw(limit),
        draw(limit),
        draw(st.none() | st.integers(8, 10_000)),
        draw(limit),
        label_length=draw(st.none() | st.integers(3, 120)),
        travel_on=draw(st.sampled_from(["knob", "knob", "route"])),
    )


@st.composite
def destinations(draw: DrawFn, name: str, top: int) -> Destination:
    """Destinations of one name, their travels within 0 to ``top``."""
    return Destination(
        name,
        draw(st.just(name) | NAMES),
        draw(st.integers(1, 5)),
        draw(st.none() | travels(top)),
        draw(st.none() | NAMES),
        draw(st.none() | st.integers(1, 10_000)),
        draw(st.booleans()),
        draw(st.none() | st.integers(2, 2**32)),
        draw(st.booleans()),
    )


@st.composite
def voices(draw: DrawFn, name: str, top: int) -> Voice:
    """Voices of one name, with at most three destinations."""
    inner = draw(st.lists(NAMES, unique=True, max_size=3))
    made = tuple(draw(destinations(each, top)) for each in inner)
    spans = st.none() | st.builds(Span, DATA, DATA)
    return Voice(
        name,
        made,
        draw(st.none() | st.integers(1, 16)),
        draw(st.none() | NAMES),
        draw(st.none() | st.integers(1, 16)),
        draw(spans),
        draw(spans),
        draw(st.none() | st.integers(-64, 63)),
        draw(st.none() | st.integers(1, 128)),
    )


@st.composite
def sending(draw: DrawFn, knob: str) -> KnobSending:
    """What a knob of one name sends."""
    number = draw(st.none() | DATA)
    turning: SearchStrategy[Turning | None] = st.sampled_from(get_args(Turning))
    return KnobSending(
        knob,
        number,
        number is not None and number < 32 and draw(st.booleans()),
        draw(st.none() | st.integers(1, 16)),
        draw(turning if number is None else st.none() | turning),
    )


def weights() -> SearchStrategy[Weights]:
    """Weights of any size."""
    four, five = (st.tuples(*[WEIGHTS] * count) for count in (4, 5))
    return st.just(Weights()) | st.builds(Weights, four, *[WEIGHTS] * 7, five, *[WEIGHTS] * 5)


@st.composite
def layouts(
    draw: DrawFn,
    full_names: SearchStrategy[str] = FULL_NAMES,
    knobs: SearchStrategy[str] = NAMES,
    called: SearchStrategy[str] = NAMES,
    top: int = 127,
    own: bool = False,
) -> Layout:
    """Layouts of at most four routes, travels and layers; no layer is taken twice."""
    routed = draw(st.lists(full_names, unique=True, max_size=4))
    turned = draw(st.lists(knobs, unique=True, max_size=4))
    placed = draw(st.lists(called, unique=True, max_size=4))
    layers = draw(st.permutations(range(1, 9)))
    over = travels(top) if own else st.none()
    return Layout(
        tuple(Route(each, draw(knobs), draw(st.none() | over)) for each in routed),
        tuple(KnobTravel(each, draw(travels(top))) for each in turned),
        tuple(VoiceLayer(each, layer) for each, layer in zip(placed, layers, strict=False)),
    )


@st.composite
def rules(draw: DrawFn, known: Sequence[str], knobs: Sequence[str]) -> Rule:
    """Rules over known names and knobs."""
    kinds = [each for each in RULES if knobs or not {"knob", "knobs"} & set(vars(each))]
    given: dict[str, SearchStrategy[Any]] = {
        **dict.fromkeys(("names", "first", "second"), some(known, 1)),
        "knob": st.sampled_from(knobs or ("",)),
        "knobs": some(knobs, 1),
        "weight": RULE_WEIGHTS,
    }
    kind: Any = draw(st.sampled_from(kinds))
    fields = [each.name for each in attrs.fields(kind)]
    return cast("Rule", kind(**{each: draw(given[each]) for each in fields}))


@st.composite
def arrivals(draw: DrawFn, source: str) -> Arrival:
    """Arrivals of one source, whatever they name."""
    place = st.integers(1, 10_000)
    moved = st.builds(MovedRoute, place, st.builds(Route, FULL_NAMES, NAMES), st.none() | NAMES)
    turned = draw(st.lists(NAMES, unique=True, max_size=2))
    return Arrival(
        source,
        draw(NAMES),
        tuple(draw(st.lists(NAMES, unique=True, max_size=2))),
        tuple(draw(st.lists(moved, max_size=2))),
        tuple(KnobTravel(knob, draw(travels(2**32 - 1))) for knob in turned),
        tuple(KnobLabel(knob, draw(NAMES)) for knob in turned[1:]),
        tuple(Snapshot(name) for name in turned),
        at_once=draw(st.booleans()),
    )


@st.composite
def setups(draw: DrawFn, *, away: bool = True) -> Setup:
    """Setups, most of them faulty: what they name is seldom there; some ``away`` from home."""
    surface = draw(surfaces())
    names = draw(st.lists(NAMES, unique=True, max_size=5))
    cut = draw(st.integers(0, len(names)))
    members = st.lists(FULL_NAMES, unique=True, min_size=1, max_size=3).map(tuple)
    moves = st.lists(FULL_NAMES, unique=True, max_size=3).map(tuple)
    stored = draw(st.lists(NAMES, unique=True, max_size=3))
    layout = draw(layouts(top=2**32 - 1, own=True))
    knobs = st.lists(NAMES, unique=True, max_size=3)
    few = st.lists(NAMES, unique=True, max_size=2).map(tuple)
    return Setup(
        draw(NAMES),
        surface,
        tuple(draw(voices(name, surface.top)) for name in names[:cut]),
        groups=tuple(Group(name, draw(members)) for name in names[cut:]),
        routes=layout.routes,
        travels=layout.travels,
        snapshots=tuple(
            Snapshot(
                name,
                draw(moves),
                draw(st.none() | WEIGHTS),
                draw(positions(NAMES)),
                draw(few),
                draw(few),
            )
            for name in stored
        ),
        arrivals=tuple(
            draw(arrivals(name)) for name in draw(st.lists(NAMES, unique=True, max_size=2))
        ),
        agreed=tuple(
            attrs.evolve(cast("Any", rule), weight=None)
            for rule in draw(st.lists(rules(("a", "a/b", "c"), ("K1", "K2")), max_size=2))
        ),
        broken=tuple(BrokenKnob(knob) for knob in draw(st.lists(NAMES, unique=True, max_size=1))),
        home=draw(st.none() | homes()) if away else None,
        labels=tuple(KnobLabel(knob, draw(FULL_NAMES)) for knob in draw(knobs)),
        sending=tuple(draw(sending(knob)) for knob in draw(knobs)),
        edits=draw(st.lists(past_edits(), max_size=2)),
    )


EDITS: st.SearchStrategy[Edit] = st.one_of(
    st.builds(OwnKnob, some(["a", "a/b", "c"], 1), st.none() | NAMES),
    st.builds(OnKnob, some(["a", "a/b", "c"], 1), NAMES),
    st.builds(Swap, NAMES, NAMES),
    st.builds(Part, some(["a", "a/b", "c"], 1), some(["d", "e/f"], 0)),
    st.builds(Join, some(["K1", "K2", "K3"], 2)),
    st.builds(OutOfUse, NAMES),
    st.builds(BackInUse, NAMES),
    st.builds(Away, some(["a", "a/b"], 1)),
    st.builds(KnobTravel, NAMES, st.builds(Travel, st.integers(0, 127), st.integers(0, 127))),
    st.builds(OneMore, voices("d", 127), st.none() | some(["all", "low"], 0)),
)


@st.composite
def past_edits(draw: DrawFn) -> PastEdit:
    """Edits that may have been made."""
    layout = draw(layouts())
    parts = st.builds(
        SetupPart,
        name=st.none() | NAMES,
        routes=st.none() | st.just(layout.routes),
        travels=st.none() | st.just(layout.travels),
        agreed=st.none() | st.lists(rules(("a", "a/b", "c"), ("K1", "K2")), max_size=2).map(tuple),
        broken=st.none() | st.just((BrokenKnob("K1"),)),
        labels=st.none() | st.just((KnobLabel("K1", "Drive"),)),
    )
    return PastEdit(draw(st.none() | EDITS), draw(parts), draw(parts))


@st.composite
def homes(draw: DrawFn) -> Home:
    """Where a setup may come from."""
    return Home(draw(setups(away=False)), draw(setups(away=False)))


@st.composite
def requests(draw: DrawFn) -> Request:
    """Requests with voices, nested groups, snapshots, rules, kept routes and weights."""
    surface = draw(surfaces())
    names = draw(st.lists(NAMES, unique=True, max_size=5))
    cut = draw(st.integers(0, len(names)))
    made = tuple(draw(voices(name, surface.top)) for name in names[:cut])
    full = [voice.full_name(inner) for voice in made for inner in voice.destinations]
    fixed = {v.full_name(inner) for v in made for inner in v.destinations if not inner.movable}
    known = [*names[:cut], *full]
    groups = []
    for name in names[cut:] if known else ():
        groups.append(Group(name, draw(some(known, 1))))
        known.append(name)
    return Request(
        surface,
        made,
        groups=tuple(draw(st.permutations(groups))),
        snapshots=draw(
            st.none() | _snapshots([name for name in known if name not in fixed], surface)
        ),
        rules=tuple(draw(st.lists(rules(known, surface.knob_names), max_size=3))) if known else (),
        keep=draw(_kept(surface, made, full)),
        previous=draw(st.none() | layouts()),
        weights=draw(weights()),
    )


@st.composite
def _snapshots(draw: DrawFn, known: Sequence[str], surface: Surface) -> tuple[Snapshot, ...]:
    names = draw(st.lists(NAMES, unique=True, max_size=3))
    knobs = surface.knob_names
    held = positions(st.sampled_from(knobs), surface.top) if knobs else st.just(())
    return tuple(
        Snapshot(name, draw(some(known)), draw(st.none() | WEIGHTS), draw(held)) for name in names
    )


@st.composite
def _kept(draw: DrawFn, surface: Surface, made: Sequence[Voice], full: Sequence[str]) -> Layout:
    knobs = surface.knob_names
    if not full or not knobs or draw(st.booleans()):
        return Layout()
    called = [voice.name for voice in made]
    inner = layouts(
        st.sampled_from(full),
        st.sampled_from(knobs),
        st.sampled_from(called),
        surface.top,
        surface.per_route,
    )
    found = draw(inner)
    if surface.per_route:
        found = attrs.evolve(found, travels=())
    # A voice that keeps a route keeps its layer too, and two may not keep one: drop the routes
    # then, so that the layers of this layout alone count.
    layers = tuple(place for place in found.layers if place.layer <= (surface.layers or 10_000))
    voice_of = {voice.full_name(each): voice for voice in made for each in voice.destinations}
    base = {place.voice: place.layer for place in layers}
    for route in found.routes:
        voice = voice_of[route.destination]
        if voice.layer is not None:
            base.setdefault(voice.name, voice.layer)
    apart = len(set(base.values())) == len(base)
    within = max(base.values(), default=0) <= (surface.layers or 10_000)
    return Layout(found.routes if apart and within else (), found.travels, layers)
