"""Every peer on the same requests, side by side in one run."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence

from benchmarks.generator import KINDS
from benchmarks.peers import OURS, PEERS
from benchmarks.peers.race import Told, run
from benchmarks.peers.rows import Pricing, Row, Subject, row_of


def compare(
    sizes: Iterable[int] = (8,),
    seeds: int = 2,
    limits: Iterable[float] = (2.0,),
    peers: Iterable[str] = tuple(PEERS),
    kinds: Iterable[str] = ("plain",),
    told: Callable[[Row], None] | None = None,
) -> list[Row]:
    """Run every peer on every request under every limit.

    Args:
        sizes: numbers of knobs, 4 or more each.
        seeds: how many requests of each size and kind; their seeds are counted from 0.
        limits: seconds. Each is a run of its own, so that a peer can plan for it.
        peers: names in :data:`benchmarks.peers.PEERS`. With knobpack among them the others are
            timed until they are as good.
        kinds: of :data:`benchmarks.generator.KINDS`.
        told: told each row as it comes.

    Returns:
        One row for each run, request by request, then limit by limit, knobpack first.
    """
    limits, peers = tuple(limits), _ours_first(peers)
    rows = []
    for subject in subjects(sizes, seeds, kinds):
        for row in side_by_side(subject, limits, peers):
            rows.append(row)
            if told is not None:
                told(row)
    return rows


def subjects(sizes: Iterable[int], seeds: int, kinds: Iterable[str]) -> Iterator[Subject]:
    """The requests, size by size and kind by kind."""
    kinds = tuple(kinds)
    for knobs in sizes:
        for kind in kinds:
            for seed in range(seeds):
                yield Subject(kind, seed, KINDS[kind](seed, knobs))


def _ours_first(peers: Iterable[str]) -> tuple[str, ...]:
    return tuple(sorted(dict.fromkeys(peers), key=lambda peer: peer != OURS))


def side_by_side(subject: Subject, limits: Sequence[float], peers: Sequence[str]) -> Iterator[Row]:
    """Run peers on one request under every limit, in their order; knobpack is best named first.

    Args:
        subject: the request.
        limits: seconds.
        peers: names in :data:`benchmarks.peers.PEERS`.

    Yields:
        The row of each run.
    """
    pricing = Pricing(subject.request)
    for limit in limits:
        ours: Told | None = None
        for peer in peers:
            found = run(peer, subject.request, limit)
            row = row_of(subject, peer, limit, found, pricing, ours)
            if peer == OURS and row.valid:
                ours = pricing.best(found.told)
                row = row_of(subject, peer, limit, found, pricing, ours)
            yield row
