"""Whether the text of a layout says what the allocation says, number by number."""

from __future__ import annotations

import re
from collections import Counter

import attrs

from knobpack.allocation import Allocation
from knobpack.checker import check
from knobpack.definition.phrases import PRIORITIES, TIER_WORDS, travel_text
from knobpack.definition.prices import KNOB_TERMS, PLACE_TERMS, SPREAD_TERMS
from knobpack.words.names import listed
from tests.present import read_text
from tests.present.read_text import number, split


def agree(allocation: Allocation, told: dict[str, list[str]]) -> None:
    """Compare everything that a text says with the allocation."""
    agree_on_bundles(allocation, told.get("BUNDLES", []))
    agree_on_tiers(allocation, told["HOW GOOD"])
    agree_on_knobs(allocation, told["KNOBS"])
    agree_on_free_knobs(allocation, told.get("FREE KNOBS", []))
    agree_on_snapshots(allocation, told.get("SNAPSHOTS", []))
    agree_on_layers(allocation, told.get("LAYERS", []))
    agree_on_sharing(allocation, told)
    agree_on_rules(allocation, told.get("RULES", []))
    prices = allocation.prices
    agree_on_places(allocation, told.get("PLACES ON THE PANEL", []))
    left_out = [(row[0], *row[-2:]) for row in map(split, told.get("LEFT OUT", [])[1:])]
    assert left_out == [
        (each.destination, f"{each.price:,}", "in 'destinations left out'")
        if not each.hidden
        else (each.destination, f"{each.hidden:,}", "in 'sharing knobs'")
        for each in prices.omissions
    ]
    if allocation.request.previous is None:
        assert "CHANGED ROUTES" not in told
    else:
        changes = [
            (each.destination, f"was on {each.before}", f"now on {each.now}")
            for each in prices.changes
        ]
        found = [tuple(split(line)) for line in told["CHANGED ROUTES"][1:]]
        gone = [(name, was, now.replace("now left out", "now on None")) for name, was, now in found]
        assert gone == [
            *changes,
            *(
                (f"travel of {each.knob}", f"was {each.before}", f"now {each.now}")
                for each in prices.resets
            ),
        ]


def agree_on_bundles(allocation: Allocation, lines: list[str]) -> None:
    """What is parted costs so, and a knob that is told to be joined carries what two drove."""
    prices = [each for each in allocation.prices.bundles if each.term == "parted" and each.knobs]
    parted = [line.strip() for line in lines if line.startswith("    The ")]
    assert len(parted) == len(prices)
    for line, each in zip(parted, prices, strict=True):
        assert line.startswith(f"The {each.what} is parted: ")
        assert len(each.knobs) == 1 or f"it is on {listed(each.knobs)}" in line
        assert not each.left_out or f"{listed(each.left_out)} " in line
    request = allocation.request
    came = dict[str, tuple[str | None, str | None, str]]()
    for name, destination in request.by_full_name.items():
        voice = request.voice_of[name]
        if destination.source_knob is not None:
            own = None if voice.source is not None else voice.name
            came[name] = voice.source, own, destination.source_knob
    joined = {}
    for knob in allocation.used:
        knobs = {came[name] for name in allocation.on(knob) if name in came}
        if len(knobs) > 1:
            joined[knob] = {each for _, _, each in knobs}
    told = dict(split(line) for line in lines if re.match(r" {4}(?!The )\S", line))
    assert set(told) == set(joined)
    for knob, origins in told.items():
        assert all(re.search(rf"\b{re.escape(each)}\b", origins) for each in joined[knob])
    ran_out = not free_knobs(allocation)
    assert ran_out or not any("knobs ran out" in line for line in lines)


def agree_on_free_knobs(allocation: Allocation, lines: list[str]) -> None:
    """Knobs that are free are named; what one could be used for costs less, solved or not."""
    free = free_knobs(allocation)
    if not free or not allocation.used:
        assert lines == []
        return
    assert lines[0] == f"{listed(free)}: room for what comes next"
    for line in lines[1:]:
        told = re.match(
            r"  - (.*) could have (.*) instead of sharing (.*?)(, which parts a bundle)?"
            r"; ask for it with alone\(",
            line,
        )
        assert told, line
        names, knob, shared = told[1], told[2], told[3]
        assert knob == free[0]
        own = [name for name in allocation.on(shared) if name in names]
        assert listed(own) == names
        routes = tuple(
            attrs.evolve(route, knob=knob) if route.destination in own else route
            for route in allocation.routes
        )
        kept = {route.knob for route in allocation.request.keep.routes}
        travels = tuple(each for each in allocation.travels if each.knob in kept)
        layout = attrs.evolve(allocation.layout, routes=routes, travels=travels)
        moved = check(allocation.request, layout).prices
        assert allocation.prices.total("sharing") > moved.total("sharing")
        more = moved.total("bundles") > allocation.prices.total("bundles")
        assert more == bool(told[4])


def free_knobs(allocation: Allocation) -> list[str]:
    closed = {*allocation.used, *allocation.request.surface.reserved}
    return [knob for knob in allocation.request.surface.knob_names if knob not in closed]


def agree_on_tiers(allocation: Allocation, lines: list[str]) -> None:
    rows = [split(line) for line in lines[1:]]
    assert [row[0] for row in rows] == [TIER_WORDS[tier.name] for tier in allocation.tiers]
    assert tuple(number(row[1]) for row in rows) == allocation.prices.totals
    for tier, (_, _, proof) in zip(allocation.tiers, rows, strict=True):
        bound = re.search(r"cannot be below ([\d,]+)$", proof)
        assert (proof == "proven least") == tier.proven
        assert bool(bound) == (tier.bound < tier.value)
        assert bound is None or number(bound[1]) == tier.bound


