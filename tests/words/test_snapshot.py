"""Snapshot."""

from typing import Any

import pytest

from knobpack.errors import InputError
from knobpack.words import Snapshot


def test_a_snapshot_may_move_nothing() -> None:
    assert Snapshot("still").moves == ()
    assert Snapshot("still").break_weight is None


@pytest.mark.parametrize("weight", [0, 1, 10_000])
def test_a_snapshot_may_be_broken_for_a_weight(weight: int) -> None:
    assert Snapshot("all", ("Pad",), weight).break_weight == weight


@pytest.mark.parametrize("weight", [-1, 10_001, True, 1.0, "1"])
def test_what_is_no_weight_is_refused(weight: Any) -> None:
    with pytest.raises(InputError, match="from 0 to 10000") as caught:
        Snapshot("all", ("Pad",), weight)
    assert caught.value.field == "Snapshot.break_weight"


def test_what_moves_is_named_once() -> None:
    with pytest.raises(InputError, match="given twice") as caught:
        Snapshot("all", ("Pad/cutoff", "Pad", "Pad/cutoff"))
    assert caught.value.field == "Snapshot.moves[2]"


def test_the_name_of_a_default_snapshot_fits() -> None:
    assert Snapshot("only " + "v" * 120).name.startswith("only v")
    with pytest.raises(InputError, match="1 to 125 printable characters"):
        Snapshot("x" * 126)
