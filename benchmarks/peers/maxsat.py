"""Peer: weighted partial MaxSAT of the first four tiers, by RC2 (python-sat).

The tiers become one sum in which each outweighs all that can come after it; the stratified form of
RC2 then goes from the heaviest to the lightest. It works from below: after each stratum it has an
assignment, and the cores found so far are a bound. Change and layout are not part of the model:
runs would double it and RC2 seldom gets so far. The sets it finds are put on the panel as those of
the annealer are. The layout that insertion makes is its first answer.

Measured on one request each of 8, 16 and 32 knobs: without core exhaustion, without minimising and
trimming cores, or with a stratum for each weight it finds the same; Glucose 4 is now better, now
worse; to decide first as in the layout of insertion helps at 16 knobs and harms at 8 and 32.
"""

from __future__ import annotations

import time
from collections.abc import Callable

from pysat.card import CardEnc, EncType  # type: ignore[import-untyped]
from pysat.examples.rc2 import RC2Stratified  # type: ignore[import-untyped]
from pysat.formula import WCNF, IDPool  # type: ignore[import-untyped]

from benchmarks.peers.answer import Answer, Clock, Tell
from benchmarks.peers.booleans import Booleans
from benchmarks.peers.costs import Costs
from benchmarks.peers.placing import placed_well
from benchmarks.peers.shape import shape_of
from benchmarks.peers.textbook import BUNDLES, INDEPENDENCE, SHARING, UNPLACED, Textbook
from benchmarks.peers.textbook_goals import price
from benchmarks.peers.values import Best
from knobpack.words import Request

TIERS = (UNPLACED, BUNDLES, INDEPENDENCE, SHARING)

REPORTS = 0.1
"""Seconds between two bounds told, at least."""

OPTIONS = {"solver": "g3", "adapt": True, "exhaust": True, "incr": False, "minz": True, "trim": 5}
"""Those that RC2's author entered the MaxSAT Evaluation 2018 with (from memory): Glucose 3."""


def solve(request: Request, seconds: float, tell: Tell) -> Answer:
    """Solve the first four tiers with RC2. It does not stop by itself when the time is up."""
    clock = Clock.of(seconds)
    costs = Costs(shape_of(request))
    best = Best(costs, tell)
    best.start()
    book = Textbook(costs, ordered=True)
    price(book, *TIERS)
    scales = _scales(book.model)
    constant = sum(scales[tier] * book.model.goals[tier].constant for tier in TIERS)

    def seen(true: set[int] | None, cost: int) -> None:
        tell(None, _parted(max(0, cost + constant), scales))
        if true is not None:
            best.take(book.knob_of([each in true for each in range(book.model.count + 1)]))

    with _Telling(_formula(book.model, scales), seen) as solver:
        solved = solver.compute()
        if solved is None:
            return Answer(None)
        seen({literal for literal in solved if literal > 0}, int(solver.cost))
        bounds = _parted(int(solver.cost) + constant, scales)
    short = Clock(min(clock.end, Clock.of(seconds / 10).end))
    best.take(placed_well(costs, best.knob_of, short))
    return Answer(best.layout, bounds, len(TIERS))


def _scales(model: Booleans) -> dict[int, int]:
    """What a point of each tier weighs, so that it outweighs all that can come after it."""
    scales, weight = {}, 1
    for tier in reversed(TIERS):
        scales[tier] = weight
        weight *= 1 + sum(price for _, price in model.goals[tier].prices)
    return scales


def _parted(value: int, scales: dict[int, int]) -> tuple[int, ...]:
    """The values of the tiers in one sum."""
    found = []
    for tier in TIERS:
        found.append(value // scales[tier])
        value -= found[-1] * scales[tier]
    return tuple(found)


def _formula(model: Booleans, scales: dict[int, int]) -> WCNF:
    formula = WCNF()
    pool = IDPool(start_from=model.count + 1)
    for clause in model.clauses:
        formula.append(list(clause))
    for limit in model.limits:
        small = limit.most == 1 and len(limit.variables) <= 6
        encoded = CardEnc.atmost(
            lits=list(limit.variables),
            bound=limit.most,
            vpool=pool,
            encoding=EncType.pairwise if small else EncType.seqcounter,
        )
        formula.extend(encoded.clauses)
    paid: dict[int, int] = {}
    for tier in TIERS:
        for literal, weight in model.goals[tier].prices:
            paid[literal] = paid.get(literal, 0) + scales[tier] * weight
    for literal, weight in paid.items():
        formula.append([-literal], weight=weight)
    return formula


class _Telling(RC2Stratified):  # type: ignore[misc]
    """Passes on the assignment that ends each stratum, and the bound as cores are found."""

    def __init__(self, formula: WCNF, seen: Callable[[set[int] | None, int], None]) -> None:
        super().__init__(formula, **OPTIONS)
        self._seen, self._told = seen, time.monotonic()

    def process_core(self) -> None:
        """Relax a core as RC2 does, and tell the bound now and then."""
        super().process_core()
        if time.monotonic() - self._told > REPORTS:
            self._told = time.monotonic()
            self._seen(None, int(self.cost))

    def finish_level(self) -> None:
        """Tell, and go on as RC2 does."""
        inner = self.oracle.get_model() or []
        names = self.vmap.i2e
        self._seen({names[each] for each in inner if each > 0 and each in names}, int(self.cost))
        super().finish_level()
