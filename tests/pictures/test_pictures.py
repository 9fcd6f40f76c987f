"""Pictures: what they show is what the setup says, nothing collides, nothing is shown or saved."""

from __future__ import annotations

import builtins
from collections.abc import Callable
from typing import Any

import pytest
from matplotlib import pyplot

from knobpack import Allocation, InputError, KnobpackError, Setup, Surface
from knobpack.pictures import (
    draw_before_after,
    draw_budget,
    draw_frontiers,
    draw_reasons,
    draw_routes,
    draw_show,
    draw_snapshots,
    draw_surface,
    draw_sweep,
)
from tests.pictures.seen import OF_SETUP, every, faults, long_names, texts


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
        (draw_reasons, ("no",), "draw_reasons.answer"),
        (draw_show, ("no",), "draw_show.laid_out"),
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
