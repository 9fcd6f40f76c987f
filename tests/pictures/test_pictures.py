"""Pictures: looks that differ, texts that fit, what they show is what the setup says."""

from __future__ import annotations

import builtins
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from matplotlib import pyplot
from matplotlib.colors import to_rgb

from knobpack import (
    Allocation,
    Destination,
    InputError,
    KnobpackError,
    KnobTravel,
    Route,
    Setup,
    Surface,
    Travel,
    Voice,
    files,
)
from knobpack.pictures import (
    draw_budget,
    draw_reasons,
    draw_routes,
    draw_show,
    draw_snapshots,
    draw_surface,
    draw_sweep,
)
from knobpack.pictures.canvas import COLOURS, HATCHES, fitted, length, look_of
from tests.pictures.seen import OF_SETUP, every, faults, long_names, texts


def test_the_looks_of_ninety_voices_all_differ() -> None:
    assert len({look_of(number) for number in range(len(COLOURS) * len(HATCHES))}) == 90
    # As many as are usual differ in colour and in hatching, so any two that lie side by side do.
    assert len({look_of(number).colour for number in range(9)}) == 9
    assert len({look_of(number).hatch for number in range(9)}) == 9


def test_neighbouring_looks_differ_in_grey() -> None:
    """Relative luminance as WCAG 2.2 defines it, or else the hatching, tells neighbours apart."""

    def luminance(colour: str) -> float:
        linear = [
            c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in to_rgb(colour)
        ]
        return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]

    for number in range(89):
        one, other = look_of(number), look_of(number + 1)
        light, dark = sorted((luminance(one.colour), luminance(other.colour)), reverse=True)
        assert one.hatch != other.hatch
        assert (light + 0.05) / (dark + 0.05) > 1.1


def test_a_text_is_cut_to_its_room() -> None:
    assert fitted("Pad", 5, 8) == "Pad"
    cut = fitted("A name that is far too long", 1, 8)
    assert cut.endswith("…")
    assert length(cut, 8) <= 1 < length(cut[:-1] + "nn…", 8)
    assert fitted("A name", 0, 8) == ""


def test_of_a_destination_the_voice_is_cut_so_that_two_can_be_told_apart() -> None:
    long = "Felt piano (Tin roof set)"
    cut = [fitted(f"{long}/{inner}", 1.3, 8) for inner in ("level", "tone")]
    assert [each.split("…")[1] for each in cut] == ["/level", "/tone"]
    assert all(each.startswith("Felt p") and length(each, 8) <= 1.3 for each in cut)
    # Too little of the voice would be left: the end is cut after all.
    narrow = fitted(f"{long}/a destination with a long name", 1.3, 8)
    assert narrow.startswith("Felt piano")
    assert narrow.endswith("…")


def test_no_text_collides_on_eight_knobs(allocation: Allocation, setup: Setup) -> None:
    for number, draw in enumerate(every(allocation, setup)):
        assert faults(draw()) == [], number


@pytest.mark.long
def test_no_text_collides_on_sixty_four_knobs_with_long_names(large: Allocation) -> None:
    for number, draw in enumerate(every(large, long_names(large.setup("Rack")))):
        assert faults(draw()) == [], number


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


def test_an_empty_setup_can_be_drawn() -> None:
    empty = Setup("Nothing", Surface.row(0))
    for draw in OF_SETUP:
        assert "Nothing" in texts(draw(empty))


def test_letters_that_no_font_has_are_boxes_without_a_warning(tmp_path: Path) -> None:
    """A warning would be an error here."""
    for draw in OF_SETUP:
        files.save(tmp_path / "night.svg", draw(Setup("夜", Surface.row(1))))


@pytest.mark.parametrize(
    ("draw", "given", "field"),
    [
        (draw_surface, ("no",), "draw_surface.setup"),
        (draw_routes, ("no",), "draw_routes.setup"),
        (draw_snapshots, ("no",), "draw_snapshots.setup"),
        (draw_sweep, ("no",), "draw_sweep.sweep"),
        (draw_budget, ("no",), "draw_budget.budget"),
        (draw_reasons, ("no",), "draw_reasons.answer"),
        (draw_show, ("no",), "draw_show.laid_out"),
    ],
)
def test_wrong_input_is_named(draw: Callable[..., Any], given: tuple[Any], field: str) -> None:
    before = pyplot.get_fignums()  # of tests elsewhere
    with pytest.raises(InputError) as caught:
        draw(*given)
    assert caught.value.field == field
    assert pyplot.get_fignums() == before


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


def test_of_the_graph_of_an_answer_it_is_said_to_give_the_answer(allocation: Allocation) -> None:
    graph = allocation.why(allocation.routes[0].destination).graph
    with pytest.raises(InputError, match=r"give the answer: draw_reasons\(answer\)"):
        draw_reasons(graph)  # type: ignore[arg-type]


def test_what_stands_still_is_marked() -> None:
    organ = Voice("Organ", [Destination("level"), Destination("drive")], 1)
    routes = [Route("Organ/level", "K1"), Route("Organ/drive", "K2")]
    travels = [KnobTravel("K2", Travel(30, 30))]
    setup = Setup("Set", Surface.row(2), [organ], routes=routes, travels=travels)
    seen = [text.get_text() for text in draw_surface(setup).texts]
    assert "30 to 30 (does nothing)" in seen
    assert seen.count("!") == 1
    assert seen[-1].startswith("!  ")
