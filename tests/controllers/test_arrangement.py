"""How often numbers go down: the bound, and the arrangement where the bound is not met."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise, permutations, product

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from knobpack.controllers import controller_numbers
from knobpack.controllers.arrangement import least_downs
from knobpack.controllers.parts import TIERS
from knobpack.controllers.places import Places
from tests.controllers.setups import plain

PLACES = st.lists(
    st.tuples(st.frozensets(st.integers(1, 6), max_size=4), st.booleans()).filter(any), max_size=5
)


def _downs(row: tuple[int | None, ...]) -> int:
    return sum(a is not None and b is not None and a > b for a, b in pairwise(row))


def _rows(places: list[Places]) -> Iterator[tuple[int | None, ...]]:
    """All rows of what each may have, be it the same number again."""
    yield from product(
        *([*sorted(numbers), *([None] if lacking else [])] for numbers, lacking in places)
    )


@settings(max_examples=150, deadline=None, derandomize=True)
@given(PLACES)
def test_the_bound_is_met_where_numbers_may_come_back(places: list[Places]) -> None:
    # To stay on a number counts as to go down: no two neighbours can have the same.
    loose = (
        sum(a is not None and b is not None and a >= b for a, b in pairwise(row))
        for row in _rows(places)
    )
    assert least_downs(places) == min(loose)
    apart = [row for row in _rows(places) if len(set(row) - {None}) == len(row) - row.count(None)]
    assert all(least_downs(places) <= _downs(row) for row in apart)


@pytest.mark.parametrize(
    ("places", "downs"),
    [
        ([({1}, False), ({2}, False), ({3}, False)], 0),
        ([({3}, False), ({2}, False), ({1}, False)], 2),
        ([({3}, False), ({1, 2}, True), ({2}, False)], 0),
        ([({3}, False), ({1, 2}, False), ({2}, False)], 1),
        ([({1, 2}, False)] * 3, 1),
    ],
)
def test_the_bound_by_hand(places: list[tuple[set[int], bool]], downs: int) -> None:
    assert least_downs([(frozenset(numbers), lacks) for numbers, lacks in places]) == downs


@pytest.mark.parametrize("kept", list(permutations((14, 16, 18))))
def test_kept_numbers_among_new_ones_go_down_as_seldom_as_can_be(kept: tuple[int, ...]) -> None:
    given_before = dict(zip(("K1", "K3", "K5"), kept, strict=True))
    found = controller_numbers(
        plain(6), previous=given_before, allowed=[14, 15, 16, 17, 18, 19], master=False
    )
    # All six numbers are used: K2, K4 and K6 take 15, 17 and 19 in the best of six ways.
    rows = [(kept[0], a, kept[1], b, kept[2], c) for a, b, c in permutations((15, 17, 19))]
    assert found.tiers[TIERS.index("order")].value == min(map(_downs, rows))
    assert tuple(found.numbers.values()) in rows
    assert found.proven


def test_where_the_bound_is_not_met_the_solver_decides() -> None:
    # The bound lets 15 come twice: 15, 17, 18, 14, 15, 16 goes down once.
    free = frozenset((15, 17, 19))
    kept = [frozenset((18,)), frozenset((14,)), free, frozenset((16,))]
    assert least_downs([(numbers, False) for numbers in [free, free, *kept]]) == 1
    rows = [(a, b, 18, 14, c, 16) for a, b, c in permutations(sorted(free))]
    assert min(map(_downs, rows)) == 2
    found = controller_numbers(
        plain(6),
        previous={"K3": 18, "K4": 14, "K6": 16},
        allowed=range(14, 20),
        master=False,
    )
    assert tuple(found.numbers.values()) in rows
    assert found.tiers[TIERS.index("order")].value == 2
    assert found.proven
