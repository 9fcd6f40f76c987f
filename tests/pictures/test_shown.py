"""Each picture shows what the setup, the sweep or the budget says."""

from __future__ import annotations

import attrs
import numpy as np
import pytest
from matplotlib.colors import to_rgb

from knobpack import (
    Allocation,
    KnobLabel,
    KnobPosition,
    KnobTravel,
    Request,
    Route,
    Setup,
    Snapshot,
    Surface,
    Travel,
    Voice,
    allocate_request,
)
from knobpack.pictures import (
    draw_budget,
    draw_routes,
    draw_show,
    draw_snapshots,
    draw_surface,
    draw_sweep,
)
from knobpack.questions import knob_budget
from knobpack.setups.as_read import read
from knobpack.sheets.panel_picture import TURNED, panel_picture
from knobpack.sheets.state import knob_states
from knobpack.show import Show, Song, allocate_show
from knobpack.simulation import sweep
from knobpack.words import BrokenKnob, Destination
from tests.pictures.seen import faults, texts


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


def test_what_is_turned_round_is_marked_on_the_panel_and_in_a_show() -> None:
    air = Destination("air", travel=Travel(127, 20))
    choir = Voice("Choir", [Destination("level", priority=1), air])
    routes = [Route("Choir/level", "K1"), Route("Choir/air", "K1")]
    turned = Setup("Joined", Surface.row(2), [choir], routes=routes)
    upright = Setup(
        "Apart",
        Surface.row(2),
        [choir],
        routes=[routes[0], Route("Choir/air", "K2")],
        travels=[KnobTravel("K2", Travel(127, 20))],
    )
    shown = texts(draw_surface(turned))
    assert shown[shown.index("Choir/air") + 1] == TURNED
    assert shown[-1] == f"{TURNED}  turned round"
    assert not any(TURNED in text for text in texts(draw_surface(upright)))
    for setup, told in ((turned, 1), (upright, 0)):
        page = "".join(panel_picture(setup.surface, knob_states(setup)))
        assert page.count(TURNED) == told
    show = allocate_show(Show("Two", [Song("A", turned), Song("B", upright), Song("C", upright)]))
    bands = [text for text in texts(draw_show(show)) if text.startswith("Choir/air")]
    assert bands == [f"Choir/air {TURNED}", "Choir/air (K1)"]
    # Where every song has it so, it is turned round all the same.
    same = allocate_show(Show("Two", [Song("A", turned), Song("B", turned)]))
    assert f"Choir/air {TURNED}" in texts(draw_show(same))


def test_in_a_show_what_is_elsewhere_is_read_whole() -> None:
    voice = Voice("Trombones", [Destination("brightness")])
    songs = [
        Song(
            knob, Setup(knob, Surface.row(2), [voice], routes=[Route("Trombones/brightness", knob)])
        )
        for knob in ("K1", "K2")
    ]
    assert "Trombones/brightness (K1)" in texts(draw_show(allocate_show(Show("Two", songs))))


def test_a_full_knob_says_how_many_more_there_are() -> None:
    voice = Voice("Pad", tuple(Destination(f"d{at}") for at in range(11)))
    crowded = Setup(
        "Set", Surface.row(1), (voice,), routes=tuple(Route(f"Pad/d{at}", "K1") for at in range(11))
    )
    shown = texts(draw_surface(crowded))
    assert "and 3 more" in shown
    assert "Pad/d7" in shown
    assert "Pad/d8" not in shown


