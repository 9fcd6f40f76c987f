"""What each stage of the solver is worth: ``python -m benchmarks.ablation [--stages cuts]``.

Solves the same small seeded requests with each stage of the solver switched off in turn, something
that does nothing standing in its place meanwhile, and prints for each what is lost: proofs, values,
bounds and time. Requests are of three groups: *player's*, as ``benchmarks.requests`` and
``benchmarks.generator`` make them, *crowded*, the same but of few large families, and *foreign*, of
``benchmarks.foreign_requests``. There is little effort for each, so that some end before a proof.
Time is that of the processor, as a share of what the whole solver takes: of all requests together,
and the (geometric) mean of each one's share. The whole solver solves each request once before the
others and once after them, and how far these two differ is printed as well.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import ExitStack
from itertools import chain
from statistics import geometric_mean
from unittest.mock import patch

import attrs
import numpy as np

from benchmarks.foreign_requests import FOREIGN
from benchmarks.generator import tight, varied
from benchmarks.proven import machine
from benchmarks.requests import eight_knobs, sized
from knobpack import Request, allocate_request
from knobpack.errors import NoLayoutFound
from knobpack.numbered.problem import Problem
from knobpack.solver.arrangement import subgradient as raising
from knobpack.solver.arrangement.bounded_dp import Filled
from knobpack.solver.contraction import Pose, poses
from knobpack.solver.optima.dominance import TooManyVariantsError

EFFORT = 1.0
"""Deterministic effort for a request."""

SMALLEST_OF = 20
"""The smallest foreign requests of so many seeds are taken."""

GROUPS = ("player's", "crowded", "foreign")
"""The groups of requests."""

SEEDS = 3_000
"""The first seed of a player's requests."""


def _raises(error: Exception) -> Callable[..., object]:
    def stand_in(*_: object, **__: object) -> object:
        raise error

    return stand_in


def _gives(value: object) -> Callable[..., object]:
    return lambda *_, **__: value


def _second(*given: object, **_: object) -> object:
    return given[1]


def _broken(problem: Problem) -> Iterator[Pose]:
    return (pose for pose in poses(problem) if pose.broken is None)


def _raised_by_nothing(*given: object) -> object:
    panel, prices, upper, _, watch = given
    return raising.raised(panel, prices, upper, 0, watch)  # type: ignore[arg-type]


def _zeros(*given: object) -> object:
    return np.zeros_like(given[-1])


def _all_of(variants: Iterable[object], *_: object) -> list[object]:
    return list(variants)


def _apart(units: Sequence[object], _: object) -> list[list[int]]:
    return [[unit] for unit in range(len(units))]


STAGES: Mapping[str, Mapping[str, object]] = {
    "bundles as atoms": {"contraction.contracted": _gives(None)},
    "unbroken first": {"solve.poses": _broken},
    "value functions": {"solve.value_functions_of": _gives(None)},
    "large families": {"value_functions.of_families._with_large": _gives(None)},
    "counting bounds": {"general.counted": _gives(0)},
    "choice among near sets": {
        "column_generation.large_family.LargeFamily._settled": _gives(False)
    },
    "dominance of ties": {
        "optima.dominance.undominated": _all_of,
        "optima.enumeration.undominated": _all_of,
    },
    "search among ties": {"solve.tier_by_tier": _gives(None)},
    "ties of the pool": {"last_tiers.tied": _raises(TooManyVariantsError())},
    "shifting": {"arrangement.deepening.shifted": _second},
    "subgradient": {"arrangement.deepening.raised": _raised_by_nothing},
    "bounded filling": {"arrangement.deepening.Filling.best": _gives(Filled(None, 0, 0))},
    "memory of blocks": {"arrangement.path_relaxation.blocks": _apart},
    "prices of being early": {"arrangement.precedence.Precedence.within": _zeros},
    "cycles of pairs": {"arrangement.precedence._cycles": _gives([])},
    "orders of components": {"arrangement.deepening.components_of": _gives([])},
    "catalogues": {"general.column_pools_of": _gives(None)},
    "sets within the gap": {"set_partitioning.closing._close_gap": _gives(None)},
    "fees for what is left out": {"general.left_out_bound": _gives(0)},
    "loads on a knob": {"general.crowded_bound": _gives(0)},
    "centres": {"general.least_broken": _gives((0, ()))},
    "sets near centres": {"general.near_pools": _gives(None)},
    "annealing": {"general._Improvement.anneal": _gives(None)},
    "annealing by families": {"primal.by_families.ByFamilies.apart": False},
    "neighbourhoods": {"primal.neighbourhoods.Neighbourhoods.improve": _gives(None)},
    "packing": {"general.needed_placed": _gives(None)},
    "compact model": {"general.improve_compactly": _gives(None)},
}
"""For each stage what stands in for it, under the names that it has within ``knobpack.solver``."""


@attrs.frozen
class Subject:
    """A request to solve.

    Args:
        group: that which it is of.
        request: the request.
    """

    group: str
    request: Request


@attrs.frozen
class Found:
    """What came of it.

    Args:
        values: of each tier; empty where no layout was found.
        bounds: of each tier.
        seconds: of the processor.
    """

    values: tuple[int, ...]
    bounds: tuple[int, ...]
    seconds: float

    @property
    def proofs(self) -> int:
        """How many tiers are proven, each with all before it."""
        met = [value == bound for value, bound in zip(self.values, self.bounds, strict=True)]
        return next((tier for tier, own in enumerate(met) if not own), len(met))

    def bound_beside(self, other: Found) -> tuple[int, ...]:
        """The bounds up to the first tier in which the values differ."""
        pairs = zip(self.values, other.values, strict=False)
        alike = next((tier for tier, (a, b) in enumerate(pairs) if a != b), len(self.values))
        return self.bounds[: alike + 1]


