"""The oracles against one another: three readings of the same definitions must agree."""

from __future__ import annotations

from itertools import product

import pytest

from knobpack.checker import check
from knobpack.words import Layout, Request, Route
from tests.oracles.amount import EXAMPLES
from tests.oracles.brute import Least, least
from tests.oracles.differential import by_the_textbook
from tests.oracles.strategies import busy_request, seeded_request


def least_by_checking(request: Request) -> Least | None:
    """The best of all layouts as the plain checker prices them; None where none is valid."""
    surface = request.surface
    if surface.layers is not None and len(request.voices) > surface.layers:
        return None
    found = []
    for places in product((None, *surface.knob_names), repeat=len(request.by_full_name)):
        chosen = zip(request.by_full_name, places, strict=True)
        routes = tuple(Route(name, knob) for name, knob in chosen if knob is not None)
        checked = check(request, Layout(routes))
        if checked.valid:
            found.append(checked.prices.totals)
    return Least(min(found), found.count(min(found))) if found else None


def test_brute_force_is_the_least_that_the_checker_finds() -> None:
    tried = possible = 0
    for seed in range(EXAMPLES):
        request = seeded_request(seed)
        if (1 + len(request.surface.knobs)) ** len(request.by_full_name) <= 150:
            best = least(request)
            assert best == least_by_checking(request)
            tried += 1
            possible += best is not None
    assert tried > EXAMPLES // 5
    assert tried // 2 < possible < tried


def agree(request: Request) -> bool:
    """Hold brute force and the textbook model against each other; whether it is possible."""
    best, known = least(request), by_the_textbook(request)
    if best is None or known is None:
        assert best is None
        assert known is None
        return False
    assert all(tier.proven for tier in known)
    assert tuple(tier.value for tier in known) == best.totals
    return True


def test_brute_force_and_the_textbook_model_agree() -> None:
    count = EXAMPLES // 6
    possible = sum(agree(seeded_request(100_000 + seed)) for seed in range(count))
    assert count // 2 < possible < count


@pytest.mark.parametrize("seed", [1, 2, 4])
def test_they_agree_on_eight_destinations_and_four_knobs(seed: int) -> None:
    request = busy_request(seed)
    assert (len(request.by_full_name), len(request.surface.knobs)) == (8, 4)
    assert agree(request)