def test_the_surface_shows_labels_what_is_out_of_use_and_what_is_silent(setup: Setup) -> None:
    silent = tuple(voice.name for voice in setup.voices[:2])
    first, second = setup.snapshots[:2]
    dressed = attrs.evolve(
        setup,
        routes=tuple(route for route in setup.routes if route.knob != "K3"),
        labels=(KnobLabel("K2", "Shimmer"), KnobLabel("K4", "W" * 12)),
        broken=(BrokenKnob("K3"),),
        snapshots=(attrs.evolve(first, silent=silent), attrs.evolve(second, silent=silent[:1])),
    )
    axes = draw_surface(dressed)
    shown = texts(axes)
    assert shown[shown.index("K2") + 1] == "Shimmer"
    assert shown[shown.index("K3") + 1] == "out of use"
    cut = shown[shown.index("K4") + 1]
    assert cut.endswith("…")
    assert set(cut[:-1]) == {"W"}
    assert any(line.endswith(f"; {silent[0]} and {silent[1]} are silent") for line in shown)
    assert any(line.endswith(f"; {silent[0]} is silent") for line in shown)
    assert faults(axes) == []
    # Nothing of it is shown where nothing of it is said.
    bare = " ".join(texts(draw_surface(setup)))
    assert "silent" not in bare
    assert "out of use" not in bare


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
    voice = Voice("Pad", (Destination("cutoff", kind="depth"), Destination("level")), layer=1)
    shown = texts(
        draw_routes(Setup("S", Surface.row(2), (voice,), routes=(Route("Pad/level", "K1"),)))
    )
    assert shown.index("Pad/cutoff") > shown.index("Pad/level")
    assert "on no knob" in shown
    assert "depth, layer 1" in shown
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
    grey = {to_rgb(line.get_color()) for line in axes.lines}
    assert (0, 0, 0) not in grey
    # K4 drives nothing; where it is noted to follow all the same, it has a ring.
    idle = attrs.evolve(faulty.snapshots[0], idle=("K4",))
    patches = draw_snapshots(attrs.evolve(faulty, snapshots=(idle,))).patches
    assert [type(patch).__name__ for patch in patches].count("Circle") == 3
    heights = []
    for position in (0, 64, 127):
        stored = (KnobPosition("K3", position), KnobPosition("K1", 5))
        alone = Snapshot("Pad alone", ("Pad",), positions=stored)
        lines = draw_snapshots(attrs.evolve(faulty, snapshots=(alone,))).lines
        (known,) = (line for line in lines if to_rgb(line.get_color()) == (0, 0, 0))
        heights.append(float(np.asarray(known.get_ydata())[0]))
    low, middle, high = heights
    assert low < middle < high
    assert middle - low == pytest.approx((high - low) * 64 / 127)


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
    none = attrs.evolve(found, follows=found.knobs)
    assert "; no knob held" in draw_sweep(none).get_xlabel()
    named = " ".join(text.get_text() for text in axes.texts)
    assert all(knob in named for knob in found.follows)


def test_the_budget_has_bars_in_proportion(allocation: Allocation) -> None:
    """What one knob more saves stands beside what is lost, of the whole and of each family."""
    budget = knob_budget(allocation)
    axes = draw_budget(budget)
    assert budget.more.change is not None
    assert budget.fewer is not None
    assert budget.fewer.change is not None
    saved, lost = -budget.more.change[3], budget.fewer.change[3]
    assert lost > saved > 0
    assert {f"sharing knobs {lost:+,}", f"sharing knobs {-saved:+,}"} <= set(texts(axes))
    assert "Strings, Oboe and Bells, on K1, K2, K3 and K4" in texts(axes)
    assert "Organ and Bass, on K6 and K7" in texts(axes)
    wide = sorted({round(p.get_width(), 6) for p in axes.patches}, reverse=True)  # type: ignore[attr-defined]
    assert wide[1] / wide[0] == pytest.approx(saved / lost)


def test_the_budget_shows_what_a_free_knob_could_be_used_for() -> None:
    voice = Voice(
        "Organ", tuple(Destination(name, source_knob="K1") for name in ("level", "drive"))
    )
    budget = knob_budget(allocate_request(Request(Surface.row(2), (voice,))))
    axes = draw_budget(budget)
    assert [text for text in texts(axes) if "could have" in text] == list(map(str, budget.offers))
    assert "Organ/level could have K2 instead of sharing K1, which parts" in texts(axes)[-2]
    assert faults(axes) == []
