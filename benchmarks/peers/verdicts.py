"""Who was better, by how much later the others were as good, and whether the claims agree."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby

import attrs

from benchmarks.peers import OURS
from benchmarks.peers.rows import Row
from knobpack.checker import TIERS

Race = tuple[str, float]
"""A request and a limit."""

LEAST = 1e-3
"""Seconds below which a time is not told from this."""


@attrs.frozen(order=True)
class Ratio:
    """How much longer a peer took to be as good as knobpack was when it ended.

    Args:
        value: its seconds over knobpack's.
        missed: whether it was never that good; the limit then stands for its seconds, and the
            ratio is a lower bound.
    """

    value: float
    missed: bool

    def __str__(self) -> str:
        return f"{'> ' if self.missed else ''}{self.value:.3g}"


def races(rows: Iterable[Row]) -> Iterator[tuple[Race, list[Row]]]:
    """The rows of each request under each limit."""
    for race, group in groupby(rows, key=lambda row: (row.request, row.limit)):
        yield race, list(group)


def ratios(
    rows: Iterable[Row], *, cpu: bool = False, every_tier: bool = False
) -> dict[tuple[Race, str], Ratio]:
    """The ratio of every peer in every race that knobpack has a layout in.

    All of knobpack's time counts, that for the last two tiers and for the proofs as well.

    Args:
        rows: of whole races.
        every_tier: whether to be as good takes all tiers; else it takes the first four.
        cpu: count processor time: each time is scaled by the share of a core that its run had,
            so that other load on the machine says less.
    """
    found = {}
    for race, group in races(rows):
        ours = next((row for row in group if row.peer == OURS and row.valid), None)
        if ours is None:
            continue
        for row in group:
            if row is ours or row.failed:
                continue
            seconds = row.equal_seconds if every_tier else row.as_good_seconds
            missed = seconds is None
            taken = row.limit if seconds is None else seconds
            scale = _share(row) / _share(ours) if cpu else 1.0
            value = max(taken, LEAST) / max(ours.seconds, LEAST) * scale
            found[race, row.peer] = Ratio(value, missed)
    return found


def best_ratios(rows: Iterable[Row], *, every_tier: bool = False) -> dict[Race, tuple[str, Ratio]]:
    """In each race the peer that was the first as good as knobpack, and its ratio.

    Where none was, the ratio is the least that it can be.
    """
    found: dict[Race, tuple[str, Ratio]] = {}
    for (race, peer), ratio in ratios(rows, every_tier=every_tier).items():
        if race not in found or ratio < found[race][1]:
            found[race] = (peer, ratio)
    return found


def better_than_ours(rows: Iterable[Row], tiers: int = len(TIERS)) -> list[tuple[Row, Row]]:
    """Where a peer has a better layout than knobpack in the same race: the peer's row and ours.

    So many tiers are compared, the most important first.
    """
    found = []
    for _, group in races(rows):
        ours = next((row for row in group if row.peer == OURS), None)
        for row in group if ours is not None else ():
            if ours is None or row is ours or not row.valid:
                continue
            if not ours.valid or row.values[:tiers] < ours.values[:tiers]:
                found.append((row, ours))
    return found


def contradictions(rows: Sequence[Row]) -> list[str]:
    """Where a bound is refuted by a valid layout of the same request, in words.

    A bound of a tier speaks of layouts that are best in every earlier tier: it is held against
    those that meet the claim's own earlier bounds.
    """
    found = []
    for request, group in groupby(rows, key=lambda row: row.request):
        inner = list(group)
        for claim in inner:
            for row in inner if claim.bounds else ():
                if row.valid and (tier := _first_apart(claim.bounds, row.values)) is not None:
                    bound, value = claim.bounds[tier], row.values[tier]
                    if value < bound:
                        found.append(
                            f"{request}: {claim.peer} bounds {TIERS[tier]} by {bound}, "
                            f"{row.peer} has {value}"
                        )
    return list(dict.fromkeys(found))


def _first_apart(bounds: Sequence[int], values: Sequence[int]) -> int | None:
    pairs = enumerate(zip(bounds, values, strict=False))
    return next((tier for tier, (bound, value) in pairs if bound != value), None)


def _share(row: Row) -> float:
    return max(row.cpu_seconds, LEAST) / max(row.seconds, LEAST)
