"""The fewest knobs of whole requests, against every way to put everything on knobs."""

from __future__ import annotations

from itertools import product

import attrs
import pytest

from knobpack.checker import check
from knobpack.clash import ImpossibleDemands
from knobpack.explanation.fewest import fewest_knobs
from knobpack.words import (
    Apart,
    Barred,
    Destination,
    Fixed,
    Knob,
    Layout,
    Request,
    Route,
    Rule,
    Surface,
    Together,
    Voice,
)
from knobpack.words import demand as demands
from tests.oracles.strategies import seeded_request

STORES = {demands.LAYERS, demands.LAYER, demands.SNAPSHOTS, demands.STORE, demands.ROUTES}


def by_trying(asked: Request) -> int | None:
    """The fewest knobs that carry everything, by the plain checker; None if nothing does."""
    names = list(asked.destinations)
    row = 1 + max((knob.row for knob in asked.surface.knobs), default=0)
    more = tuple(Knob(f"spare {place}", row, place) for place in range(1, len(names) + 1))
    knobs = (*asked.surface.knobs, *more)
    wide = attrs.evolve(asked, surface=attrs.evolve(asked.surface, knobs=knobs))
    fewest: int | None = None
    open_knobs = [knob.name for knob in knobs]
    for chosen in product(open_knobs, repeat=len(names)):
        used = list(dict.fromkeys(chosen))
        spare = [name for name in used if name.startswith("spare")]
        # Spare knobs are alike: only the first ones, in order, need be tried.
        if spare != [knob.name for knob in more[: len(spare)]]:
            continue
        if fewest is not None and len(used) >= fewest:
            continue
        routes = tuple(Route(name, knob) for name, knob in zip(names, chosen, strict=True))
        if all(breach.demand.kind in STORES for breach in check(wide, Layout(routes)).breaches):
            fewest = len(used)
    return fewest


def test_it_is_what_trying_finds() -> None:
    tried = impossible = 0
    for seed in range(400):
        asked = seeded_request(seed)
        if len(asked.destinations) > 3 or len(asked.surface.knobs) > 3:
            continue
        tried += 1
        expected = by_trying(asked)
        if expected is None:
            impossible += 1
            with pytest.raises(ImpossibleDemands):
                fewest_knobs(asked)
        else:
            found = fewest_knobs(asked)
            assert (found.value, found.bound, found.proven) == (expected, expected, True), seed
    assert tried > 30
    assert impossible > 3


def one_voice(*rules: Rule, count: int = 3, knobs: int = 1) -> Request:
    inner = tuple(Destination(name, "level") for name in "abcdef"[:count])
    return Request(Surface.row(knobs), (Voice("V", inner),), snapshots=(), rules=rules)


def test_what_is_barred_from_a_pinned_knob_takes_another() -> None:
    asked = one_voice(Fixed(("V/a",), "K1"), Barred(("V/b",), ("K1",)))
    assert fewest_knobs(asked).value == by_trying(asked) == 2


def test_what_clashes_on_any_number_of_knobs_is_said_to() -> None:
    asked = one_voice(Together(("V/a", "V/b")), Apart(("V/a",), ("V/b",)), count=2)
    assert by_trying(asked) is None
    with pytest.raises(ImpossibleDemands, match="clash"):
        fewest_knobs(asked)
