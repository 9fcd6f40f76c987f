"""Best layouts: how they are told, that what is false is caught, and what is refused."""

from __future__ import annotations

import re

import attrs
import pytest

from knobpack.allocation import Allocation
from knobpack.allocator import allocate_request
from knobpack.errors import KnobpackError
from knobpack.explanation.best_layouts import best_layouts
from knobpack.explanation.company import differences
from knobpack.explanation.ways import Way
from knobpack.words import Destination, Request, Surface, Together, Voice, Weights
from tests.explanation.test_best_layouts import own_way, told_right
from tests.oracles.best_layouts import parted


def swapped() -> Allocation:
    """A, B and X are alike, so any of them can be by itself; C1 and C2 are bound together."""
    weights = Weights(travel=(0,) * 5, favour=0, voice_runs=0)
    names = ("A", "B", "X", "C1", "C2")
    inner = tuple(Destination(name, "mix" if name[0] == "C" else "cut") for name in names)
    request = Request(
        Surface.row(3),
        (Voice("V", inner),),
        rules=(Together(("V/C1", "V/C2")),),
        weights=weights,
    )
    return allocate_request(request)


def test_a_tie_is_told_as_one() -> None:
    answer = told_right(swapped())
    assert answer.count == 3
    assert answer.always == (("V/C1", "V/C2"),)
    assert answer.never_shared == ()
    assert answer.sometimes == ("V/A", "V/B", "V/X")
    assert answer.always_unplaced == ()
    assert [place.only for place in answer.places] == [False]
    told = str(answer)
    assert told.startswith(
        "There are 3 equally good ways to share the knobs; it is a tie.\n"
        "In all of them these are together: V/C1 and V/C2.\n"
    )
    assert re.search(r"^V/\w is .* here, .* in another and .* in another\.$", told, re.MULTILINE)
    elsewhere = r"^Could be elsewhere at no cost: K\d \(V/C1 and V/C2\)\.$"
    assert re.search(elsewhere, told, re.MULTILINE)


def test_each_difference_is_told_once() -> None:
    ways = (Way((("A", "X"), ("B",)), ("O",)), Way((("A",), ("B", "X"), ("O",)), ()))
    assert [str(each) for each in differences(ways)] == [
        "X is with A here, and with B in another",
        "O is left out here, and on a knob of its own in another",
    ]


def test_an_only_best_layout_is_told_as_one() -> None:
    # Both in all: on K2 the essential one would be a step further from the hand.
    pair = (Destination("A", priority=1), Destination("B", priority=4))
    request = Request(Surface.row(2), (Voice("V", pair),))
    answer = told_right(allocate_request(request))
    assert answer.sentences == (
        "This is the only best way to share the knobs: every other way costs more.",
        "No set could be elsewhere at no cost: this is the only best layout.",
    )


def test_what_is_bounded_or_unproven_is_told_as_such() -> None:
    allocation = swapped()
    more = best_layouts(allocation, most=2)
    assert more.sentences[0] == (
        "There are more than 2 equally good ways to share the knobs; it is a tie."
    )
    assert best_layouts(allocation, most=1).sentences[0] == (
        "This is not the only best way to share the knobs; it is a tie."
    )
    assert best_layouts(allocation, effort=0).sentences[0] == (
        "No other way to share the knobs was found that is as good; not proven: "
        "the search was stopped (effort)."
    )
    some = attrs.evolve(more, stopped="effort")
    assert some.sentences[0] == (
        "There are at least 2 equally good ways to share the knobs; it is a tie. "
        "Not proven to be all: the search was stopped (effort)."
    )
    loose = attrs.evolve(allocation.tiers[4], proven=False)
    unproven = best_layouts(attrs.evolve(allocation, tiers=(*allocation.tiers[:4], loose)))
    assert unproven.sentences == (
        "This layout is not proven best, so ties with it cannot be named.",
    )
    assert not unproven.proven
    assert unproven.stopped == "not proven"
    assert [parted(way) for way in unproven.ways] == [own_way(allocation)]


def test_a_layout_that_does_not_cost_what_it_says_is_refused() -> None:
    allocation = swapped()
    tier = allocation.tiers[2]
    dearer = attrs.evolve(tier, value=tier.value + 1, bound=tier.bound + 1)
    false = attrs.evolve(allocation, tiers=(*allocation.tiers[:2], dearer, *allocation.tiers[3:]))
    with pytest.raises(KnobpackError, match="plain checker"):
        best_layouts(false)
