"""What is wrong with an answer to why not there, why here, why shared and why unplaced."""

from __future__ import annotations

from collections.abc import Iterator

from knobpack.allocation import Allocation
from knobpack.explanation.here import Here
from knobpack.explanation.not_there import NotThere
from knobpack.explanation.unplaced import Unplaced
from knobpack.words import Fixed, Together
from tests.oracles import masks
from tests.oracles.reading import missed
from tests.oracles.reasons import asked, may_be, wrong_in_fact, wrong_in_obstacle
from tests.oracles.reasons_instead import wrong_in_instead
from tests.oracles.reasons_solved import (
    fixed_there,
    leads_out,
    must_place_all,
    places_of,
    wrong_in_difference,
)
from tests.oracles.reasons_terms import (
    order_of,
    terms_of,
    valid,
    wrong_in_comparison,
)


def wrong_in_not_there(
    allocation: Allocation, answer: NotThere, ask: tuple[str, str] | None = None
) -> list[str]:
    """All that is wrong in why a destination is not on a knob.

    Args:
        allocation: the layout.
        answer: what is said.
        ask: the destination and the knob that were asked about; None: those of the answer.
    """
    request, places = allocation.request, places_of(allocation)
    name, knob = answer.destination, answer.knob
    if ask is not None and ask != (name, knob):
        return ["that is the answer to another question"]
    if name not in request.by_full_name or knob not in request.surface.knob_names:
        return [f"there is no {name} or {knob}"]
    wrong, unit = [], asked(request).unit(name)
    if (answer.now, answer.unit) != (places.get(name), unit) or answer.now == knob:
        wrong.append(f"{unit} would move from {places.get(name)}, not {answer.unit}, {answer.now}")
    moved = {**places, **dict.fromkeys(unit, knob)}
    possible = valid(request, moved)
    if (not answer.obstacles, answer.comparison is not None) != (possible, possible):
        wrong.append(f"moving {name} alone to {knob} is valid: {possible}")
    if answer.comparison is not None and possible:
        before, after = terms_of(request, places), terms_of(request, moved)
        wrong += wrong_in_comparison(answer.comparison, before, after, order_of(request))
    if answer.best is not None:
        wrong += wrong_in_difference(allocation, fixed_there(request, name, knob), answer.best)
    return [*wrong, *_wrong_obstacles(allocation, answer)]


def _wrong_obstacles(allocation: Allocation, answer: NotThere) -> list[str]:
    request, places = allocation.request, places_of(allocation)
    wrong: list[str] = []
    name, knob = answer.destination, answer.knob
    for obstacle in answer.obstacles:
        wrong += wrong_in_obstacle(request, places, obstacle, {name: knob})
    if len(set(answer.obstacles)) < len(answer.obstacles):
        wrong.append("an obstacle is told twice")
    lasting = [all(f.kind not in ("on", "used") for f in o.facts) for o in answer.obstacles]
    if lasting != sorted(lasting, reverse=True) or answer.lasting != any(lasting):
        wrong.append("what lasts does not come first")
    return wrong


def wrong_in_here(allocation: Allocation, answer: Here, ask: str | None = None) -> list[str]:
    """All that is wrong in why a destination is on its knob."""
    request, places = allocation.request, places_of(allocation)
    name, knob = answer.destination, answer.knob
    if ask not in (None, name) or places.get(name) != knob:
        return [f"{name} is on {places.get(name)}, not on {knob}"]
    wrong = []
    beside = [each for each in request.by_full_name if places.get(each) == knob and each != name]
    if list(answer.beside) != beside:
        return [f"beside it are {beside}, not {answer.beside}"]
    if answer.open != (knob not in request.surface.reserved):
        wrong.append(f"{knob} takes what is new, or does not: not {answer.open}")
    wrong += [*_wrong_gains(allocation, answer), *_wrong_pins(allocation, answer)]
    wrong += wrong_in_instead(allocation, answer.instead, knob)
    others = [each.knob for each in answer.others]
    if sorted(others) != sorted(each for each in request.surface.knob_names if each != knob):
        wrong.append(f"{others} are not all other knobs")
    for each in answer.others:
        wrong += wrong_in_not_there(allocation, each, (name, each.knob))
    if wrong:
        return wrong
    panel = request.surface.knob_names
    order = [
        (0, more(each)) if each.comparison else (1, (panel.index(each.knob),))
        for each in answer.others
    ]
    if order != sorted(order):
        wrong.append("the other knobs are not in order")
    ties = [each.knob for each in answer.others if each.comparison and not any(more(each))]
    if list(answer.ties) != ties:
        wrong.append(f"{ties} are as good, not {answer.ties}")
    return wrong


def more(answer: NotThere) -> tuple[int, ...]:
    """What it costs more, tier by tier."""
    price = answer.comparison
    return tuple(a - b for a, b in zip(price.after, price.before, strict=True)) if price else ()


