"""Requests whose fewest knobs are known from outside: ``python -m benchmarks.known [--hard]``.

A graph becomes one voice with a destination for each node and a required *apart* for each edge, so
the fewest knobs are its chromatic number. A packing becomes items of several destinations that go
together, with at most so many destinations on a knob, so the fewest knobs are the fewest bins.
Every number is proved by a theorem or by construction; none comes from this library.

Sources, all from memory unless said otherwise:
    DIMACS second implementation challenge 1993: queen5_5 to queen8_8 and myciel3 to myciel5, whose
    optima 5, 7, 7, 9 and 4, 5, 6 are those listed with the instances at
    github.com/rafaelcalpena/graph-coloring, graph-coloring/testbench/config.js (looked up). Its
    register allocation instances (mulsol, zeroin, fpsol2, inithx) are files that no package of the
    registry was found to carry; live spans of code without branches stand in for them.
    Vasquez 2004, "New results on the queens_n2 graph coloring problem", J. Heuristics 10: 10 for
    queen9_9; 12 colours for queen12_12 (n colours for n = 12).
    Mycielski 1955, "Sur le coloriage des graphes", Colloquium Mathematicum 3.
    Lovász 1978, "Kneser's conjecture, chromatic number, and homotopy", J. Comb. Theory A 25.
    Chaitin et al. 1981, "Register allocation via coloring", Computer Languages 6; Hajós 1958:
    interval graphs are perfect, so as many colours do as spans overlap at once.
    Hack, Grund, Goos 2006, "Register allocation for programs in SSA-form", CC 2006: interference
    is chordal there, and chordal graphs are perfect (Berge 1960).
    Falkenauer 1996, "A hybrid grouping genetic algorithm for bin packing", J. Heuristics 2:
    triplets, three items that fill a bin exactly.
    Gendreau, Laporte, Semet 2004, "Heuristics and lower bounds for the bin packing problem with
    conflicts", Computers and Operations Research 31.
"""

from __future__ import annotations

import argparse
import random
import sys
import time
from collections.abc import Iterator, Sequence
from itertools import combinations
from typing import Any

import attrs
import networkx as nx

from benchmarks.peers.rows import machine
from knobpack import Request
from knobpack.explanation.least import LeastKnobs, least_knobs
from knobpack.words import Apart, Destination, Rule, Snapshot, Surface, Together, Voice


@attrs.frozen
class Known:
    """A request whose fewest knobs are known.

    Args:
        name: what it is called; DIMACS names where there are any.
        request: on one knob; :func:`least_knobs` adds what it takes.
        knobs: the fewest.
        source: who proved it, see above.
    """

    name: str
    request: Request = attrs.field(repr=False)
    knobs: int
    source: str


def graph_request(graph: nx.Graph[Any], knobs: int = 1, *, per_knob: int | None = None) -> Request:
    """One voice with a destination for each node; an edge keeps its two ends apart."""
    number = {node: at for at, node in enumerate(graph)}
    voice = Voice("Graph", tuple(Destination(f"n{at}", "level") for at in number.values()))
    rules = tuple(
        Apart((f"Graph/n{number[a]}",), (f"Graph/n{number[b]}",)) for a, b in graph.edges if a != b
    )
    return Request(Surface.row(knobs, destinations_per_knob=per_knob), (voice,), rules=rules)


def queens(side: int) -> nx.Graph[Any]:
    """Squares of a board; an edge where a queen moves from one to the other."""
    squares = [(row, column) for row in range(side) for column in range(side)]
    graph: nx.Graph[Any] = nx.Graph()
    graph.add_nodes_from(squares)
    for (a, b), (c, d) in combinations(squares, 2):
        if a == c or b == d or abs(a - c) == abs(b - d):
            graph.add_edge((a, b), (c, d))
    return graph


def live_spans(seed: int, values: int) -> tuple[nx.Graph[Any], int]:
    """Values of code without branches, an edge where two are live at once; the most at once.

    Each of the values begins at a step of its own and lives for 1 to 12 more.
    """
    draw = random.Random(seed)  # noqa: S311 (no secret)
    spans = [(start, start + draw.randint(1, 12)) for start in range(values)]
    graph = nx.interval_graph(spans)
    return graph, max(sum(a <= step <= b for a, b in spans) for step in range(values + 12))