def agree_on_knobs(allocation: Allocation, lines: list[str]) -> None:
    request, surface = allocation.request, allocation.request.surface
    told = read_text.knobs(lines)
    assert tuple(told) == surface.knob_names
    layers = {place.voice: place.new for place in allocation.layers}
    kept = {route.destination: route.knob for route in request.keep.routes}
    for knob, (marks, under) in told.items():
        names = [line.name for line in under]
        assert names == [route.destination for route in allocation.routes if route.knob == knob]
        assert ("unused" in marks) == (not names)
        assert any("reserved" in mark for mark in marks) == (knob in surface.reserved)
        if knob in kept.values():
            new = [name for name in names if name not in kept]
            assert ("kept as the base has it" in marks) == (not new)
        for line in under:
            destination = request.by_full_name[line.name]
            assert line.layer == layers[request.voice_of[line.name].name]
            assert line.kind == destination.kind
            word = PRIORITIES[destination.priority - 1]
            assert line.priority == f"{destination.priority} {word}"
            wanted = request.wanted(line.name)
            had = surface.per_route or wanted == allocation.layout.goes[line.name]
            assert line.wanted == ("" if had else travel_text(wanted, surface.top))
            assert ("must not move" in line.notes) == (not destination.movable)
            assert (f"{destination.steps} steps" in line.notes) == bool(destination.steps)
    travels = {each.knob: str(each.travel) for each in allocation.travels}
    assert {knob: marks[0].split(" (")[0] for knob, (marks, under) in told.items() if under} == (
        travels
    )


def agree_on_snapshots(allocation: Allocation, lines: list[str]) -> None:
    used = [each.knob for each in allocation.travels]
    rows = [split(line) for line in lines[2:] if not line.startswith("      - ")]
    assert len(rows) == len(allocation.following)
    for each, (name, follow, hold) in zip(allocation.following, rows, strict=True):
        held = [knob for knob in used if knob not in each.knobs]
        assert name == each.snapshot
        assert follow == (", ".join(each.knobs) or "none")
        assert hold == (", ".join(held) or "none")
    broken = [line for line in lines if line.startswith("      - ")]
    assert len(broken) == len(allocation.prices.breaks)
    for line, each_break in zip(broken, allocation.prices.breaks, strict=True):
        assert f"broken: {each_break.knob} " in line
        assert ("should hold" in line) == each_break.follows
        assert all(name in line for name in each_break.wronged)


def agree_on_layers(allocation: Allocation, lines: list[str]) -> None:
    request = allocation.request
    base = {name.split("/")[0] for name in (route.destination for route in request.keep.routes)}
    base |= set(request.base_layers)
    rows = [split(line)[:4] for line in lines[2:]]
    assert rows == [
        [
            place.voice,
            place.source or ("the base" if place.voice in base else "-"),
            "-" if place.old is None else str(place.old),
            str(place.new),
        ]
        for place in allocation.layers
    ]


def agree_on_sharing(allocation: Allocation, told: dict[str, list[str]]) -> None:
    prices = allocation.prices
    spreads = [split(line) for line in told.get("SPREAD", [])[1:]]
    assert len(spreads) == (len(prices.spreads) + 1 if prices.spreads else 0)
    for row, each in zip(spreads, prices.spreads, strict=False):
        assert row[0] == SPREAD_TERMS[each.term]
        assert row[1] == each.what
        assert all(knob in row[2] for knob in each.knobs)
        assert number(row[3]) == each.price
    spread = number(spreads[-1][-1]) if spreads else 0
    # What is hidden and left out stands under LEFT OUT.
    beside = spread + sum(each.hidden for each in prices.omissions)
    sharing = prices.total("sharing")
    shared = told["SHARED KNOBS"]
    if len(shared) == 1:
        assert shared == ["none"]
        assert not any(each.price for each in prices.knobs)
        assert beside == sharing
        return
    *rows, last = [split(line) for line in shared[1:]]
    by_knob = {each.knob: each for each in prices.knobs}
    for knob, price, told_terms in rows:
        each_knob = by_knob.pop(knob)
        assert number(price) == each_knob.price
        assert _terms(told_terms) == {term: points for term, points in each_knob.terms if points}
    assert not any(each.price for each in by_knob.values())
    assert number(last[1]) + beside == sharing
    assert sum(_terms(last[2]).values()) == number(last[1])


def _terms(told: str) -> dict[str, int]:
    """The terms that are told of a knob, and what each costs."""
    terms = {called: term for term, called in KNOB_TERMS.items()}
    found = (each.rsplit(" ", 1) for each in told.split(", ") if told != "-")
    return {terms[called]: number(price) for called, price in found}


def agree_on_rules(allocation: Allocation, lines: list[str]) -> None:
    rules = allocation.request.rules
    rows = [split(line) for line in lines[1:]]
    assert [row[0] for row in rows] == [str(rule) for rule in rules]
    assert [row[1] == "required" for row in rows] == [rule.weight is None for rule in rules]
    costs = sum(number(row[2].split("costs ")[1]) for row in rows if "costs" in row[2])
    prices = allocation.prices
    assert costs == (
        sum(each.apart + each.alone for each in prices.knobs)
        + sum(each.price for each in prices.spreads if each.term == "together")
        + sum(each.price for each in prices.places if each.term in ("fixed", "barred"))
    )


def agree_on_places(allocation: Allocation, lines: list[str]) -> None:
    rows = [split(line) for line in lines[1:]]
    sums: Counter[str] = Counter()
    for each in allocation.prices.places:
        sums[PLACE_TERMS[each.term]] += each.price
    assert {row[0]: number(row[1]) for row in rows if row[0] != "all"} == sums
    assert not rows or number(rows[-1][1]) == allocation.prices.total("layout")