def subjects(groups: Sequence[str], count: int) -> Iterator[Subject]:
    """The requests of some groups, the more the higher ``count``."""
    seeds = range(SEEDS, SEEDS + count)
    if "player's" in groups:
        made = chain(
            (eight_knobs(seed) for seed in range(SEEDS, SEEDS + 3 * count)),
            (varied(seed, 8) for seed in range(SEEDS, SEEDS + 2 * count)),
            (sized(seed, 16, 70) for seed in seeds),
            (varied(seed, 16) for seed in seeds),
            (tight(seed, 16) for seed in seeds),
            (sized(seed, 32, 140) for seed in seeds[: -(-count // 2)]),
        )
        for request in made:
            yield Subject("player's", request)
    if "crowded" in groups:
        for knobs, destinations, families in ((16, 70, 2), (24, 110, 4)):
            for seed in seeds:
                yield Subject("crowded", sized(seed, knobs, destinations, families))
    if "foreign" in groups:
        for kind, make in FOREIGN.items():
            if kind != "huge":
                requests = (make(seed) for seed in range(SMALLEST_OF))
                smallest = sorted(requests, key=lambda request: len(request.by_full_name))
                for request in smallest[: -(-count // 3)]:
                    yield Subject("foreign", request)


def solved(subject: Subject, off: Mapping[str, object]) -> Found:
    """Solve a request without what stands in ``off``."""
    with ExitStack() as stack:
        for name, stand_in in off.items():
            stack.enter_context(patch(f"knobpack.solver.{name}", stand_in))
        started = time.process_time()
        try:
            allocation = allocate_request(subject.request, effort=EFFORT)
        except NoLayoutFound:
            return Found((), (), time.process_time() - started)
        seconds = time.process_time() - started
    tiers = allocation.tiers
    return Found(tuple(t.value for t in tiers), tuple(t.bound for t in tiers), seconds)


@attrs.frozen
class Row:
    """What a stage is worth to a group of requests.

    Args:
        stage: its name.
        group: that of the requests.
        requests: how many there are.
        proofs: tiers proven with it and not without, less those the other way round.
        worse, better: requests whose values are worse or better without it.
        lower, higher: requests with a bound that is lower or higher without it, the values as far
            being the same.
        ratio: the time without it as a share of that with it.
        mean: the geometric mean of the same of each request.
    """

    stage: str
    group: str
    requests: int
    proofs: int
    worse: int
    better: int
    lower: int
    higher: int
    ratio: float
    mean: float


def row(stage: str, group: str, whole: Sequence[Found], without: Sequence[Found]) -> Row:
    """Compare what was found with a stage and without it, request by request."""
    pairs = list(zip(whole, without, strict=True))
    beside = [(one.bound_beside(other), other.bound_beside(one)) for one, other in pairs]
    none = (1 << 62,)
    values = [(one.values or none, other.values or none) for one, other in pairs]
    return Row(
        stage,
        group,
        len(pairs),
        sum(one.proofs - other.proofs for one, other in pairs),
        sum(other > one for one, other in values),
        sum(other < one for one, other in values),
        sum(other < one for one, other in beside),
        sum(other > one for one, other in beside),
        sum(each.seconds for each in without) / sum(each.seconds for each in whole),
        geometric_mean(other.seconds / one.seconds for one, other in pairs),
    )


def rows(stages: Sequence[str], groups: Sequence[str], count: int) -> Iterator[Row]:
    """The row of each stage and group, and first that of the whole solver solving once more."""
    every = list(subjects(groups, count))
    solved(every[0], {})
    found: dict[str, list[Found]] = {stage: [] for stage in ("whole", *stages, "again")}
    for subject in every:
        for stage, own in found.items():
            own.append(solved(subject, STAGES.get(stage, {})))
    for group in groups:
        at = [place for place, subject in enumerate(every) if subject.group == group]
        whole, again = ([found[stage][place] for place in at] for stage in ("whole", "again"))
        yield row("(once more)", group, whole, again)
        mean = [
            attrs.evolve(one, seconds=(one.seconds + other.seconds) / 2)
            for one, other in zip(whole, again, strict=True)
        ]
        for stage in stages:
            yield row(stage, group, mean, [found[stage][place] for place in at])


def table(lines: Sequence[Row]) -> Iterator[str]:
    """The rows as a table in Markdown."""
    yield "| off | requests | proofs lost | values worse, better | bounds lower, higher | time |"
    yield "| --- | --- | --- | --- | --- | --- |"
    for each in lines:
        times = f"{each.ratio:.2f}, {each.mean:.2f}"
        yield (
            f"| {each.stage} | {each.requests} {each.group} | {each.proofs} "
            f"| {each.worse}, {each.better} | {each.lower}, {each.higher} | {times} |"
        )


def main(arguments: Sequence[str] | None = None) -> int:
    """Print the table."""
    parser = argparse.ArgumentParser(prog="python -m benchmarks.ablation", description=__doc__)
    parser.add_argument("--stages", default=",".join(STAGES), help=f"of {', '.join(STAGES)}")
    parser.add_argument("--groups", default=",".join(GROUPS), help=f"of {', '.join(GROUPS)}")
    parser.add_argument("--count", type=int, default=6, help="how many requests of a sort (6)")
    given = parser.parse_args(arguments)
    print(machine())
    found = rows(given.stages.split(","), given.groups.split(","), given.count)
    print(*table(list(found)), sep="\n")
    return 0


if __name__ == "__main__":
    sys.exit(main())