def _wrong_gains(allocation: Allocation, answer: Here) -> Iterator[str]:
    """What it has on its knob: the travel, and what it stays with."""
    own = asked(allocation.request)
    reading, bit = own.reading, own.bit[answer.destination]
    given = {each.knob: each.travel for each in allocation.travels}
    wanted, travel = reading.wanted[bit], given[answer.knob]
    if (answer.travel, answer.wanted, answer.top) != (travel, wanted, reading.top):
        yield f"it has {travel} and wants {wanted}, not {answer.travel} and {answer.wanted}"
    off = missed(wanted, travel, reading.top)
    if answer.missed != off:
        yield f"it misses {off} hundredths, not {answer.missed}"
    here = sum(1 << own.bit[name] for name in answer.beside) | 1 << bit
    mates = [own.named(each & here & ~(1 << bit)) for each in reading.bundles if each >> bit & 1]
    if answer.mates != (mates[0] if mates else ()):
        yield f"{mates} come from one knob with it, not {answer.mates}"
    if answer.in_use is not allocation.request.in_use:
        yield f"the setup is in use: {allocation.request.in_use}"
    homes = {
        f"{voice.name}/{inner.name}": (voice.source, inner.source_knob)
        for voice in allocation.request.voices
        for inner in voice.destinations
    }
    source, knob = homes[answer.destination]
    other = [
        mate
        for mate in (answer.mates if answer.in_use and knob is not None else ())
        if homes[mate][0] == source and homes[mate][1] not in (None, knob)
    ]
    if list(answer.joined) != other:
        yield f"{other} were on another knob in its source, not {answer.joined}"
    bonds = [
        str(each.rule)
        for each in reading.rules
        if isinstance(each.rule, Together) and each.rule.weight is not None
        if each.first >> bit & 1 and each.first & ~here == 0 and each.first != 1 << bit
    ]
    if list(answer.bonds) != bonds:
        yield f"{bonds} are met there, not {answer.bonds}"


def _wrong_pins(allocation: Allocation, answer: Here) -> list[str]:
    request, places = allocation.request, places_of(allocation)
    wrong = [each for fact in answer.pins for each in wrong_in_fact(request, places, fact)]
    if wrong:
        return wrong
    if not all(fact.kind in ("kept", "fixed", "together") for fact in answer.pins):
        wrong.append(f"not all of these keep anything anywhere: {answer.pins}")
    own = asked(request)
    fixed = [each.first for each in own.rules if isinstance(each.rule, Fixed)]
    unit = own.units[own.bit[answer.destination]]
    pinned = any(mask & unit for mask in (*own.reading.kept, *fixed))
    if bool(answer.pins) != pinned:
        wrong.append(f"something keeps it there: {pinned}")
    for other in request.surface.knob_names if pinned else ():
        there = may_be(request, answer.pins, {answer.destination: other})
        if there != (other == answer.knob):
            wrong.append(f"these do not keep it there: {answer.pins}")
    return wrong


def wrong_in_unplaced(
    allocation: Allocation, answer: Unplaced, ask: str | None = None
) -> list[str]:
    """All that is wrong in why a destination is left out, and in what would place it."""
    request, places, name = allocation.request, places_of(allocation), answer.destination
    if ask not in (None, name) or name in places or name not in request.by_full_name:
        return [f"{name} is not left out, or was not asked about"]
    own = asked(request)
    wrong = []
    if answer.unit != own.unit(name):
        wrong.append(f"{own.unit(name)} are left out together, not {answer.unit}")
    unit = sum(1 << own.bit[each] for each in own.unit(name))
    price, hidden = (cost(own.reading, unit) for cost in (masks.omission, masks.hidden))
    if (answer.price, answer.hidden) != (price, hidden):
        wrong.append(f"that costs {price} and {hidden}, not {answer.price} and {answer.hidden}")
    if tuple(each.knob for each in answer.knobs) != request.surface.knob_names:
        wrong.append("not all knobs, or not in panel order")
    for each in answer.knobs:
        wrong += wrong_in_not_there(allocation, each, (name, each.knob))
    if answer.placing is not None:
        must = must_place_all(allocation, own.unit(name))
        wrong += wrong_in_difference(allocation, must, answer.placing)
        wrong += _wrong_ways(allocation, answer) if not wrong else ()
    elif answer.ways or answer.clash is not None:
        wrong.append("there are ways out, and nothing was looked for")
    return wrong


def _wrong_ways(allocation: Allocation, answer: Unplaced) -> Iterator[str]:
    clash = answer.placing.clash if answer.placing else None
    unit = asked(allocation.request).unit(answer.destination)
    ways = [
        way
        for way in (clash.ways_out if clash else ())
        if not any(each.kind == "place" and each.subject in unit for each in way.demands)
    ]
    if list(answer.ways) != [(str(way), way.price) for way in ways]:
        yield f"these are the ways to place it: {ways}, not {answer.ways}"
    must = must_place_all(allocation, unit)
    for way in ways:
        if not leads_out(must, way.demands):
            yield f"this does not place it: {way}"
