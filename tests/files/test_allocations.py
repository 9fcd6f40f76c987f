"""Allocations as files: read back the same with their proofs, and checked again."""

from __future__ import annotations

import copy
import json
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import attrs
import pytest

from benchmarks.generator import plain, tight, varied
from knobpack import (
    Allocation,
    Destination,
    InputError,
    OwnKnob,
    Request,
    Setup,
    Surface,
    Travel,
    Voice,
    allocate_request,
    edit,
)
from knobpack.files import dumps, from_plain, load, loads, to_plain
from knobpack.files.written import DEFINITION
from knobpack.show import ShowAllocation

PAD = Voice("Pad", [Destination("cutoff", priority=1), Destination("level", travel=Travel(0, 64))])
BASS = Voice("Bass", [Destination("drive"), Destination("air", priority=5)], layer=2)
REQUEST = Request(Surface.row(2), [PAD, BASS])
FOUND = allocate_request(REQUEST)
PLAIN = to_plain(FOUND)


def back(found: Allocation) -> object:
    return loads(dumps(found))


@pytest.mark.parametrize("make", [plain, tight, varied])
@pytest.mark.parametrize("seed", range(5))
def test_an_allocation_is_read_back_the_same(
    make: Callable[[int, int], Request], seed: int
) -> None:
    found = allocate_request(make(seed, 8))
    assert back(found) == found
    by_hand = Allocation.of(found.request, found.layout)
    assert back(by_hand) == by_hand


def test_one_whose_search_was_stopped_is_read_back_as_it_was() -> None:
    found = allocate_request(tight(1, 8), effort=0)
    assert found.stopped == "effort"
    assert back(found) == found


def test_one_with_travels_on_routes_and_one_of_an_edit_are_read_back() -> None:
    on_routes = allocate_request(attrs.evolve(REQUEST, surface=Surface.row(2, travel_on="route")))
    assert back(on_routes) == on_routes
    setup: Setup = allocate_request(attrs.evolve(REQUEST, surface=Surface.row(4))).setup("Stage")
    edited = edit(setup, OwnKnob("Pad/cutoff")).allocation
    assert edited.request.in_use
    assert back(edited) == edited


def leaves(value: Any, *path: Any) -> Iterator[tuple[Any, ...]]:
    """The way to each value that holds no others."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from leaves(inner, *path, key)
    elif isinstance(value, list) and value:
        for at, inner in enumerate(value):
            yield from leaves(inner, *path, at)
    else:
        yield path


def at(plain: Any, path: tuple[Any, ...]) -> Any:
    for key in path:
        plain = plain[key]
    return plain


OTHERS: tuple[Any, ...] = (None, True, -1, 7, "K9", "Pad/level", [], {})
FREE = ("request", "stopped")
"""What may be otherwise: the request, if the rest still follows; what no checker can work out."""


@pytest.mark.parametrize("path", [p for p in leaves(PLAIN) if p[0] not in FREE])
def test_what_does_not_follow_is_refused(path: tuple[Any, ...]) -> None:
    for other in OTHERS:
        wrong: Any = copy.deepcopy(PLAIN)
        # A free layer is as good as another.
        if other == at(wrong, path) or (path[-1], other) in [("travel", None), ("new", 7)]:
            continue
        at(wrong, path[:-1])[path[-1]] = other
        with pytest.raises(InputError):
            from_plain(wrong)


@pytest.mark.parametrize("path", [p for p in leaves(PLAIN) if p[0] in FREE])
def test_whatever_stands_there_it_is_an_allocation_or_refused(path: tuple[Any, ...]) -> None:
    for other in OTHERS:
        wrong: Any = copy.deepcopy(PLAIN)
        at(wrong, path[:-1])[path[-1]] = other
        try:
            found = from_plain(wrong)
        except InputError:
            continue
        assert isinstance(found, Allocation)
        assert loads(dumps(found)) == found


@pytest.mark.parametrize("key", [key for key in PLAIN if key not in {"knobpack", "version"}])
def test_what_follows_may_be_left_out(key: str) -> None:
    fewer = {each: value for each, value in PLAIN.items() if each != key}
    if key in {"request", "routes", "tiers"}:
        with pytest.raises(InputError, match="must be there") as caught:
            from_plain(fewer)
        assert caught.value.field == key
    else:
        assert from_plain(fewer) == FOUND


def test_the_error_says_where_and_what_would_be_right() -> None:
    wrongs: dict[str, Callable[[Any], object]] = {
        "request.voices[0].destinations[0].priority": lambda it: it["request"]["voices"][0][
            "destinations"
        ][0].update(priority=9),
        "routes[0].knob": lambda it: it["routes"][0].update(knob=3),
        "tiers[0].bound": lambda it: it["tiers"][0].update(bound=10**6),
        "tiers[0].as_shared": lambda it: it["tiers"][0].update(as_shared=10**6),
        "tiers[1].proven": lambda it: it["tiers"][0].update(proven=False),
        "tiers[3].value": lambda it: it["tiers"][3].update(value=1),
        "stopped": lambda it: it.update(stopped="boredom"),
        "rotes": lambda it: it.update(rotes=[]),
        "prices": lambda it: it["prices"]["knobs"].clear(),
        "routes": lambda it: it["routes"][0].update(knob="K2"),
    }
    gone = copy.deepcopy(PLAIN)
    gone["routes"][0]["knob"] = "K9"
    with pytest.raises(InputError, match="routes: 'K9' will not do; name a knob of the surface"):
        from_plain(gone)
    for field, change in wrongs.items():
        wrong = copy.deepcopy(PLAIN)
        change(wrong)
        with pytest.raises(InputError) as caught:
            from_plain(wrong)
        assert caught.value.field == field


def test_what_an_earlier_version_wrote_besides_is_passed_over() -> None:
    # 0.6.0 wrote what other numbers of knobs cost, which is now worked out when it is asked.
    assert from_plain(PLAIN | {"frontiers": {"families": [], "whole": {}}}) == FOUND


@pytest.mark.parametrize(("name", "kept"), [("allocation", 3), ("show_allocation", 3)])
def test_what_was_proven_when_something_cost_otherwise_is_read_as_it_lies(
    name: str, kept: int
) -> None:
    """Version 0.11.0 let a missed travel, and a show what is relearned, cost otherwise."""
    there = Path(__file__).parent / "written_by_0_11_0" / f"{name}.json"
    said = json.loads(there.read_text())
    found = load(there)
    assert isinstance(found, Allocation | ShowAllocation)
    values = [tier.value for tier in found.tiers]
    assert values[:kept] == [each["value"] for each in said["tiers"]][:kept]
    assert values != [each["value"] for each in said["tiers"]]
    assert [tier.proven for tier in found.tiers] == [at < kept for at in range(len(values))]
    laid = found.routes if isinstance(found, Allocation) else found.songs[1].routes
    written = said["routes"] if isinstance(found, Allocation) else said["songs"][1]["routes"]
    assert [(r.destination, r.knob) for r in laid] == [
        (each["destination"], each["knob"]) for each in written
    ]
    assert loads(dumps(found)) == found
    # What is written now must follow.
    now = {**said, "definition": DEFINITION}
    with pytest.raises(InputError, match="the checker finds"):
        from_plain(now)
