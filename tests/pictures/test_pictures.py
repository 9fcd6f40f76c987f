"""Pictures: what they show is what the setup says, nothing collides, nothing is shown or saved."""

from __future__ import annotations

import builtins
from collections.abc import Callable, Iterator
from itertools import combinations, pairwise
from typing import Any

import attrs
import matplotlib as mpl
import pytest
from matplotlib import pyplot
from matplotlib.axes import Axes
from matplotlib.colors import to_rgb
from matplotlib.text import Text
from matplotlib.transforms import Bbox

from benchmarks.requests import sized
from knobpack import (
    Allocation,
    InputError,
    KnobpackError,
    KnobTravel,
    Route,
    Setup,
    Snapshot,
    Surface,
    Travel,
    Voice,
    allocate_request,
    knob_budget,
    sweep,
)
from knobpack.pictures import (
    draw_before_after,
    draw_budget,
    draw_frontiers,
    draw_routes,
    draw_snapshots,
    draw_surface,
    draw_sweep,
)
from knobpack.pictures.canvas import fitted, length
from knobpack.pictures.lines import apart
from knobpack.pictures.palette import COLOURS, HATCHES, look
from knobpack.present.demo import demo_request
from knobpack.reading import read
from knobpack.words import Destination


@pytest.fixture(autouse=True)
def _no_window() -> Iterator[None]:
    mpl.use("Agg")
    yield
    pyplot.close("all")


@pytest.fixture(scope="module")
def allocation() -> Allocation:
    return allocate_request(demo_request())


@pytest.fixture(scope="module")
def setup(allocation: Allocation) -> Setup:
    return allocation.setup("Evening set")


@pytest.fixture(scope="module")
def large() -> Allocation:
    return allocate_request(sized(0, 64, 100), effort=0.2)


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
    emptied = attrs.evolve(setup, routes=(), travels=())
    return [
        *((lambda ax=None, draw=draw: draw(setup, ax=ax)) for draw in OF_SETUP),
        lambda ax=None: draw_sweep(sweep(setup, first), ax=ax),
        lambda ax=None: draw_frontiers(allocation, ax=ax),
        lambda ax=None: draw_budget(budget, ax=ax),
        lambda ax=None: draw_before_after(emptied, setup, ax=ax),
    ]


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


def test_no_text_collides_on_eight_knobs(allocation: Allocation, setup: Setup) -> None:
    for number, draw in enumerate(every(allocation, setup)):
        assert faults(draw()) == [], number


def test_no_text_collides_on_sixty_four_knobs_with_long_names(large: Allocation) -> None:
    for number, draw in enumerate(every(large, long_names(large.setup("Rack")))):
        assert faults(draw()) == [], number


def test_collisions_would_be_seen() -> None:
    axes = pyplot.figure().add_axes((0, 0, 1, 1))
    axes.set_axis_off()
    axes.text(0.5, 0.5, "one")
    axes.text(0.51, 0.5, "another")
    axes.text(0.95, 0.5, "what goes on and on")
    assert faults(axes) == [("one", "another"), ("what goes on and on",)]


def test_they_draw_on_axes_of_any_size_and_touch_nothing_else(
    allocation: Allocation, setup: Setup
) -> None:
    for number, draw in enumerate(every(allocation, setup)):
        figure, (first, second) = pyplot.subplots(1, 2, figsize=(9, 5))
        assert draw(ax=first) is first, number
        assert not second.texts
        assert pyplot.get_fignums() == [figure.number]
        assert faults(first) == [], number
        pyplot.close(figure)


def test_the_surface_shows_each_knob_with_what_it_drives(setup: Setup) -> None:
    shown = texts(draw_surface(setup))
    for knob in setup.surface.knob_names:
        at = shown.index(knob)
        block = shown[at + 1 : at + 10]
        for route in setup.routes:
            if route.knob == knob:
                assert any(line.startswith(route.destination[:15]) for line in block)
    assert "held in every snapshot" in shown
    for number, snapshot in enumerate(setup.snapshots, start=1):
        assert any(line.startswith(f"{number}  {snapshot.name}: ") for line in shown)


def test_a_full_knob_says_how_many_more_there_are() -> None:
    voice = Voice("Pad", tuple(Destination(f"d{at}") for at in range(11)))
    crowded = Setup(
        "Set", Surface.row(1), (voice,), routes=tuple(Route(f"Pad/d{at}", "K1") for at in range(11))
    )
    shown = texts(draw_surface(crowded))
    assert "and 3 more" in shown
    assert "Pad/d7" in shown
    assert "Pad/d8" not in shown


