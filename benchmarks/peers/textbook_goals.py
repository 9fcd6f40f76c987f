"""What each tier costs, as prices on the booleans of the textbook model."""

from __future__ import annotations

from collections.abc import Mapping

from benchmarks.peers.textbook import (
    BUNDLES,
    CHANGE,
    INDEPENDENCE,
    LAYOUT,
    SHARING,
    UNPLACED,
    Textbook,
)
from knobpack.grouped import grouped


def price(book: Textbook, *tiers: int) -> None:
    """Give the model the goals of some tiers, by their numbers."""
    steps = (_unplaced, _bundles, _independence, _sharing, _change, _layout)
    for tier in tiers:
        book.model.goal(tier)
        steps[tier](book)


def _unplaced(book: Textbook) -> None:
    goal = book.model.goal(UNPLACED)
    for unit, inner in enumerate(book.shape.units):
        goal.pay(sum(book.costs.unplaced[each] for each in inner), -book.placed[unit])


def _bundles(book: Textbook) -> None:
    """A bundle pays for each of its knobs and for what of it is left out, less one."""
    goal = book.model.goal(BUNDLES)
    for members in book.costs.bundles:
        goal.constant -= 1
        for knob in range(book.shape.knob_count):
            if variables := book.all_here(knob, members):
                goal.pay(1, book.model.reached_by(variables))
        for each in members:
            goal.pay(1, -book.placed[book.shape.unit_of[each]])


def _independence(book: Textbook) -> None:
    goal = book.model.goal(INDEPENDENCE)
    for broken in book.costs.broken:
        for knob in range(book.shape.knob_count):
            follows = book.model.new()
            book.follows.append((follows, knob, broken.moved))
            for each in range(len(book.shape.names)):
                here = book.here(each, knob)
                if here is not None:
                    right = follows if each in broken.moved else -follows
                    goal.pay(broken.weight, book.model.all_of(here, -right))


def _sharing(book: Textbook) -> None:
    costs, model, goal = book.costs, book.model, book.model.goal(SHARING)
    weights = book.shape.request.weights
    for knob in range(book.shape.knob_count):
        here = [book.on[unit, knob] for unit in book.units_on[knob]]
        if not here:
            continue
        used = model.any_of(here)
        mixes = (
            (costs.kind, weights.mix_kinds),
            (costs.voice, weights.mix_voices),
            (costs.load, weights.join),
        )
        goal.pay(-weights.crowd - sum(weight for _, weight in mixes), used)
        for numbers, weight in mixes:
            for value in dict.fromkeys(numbers):
                alike = tuple(at for at, number in enumerate(numbers) if number == value)
                if variables := book.all_here(knob, alike):
                    goal.pay(weight, model.reached_by(variables))
        _heaped(book, knob)
        _essential(book, knob)
        for unit in book.units_on[knob]:
            goal.pay(weights.crowd * len(book.shape.units[unit]), book.on[unit, knob])
        _travel(book, knob, used)
        _rules(book, knob)
    for unit, inner in enumerate(book.shape.units):
        goal.pay(sum(costs.hidden[each] for each in inner), -book.placed[unit])
    for spread in costs.spreads:
        _spread(book, spread.members, spread.weight)


def _heaped(book: Textbook, knob: int) -> None:
    """The third load on a knob pays once, the fourth twice: as many places as loads are taken."""
    costs, model, heap = book.costs, book.model, book.shape.request.weights.heap
    alike = grouped((load, each) for each, load in enumerate(costs.load))
    here = [found for own in alike.values() if (found := book.all_here(knob, tuple(own)))]
    if not heap or len(here) < 3:
        return
    spare = book.spare[knob] = [model.new() for _ in here[1:]]
    loads = [model.reached_by(variables) for variables in here]
    model.at_most((*loads, *spare), len(here))
    for before, place in enumerate(spare):
        model.goal(SHARING).pay(heap * before, -place)


