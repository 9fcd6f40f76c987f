"""What is written down of each run: one row, one run."""

from __future__ import annotations

import os
import platform
from collections.abc import Iterable, Sequence
from functools import cache
from importlib.metadata import version

import attrs

from benchmarks.peers import PEERS
from benchmarks.peers.costs import Costs
from benchmarks.peers.race import Run, Told
from benchmarks.peers.shape import Shape, shape_of
from benchmarks.peers.state import NOWHERE, State
from knobpack import Request
from knobpack.checker import TIERS, check
from knobpack.words import Layout

Values = tuple[int, ...]


@attrs.frozen
class Subject:
    """A request that peers are run on.

    Args:
        kind: ``plain`` or ``varied``, see :mod:`benchmarks.generator`.
        seed: what it was made from.
        request: the request.
    """

    kind: str
    seed: int
    request: Request = attrs.field(repr=False, eq=False)

    @property
    def title(self) -> str:
        """A name for it: kind, knobs and destinations, seed."""
        knobs, count = len(self.request.surface.knobs), len(self.request.by_full_name)
        return f"{self.kind} {knobs}/{count} seed {self.seed}"


@attrs.frozen
class Row:
    """One run of one peer on one request.

    Args:
        request: kind, knobs and destinations, seed.
        limit: the seconds that were given.
        seconds: the seconds that were taken; more than the limit where the peer overran it.
        cpu_seconds: the processor time that was taken.
        mebibytes: the most memory its process had.
        as_good_seconds: when it first had a layout as good in tiers 1 to 4 as the one knobpack
            ended with under the same limit; None: never, or knobpack was not run.
        equal_seconds: the same for all tiers.
        values: the tiers of its best layout, by the plain checker; none without a layout.
        bounds: its own bounds, from the first tier on.
        proven: how many tiers, from the first on, it claims to have proven best.
        valid: whether the layout meets every demand, by the plain checker.
        ended: whether it was ended from outside.
        failed: what went wrong in it, else nothing.
        machine: what it ran on.
        versions: what it was made with.
    """

    request: str
    kind: str
    knobs: int
    destinations: int
    seed: int
    peer: str
    limit: float
    seconds: float
    cpu_seconds: float
    mebibytes: float | None
    as_good_seconds: float | None
    equal_seconds: float | None
    values: Values
    bounds: Values
    proven: int
    valid: bool
    ended: bool
    failed: str
    machine: str
    versions: str

    @property
    def first_four(self) -> Values | None:
        """The first four tiers, which quality goes by; None without a valid layout."""
        return self.values[:4] if self.valid else None


class Pricing:
    """Picks the best of what a peer told, and when it was good enough."""

    def __init__(self, request: Request) -> None:
        self._request = request
        self._shape: Shape = shape_of(request)
        self._state = State(Costs(self._shape))
        self._at = {knob: at for at, knob in enumerate(request.surface.knob_names)}

    def of(self, layout: Layout) -> int:
        """The first four tiers in one number, by the peers' own tables: less is better."""
        knob_of = [NOWHERE] * len(self._shape.units)
        for route in layout.routes:
            unit = self._shape.unit_of[self._shape.number[route.destination]]
            knob_of[unit] = self._at[route.knob]
        return self._state.set_to(knob_of)

    def best(self, told: Sequence[Told]) -> Told | None:
        """The best told, the last of those that are equal."""
        return min(reversed(told), key=lambda each: self.of(each.layout), default=None)

    def first_as_good(self, told: Sequence[Told], value: int) -> float | None:
        """The seconds at which a layout of at most this value was told first."""
        return next((each.seconds for each in told if self.of(each.layout) <= value), None)

    def first_equal(self, told: Sequence[Told], ours: Told) -> float | None:
        """The seconds at which a layout was told first that is as good as ours in all tiers."""
        value, whole = self.of(ours.layout), self._whole(ours.layout)
        for each in told:
            own = self.of(each.layout)
            if own < value or (own == value and self._whole(each.layout) <= whole):
                return each.seconds
        return None

    def _whole(self, layout: Layout) -> Values:
        return check(self._request, layout).prices.totals


def row_of(
    subject: Subject, peer: str, limit: float, run: Run, pricing: Pricing, ours: Told | None
) -> Row:
    """Check and price what a run gave.

    Args:
        subject: the request.
        peer: who ran.
        limit: the seconds it had.
        run: what it gave.
        pricing: of the same request.
        ours: the best layout of knobpack; None: it was not run, or has none.
    """
    best = pricing.best(run.told)
    checked = None if best is None else check(subject.request, best.layout)
    valid = checked is not None and checked.valid
    as_good = equal = None
    if valid and ours is not None:
        as_good = pricing.first_as_good(run.told, pricing.of(ours.layout))
        equal = pricing.first_equal(run.told, ours)
    return Row(
        request=subject.title,
        kind=subject.kind,
        knobs=len(subject.request.surface.knobs),
        destinations=len(subject.request.by_full_name),
        seed=subject.seed,
        peer=peer,
        limit=limit,
        seconds=run.seconds,
        cpu_seconds=run.cpu_seconds,
        mebibytes=run.mebibytes,
        as_good_seconds=as_good,
        equal_seconds=equal,
        values=() if checked is None else checked.prices.totals,
        bounds=run.bounds,
        proven=run.proven,
        valid=valid,
        ended=run.ended,
        failed=run.failed or "",
        machine=machine(),
        versions=versions(peer),
    )


COLUMNS = (
    *(field.name for field in attrs.fields(Row) if field.name not in ("values", "bounds")),
    *TIERS,
    *(f"{tier}_bound" for tier in TIERS),
)
"""The columns of the table: the fields of a row, then a value and a bound for each tier."""


def record(row: Row) -> dict[str, object]:
    """A row by column, None where there is nothing; times to the millisecond."""
    found: dict[str, object] = dict.fromkeys(COLUMNS)
    for name, value in attrs.asdict(row).items():
        if name not in ("values", "bounds"):
            found[name] = round(value, 3) if isinstance(value, float) else value
    found.update(zip(TIERS, row.values, strict=False))
    found.update(zip((f"{tier}_bound" for tier in TIERS), row.bounds, strict=False))
    return found


def records(rows: Iterable[Row]) -> list[dict[str, object]]:
    """Every row by column."""
    return [record(row) for row in rows]


@cache
def machine() -> str:
    """What the numbers are measured on."""
    python = platform.python_version()
    return f"{platform.system()} {platform.machine()}, {os.cpu_count()} cores, Python {python}"


@cache
def versions(peer: str) -> str:
    """What a peer is made with."""
    return ", ".join(f"{package} {version(package)}" for package in PEERS[peer].packages)
