"""What stands in a picture, where it is rendered, and what of it collides."""

from __future__ import annotations

from collections.abc import Callable
from itertools import combinations

import attrs
from matplotlib.axes import Axes
from matplotlib.text import Text
from matplotlib.transforms import Bbox

from knobpack import Allocation, Route, Setup, Snapshot
from knobpack.pictures import (
    draw_budget,
    draw_reasons,
    draw_routes,
    draw_show,
    draw_snapshots,
    draw_surface,
    draw_sweep,
)
from knobpack.questions import knob_budget
from knobpack.show import Show, Song, allocate_show
from knobpack.simulation import sweep


def long_names(setup: Setup) -> Setup:
    """The same setup with names far longer than a picture has room for, and dollar signs."""

    def name(old: str) -> str:
        voice, slash, inner = old.partition("/")
        return f"{voice} {'of the $x_1$ and more ' * 3}of it{slash}{inner}"

    voices = tuple(attrs.evolve(voice, name=name(voice.name)) for voice in setup.voices)
    routes = tuple(
        attrs.evolve(route, destination=name(route.destination)) for route in setup.routes
    )
    snapshots = tuple(
        Snapshot(name(each.name), tuple(map(name, each.moves))) for each in setup.snapshots
    )
    groups = tuple(
        attrs.evolve(group, name=name(group.name), members=tuple(map(name, group.members)))
        for group in setup.groups
    )
    return attrs.evolve(
        setup,
        name=name(setup.name),
        voices=voices,
        routes=routes,
        snapshots=snapshots,
        groups=groups,
    )


OF_SETUP: list[Callable[..., Axes]] = [draw_surface, draw_routes, draw_snapshots]


def every(allocation: Allocation, setup: Setup) -> list[Callable[..., Axes]]:
    """Each picture as a function of ``ax`` alone."""
    budget = knob_budget(allocation, effort=1)
    first = setup.snapshots[0].name
    turned = attrs.evolve(setup, name="Turned", routes=_turned(setup))
    evening = [Song("Evening", setup), Song("By itself", allocation), Song("Turned", turned)]
    show = allocate_show(Show(setup.name, evening, breaks=["By itself"]))
    return [
        *((lambda ax=None, draw=draw: draw(setup, ax=ax)) for draw in OF_SETUP),
        lambda ax=None: draw_sweep(sweep(setup, first), ax=ax),
        lambda ax=None: draw_budget(budget, ax=ax),
        lambda ax=None: draw_reasons(budget, ax=ax),
        lambda ax=None: draw_reasons(allocation.why(allocation.routes[-1].destination), ax=ax),
        lambda ax=None: draw_show(show, ax=ax),
    ]


def _turned(setup: Setup) -> tuple[Route, ...]:
    """Its routes, what each knob drives on the next one, and the last on the first."""
    knobs = list(dict.fromkeys(route.knob for route in setup.routes))
    after = dict(zip(knobs, [*knobs[1:], *knobs[:1]], strict=True))
    return tuple(attrs.evolve(route, knob=after[route.knob]) for route in setup.routes)


def written(axes: Axes) -> list[tuple[str, Bbox]]:
    """All that is written, on the axes, their edges and their title, and where it is rendered."""
    axes.figure.canvas.draw()
    found = [*axes.texts, axes.title, axes._left_title]  # type: ignore[attr-defined]
    if axes.axison:
        found += [axes.xaxis.label, axes.yaxis.label]
        for axis in (axes.xaxis, axes.yaxis):  # a tick beyond the limits is there and not drawn
            low, high = sorted(axis.get_view_interval())
            ticks = zip(axis.get_majorticklocs(), axis.get_ticklabels(), strict=True)
            found += [label for place, label in ticks if low <= place <= high]
    seen = [text for text in found if text.get_text() and text.get_visible()]
    # That of an annotation would take in its line, which may pass behind other names.
    return [(text.get_text(), Text.get_window_extent(text)) for text in seen]


def faults(axes: Axes) -> list[tuple[str, ...]]:
    """Texts that stand on one another, or stick out of the figure, by more than a dot."""
    boxes = written(axes)
    edge = axes.figure.bbox
    found: list[tuple[str, ...]] = [
        (one, other)
        for (one, first), (other, second) in combinations(boxes, 2)
        if min(first.x1, second.x1) - max(first.x0, second.x0) > 1
        and min(first.y1, second.y1) - max(first.y0, second.y0) > 1
    ]
    return found + [
        (text,)
        for text, box in boxes
        if box.x0 < -1 or box.y0 < -1 or box.x1 > edge.x1 + 1 or box.y1 > edge.y1 + 1
    ]


def texts(axes: Axes) -> list[str]:
    return [text.get_text() for text in axes.texts]