def _essential(book: Textbook, knob: int) -> None:
    """Each load with something essential pays, but for the first; and what is beside them."""
    costs, model, weights = book.costs, book.model, book.shape.request.weights
    goal, weight = model.goal(SHARING), weights.essential
    everything = set(range(len(costs.voice)))
    by_voice = grouped((costs.voice[each], each) for each in costs.essential)
    sides = [(own, {a for a in everything if costs.voice[a] != v}) for v, own in by_voice.items()]
    for lead, others in (*sides, (costs.essential, everything.difference(costs.essential))):
        inner, outer = book.all_here(knob, tuple(lead)), book.all_here(knob, tuple(sorted(others)))
        if inner and outer:
            both = model.all_of(model.reached_by(inner), model.reached_by(outer))
            goal.pay(weights.company, both)
    _but_the_first(book, knob, {each: costs.load[each] for each in costs.essential}, weight)
    _but_the_first(book, knob, costs.stance, weights.held)


def _but_the_first(book: Textbook, knob: int, class_of: Mapping[int, int], weight: int) -> None:
    """Each class of some destinations that a knob has pays, but for the first."""
    alike = grouped((number, each) for each, number in class_of.items())
    here = [found for own in alike.values() if (found := book.all_here(knob, tuple(own)))]
    if len(here) > 1:
        goal = book.model.goal(SHARING)
        holding = [book.model.reached_by(variables) for variables in here]
        goal.pay(-weight, book.model.any_of(holding))
        for each in holding:
            goal.pay(weight, each)


def _travel(book: Textbook, knob: int, used: int) -> None:
    """A knob takes one of the travels wanted on it; each destination there is served by it."""
    costs, model, goal = book.costs, book.model, book.model.goal(SHARING)
    if knob in costs.missed_kept:
        for each, missed in enumerate(costs.missed_kept[knob]):
            here = book.here(each, knob)
            if here is not None:
                goal.pay(missed, here)
        return
    present = [e for e in range(len(costs.wanted)) if book.here(e, knob) is not None]
    wanting: dict[int, list[int]] = {}
    for each in present:
        wanting.setdefault(costs.wanted[each], []).append(each)
    takes = book.takes[knob] = {travel: model.new() for travel in wanting}
    model.at_most(takes.values(), 1)
    model.clause(-used, *takes.values())
    for travel, wants in wanting.items():
        model.clause(-takes[travel], *book.all_here(knob, tuple(wants)))
    unit_of = book.shape.unit_of
    for each in present:
        # Only what it may share with can bring another travel.
        mates = (*book.shape.mates[unit_of[each]], unit_of[each])
        units = {unit: None for unit in mates if (unit, knob) in book.on}
        others = {costs.wanted[inner] for unit in units for inner in book.shape.units[unit]}
        free = [takes[travel] for travel in others if not costs.missed[each][travel]]
        served = []
        here = book.on[unit_of[each], knob]
        for travel in sorted(others):
            if costs.missed[each][travel]:
                off = model.new()
                model.clause(-off, takes[travel])
                model.means(-off, (-here, -takes[travel]))
                goal.pay(costs.missed[each][travel], off)
                served.append(off)
        if served:
            model.clause(-here, *free, *served)


def _rules(book: Textbook, knob: int) -> None:
    costs, model, goal = book.costs, book.model, book.model.goal(SHARING)
    for (one, other), weight in costs.pairs.items():
        first, second = book.here(one, knob), book.here(other, knob)
        if first is not None and second is not None:
            goal.pay(weight, model.all_of(first, second))
    for inside, weight in costs.alone:
        outside = tuple(at for at in range(len(costs.kind)) if at not in inside)
        inner, outer = book.all_here(knob, tuple(inside)), book.all_here(knob, outside)
        if inner and outer:
            mixed = model.all_of(model.reached_by(inner), model.reached_by(outer))
            goal.pay(weight, mixed)


