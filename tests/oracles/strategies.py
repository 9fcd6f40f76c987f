"""Small random requests in which every feature occurs, from a seed or from hypothesis.

Every choice is one whole number out of a range, so one generator serves both: hypothesis draws
the numbers (and shrinks them: 0 is always the plainest choice), or ``random.Random`` does.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Sequence
from itertools import pairwise
from typing import Any, TypeVar, cast

import attrs

from knobpack.words import (
    Alone,
    Apart,
    Barred,
    Destination,
    Fixed,
    Group,
    Knob,
    KnobPosition,
    KnobTravel,
    Layout,
    Request,
    Route,
    Rule,
    Snapshot,
    Surface,
    Together,
    Travel,
    Voice,
    VoiceLayer,
    Weights,
)

T = TypeVar("T")
KINDS = ("cutoff", "level", "pan", "drive")
SIZES = (1, 2, 3, 3, 4, 4, 4, 5, 5, 5, 5, 6, 6, 6, 6, 6)
Panel = tuple[tuple[int, int], ...]
PANELS: tuple[Panel, ...] = (
    ((1, 1), (1, 2)),
    ((1, 1), (1, 2)),
    ((1, 1), (1, 2), (1, 3)),
    ((1, 1), (1, 2), (1, 3)),
    ((1, 1), (1, 2), (1, 3), (1, 4)),
    ((1, 1), (1, 2), (1, 3), (1, 4)),
    ((1, 1), (1, 2), (2, 1)),
    ((1, 1), (1, 2), (1, 4)),
    ((1, 1), (1, 2), (2, 1), (2, 2)),
    ((1, 2), (2, 1), (2, 2), (2, 3)),
    ((1, 1),),
    ((1, 1),),
    (),
)
"""The rows and columns of small surfaces, those worth more tries more often."""
BUSY_PANELS: tuple[Panel, ...] = (
    ((1, 1), (1, 2), (1, 3), (1, 4)),
    ((1, 1), (1, 2), (1, 3), (2, 1), (2, 2)),
    ((1, 1), (1, 2), (1, 3), (2, 1), (2, 2), (2, 3)),
)


@attrs.frozen
class Choices:
    """Choices made with whole numbers.

    Args:
        whole: gives a whole number from a lowest to a highest.
    """

    whole: Callable[[int, int], int]

    def chance(self, percent: int) -> bool:
        """True so often in a hundred."""
        return self.whole(0, 99) >= 100 - percent

    def pick(self, options: Sequence[T]) -> T:
        """One of the options; the first is the plainest."""
        return options[self.whole(0, len(options) - 1)]

    def some(self, options: Sequence[T], least: int, most: int) -> tuple[T, ...]:
        """Different options, in any order: from ``least`` to ``most`` of them, if there are."""
        left = list(options)
        count = self.whole(min(least, len(left)), min(most, len(left)))
        return tuple(left.pop(self.whole(0, len(left) - 1)) for _ in range(count))


def seeded_request(seed: int) -> Request:
    """A request of at most 6 destinations and 4 knobs, some of them impossible, from a seed."""
    choose = Choices(random.Random(seed).randint)  # noqa: S311 (no secret)
    return _stored(choose, small_request(choose))


def seeded_edit(seed: int) -> Request:
    """A request of the same sort that edits a layout in use, from a seed."""
    choose = Choices(random.Random(seed).randint)  # noqa: S311 (no secret)
    return _stored(choose, edited(choose, small_request(choose)))


def edited(choose: Choices, request: Request) -> Request:
    """A request as an edit of a layout in use, which routes most of what is there."""
    names, knobs = list(request.by_full_name), [*request.surface.knob_names, "Old knob"]
    routes = tuple(Route(name, choose.pick(knobs)) for name in names if choose.chance(75))
    had = [knob for knob in knobs if choose.chance(60)]
    travels = tuple(KnobTravel(knob, _travel(choose, request.surface.top)) for knob in had)
    return attrs.evolve(
        request,
        previous=Layout(routes, travels),
        in_use=True,
        edited=tuple(name for name in names if choose.chance(25)),
    )


def stored_request(seed: int) -> Request:
    """A request of either sort whose snapshots say all that snapshots can, from a seed."""
    request = seeded_edit(seed) if seed % 4 == 3 else seeded_request(seed)
    choose = Choices(random.Random(seed).randint)  # noqa: S311 (no secret)
    knobs, voices = request.surface.knob_names, [voice.name for voice in request.voices]
    snapshots = []
    for each in request.played:
        stored = choose.some(knobs, 0, 3)
        positions = [KnobPosition(knob, choose.whole(0, request.surface.top)) for knob in stored]
        silent, idle = choose.some(voices, 0, 1), choose.some(knobs, 0, 2)
        snapshots.append(attrs.evolve(each, positions=positions, silent=silent, idle=idle))
    return attrs.evolve(request, snapshots=snapshots)


def busy_request(seed: int) -> Request:
    """A request of the same sort, of 8 to 10 destinations on 4 to 6 knobs."""
    choose = Choices(random.Random(seed).randint)  # noqa: S311 (no secret)
    return small_request(choose, (8, 9, 10), BUSY_PANELS)


def small_request(
    choose: Choices, sizes: tuple[int, ...] = SIZES, panels: tuple[Panel, ...] = PANELS
) -> Request:
    """A request with so many destinations, on such a panel."""
    panel = choose.pick(panels)
    bits = 14 if choose.chance(20) else 7
    size = choose.pick(sizes)
    cuts = sorted(choose.whole(0, size) for _ in range(choose.whole(0, 2)))
    shares = [high - low for low, high in pairwise([0, *cuts, size])]
    surface = _surface(choose, panel, bits, len(shares), size)
    voices = tuple(_voice(choose, surface, index, size) for index, size in enumerate(shares))
    groups = _groups(choose, voices)
    return Request(
        surface=surface,
        voices=voices,
        groups=groups,
        snapshots=_snapshots(choose, voices, groups),
        rules=tuple(
            _rule(choose, surface, voices, groups) for _ in range(choose.pick((1, 0, 2, 3, 2, 3)))
        ),
        keep=_keep(choose, surface, voices) if choose.chance(40) else Layout(),
        previous=_previous(choose, surface, voices) if choose.chance(40) else None,
        weights=_weights(choose) if choose.chance(40) else Weights(),
    )


def _stored(choose: Choices, request: Request) -> Request:
    """The same; the snapshots of two in five put most knobs at one of a few positions."""
    if request.snapshots is None or not choose.chance(40):
        return request
    knobs, places = request.surface.knob_names, (0, 40, request.surface.top)
    snapshots = tuple(
        attrs.evolve(
            each,
            positions=[KnobPosition(k, choose.pick(places)) for k in knobs if choose.chance(70)],
        )
        for each in request.snapshots
    )
    return attrs.evolve(request, snapshots=snapshots)


def _surface(choose: Choices, panel: Panel, bits: int, voices: int, count: int) -> Surface:
    usual = choose.chance(35)
    knobs = tuple(
        Knob(
            f"K{number}",
            row,
            column,
            choose.some(KINDS, 0, 2) if usual else (),
        )
        for number, (row, column) in enumerate(panel, 1)
    )
    names = tuple(knob.name for knob in knobs)
    return Surface(
        knobs,
        bits,
        reserved=choose.some(names, 1, 2) if choose.chance(25) else (),
        favoured=choose.some(names, 1, 4) if choose.chance(35) else (),
        destinations_per_knob=choose.whole(1, 3) if choose.chance(25) else None,
        routes=choose.whole(0, count) if choose.chance(20) else None,
        layers=choose.whole(max(1, voices - 1), voices + 1) if choose.chance(20) else None,
        snapshots=choose.whole(1, 4) if choose.chance(12) else None,
    )


def _travel(choose: Choices, top: int) -> Travel:
    half = top // 2
    return choose.pick(
        (
            Travel(0, half),
            Travel(top, 0),
            Travel(0, top),
            Travel(half, half),
            Travel(choose.whole(0, top), choose.whole(0, top)),
        )
    )


def _voice(choose: Choices, surface: Surface, index: int, size: int) -> Voice:
    destinations = []
    for position in range(size):
        kind = choose.pick(KINDS)
        priority = choose.whole(1, 5)
        travel = _travel(choose, surface.top) if choose.chance(55) else None
        source_knob = choose.pick(("S1", "S2", "S3")) if choose.chance(45) else None
        if source_knob == "S3" and priority > 2:
            # So that all of a bundle may be hidden.
            priority = 5
        destinations.append(
            Destination(
                f"{kind} {position + 1}",
                kind,
                priority=priority,
                travel=travel,
                source_knob=source_knob,
                source_place=choose.whole(1, 3) if choose.chance(20) else None,
                movable=not choose.chance(10),
                steps=choose.whole(2, 5) if choose.chance(10) else None,
                must_place=choose.chance(6),
            )
        )
    room = surface.layers is None or index < surface.layers
    return Voice(
        f"Voice {index + 1}",
        tuple(destinations),
        layer=index + 1 if room and choose.chance(50) else None,
        source=choose.pick(("Old", "Older", None)),
    )


def _full_names(voices: tuple[Voice, ...]) -> list[str]:
    return [voice.full_name(inner) for voice in voices for inner in voice.destinations]


def _groups(choose: Choices, voices: tuple[Voice, ...]) -> tuple[Group, ...]:
    groups: list[Group] = []
    for number in range(choose.pick((1, 0, 1, 2, 2))):
        single = _full_names(voices)
        members = choose.some([voice.name for voice in voices], 0, 2)
        members += choose.some(single, 0 if members else 1, 2)
        if groups and choose.chance(50):
            members += (groups[0].name,)
        if members:
            groups.append(Group(f"Group {number + 1}", members))
    return tuple(groups)


def _snapshots(
    choose: Choices, voices: tuple[Voice, ...], groups: tuple[Group, ...]
) -> tuple[Snapshot, ...] | None:
    if choose.chance(35):
        return None
    movable = [
        voice.full_name(inner) for voice in voices for inner in voice.destinations if inner.movable
    ]
    options = [*(voice.name for voice in voices), *(group.name for group in groups), *movable]
    return tuple(
        Snapshot(
            f"Scene {number + 1}",
            choose.some(options, 0, 3),
            break_weight=choose.pick((1, 0, 3, 40)) if choose.chance(65) else None,
        )
        for number in range(choose.pick((0, 1, 2, 3, 1, 2)))
    )


def _rule(
    choose: Choices, surface: Surface, voices: tuple[Voice, ...], groups: tuple[Group, ...]
) -> Rule:
    kinds = (Apart, Together, Alone, Fixed, Barred)
    return rule_of(choose, kinds if surface.knobs else kinds[:3], surface, voices, groups)


def rule_of(
    choose: Choices,
    kinds: Sequence[type[Rule]],
    surface: Surface,
    voices: tuple[Voice, ...],
    groups: tuple[Group, ...],
) -> Rule:
    """A rule of one of some sorts, which its fields tell how to make."""
    weight = choose.pick((1, 30, 450)) if choose.chance(55) else None
    single, whole = _full_names(voices), [voice.name for voice in voices]
    grouped = [group.name for group in groups] or whole
    options = choose.pick((single, grouped, whole, grouped, single + whole, single))
    kind: Any = choose.pick(kinds)
    draw: dict[str, Callable[[], Any]] = {
        **dict.fromkeys(("names", "first", "second"), lambda: choose.some(options, 1, 2)),
        "knob": lambda: choose.pick(surface.knob_names),
        "knobs": lambda: choose.some(surface.knob_names, 1, 2),
    }
    fields = [each.name for each in attrs.fields(kind) if each.name in draw]
    return cast("Rule", kind(**{each: draw[each]() for each in fields}, weight=weight))


def request_with(kind: type[Rule], seed: int) -> Request:
    """A request of the same sort whose rules are all of one sort, one or two."""
    request = seeded_request(seed)
    choose = Choices(random.Random(seed).randint)  # noqa: S311 (no secret)
    words = (request.surface, request.voices, request.groups)
    if not request.by_full_name or not request.surface.knobs:
        return attrs.evolve(request, rules=())
    drawn = [rule_of(choose, [kind], *words) for _ in range(choose.whole(1, 2))]
    return attrs.evolve(request, rules=tuple(dict.fromkeys(drawn)))


def _keep(choose: Choices, surface: Surface, voices: tuple[Voice, ...]) -> Layout:
    knobs = surface.knob_names
    kept = choose.some(_full_names(voices), 0, 2) if knobs else ()
    routes = tuple(Route(name, choose.pick(knobs)) for name in kept)
    travels = []
    for knob in knobs:
        keeps = any(route.knob == knob for route in routes)
        if choose.chance(60 if keeps else 20):
            travels.append(KnobTravel(knob, _travel(choose, surface.top)))
    layers = tuple(
        VoiceLayer(voice.name, index + 1)
        for index, voice in enumerate(voices)
        if (surface.layers is None or index < surface.layers) and choose.chance(20)
    )
    return Layout(routes, tuple(travels), layers)


def _previous(choose: Choices, surface: Surface, voices: tuple[Voice, ...]) -> Layout:
    knobs = (*surface.knob_names, "Old knob")
    names = [*_full_names(voices), "Gone/cutoff", "Voice 1/gone"]
    routed = choose.some(names, 1, 5)
    routes = tuple(Route(name, choose.pick(knobs)) for name in routed)
    had = [knob for knob in knobs if choose.chance(50)]
    return Layout(routes, tuple(KnobTravel(knob, _travel(choose, surface.top)) for knob in had))


def _weights(choose: Choices) -> Weights:
    def by_priority(*usual: int) -> tuple[int, ...]:
        if choose.chance(50):
            return tuple(choose.pick((1, 0, 2, 5, 9)) for _ in usual)
        return usual

    def one() -> int:
        return choose.pick((1, 0, 2, 7, 60, 500))

    usual: dict[str, Any] = attrs.asdict(Weights())
    drawn: dict[str, Any] = {
        name: one() if type(each) is int else by_priority(*each) for name, each in usual.items()
    }
    return Weights(**drawn)