def live_trees(seed: int, values: int) -> tuple[nx.Graph[Any], int]:
    """Values of code that branches, in SSA form: each lives on a subtree of the dominator tree.

    An edge where two are live in one block; the most that are live in one.
    """
    draw = random.Random(seed)  # noqa: S311 (no secret)
    blocks = max(2, values // 2)
    after: dict[int, list[int]] = {block: [] for block in range(blocks)}
    for block in range(1, blocks):
        after[draw.randrange(max(0, block - 4), block)].append(block)
    live: list[set[int]] = []
    for _ in range(values):
        reached = {draw.randrange(blocks)}
        for block in range(min(reached), blocks):
            if block in reached:
                reached.update(each for each in after[block] if draw.randint(1, 2) == 1)
        live.append(reached)
    graph: nx.Graph[Any] = nx.empty_graph(values)
    graph.add_edges_from(
        (one, other) for one, other in combinations(range(values), 2) if live[one] & live[other]
    )
    return graph, max(sum(block in each for each in live) for block in range(blocks))


def triplets(seed: int, bins: int, capacity: int = 40, conflicts: float = 0.0) -> Request:
    """Items of which three fill a bin exactly, so that as many bins as that are the fewest.

    An item of size ``s`` is ``s`` destinations that go together, a bin is a knob that carries
    ``capacity``. Items of different bins are kept apart with a chance of ``conflicts``: the
    packing they were made from stays, and no fewer bins hold the sum of all sizes.

    Args:
        seed: any whole number.
        bins: 1 or more.
        capacity: 16 or more.
        conflicts: a share, 0 to 1.
    """
    draw = random.Random(seed)  # noqa: S311 (no secret)
    sizes = []
    for _ in range(bins):
        first = draw.randint(38 * capacity // 100, 49 * capacity // 100)
        second = draw.randint(capacity // 4, (capacity - first) // 2)
        sizes.append((first, second, capacity - first - second))
    items = [(bin_at, size) for bin_at, three in enumerate(sizes) for size in three]
    draw.shuffle(items)
    voices, rules = [], list[Rule]()
    for at, (_, size) in enumerate(items):
        inner = tuple(Destination(f"d{part}", "level") for part in range(size))
        voices.append(Voice(f"Item {at}", inner))
        rules.append(Together((f"Item {at}",)))
    for (one, (first_bin, _)), (other, (second_bin, _)) in combinations(enumerate(items), 2):
        if first_bin != second_bin and draw.random() < conflicts:
            rules.append(Apart((f"Item {one}/d0",), (f"Item {other}/d0",)))
    surface = Surface.row(1, destinations_per_knob=capacity)
    together = Snapshot("Everything", tuple(voice.name for voice in voices))
    return Request(surface, tuple(voices), snapshots=(together,), rules=tuple(rules))


def colourings(*, hard: bool = False) -> Iterator[Known]:
    """Graphs with their chromatic numbers; with ``hard`` those that may take long as well."""
    boards = {5: 5, 6: 7, 7: 7, 8: 9} | ({9: 10, 12: 12} if hard else {})
    for side, colours in boards.items():
        source = "DIMACS 1993" if side < 9 else "Vasquez 2004"
        yield Known(f"queen{side}_{side}", graph_request(queens(side)), colours, source)
    for order in range(3, 8 if hard else 6):
        request = graph_request(nx.mycielski_graph(order + 1))
        yield Known(f"myciel{order}", request, order + 1, "Mycielski 1955")
    for n, k in ((6, 2), (7, 2), (7, 3), (8, 2), *(((9, 3), (10, 2)) if hard else ())):
        request = graph_request(nx.kneser_graph(n, k))
        yield Known(f"Kneser {n}, {k}", request, n - 2 * k + 2, "Lovász 1978")
    for seed, values in enumerate((40, 80, *((200,) if hard else ()))):
        graph, most = live_spans(seed, values)
        yield Known(f"live spans, {values}", graph_request(graph), most, "Hajós 1958")
        graph, most = live_trees(seed, values)
        yield Known(f"live trees, {values}", graph_request(graph), most, "Hack et al. 2006")


def packings(*, hard: bool = False) -> Iterator[Known]:
    """Triplets without and with conflicts; with ``hard`` those that may take long as well."""
    for bins in (3, 5, *((8, 20) if hard else ())):
        for conflicts in (0.0, 0.2):
            request = triplets(bins, bins, 20, conflicts)
            name = f"triplets, {bins} bins, {conflicts:.0%} in conflict"
            source = "Falkenauer 1996" if not conflicts else "Gendreau et al. 2004"
            yield Known(name, request, bins, f"{source}, by construction")


@attrs.frozen
class Found:
    """What knobpack made of one of them, and the seconds it took."""

    known: Known
    least: LeastKnobs
    seconds: float

    @property
    def agrees(self) -> bool:
        """Whether neither the number found nor its bound is refuted by the known one."""
        found, bound = self.least.independent, self.least.independent_bound
        exact = found == self.known.knobs or not self.least.proven
        return exact and bound <= self.known.knobs <= found


def solved(known: Known) -> Found:
    """Ask knobpack for the fewest knobs."""
    began = time.perf_counter()
    least = least_knobs(known.request)
    return Found(known, least, time.perf_counter() - began)


def main(arguments: Sequence[str] | None = None) -> int:
    """Solve them all; 0 if every answer agrees with what is known, else 1."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.known", description=__doc__)
    parser.add_argument("--hard", action="store_true", help="those that may take long as well")
    hard = parser.parse_args(arguments).hard
    print(machine())
    agree = True
    for known in (*colourings(hard=hard), *packings(hard=hard)):
        found = solved(known)
        agree &= found.agrees
        least = found.least
        verdict = "proven" if least.proven else f"at least {least.independent_bound}"
        print(
            f"{known.name:36} known {known.knobs:3}  found {least.independent:3} ({verdict})  "
            f"{found.seconds:7.3f} s  {known.source}" + ("" if found.agrees else "  WRONG"),
            flush=True,
        )
    return 0 if agree else 1


if __name__ == "__main__":
    sys.exit(main())