def _spread(book: Textbook, members: tuple[int, ...], weight: int) -> None:
    """Each knob more than one that carries any of these costs ``weight``."""
    goal, units = book.model.goal(SHARING), {book.shape.unit_of[each] for each in members}
    if len(units) < 2:
        return
    for knob in range(book.shape.knob_count):
        if variables := book.all_here(knob, members):
            goal.pay(weight, book.model.reached_by(variables))
    goal.pay(-weight, book.model.any_of([book.placed[unit] for unit in sorted(units)]))


def _change(book: Textbook) -> None:
    """What a knob drove, each route of it, and its travel where a route stays.

    *Sharing* is priced before, so a knob takes a travel that is cheapest there.
    """
    goal, model, costs = book.model.goal(CHANGE), book.model, book.costs
    for knob, inner in costs.drove.items():
        found = {each: book.here(each, knob) for each in inner}
        stay = list(dict.fromkeys(here for here in found.values() if here is not None))
        for each, here in found.items():
            if here is None:
                goal.constant += costs.changed_route[each]
            else:
                goal.pay(costs.changed_route[each], -here)
        if None in found.values():
            goal.constant += costs.changed_bundle
        else:
            goal.pay(costs.changed_bundle, model.reached_by([-each for each in stay]))
        if not stay or knob not in costs.had:
            continue
        keeps, had = model.reached_by(stay), costs.had[knob]
        if knob in costs.missed_kept:
            goal.pay(int(had == -1), keeps)
        elif had in book.takes[knob]:
            goal.pay(1, model.all_of(keeps, -book.takes[knob][had]))
        else:
            goal.pay(1, keeps)


def _layout(book: Textbook) -> None:
    goal = book.model.goal(LAYOUT)
    for (unit, knob), variable in book.on.items():
        inner = book.shape.units[unit]
        goal.pay(sum(book.costs.places[each][knob] for each in inner), variable)
    for word in book.costs.words:
        _runs(book, word.members, word.weight)
    for one, other in book.costs.sequence if book.shape.request.weights.sequence else ():
        if book.shape.unit_of[one] != book.shape.unit_of[other]:
            _in_sequence(book, one, other)


def _runs(book: Textbook, members: tuple[int, ...], weight: int) -> None:
    """Runs of knobs side by side that carry any of these; each more than one costs ``weight``."""
    model, goal = book.model, book.model.goal(LAYOUT)
    carries: dict[int, int] = {}
    for knob, beside in enumerate(book.costs.beside):
        variables = book.all_here(knob, members)
        if not variables:
            continue
        carries[knob] = model.any_of(variables)
        # A run starts where this knob carries some and the one beside it carries none.
        before = [-carries[knob - 1]] if beside and knob - 1 in carries else []
        goal.pay(weight, model.all_of(carries[knob], *before))
    units = sorted({book.shape.unit_of[each] for each in members})
    goal.pay(-weight, model.any_of([book.placed[unit] for unit in units]))


def _in_sequence(book: Textbook, one: int, other: int) -> None:
    """What does not lie directly after another pays, and once more where it lies before it."""
    model, goal = book.model, book.model.goal(LAYOUT)
    weight, beside = book.shape.request.weights.sequence, book.costs.beside
    there = book.placed[book.shape.unit_of[other]]
    off, before = [], []
    later: int | None = None
    for knob in reversed(range(book.shape.knob_count)):
        first, second = book.here(one, knob), book.here(other, knob)
        if second is not None and later is not None:
            before.append(model.all_of(second, later))
        if first is None:
            continue
        right = book.here(other, knob + 1) if knob + 1 < len(beside) and beside[knob + 1] else None
        met = (-each for each in (second, right) if each is not None)
        off.append(model.all_of(first, there, *met))
        # Whether the first is on this knob or a later one.
        later = model.reached_by([first, *([] if later is None else [later])])
    for each in (off, before):
        if each:
            goal.pay(weight, model.reached_by(each))
