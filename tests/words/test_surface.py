"""Surface and knob."""

from typing import Any

import pytest

from knobpack.allocator import allocate
from knobpack.errors import InputError
from knobpack.words import Destination, Knob, Surface, Travel, Voice


def test_a_row_of_knobs() -> None:
    surface = Surface.row(3, bits=14)
    assert surface.knobs == (Knob("K1", 1, 1), Knob("K2", 1, 2), Knob("K3", 1, 3))
    assert surface.knob_names == ("K1", "K2", "K3")
    assert surface.top == 16383


def test_a_grid_of_knobs() -> None:
    surface = Surface.grid(2, 2)
    assert surface.knobs == (
        *(Knob("K1", 1, 1), Knob("K2", 1, 2)),
        *(Knob("K3", 2, 1), Knob("K4", 2, 2)),
    )
    assert surface.bits == 7
    assert surface.top == 127


def test_a_surface_may_have_no_knob() -> None:
    assert Surface.row(0).knobs == Surface.grid(3, 0).knobs == ()


@pytest.mark.parametrize(
    ("rows", "columns", "field"),
    [
        *((0, 1, "rows"), (10_001, 0, "rows"), (True, 1, "rows"), (1.0, 1, "rows")),
        *((1, -1, "columns"), (1, 10_001, "columns"), (101, 100, "columns"), (1, "2", "columns")),
    ],
)
def test_a_grid_has_at_most_ten_thousand_knobs(rows: Any, columns: Any, field: str) -> None:
    with pytest.raises(InputError) as caught:
        Surface.grid(rows, columns)
    assert caught.value.field == f"Surface.grid.{field}"


def test_a_grid_takes_other_limits_and_no_others() -> None:
    assert Surface.row(2, layers=4, reserved=("K2",)).reserved == ("K2",)
    with pytest.raises(InputError, match="close to it: bits") as caught:
        Surface.row(2, bitz=7)  # type: ignore[call-arg]
    assert caught.value.field == "Surface.row.bitz"


def test_knobs_are_listed_in_panel_order() -> None:
    Surface((Knob("a", 1, 7), Knob("b", 2, 1), Knob("c", 4, 1)))
    for wrong in (Knob("c", 2, 1), Knob("c", 1, 9)):
        with pytest.raises(InputError, match="row by row, left to right") as caught:
            Surface((Knob("a", 1, 7), Knob("b", 2, 2), wrong))
        assert caught.value.field == "Surface.knobs[2]"


@pytest.mark.parametrize("field", ["reserved", "favoured"])
def test_only_knobs_of_the_surface_are_reserved_or_favoured(field: str) -> None:
    given: Any = {field: ("K1", "K3")}
    with pytest.raises(InputError, match="'K3' will not do; name a knob of this surf") as caught:
        Surface.row(2, **given)
    assert caught.value.field == f"Surface.{field}[1]"


def test_the_order_of_reach_starts_with_what_is_favoured() -> None:
    assert Surface.row(4, favoured=("K3", "K2")).reach_order == ("K3", "K2", "K1", "K4")
    assert Surface.row(2).reach_order == ("K1", "K2")


def test_knobs_side_by_side() -> None:
    one = Knob("a", 1, 2)
    assert one.beside(Knob("b", 1, 1))
    assert one.beside(Knob("b", 1, 3))
    assert not one.beside(Knob("b", 1, 4))
    assert not one.beside(Knob("b", 2, 2))  # above is not beside
    assert not one.beside(Knob("b", 2, 3))
    assert not one.beside(one)


@pytest.mark.parametrize("bits", [2, 3, 32])
def test_the_coarsest_and_the_finest_resolution_work(bits: int) -> None:
    """M2-115-U 3.3.1 scales from 2 bits up to 32."""
    surface = Surface.row(2, bits=bits)
    assert surface.top == 2**bits - 1
    wish = Destination("cutoff", travel=Travel(surface.top, 0))
    found = allocate((Voice("Pad", (wish,)),), surface)
    assert [setting.travel for setting in found.travels] == [Travel(surface.top, 0)]
    assert all(tier.proven for tier in found.tiers)


def test_two_knobs_in_one_place_are_told_what_they_lack() -> None:
    with pytest.raises(InputError, match="no two in one place; give each its row and column"):
        Surface((Knob("K1"), Knob("K2")))


def test_a_number_of_knobs_is_told_how_a_row_is_made() -> None:
    number: Any = 8
    with pytest.raises(InputError, match=r"Surface\.row\(8\)"):
        Surface(number)
    assert len(Surface.row(number).knobs) == number
