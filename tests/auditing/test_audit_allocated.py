"""What an allocation is programmed as passes the audit: nothing in it is wrong."""

from __future__ import annotations

import pytest

from benchmarks.requests import eight_knobs
from knobpack import ImpossibleDemands, Request, allocate_request
from knobpack.allocation import Allocation
from knobpack.auditing import causes
from knobpack.auditing.audit import audit
from knobpack.checker import follows
from knobpack.present.demo import demo_request
from knobpack.words import Setup
from tests.oracles.audit import untrue
from tests.oracles.strategies import busy_request, seeded_request


def check_allocated(request: Request) -> Setup | None:
    try:
        allocation = allocate_request(request)
    except ImpossibleDemands:
        return None
    setup = allocation.setup("Result")
    answer = audit(setup)
    assert untrue(setup, answer) == []
    assert [str(each) for each in answer.findings if each.severity == causes.WRONG] == []
    check_against_checker(allocation)
    # What is left out, and nothing else, is reached by nothing.
    unreached = [f for f in answer.findings if f.cause == causes.UNREACHED]
    assert {n for f in unreached for n in f.destinations} == set(allocation.unplaced)
    # Torn is what the tier of broken snapshots charges for; an assumed snapshot is in no tier.
    torn = {(f.snapshots[0], f.knobs[0]) for f in answer.findings if f.cause == causes.TORN}
    if not answer.assumed:
        free = {each.name for each in request.played if each.break_weight == 0}
        broken = {(each.snapshot, each.knob) for each in allocation.prices.breaks}
        assert {pair for pair in torn if pair[0] not in free} == {
            pair for pair in broken if pair[0] not in free
        }
    # A knob is dead only for what the request brings: its travels, snapshots and spare knobs.
    own = {causes.NO_ROUTE, causes.EMPTY_TRAVEL}
    own |= {causes.ONE_STEP}
    assert {cause for use in answer.by_knob for cause in use.why_dead} <= own
    return setup


def check_against_checker(allocation: Allocation) -> None:
    """The knobs that follow are those that the plain checker names."""
    request = allocation.request
    answer = audit(allocation.setup("Result"))
    if answer.assumed:
        return
    for snapshot in request.played:
        said = tuple(use.knob for use in answer.by_knob if snapshot.name in use.follows)
        assert said == follows(request, allocation.layout, snapshot.name)


def test_small_allocations_pass() -> None:
    found = [check_allocated(seeded_request(seed)) for seed in range(100)]
    assert sum(setup is not None for setup in found) > 40


@pytest.mark.parametrize("seed", range(4))
def test_busy_allocations_pass(seed: int) -> None:
    check_allocated(busy_request(seed))


@pytest.mark.parametrize("seed", range(3))
def test_allocations_of_eight_knobs_pass(seed: int) -> None:
    assert check_allocated(eight_knobs(seed)) is not None


def test_the_demo_passes() -> None:
    setup = check_allocated(demo_request())
    assert setup is not None
    answer = audit(setup)
    assert answer.clean, str(answer)
    # One knob carries nothing but what the master may not move: the hand does.
    assert answer.dead == ()
    assert [f.knobs for f in answer.findings if f.cause == causes.BY_HAND] == [
        (use.knob,) for use in answer.by_knob if use.by_hand
    ]
    assert sum(use.by_hand for use in answer.by_knob) == 1