def test_a_long_row_goes_on_below() -> None:
    axes = draw_surface(Setup("Set", Surface.row(9)))
    placed = {text.get_text(): text.get_position() for text in axes.texts}
    assert placed["K1"][0] == placed["K9"][0]
    assert placed["K1"][1] == placed["K8"][1] > placed["K9"][1]


def test_the_routing_leads_from_master_to_knob_to_destination(setup: Setup) -> None:
    axes = draw_routes(setup)
    shown = texts(axes)
    assert "master" in shown
    high = {text.get_text(): text.get_position()[1] for text in axes.texts}
    ends = {
        (round(line.get_ydata()[0], 6), round(line.get_ydata()[-1], 6))  # type: ignore[index, arg-type]
        for line in axes.lines
    }
    for route in setup.routes:
        assert (round(high[route.knob], 6), round(high[route.destination], 6)) in ends
    reading = read(setup)
    held = [k for k in reading.carries if not any(k in play.follows for play in reading.plays)]
    broken = [line for line in axes.lines if line.get_linestyle() == "--"]
    assert {round(float(line.get_ydata()[0]), 6) for line in broken} == {  # type: ignore[index, arg-type]
        round(high[knob], 6) for knob in held if reading.carries[knob]
    }


def test_what_no_knob_reaches_stands_at_the_end() -> None:
    voice = Voice("Pad", (Destination("cutoff"), Destination("level")))
    shown = texts(
        draw_routes(Setup("S", Surface.row(2), (voice,), routes=(Route("Pad/level", "K1"),)))
    )
    assert shown.index("Pad/cutoff") > shown.index("Pad/level")
    assert "on no knob" in shown
    assert "drives nothing" in shown


def test_the_table_of_snapshots_has_a_mark_for_what_each_knob_does() -> None:
    """One knob that moves, one with an empty travel, one that is held, one that drives nothing."""
    voices = (
        Voice("Pad", (Destination("a"), Destination("b"))),
        Voice("Bass", (Destination("c"),)),
    )
    faulty = Setup(
        "S",
        Surface.row(4),
        voices,
        routes=(Route("Pad/a", "K1"), Route("Pad/b", "K2"), Route("Bass/c", "K3")),
        travels=(KnobTravel("K2", Travel(5, 5)),),
        snapshots=(Snapshot("Pad alone", ("Pad",)),),
    )
    axes = draw_snapshots(faulty)
    kinds = [type(patch).__name__ for patch in axes.patches]
    assert kinds.count("Circle") == 2  # K2, and the one in the key
    black = [p for p in axes.patches if to_rgb(p.get_facecolor()) == (0, 0, 0) and p.get_fill()]
    assert len(black) == 2  # K1, and the one in the key
    assert len(axes.lines) == 2  # K3, and the one in the key


def test_a_sweep_is_drawn_as_it_was_simulated(setup: Setup) -> None:
    found = sweep(setup, "All")
    axes = draw_sweep(found)
    drawn = {tuple(map(int, line.get_ydata())) for line in axes.lines}  # type: ignore[arg-type]
    asked = {
        tuple(path.tolist())
        for knob, path in zip(found.knobs, found.positions, strict=True)
        if knob in found.follows
    }
    assert drawn == asked
    assert "1 knob held" in axes.get_xlabel()
    named = " ".join(text.get_text() for text in axes.texts)
    assert all(knob in named for knob in found.follows)


def test_the_frontiers_are_those_of_the_allocation(allocation: Allocation) -> None:
    axes = draw_frontiers(allocation)
    assert allocation.frontiers is not None
    costs = {
        (knobs, values[2])
        for family in allocation.frontiers.families
        for knobs, values in family.costs
        if values is not None
    }
    drawn = [
        point
        for line in axes.lines
        for point in zip(line.get_xdata(), line.get_ydata(), strict=True)  # type: ignore[arg-type]
    ]
    assert drawn
    assert set(drawn) <= costs
    for line in axes.lines:
        heights = list(map(float, line.get_ydata()))  # type: ignore[arg-type]
        assert heights == sorted(heights, reverse=True)


def test_without_frontiers_the_picture_says_so(allocation: Allocation) -> None:
    axes = draw_frontiers(attrs.evolve(allocation, frontiers=None))
    assert axes.get_title(loc="left") == "The search did not need what other numbers of knobs cost"


