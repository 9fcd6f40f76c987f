"""The instances known from outside are built as their sources say, and knobpack agrees."""

from __future__ import annotations

import attrs
import networkx as nx
import pytest

from benchmarks import known
from benchmarks.known import (
    Found,
    Known,
    colourings,
    live_spans,
    live_trees,
    main,
    queens,
    solved,
    triplets,
)
from knobpack import allocate_request
from knobpack.words import Apart, Together
from knobpack.words.edits import with_knobs


@pytest.mark.parametrize(
    ("side", "nodes", "edges"), [(5, 25, 160), (6, 36, 290), (7, 49, 476), (8, 64, 728)]
)
def test_queens_have_the_edges_of_the_dimacs_files(side: int, nodes: int, edges: int) -> None:
    # Nodes and edges as in the headers of queen5_5.col to queen8_8.col, where each edge is
    # listed twice: 320, 580, 952, 1456 (from memory). By hand: in each row, column and diagonal
    # of n squares there are n(n-1)/2 pairs.
    graph = queens(side)
    lines = 2 * side * side * (side - 1) // 2
    diagonals = 2 * (2 * sum(n * (n - 1) // 2 for n in range(side)) + side * (side - 1) // 2)
    assert (graph.number_of_nodes(), graph.number_of_edges()) == (nodes, edges)
    assert edges == lines + diagonals


@pytest.mark.parametrize("seed", range(5))
def test_live_values_are_perfect_graphs_with_their_number(seed: int) -> None:
    for make in (live_spans, live_trees):
        graph, most = make(seed, 40)
        assert nx.is_chordal(graph)
        # A chordal graph is perfect (Berge 1960): as many colours as its largest clique.
        assert max(len(clique) for clique in nx.find_cliques(graph)) == most


@pytest.mark.parametrize("conflicts", [0.0, 0.5])
@pytest.mark.parametrize("bins", [1, 4, 20])
def test_triplets_fill_their_bins_exactly(bins: int, conflicts: float) -> None:
    request = triplets(3, bins, 40, conflicts)
    sizes = [len(voice.destinations) for voice in request.voices]
    assert (len(sizes), sum(sizes)) == (3 * bins, 40 * bins)
    # Falkenauer 1996: every item is over a quarter and under a half of a bin.
    assert all(10 <= size < 20 for size in sizes)
    together = [rule for rule in request.rules if isinstance(rule, Together)]
    assert len(together) == 3 * bins
    apart = sum(isinstance(rule, Apart) for rule in request.rules)
    assert bool(apart) == (conflicts > 0 and bins > 1)


def test_as_many_knobs_as_bins_place_all_and_one_fewer_does_not() -> None:
    request = triplets(1, 3, 20, 0.2)
    for more, unplaced in ((2, False), (1, True)):
        found = allocate_request(with_knobs(request, more))
        assert found.tiers[0].proven
        assert bool(found.unplaced) is unplaced


def test_a_refuted_answer_is_seen() -> None:
    each = next(iter(colourings()))
    right, told = each.knobs, solved(each).least
    for value, bound, proven, agrees in (
        (right, right, True, True),
        (right + 1, right, False, True),
        (right + 1, right + 1, True, False),
        (right - 1, right - 1, True, False),
        (right + 2, right + 1, False, False),
    ):
        said = attrs.evolve(told, independent=value, independent_bound=bound)
        assert said.proven is proven
        assert Found(each, said, 0.1).agrees is agrees


def test_the_command_prints_each_and_fails_on_a_wrong_one(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def few(*, hard: bool) -> list[Known]:
        return [] if hard else list(colourings())[:1]

    found = solved(few(hard=False)[0])
    monkeypatch.setattr(known, "colourings", few)
    monkeypatch.setattr(known, "packings", lambda *, hard: [])  # noqa: ARG005
    assert main([]) == 0
    assert "queen5_5" in capsys.readouterr().out

    def wrong(each: Known) -> Found:
        said = attrs.evolve(found.least, independent=9, independent_bound=9)
        return Found(each, said, 0.1)

    monkeypatch.setattr(known, "solved", wrong)
    assert main([]) == 1
    assert "WRONG" in capsys.readouterr().out
