"""The least knobs: every number and every witness against the words, and known chromatic numbers.

Chromatic numbers are cited in ``tests/test_chromatic.py``, beside each graph.
"""

from __future__ import annotations

from collections import Counter
from itertools import combinations

import pytest

from benchmarks.known import graph_request
from knobpack.clash import ImpossibleDemands
from knobpack.explanation.least import COUNT, SEARCH, SEPARATED, Crowd, least_knobs
from knobpack.words import (
    Surface,
)
from tests.explanation.least_asserted import assert_right, one_voice
from tests.oracles.amount import EXAMPLES
from tests.oracles.least_knobs import (
    least_by_trying,
    most_separated,
    sharing_of,
    wrong_in,
)
from tests.oracles.strategies import busy_request, seeded_request
from tests.test_chromatic import COLOURABLE


def test_it_is_what_trying_every_way_to_part_finds() -> None:
    for seed in range(max(50, EXAMPLES // 2)):
        asked = seeded_request(seed)
        sharing = sharing_of(asked)
        number = least_by_trying(sharing)
        if number is None:
            with pytest.raises(ImpossibleDemands):
                least_knobs(asked)
            continue
        answer = least_knobs(asked)
        assert (answer.independent, answer.proven) == (number, True), seed
        assert answer.independent_bound == number
        assert len(answer.separated) == most_separated(sharing), seed
        assert_right(asked, answer)


def test_larger_requests_too_and_all_that_can_come_comes() -> None:
    seen: Counter[str] = Counter()
    for seed in range(60):
        asked = busy_request(seed)
        sharing = sharing_of(asked)
        number = least_by_trying(sharing) if len(asked.by_full_name) < 9 else None
        try:
            answer = least_knobs(asked)
        except ImpossibleDemands:
            seen["impossible"] += 1
            assert number is None
            continue
        assert answer.proven
        assert number in (None, answer.independent)
        assert_right(asked, answer)
        seen[answer.by] += 1
        seen["tried"] += number is not None
        seen["bound"] += bool(answer.bound)
        seen["added"] += bool(answer.added)
        seen["barred"] += answer.added > answer.missing
        seen["reserved"] += answer.open_knobs < answer.knobs
        seen["breakable"] += any(each.break_weight is not None for each in asked.played)
        seen["shared"] += answer.independent < answer.unshared
    wanted = ("tried", "bound", "added", "reserved", "breakable", "shared", SEPARATED, COUNT)
    assert [name for name in wanted if not seen[name]] == [], seen


def test_what_may_share_is_what_some_set_allows() -> None:
    # The oracle itself: two may share just when some set of destinations that holds both may be
    # on a knob.
    pairs = 0
    for seed in range(150):
        asked = seeded_request(seed)
        sharing = sharing_of(asked)
        everything = range(1 << len(sharing.reading.names))
        for one, other in combinations(range(len(sharing.reading.names)), 2):
            both = 1 << one | 1 << other
            some = any(mask & both == both and sharing.admits(mask) for mask in everything)
            assert sharing.may_share(one, other) == some, seed
            pairs += not some
    assert pairs > 100


# Published numbers ------------------------------------------------------------------------------


CLIQUES = {
    # Mycielski's construction makes no triangle (Mycielski 1955, from memory).
    "Grötzsch graph": 2,
    "myciel4": 2,
    "myciel5": 2,
    # No triangle either (Chvátal 1970, from memory).
    "Chvátal graph": 2,
    # So many sets of k out of n are disjoint: n // k, by the definition of K(n, k).
    "Kneser 7, 3": 2,
    "Kneser 7, 2": 3,
    # The eight squares of a row; that no nine will do was found by trying (networkx find_cliques).
    "queen8_8": 8,
}
"""The size of the largest clique, where it is known to be below the chromatic number."""


@pytest.mark.parametrize("name", COLOURABLE)
def test_chromatic_numbers_come_with_a_colouring_and_a_clique(name: str) -> None:
    graph, colours = COLOURABLE[name]
    asked = graph_request(graph)
    answer = least_knobs(asked)
    assert (answer.independent, answer.independent_bound, answer.proven) == (colours, colours, True)
    assert wrong_in(asked, answer) == []
    node = {f"Graph/n{number}": node for number, node in enumerate(graph)}
    for names in answer.sets:
        assert not any(graph.has_edge(node[a], node[b]) for a, b in combinations(names, 2))
    assert all(graph.has_edge(node[a], node[b]) for a, b in combinations(answer.separated, 2))
    assert answer.by == (SEPARATED if len(answer.separated) == colours else SEARCH)
    assert answer.unshared == len(graph)
    if name in CLIQUES:
        assert (len(answer.separated), answer.by) == (CLIQUES[name], SEARCH)
        told = f"The most known that can never share a knob are these {CLIQUES[name]}: "
        assert told in answer.sentences[1]


@pytest.mark.parametrize(("count", "per_knob"), [(7, 3), (12, 4), (10, 9)])
def test_a_limit_alone_is_counted(count: int, per_knob: int) -> None:
    asked = one_voice(count=count, surface=Surface.row(1, destinations_per_knob=per_knob))
    answer = least_knobs(asked)
    assert answer.independent == -(-count // per_knob)
    assert answer.by == COUNT
    assert answer.crowds == (Crowd(tuple(asked.by_full_name), answer.independent),)
    assert answer.sentences[1] == (
        f"Fewer will not do: there are {count} destinations, and a knob may carry {per_knob} at "
        "most."
    )
    assert wrong_in(asked, answer) == []


def test_one_to_a_knob_is_separated() -> None:
    answer = least_knobs(one_voice(count=4, surface=Surface.row(9, destinations_per_knob=1)))
    assert (answer.independent, answer.by, len(answer.separated)) == (4, SEPARATED, 4)


# By hand ----------------------------------------------------------------------------------------
