"""Small problems for the solver's modules, and every placement of a small request, priced."""

from __future__ import annotations

import random
from collections.abc import Iterable, Iterator
from functools import cache
from itertools import repeat
from typing import Any

import attrs
import networkx as nx

from knobpack.numbered.problem import Atom, Problem, bits
from knobpack.numbered.request import problem_of
from knobpack.solver.families import families
from knobpack.solver.outcome import Upper
from knobpack.solver.set_partitioning.column_pool import Column, column_pools_of, knob_slots
from knobpack.solver.watch import Watch
from knobpack.words import Request
from tests.oracles import masks
from tests.oracles.brute import Totals, least, upper_values, valid_layouts
from tests.oracles.reading import read
from tests.oracles.strategies import seeded_request


def watch() -> Watch:
    """A watch that stops nothing that is small."""
    return Watch(effort=60.0)


def a_problem(knobs: int, items: int, **changes: Any) -> Problem:
    """Items that may be anywhere, each an atom of its own, with nothing that costs anything."""
    everywhere = (1 << knobs) - 1
    atoms = tuple(Atom(1 << item, 1, everywhere, None, False, 1) for item in range(items))
    plain: dict[str, Any] = {
        "knobs": knobs,
        "items": items,
        "atoms": atoms,
        "clashes": (0,) * items,
        "per_knob": max(1, items),
        "routes": items,
        "mixes": (),
        "travel_prices": ((0,) * items,),
        "wanted": (0,) * items,
        "kept_travels": {},
        "bundles": (),
        "spreads": (),
        "pairs": {},
        "intrusions": (),
        "breakable": (),
        "before": (),
        "standing": (0,) * items,
        "places": ((0,) * knobs,) * items,
        "steps": tuple(range(knobs)),
        "pulls": (0,) * items,
        "runs": (),
        "beside": tuple(knob > 0 for knob in range(knobs)),
        "sequence": (),
        "out_of_sequence": 0,
    }
    return Problem(**(plain | changes))


def needed_atoms(problem: Problem) -> Problem:
    """The same problem, but nothing may be left out."""
    atoms = tuple(attrs.evolve(atom, needed=True) for atom in problem.atoms)
    return attrs.evolve(problem, atoms=atoms)


def of_graph(graph: nx.Graph[int], knobs: int, **changes: Any) -> Problem:
    """Items for the nodes 0, 1, …; the two ends of an edge may not share."""
    clashes = tuple(sum(1 << beside for beside in graph[node]) for node in range(len(graph)))
    return a_problem(knobs, len(graph), clashes=clashes, **changes)


def random_graph(draw: random.Random, nodes: int) -> nx.Graph[int]:
    """A random graph, thin or dense."""
    chance = draw.choice((0.2, 0.5, 0.8))
    graph: nx.Graph[int] = nx.gnp_random_graph(nodes, chance, seed=draw.randint(0, 10**9))
    return graph


@attrs.frozen
class Case:
    """A seeded request, its problem, and its best values; None where nothing is valid."""

    seed: int
    request: Request
    problem: Problem
    best: Totals | None

    @property
    def values(self) -> Totals:
        """The best values of a case that is possible."""
        assert self.best is not None
        return self.best

    @property
    def upper(self) -> Upper:
        """The best values of its first four tiers."""
        unplaced, bundles, breaks, sharing, *_ = self.values
        return unplaced, bundles, breaks, sharing


@cache
def case(seed: int) -> Case:
    """The case of a seed."""
    request = seeded_request(seed)
    best = least(request)
    return Case(seed, request, problem_of(request), best.totals if best else None)


def cases(seeds: Iterable[int]) -> Iterator[Case]:
    """The cases that the solver can be asked: those that knobs alone decide."""
    for seed in seeds:
        found = case(seed)
        surface = found.request.surface
        layers, stored = surface.layers, surface.snapshots
        if layers is not None and len(found.request.voices) > layers:
            continue
        if stored is None or len(found.request.played) <= stored:
            yield found


def possible(seeds: Iterable[int]) -> Iterator[Case]:
    """The cases that have a valid placement."""
    return (found for found in cases(seeds) if found.best is not None)


@attrs.frozen
class Placement:
    """What is on each knob, as masks of items, and the values of the first four tiers."""

    on: tuple[int, ...]
    values: Upper

    @property
    def used(self) -> tuple[int, ...]:
        """What the used knobs carry."""
        return tuple(mask for mask in self.on if mask)


def every_placement(request: Request) -> list[Placement]:
    """Every valid placement of a small request, priced by the oracle's reading of the words.

    Left away are those in which something expendable joins what is not of its bundle: to leave it
    out instead is cheaper in the tier *bundles* and costs nothing before, so none of them is best.
    """
    reading = read(request)
    layouts = valid_layouts(reading)
    unplaced, bundles, breaks, sharing = (each.tolist() for each in upper_values(reading, layouts))
    on = zip(*(each.tolist() for each in layouts.on), strict=True) if layouts.on else repeat(())
    upper = zip(unplaced, bundles, breaks, sharing, strict=True)
    found = (
        Placement(tuple(masks_on), values) for masks_on, values in zip(on, upper, strict=False)
    )
    return [each for each in found if not any(masks.intruding(reading, mask) for mask in each.on)]


def every_column(problem: Problem) -> list[Column]:
    """Every set of atoms that may be on one knob, family by family, small sets first."""
    catalogues = column_pools_of(problem, families(problem), knob_slots(problem), watch())
    return [
        catalogue.column(problem, row)
        for catalogue in catalogues or ()
        for row in range(len(catalogue.members))
    ]


def size_of(request: Request) -> int:
    """How many ways there are to put each destination on a knob or nowhere."""
    return int((1 + len(request.surface.knobs)) ** len(request.by_full_name))


def atoms_of(problem: Problem, items: int) -> int:
    """The atoms that some items, given as a mask, are of."""
    return sum(1 << number for number, atom in enumerate(problem.atoms) if atom.items & items)


def partitions(things: tuple[int, ...]) -> Iterator[list[int]]:
    """Every way to part some things into sets, as masks: as many as Bell's numbers say."""
    if not things:
        yield []
        return
    first, rest = 1 << things[0], things[1:]
    for parts in partitions(rest):
        yield [first, *parts]
        for at, part in enumerate(parts):
            yield [*parts[:at], part | first, *parts[at + 1 :]]


def meets(problem: Problem, knobs: dict[int, int]) -> bool:
    """Whether a placement meets every demand, read off the problem anew."""
    on: dict[int, int] = {}
    for number, atom in enumerate(problem.atoms):
        places = {knobs.get(item, -1) for item in bits(atom.items)}
        if atom.contradicted or len(places) > 1 or (atom.needed and places == {-1}):
            return False
        (knob,) = places
        if knob >= 0:
            if not atom.knobs >> knob & 1 or problem.clashes[number] & on.get(knob, 0):
                return False
            on[knob] = on.get(knob, 0) | 1 << number
    full = any(problem.items_of(atoms).bit_count() > problem.per_knob for atoms in on.values())
    return not full and len(knobs) <= problem.routes
