"""One request answered twice, by knobpack and by an oracle, and all that differs, in words.

Each whole number names one request, in which any feature may occur. Most are small and go to brute
force; some have up to 390,625 layouts; a few are beyond that and go to the textbook model, as
``benchmarks/peers`` has it.
"""

from __future__ import annotations

import random
from collections.abc import Callable, Iterator

import attrs

from benchmarks.peers import PEERS
from benchmarks.requests import sized
from knobpack.allocation import Allocation, Tier
from knobpack.allocator import allocate_request
from knobpack.checker import check
from knobpack.clash import Clash, ImpossibleDemands
from knobpack.definition.prices import TIERS, tiers_of
from knobpack.words import KnobTravel, Layout, Request, Route
from tests.oracles import masks
from tests.oracles.brute import Price, least, price
from tests.oracles.every_clash import wrong_in_clash
from tests.oracles.reading import read
from tests.oracles.strategies import (
    PANELS,
    Choices,
    busy_request,
    seeded_edit,
    seeded_request,
    small_request,
)


@attrs.frozen
class KnownTier:
    """A tier of an answer of an oracle: its value, a bound that holds, and whether that is all."""

    value: int
    bound: int
    proven: bool


Known = tuple[KnownTier, ...] | None
"""What an oracle says: the tiers as far as it proved them; None: impossible."""

SECONDS = 60.0
"""For the textbook model."""


@attrs.frozen
class Sort:
    """A sort of requests, and the oracle they are held against."""

    name: str
    make: Callable[[int], Request]
    oracle: Callable[[Request], Known]


@attrs.frozen
class Verdict:
    """What came of one request.

    Args:
        seed: the number that names it.
        sort: the name of its sort.
        best: the best value of each tier, as far as the oracle knows it; None: impossible.
        open: whether knobpack left a tier unproven: its bounds were held against the oracle.
        unknown: whether the oracle left one unproven.
        faults: all that differs; none if the two agree.
    """

    seed: int
    sort: str
    best: tuple[int, ...] | None
    open: bool
    unknown: bool
    faults: tuple[str, ...]

    @property
    def impossible(self) -> bool:
        """Whether the oracle says so."""
        return self.best is None


def by_brute_force(request: Request) -> Known:
    """Every layout tried."""
    best = least(request)
    if best is None:
        return None
    return tuple(KnownTier(value, value, True) for value in best.totals)


def by_the_textbook(request: Request) -> Known:
    """The textbook model, solved by HiGHS; what concerns no route is looked at beside it."""
    surface = request.surface
    stored = surface.snapshots is None or len(request.played) <= surface.snapshots
    if not stored or (surface.layers is not None and len(request.voices) > surface.layers):
        return None
    answer = PEERS["highs"].load()(request, SECONDS, lambda *_: None)
    if answer.layout is None or masks.contradicted(read(request)):
        return None
    values = price(request, answer.layout).totals
    told = enumerate(zip(values, answer.bounds, strict=False))
    return tuple(KnownTier(value, bound, at < answer.proven) for at, (value, bound) in told)


def middling(seed: int) -> Request:
    """7 or 8 destinations on 3 or 4 knobs: as many as brute force can do."""
    draw = random.Random(seed)  # noqa: S311 (no secret)
    panels = tuple(panel for panel in PANELS if 3 <= len(panel) <= 4)
    return small_request(Choices(draw.randint), (7, 7, 8), panels)


def plausible(seed: int) -> Request:
    """9 to 14 destinations as a player would have them, on 4 to 6 knobs, with a layout before."""
    draw = random.Random(seed)  # noqa: S311 (no secret)
    knobs = draw.randint(4, 6)
    asked = sized(seed, knobs, draw.randint(9, 14), draw.randint(3, min(4, knobs - 1)))
    named = draw.sample(list(asked.by_full_name), 5)
    before = tuple(Route(name, draw.choice(asked.surface.knob_names)) for name in named)
    had = zip(asked.surface.knob_names, (asked.wanted(name) for name in named), strict=False)
    travels = tuple(KnobTravel(knob, travel) for knob, travel in had)
    return attrs.evolve(asked, previous=Layout(before, travels))