def test_the_budget_has_bars_in_proportion(allocation: Allocation) -> None:
    """770 points more saved by one knob stand beside 1,050 lost, as the README's budget tells."""
    axes = draw_budget(knob_budget(allocation))
    assert "+1,050 sharing knobs" in texts(axes)
    assert "-770 sharing knobs" in texts(axes)
    wide = sorted({round(p.get_width(), 6) for p in axes.patches}, reverse=True)  # type: ignore[attr-defined]
    assert wide[1] / wide[0] == pytest.approx(770 / 1050)


def test_before_and_after_tells_what_changes_and_what_stays(setup: Setup) -> None:
    moved = attrs.evolve(
        setup, routes=(Route(setup.routes[0].destination, "K8"), *setup.routes[1:])
    )
    axes = draw_before_after(setup, moved)
    assert "1 change" in texts(axes)
    assert texts(axes).count("→") == 1
    bold = [t.get_text() for t in axes.texts if t.get_fontweight() == "bold"]
    assert any(text.startswith("K8, ") for text in bold)
    assert "0 changes" in texts(draw_before_after(setup, setup))


def test_an_empty_setup_can_be_drawn() -> None:
    empty = Setup("Nothing", Surface.row(0))
    for draw in OF_SETUP:
        assert "Nothing" in texts(draw(empty))
    assert "0 changes" in texts(draw_before_after(empty, empty))


@pytest.mark.parametrize(
    ("draw", "given", "field"),
    [
        (draw_surface, ("no",), "draw_surface.setup"),
        (draw_routes, ("no",), "draw_routes.setup"),
        (draw_snapshots, ("no",), "draw_snapshots.setup"),
        (draw_sweep, ("no",), "draw_sweep.sweep"),
        (draw_frontiers, ("no",), "draw_frontiers.allocation"),
        (draw_budget, ("no",), "draw_budget.budget"),
        (draw_before_after, ("no", "no"), "draw_before_after.before"),
    ],
)
def test_wrong_input_is_named(draw: Callable[..., Any], given: tuple[Any], field: str) -> None:
    with pytest.raises(InputError) as caught:
        draw(*given)
    assert caught.value.field == field
    assert not pyplot.get_fignums()


def test_what_is_no_axes_is_refused(setup: Setup) -> None:
    with pytest.raises(InputError, match="give Axes of matplotlib, or None"):
        draw_surface(setup, ax="here")  # type: ignore[arg-type]


def test_without_matplotlib_one_sentence_says_what_to_do(
    setup: Setup, monkeypatch: pytest.MonkeyPatch
) -> None:
    real = builtins.__import__

    def missing(name: str, *rest: Any, **more: Any) -> Any:
        if name.startswith("matplotlib"):
            raise ImportError(name)
        return real(name, *rest, **more)

    monkeypatch.setattr(builtins, "__import__", missing)
    with pytest.raises(KnobpackError, match=r"python -m pip install 'knobpack\[pictures\]'"):
        draw_surface(setup)


def test_the_looks_of_sixty_three_voices_all_differ() -> None:
    assert len({look(number) for number in range(len(COLOURS) * len(HATCHES))}) == 63


def test_neighbouring_looks_differ_in_grey() -> None:
    """Relative luminance as WCAG 2.2 defines it, or else the hatching, tells neighbours apart."""

    def luminance(colour: str) -> float:
        linear = [
            c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in to_rgb(colour)
        ]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    for number in range(62):
        one, other = look(number), look(number + 1)
        light, dark = sorted((luminance(one.colour), luminance(other.colour)), reverse=True)
        assert one.hatch != other.hatch
        assert (light + 0.05) / (dark + 0.05) > 1.1


def test_a_text_is_cut_to_its_room() -> None:
    assert fitted("Pad", 5, 8) == "Pad"
    cut = fitted("A name that is far too long", 1, 8)
    assert cut.endswith("…")
    assert length(cut, 8) <= 1 < length(cut[:-1] + "nn…", 8)
    assert fitted("A name", 0, 8) == ""


@pytest.mark.parametrize("ends", [[], [5], [5, 5, 5], [0, 100, 50, 51], list(range(40))])
def test_names_beside_lines_keep_their_order_and_their_distance(ends: list[float]) -> None:
    heights = apart(ends, 100)
    order = sorted(range(len(ends)), key=lambda at: ends[at])
    placed = [heights[at] for at in order]
    least = min(6.5, 108 / max(1, len(ends) - 1))
    assert all(b - a >= least - 1e-9 for a, b in pairwise(placed))
    assert all(height <= 104 + 1e-9 for height in placed)
