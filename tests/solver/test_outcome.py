"""Outcome: a tier is proven only if all before it are."""

from __future__ import annotations

import pytest

from knobpack.solver.outcome import Outcome, Values


@pytest.mark.parametrize(
    ("bounds", "proven"),
    [
        ((0, 3, 5, 900, 2, 31), (True, True, True, True, True, True)),
        ((0, 3, 5, 899, 2, 31), (True, True, True, False, False, False)),
        ((0, 3, 4, 900, 2, 31), (True, True, False, False, False, False)),
        ((0, 2, 5, 900, 2, 31), (True, False, False, False, False, False)),
        ((0, 3, 5, 900, 2, 30), (True, True, True, True, True, False)),
        ((-1, 3, 5, 900, 2, 31), (False, False, False, False, False, False)),
    ],
)
def test_proven_up_to_the_first_gap(bounds: Values, proven: tuple[bool, ...]) -> None:
    assert Outcome({}, (0, 3, 5, 900, 2, 31), bounds).proven == proven
