"""Blocks: states and moves counted, and what is grouped."""

from __future__ import annotations

from itertools import permutations

from knobpack.solver.blocks import blocks, moves, without


def test_there_are_as_many_states_and_moves_as_formulas_say() -> None:
    # A state is a subset with one of it marked last: n 2^(n-1); each may go to any not in it.
    for size in range(1, 7):
        own = moves(size)
        assert len(own.last) == size * 2 ** (size - 1)
        assert len(own.source) == (size * (size - 1) * 2 ** (size - 2) if size > 1 else 0)
        assert (own.source[1:] >= own.source[:-1]).all()


def test_every_order_is_a_path_and_no_path_passes_one_twice() -> None:
    size = 4
    own = moves(size)
    following: dict[int, set[int]] = {}
    for source, target in zip(own.source.tolist(), own.target.tolist(), strict=True):
        following.setdefault(source, set()).add(target)
    roots = [int((own.last < node).sum()) for node in range(size)]
    paths = [[root] for root in roots]
    for _ in range(size - 1):
        paths = [[*path, after] for path in paths for after in following[path[-1]]]
    orders = [tuple(int(own.last[state]) for state in path) for path in paths]
    assert sorted(orders) == sorted(permutations(range(size)))
    assert all(path[-1] not in following for path in paths)


def test_a_position_taken_out() -> None:
    assert without(0b10110, 2) == 0b1010
    assert without(0b10110, 0) == 0b1011
    assert without(0b0110, 3) == 0b110


def test_what_shares_most_comes_together_first() -> None:
    shared = [[0, 5, 1, 0], [5, 0, 9, 0], [1, 9, 0, 0], [0, 0, 0, 0]]
    assert blocks(shared) == [[0, 1, 2], [3]]
    assert blocks(shared, largest=2) == [[0], [1, 2], [3]]
    assert blocks(shared, largest=1) == [[0], [1], [2], [3]]
    assert blocks([]) == []
