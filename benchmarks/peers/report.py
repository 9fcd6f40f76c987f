"""The rows in words and tables, to read rather than to work with."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import groupby
from statistics import median, median_high

from benchmarks.peers import OURS, PEERS
from benchmarks.peers.rows import Row
from benchmarks.peers.verdicts import (
    best_ratios,
    better_than_ours,
    contradictions,
    races,
    ratios,
)
from benchmarks.tables import exponent
from knobpack.checker import TIERS

SHARING = TIERS.index("sharing")

HEAD = (
    "peer",
    "valid",
    "best 1-4",
    "best 1-6",
    "proven 1-4",
    "proven 1-6",
    "seconds",
    "of a core",
    "MiB",
    "sharing",
    "gap",
    "as good",
    "later",
    "cpu later",
)
NOTES = (
    "best 1-4: as good as any in the tiers before change; 1-6: in all.",
    "seconds, of a core, MiB: medians. sharing: how much dearer that tier is than the best known,",
    "the median where the tiers before it are as good; gap: how far its own bound is below that.",
    "as good: on how many requests it reached knobpack's tiers 1-4. later: how many times as long",
    "that took, the median; > where it never did by the limit. cpu later: in processor time.",
    "knobpack's time is that of all tiers and their proofs.",
)


def report(rows: Sequence[Row]) -> Iterator[str]:
    """The lines of the report."""
    for peer in dict.fromkeys(row.peer for row in rows):
        yield f"{peer:14} {PEERS[peer].about}"
    yield from ("", *NOTES)
    for (kind, knobs, destinations, limit), group in groupby(sorted(rows, key=_group), _group):
        inner = list(group)
        count = len({row.request for row in inner})
        requests = "1 request" if count == 1 else f"{count} requests"
        yield ""
        yield f"{kind}: {knobs} knobs, {destinations} destinations, {requests}, {limit:g} s"
        yield from _table(inner)
        if best := best_ratios(inner):
            middle = median_high(ratio for _, ratio in best.values())
            yield f"  the best peer of each request, as good as knobpack: {middle} times as long"
            equal = best_ratios(inner, every_tier=True).values()
            middle = median_high(ratio for _, ratio in equal)
            yield f"  and as good in all tiers: {middle} times as long"
    yield ""
    yield from _verdicts(rows)
    yield from _growth(rows)


def _group(row: Row) -> tuple[str, int, int, float]:
    return row.kind, row.knobs, row.destinations, row.limit


def _table(rows: Sequence[Row]) -> Iterator[str]:
    lines = [HEAD, *(_line(peer, rows) for peer in dict.fromkeys(row.peer for row in rows))]
    widths = [max(len(line[at]) for line in lines) for at in range(len(HEAD))]
    for first, *rest in lines:
        cells = (cell.rjust(width) for cell, width in zip(rest, widths[1:], strict=True))
        yield "  " + "  ".join((first.ljust(widths[0]), *cells))


def _line(peer: str, rows: Sequence[Row]) -> tuple[str, ...]:
    own = [row for row in rows if row.peer == peer]
    valid = [row for row in own if row.valid]
    best = {
        race: min((r.values for r in group if r.valid), default=()) for race, group in races(rows)
    }
    of = {id(row): best[row.request, row.limit] for row in own}
    memory = [row.mebibytes for row in own if row.mebibytes is not None]
    late = [ratio for (_, name), ratio in ratios(rows).items() if name == peer]
    late_cpu = [ratio for (_, name), ratio in ratios(rows, cpu=True).items() if name == peer]
    dearer = [
        100 * (row.values[SHARING] / of[id(row)][SHARING] - 1)
        for row in valid
        if row.values[:SHARING] == of[id(row)][:SHARING] and of[id(row)][SHARING]
    ]
    gaps = [
        100 * (1 - row.bounds[SHARING] / of[id(row)][SHARING])
        for row in own
        if len(row.bounds) > SHARING
        and row.bounds[:SHARING] == of[id(row)][:SHARING]
        and of[id(row)][SHARING]
    ]
    return (
        peer,
        f"{len(valid)}/{len(own)}",
        str(sum(row.first_four == of[id(row)][: SHARING + 1] for row in valid)),
        str(sum(row.values == of[id(row)] for row in valid)),
        str(sum(row.proven > SHARING for row in own)),
        str(sum(row.proven == len(TIERS) for row in own)),
        f"{median(row.seconds for row in own):.3f}",
        f"{median(100 * row.cpu_seconds / max(row.seconds, 1e-3) for row in own):.0f} %",
        f"{median(memory):.0f}" if memory else "",
        f"+{median(dearer):.2f} %" if dearer else "",
        f"{median(gaps):.2f} %" if gaps else "",
        str(sum(not ratio.missed for ratio in late)) if late else "",
        str(median_high(late)) if late else "",
        str(median_high(late_cpu)) if late_cpu else "",
    )


def _verdicts(rows: Sequence[Row]) -> Iterator[str]:
    if not any(row.peer == OURS for row in rows):
        return
    for tiers in (SHARING + 1, len(TIERS)):
        worse = better_than_ours(rows, tiers)
        yield f"layouts of peers better than knobpack's in tiers 1 to {tiers}: {len(worse)}"
        for row, ours in worse:
            yield f"  {row.request}, {row.limit:g} s: {row.peer} {row.values}, not {ours.values}"
    refuted = contradictions(rows)
    yield f"bounds refuted by a layout: {len(refuted)}"
    yield from (f"  {line}" for line in refuted)
    for row in rows:
        if row.failed:
            yield f"  {row.request}: {row.peer} failed: {row.failed}"


def _growth(rows: Sequence[Row]) -> Iterator[str]:
    """Exponents of the seconds with destinations, of runs that ended before their limit."""
    for peer in dict.fromkeys(row.peer for row in rows):
        own = [row for row in rows if row.peer == peer]
        done = [row for row in own if row.seconds < row.limit and row.valid and not row.ended]
        found = exponent(
            [row.destinations for row in done], [max(row.seconds, 1e-3) for row in done]
        )
        if found is not None:
            yield (
                f"{peer}: seconds grow with destinations to the power {found:.2f} "
                f"({len(done)} runs; {len(own) - len(done)} more were cut off)"
            )
