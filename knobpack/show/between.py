"""Between songs: what *relearning*, *moves* and travels cost in a model of several songs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence

from knobpack.grouped import grouped
from knobpack.show.asked import Key
from knobpack.show.model import Literal, ShowModel, negated
from knobpack.solver.cp_sat.atoms_on_knobs import Bool, Linear, summed
from knobpack.words import Travel
from knobpack.words.travel import distance


def points(model: ShowModel) -> Linear:
    """What destinations cost in *relearning*."""
    cost = Linear.constant(0)
    for key, weight in model.weights.items():
        here = [
            (at, model.songs[at].item_of[key])
            for at in model.there
            if key in model.songs[at].item_of
        ]
        if not weight or len(here) < 2:
            continue
        met = [
            model.any_of(model.on(at, item, knob) for at, item in here)
            for knob in range(model.knobs)
        ]
        somewhere = _somewhere(model, here, met)
        cost = cost + weight * (total(met) - total([somewhere]))
    return cost


def roles(model: ShowModel) -> Linear:
    """What roles cost in *relearning*."""
    return _classes(model, {at: model.songs[at].roles for at in model.there})


def kinds(model: ShowModel) -> Linear:
    """What kinds cost in *relearning*."""
    return _classes(model, {at: model.songs[at].kinds for at in model.there})


def _somewhere(
    model: ShowModel, here: Sequence[tuple[int, int]], met: Sequence[Literal]
) -> Literal:
    """Whether a destination is placed in any song."""
    if any(model.out(at, item) is False for at, item in here):
        return True
    found = model.cp.new_bool_var("")
    model.clause(*met, negated(found))
    return found


def _classes(model: ShowModel, masks: Mapping[int, Mapping[str, int]]) -> Linear:
    """On how many knobs more each class is than in the song in which it is on most."""
    cost = Linear.constant(0)
    for what in dict.fromkeys(name for own in masks.values() for name in own):
        here = [at for at, own in masks.items() if what in own]
        if len(here) < 2:
            continue
        touched = {at: model.touched(at, masks[at][what]) for at in here}
        met = [model.any_of(column) for column in zip(*touched.values(), strict=True)]
        if all(at in model.as_they_are for at in here):
            most = max(sum(map(bool, touched[at])) for at in here)
            cost = cost + (sum(map(bool, met)) - most)
            continue
        more = model.cp.new_int_var(0, model.knobs, "")
        widest = {at: model.cp.new_bool_var("") for at in here}
        model.cp.add_exactly_one(widest.values())
        for at, chosen in widest.items():
            over = total(met) - total(touched[at])
            model.cp.add(more >= over).only_enforce_if(chosen)
        cost = cost + more
    return cost


def moved_bundles(model: ShowModel) -> Linear:
    """What bundles cost in *moves*."""
    bundles = Linear.constant(0)
    for one, other in model.neighbours:
        for keys in grouped((key[0], key) for key in _common(model, one, other)).values():
            bundles = bundles + _bundles(model, one, other, keys)
    return bundles


def moved_points(model: ShowModel) -> Linear:
    """What destinations cost in *moves*."""
    cost = Linear.constant(0)
    for key, one, other in _counting(model):
        cost = cost + model.weights[key] * total([_moved(model, one, other, key)])
    return cost


def _common(model: ShowModel, one: int, other: int) -> list[Key]:
    """What both of two songs ask for."""
    return [key for key in model.songs[one].item_of if key in model.songs[other].item_of]


def _counting(model: ShowModel) -> Iterator[tuple[Key, int, int]]:
    """What counts for anything and both of two songs that follow each other ask for."""
    for one, other in model.neighbours:
        yield from ((key, one, other) for key in _common(model, one, other) if model.weights[key])


def _moved(model: ShowModel, one: int, other: int, key: Key) -> Literal:
    """Whether a destination changes its knob between two songs."""
    item, there = model.songs[one].item_of[key], model.songs[other].item_of[key]
    found = model.cp.new_bool_var("")
    for knob in range(model.knobs):
        here, then = model.on(one, item, knob), model.on(other, there, knob)
        model.clause(negated(here), then, model.out(other, there), found)
    return found


def _bundles(model: ShowModel, one: int, other: int, keys: Sequence[Key]) -> Linear:
    """How many bundles of a role move: the knobs that are left, or come to, if more."""
    sides = []
    for first, second in ((one, other), (other, one)):
        lost = []
        for knob in range(model.knobs):
            leaves = model.cp.new_bool_var("")
            for key in keys:
                item, there = model.songs[first].item_of[key], model.songs[second].item_of[key]
                here, then = model.on(first, item, knob), model.on(second, there, knob)
                model.clause(negated(here), then, model.out(second, there), leaves)
            lost.append(leaves)
        sides.append(summed([(each, 1) for each in lost]))
    found = model.cp.new_int_var(0, model.knobs, "")
    for side in sides:
        model.cp.add(found >= side)
    return Linear.constant(0) + found


def travels(model: ShowModel) -> Linear:
    """What the travels of what stays on its knob cost."""
    cost = Linear.constant(0)
    for key, one, other in _counting(model):
        cost = cost + _turned(model, one, other, key)
    return cost


def _turned(model: ShowModel, one: int, other: int, key: Key) -> Linear:
    top, weight = model.songs[0].asked.request.surface.top, model.weights[key]
    before, after = _goes(model, one, key), _goes(model, other, key)
    songs, most = (model.songs[one], model.songs[other]), 0
    costs: dict[int, list[tuple[Literal, int]]] = {}
    for was, (travel, _) in enumerate(before):
        missed = [(literal, weight * distance(travel, goes, top)) for goes, literal in after]
        most = max([most, *(points for _, points in missed)])
        costs[was] = missed
    if not most:
        return Linear.constant(0)
    stays = model.cp.new_bool_var("")
    for knob in range(model.knobs):
        here, there = (
            model.on(at, song.item_of[key], knob)
            for at, song in zip((one, other), songs, strict=True)
        )
        model.clause(negated(here), negated(there), stays)
    found = model.cp.new_int_var(0, most, "")
    for was, (_, literal) in enumerate(before):
        if literal is False:
            continue
        over = Linear.constant(0)
        for then, points in costs[was]:
            over = over + points * total([then])
        when = [stays] if literal is True else [stays, literal]
        model.cp.add(found >= over).only_enforce_if(*when)
    return Linear.constant(0) + found


def _goes(model: ShowModel, at: int, key: Key) -> list[tuple[Travel, Literal]]:
    """Each travel that a destination may go over in a song, and whether it does."""
    song = model.songs[at]
    item = song.item_of[key]
    own = song.asked.request.driven(song.names[item])
    if own is not None:
        return [(own, True)]
    if at in model.as_they_are:
        placed = model.as_they_are[at]
        return [(placed.goes[item], True)] if item in placed.knobs else []
    block, found = model.blocks[at], dict[int, list[Bool]]()
    number = block.problem.atom_of[item]
    for knob in range(model.knobs):
        for travel, literal in block.goes.get((number, knob), {}).items():
            found.setdefault(travel, []).append(literal)
    return [(song.travels[each], model.any_of(literals)) for each, literals in found.items()]


def total(literals: Iterable[Literal]) -> Linear:
    """How many of these hold."""
    some = list(literals)
    variables = [(each, 1) for each in some if not isinstance(each, bool)]
    return summed(variables) + sum(1 for each in some if each is True)