SMALL = Sort("small, brute force", seeded_request, by_brute_force)
EDITED = Sort("edits, brute force", seeded_edit, by_brute_force)
MIDDLING = Sort("middling, brute force", middling, by_brute_force)
BUSY = Sort("busy, textbook model", busy_request, by_the_textbook)
PLAUSIBLE = Sort("plausible, textbook model", plausible, by_the_textbook)
SORTS = (SMALL, EDITED, MIDDLING, BUSY, PLAUSIBLE)


def sort_of(seed: int) -> Sort:
    """The sort of the request that a number names.

    Of 1000, 80 are edits of a layout in use, 37 middling, 2 busy, 1 plausible, the rest small.
    """
    place = seed % 1000
    if place % 25 != 24:
        return EDITED if place % 25 in (7, 16) else SMALL
    return {249: PLAUSIBLE, 499: BUSY, 999: BUSY}.get(place, MIDDLING)


def compared(seed: int, sort: Sort | None = None) -> Verdict:
    """Answer the request of a number twice, and say what differs."""
    sort = sort or sort_of(seed)
    request = sort.make(seed)
    known = sort.oracle(request)
    best = None if known is None else tuple(tier.value for tier in known)
    brute = sort.oracle is by_brute_force
    try:
        found = allocate_request(request)
    except ImpossibleDemands as error:
        faults = tuple(_impossible(request, known, error.clash, brute))
        return Verdict(seed, sort.name, best, False, False, faults)
    except Exception as error:  # whatever it is, it is a disagreement to report
        return Verdict(seed, sort.name, best, False, False, (f"raised {error!r}",))
    proven = known is None or (len(known) == len(TIERS) and all(tier.proven for tier in known))
    return Verdict(
        seed,
        sort.name,
        best,
        not found.proven,
        not proven,
        tuple(differences(request, known, found)),
    )


def _impossible(request: Request, known: Known, clash: Clash, brute: bool) -> Iterator[str]:
    if known is not None:
        yield "said to be impossible"
    elif brute:
        yield from wrong_in_clash(request, clash)


def differences(request: Request, known: Known, found: Allocation) -> Iterator[str]:
    """All that differs between an oracle and an allocation, and within the allocation."""
    totals = tuple(tier.value for tier in found.tiers)
    if known is None:
        yield f"answered with {totals}, and is impossible"
        return
    if tuple(tier.name for tier in found.tiers) != tiers_of(request.in_use):
        yield "the tiers are not those there are"
    if found.proven != (found.stopped is None):
        yield f"stopped is {found.stopped!r}, and proven is {found.proven}"
    for tier, other in zip(found.tiers, known, strict=False):
        yield from _tier_differences(tier, other)
        if not (tier.proven and other.proven):
            break  # the next tier depends on this one
    if {*request.by_full_name} - {*found.unplaced} != {r.destination for r in found.routes}:
        yield f"left out is said to be {found.unplaced}"
    if {place.voice for place in found.layers} != {voice.name for voice in request.voices}:
        yield f"layers are {found.layers}"
    checked = check(request, found.layout)
    if checked.breaches or checked.prices != found.prices or checked.prices.totals != totals:
        yield f"the checker finds {checked.prices.totals} and {checked.breaches}"
    own = price(request, found.layout)
    if own != Price(True, totals):
        yield f"the oracle prices the layout as {own}"


def _tier_differences(tier: Tier, other: KnownTier) -> Iterator[str]:
    """What a tier and the oracle's say against each other, every tier before it being alike."""
    if tier.bound > tier.value or (tier.proven and tier.bound != tier.value):
        yield f"{tier.name} is {tier.value} with the bound {tier.bound}, proven: {tier.proven}"
    if tier.bound > other.value:
        yield f"{tier.name} has the bound {tier.bound}, and can be {other.value}"
    if tier.value < other.bound:
        yield f"{tier.name} is {tier.value}, and the other bound is {other.bound}"
    if tier.proven and other.proven and tier.value != other.value:
        yield f"{tier.name} is {tier.value}, and can be {other.value}"
