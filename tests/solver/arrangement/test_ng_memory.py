"""Blocks: states and moves counted, and what is grouped."""

from __future__ import annotations

from itertools import permutations

from knobpack.solver.arrangement.ng_memory import NOWHERE, Moves, Unit, blocks, moves, states_of


def roots(own: Moves) -> list[int]:
    """The states in which one cluster alone is passed."""
    return [int(row[0]) for row in own.state]


def paths(own: Moves, length: int) -> list[tuple[int, ...]]:
    """The clusters of every path of so many states."""
    following: dict[int, list[int]] = {}
    for source, target in zip(own.source.tolist(), own.target.tolist(), strict=True):
        following.setdefault(source, []).append(target)
    found = [[root] for root in roots(own)]
    for _ in range(length - 1):
        found = [[*path, after] for path in found for after in following.get(path[-1], [])]
    return [tuple(int(own.last[state]) for state in path) for path in found]


def test_there_are_as_many_states_and_moves_as_formulas_say() -> None:
    # A state is a subset with one of it marked last: n 2^(n-1); each may go to any not in it.
    for size in range(1, 7):
        own = moves((Unit(),) * size)
        assert len(own.last) == size * 2 ** (size - 1)
        assert len(own.source) == (size * (size - 1) * 2 ** (size - 2) if size > 1 else 0)
        assert (own.source[1:] >= own.source[:-1]).all()
        assert (own.last[1:] >= own.last[:-1]).all()
        assert states_of(Unit(size, ((1 << size) - 1,))) == (2**size, len(own.last))


def test_every_order_is_a_path_and_no_path_passes_one_twice() -> None:
    own = moves((Unit(),) * 4)
    assert sorted(paths(own, 4)) == sorted(permutations(range(4)))
    assert paths(own, 5) == []


def test_where_there_is_a_choice_paths_are_the_orders_of_each_way() -> None:
    # One that is there in any case (0), and 1 with 2, or 3 with 2, or 3 with 4.
    own = moves((Unit(), Unit(4, (0b0011, 0b0110, 0b1100))))
    wanted = [order for way in ((0, 1, 2), (0, 2, 3), (0, 3, 4)) for order in permutations(way)]
    assert sorted(paths(own, 3)) == sorted(wanted)
    assert paths(own, 4) == []


def test_sets_grow_as_paths_do() -> None:
    own = moves((Unit(), Unit(3, (0b011, 0b110))))
    at = int(own.joined[1, 0])
    assert own.joined[1, at] == NOWHERE
    assert own.joined[3, at] == NOWHERE
    both = int(own.joined[2, at])
    assert both == own.joined[1, own.joined[2, 0]]
    assert own.last[own.state[2, at]] == 2
    assert own.joined[0, both] != NOWHERE


def test_what_shares_most_comes_together_first() -> None:
    shared = [[0, 5, 1, 0], [5, 0, 9, 0], [1, 9, 0, 0], [0, 0, 0, 0]]
    units = [Unit()] * 4
    assert blocks(units, shared) == [[0, 1, 2], [3]]
    assert blocks(units, shared, largest=11) == [[0], [1, 2], [3]]
    assert blocks(units, shared, largest=12) == [[0, 1, 2], [3]]
    assert blocks(units, shared, largest=3) == [[0], [1], [2], [3]]
    large = Unit(6, (0b111111,))
    assert blocks([large, Unit(), Unit(), Unit()], shared, largest=200) == [[0], [1, 2], [3]]
    assert blocks([], []) == []
