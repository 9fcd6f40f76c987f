"""What is wrong with an answer to why some destinations share a knob; what fills the surface."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations

from knobpack.allocation import Allocation
from knobpack.explanation.shared import Shared
from knobpack.explanation.witness import Witness
from knobpack.words import Fixed, Request
from knobpack.words.bundle import Bundle
from tests.oracles import masks
from tests.oracles.cut_down import allowed
from tests.oracles.reading import Reading, bits
from tests.oracles.reasons import asked, wrong_in_parting
from tests.oracles.reasons_answers import more, wrong_in_not_there
from tests.oracles.reasons_instead import wrong_in_instead
from tests.oracles.reasons_layouts import most_parted, small
from tests.oracles.reasons_solved import places_of, wrong_in_next_best
from tests.oracles.reasons_terms import bundle_keys, on_each, totals_of, valid


def wrong_in_shared(allocation: Allocation, answer: Shared, ask: str | None = None) -> list[str]:
    """All that is wrong in why some destinations share a knob."""
    request, places = allocation.request, places_of(allocation)
    own, knob = asked(request), answer.knob
    if ask not in (None, knob) or knob not in request.surface.knob_names:
        return ["that is the answer to another question"]
    on = dict(zip(request.surface.knob_names, on_each(own.reading, places), strict=True))
    wrong = []
    if answer.destinations != own.named(on[knob]) or len(answer.destinations) < 2:
        return [f"{knob} carries {own.named(on[knob])}, not {answer.destinations}"]
    terms = masks.sharing_terms(own.reading, request.surface.knob_names.index(knob), on[knob])
    if answer.sharing.knob != knob or dict(answer.sharing.terms) != terms:
        wrong.append(f"sharing costs {terms}, not {answer.sharing}")
    if answer.sharing.price != sum(terms.values()):
        wrong.append("the terms do not add up")
    whole = [
        Bundle(key[0], key[2], own.named(mask), _place(own.reading, mask))
        for key, mask in bundle_keys(request)
        if not mask & ~on[knob]
    ]
    if len(answer.bundles) != len(whole) or set(answer.bundles) != set(whole):
        wrong.append(f"{whole} are whole on it, not {answer.bundles}")
    used = [each for each, carried in on.items() if carried]
    free = [each for each in on if each not in used and each not in request.surface.reserved]
    if (answer.placed, answer.used, list(answer.free)) != (len(places), len(used), free):
        wrong.append(f"{len(places)} are on {len(used)}, {free} are free")
    wrong += wrong_in_witness(allocation, answer.witness)
    wrong += _wrong_moves(allocation, answer)
    wrong += wrong_in_instead(allocation, answer.instead, knob)
    if answer.next_best is not None:
        wrong += wrong_in_next_best(
            allocation, answer.destinations, answer.next_best, answer.proven
        )
    elif not answer.proven:
        wrong.append("nothing was looked for, and it is not proven")
    return wrong


def _place(reading: Reading, mask: int) -> int | None:
    """Where the knob that a bundle came on lies: as the first that knows it says.

    A bundle of the setup in use came on none.
    """
    if mask & sum(reading.previous_bundles) and reading.in_use:
        return None
    told = (reading.destinations[bit].source_place for bit in bits(mask))
    return next((place for place in told if place is not None), None)


def _wrong_moves(allocation: Allocation, answer: Shared) -> Iterator[str]:
    """Each member's cheapest move, tried on every other knob."""
    request, places = allocation.request, places_of(allocation)
    before = totals_of(request, places)
    cheapest: dict[str, tuple[int, ...]] = {}
    for name in answer.destinations:
        unit = asked(request).unit(name)
        for knob in request.surface.knob_names:
            at = {**places, **dict.fromkeys(unit, knob)}
            if knob != answer.knob and valid(request, at):
                rank = tuple(a - b for a, b in zip(totals_of(request, at), before, strict=True))
                cheapest[name] = min(cheapest.get(name, rank), rank)
    if {each.destination for each in answer.moves} != set(cheapest):
        yield f"these can be moved off: {sorted(cheapest)}"
        return
    for move in answer.moves:
        if wrong := wrong_in_not_there(allocation, move):
            yield from wrong
            return
        if move.comparison is None or more(move) != cheapest[move.destination]:
            yield f"that is not its cheapest move: {move}"
    ranks = [more(move) for move in answer.moves]
    if ranks != sorted(ranks) or len(ranks) != len(cheapest):
        yield "the cheapest move does not come first"


def wrong_in_witness(allocation: Allocation, witness: Witness | None) -> Iterator[str]:
    """All that is wrong in what is said to fill the surface; and whether something else does."""
    request, places = allocation.request, places_of(allocation)
    surface = request.surface
    bases = {route.knob for route in request.keep.routes}
    knobs = [each for each in surface.knob_names if each in bases or each not in surface.reserved]
    if witness is None:
        if small(request) and knobs and _most_parted(allocation) >= len(knobs):
            yield "something fills the surface"
        return
    names = witness.destinations
    if list(witness.knobs) != knobs:
        yield f"{knobs} are open, not {witness.knobs}"
    if list(names) != [name for name in request.by_full_name if name in names and name in places]:
        yield f"not all of these are placed, or they are not in order: {names}"
        return
    if len(names) != len(knobs):
        yield f"{names} are not as many as the knobs"
    if list(witness.loose) != [name for name in names if not _must_be_placed(request, name)]:
        yield f"those that may be left out are not {witness.loose}"
    pairs = list(combinations(names, 2))
    if len(witness.obstacles) != len(pairs):
        yield "not every two of them have a reason"
    for pair, obstacle in zip(pairs, witness.obstacles, strict=False):
        yield from wrong_in_parting(request, places, obstacle, pair)


def _must_be_placed(request: Request, name: str) -> bool:
    own = asked(request)
    unit = own.units[own.bit[name]]
    placing = [*own.reading.kept, *(r.first for r in own.rules if isinstance(r.rule, Fixed))]
    must = any(own.reading.destinations[bit].must_place for bit in bits(unit))
    return must or any(mask & unit for mask in placing)


def _most_parted(allocation: Allocation) -> int:
    """The most destinations that are placed of which, by the words, no two can ever share."""
    own, names = asked(allocation.request), list(places_of(allocation))
    parted = set()
    for one, other in combinations(names, 2):
        mine, theirs = own.units[own.bit[one]], own.units[own.bit[other]]
        if mine != theirs and not allowed(own.reading, mine | theirs):
            parted.add(frozenset((one, other)))
    return most_parted(parted, names)
