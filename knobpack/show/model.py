"""One model of several songs: each a compact model, and between them what the show costs.

Songs that are not to be laid out now stand in it as they are, so that the same model lays out a
whole show, one song between the others, or a few songs in a row. Knobs are told apart from the
start; where no song tells them apart, the atoms of one song come in their order (value precedence:
Y. C. Law, J. H. M. Lee, CP 2004), which leaves one of all ways to name the knobs.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from functools import cached_property
from itertools import pairwise
from typing import TypeAlias, cast

import attrs

from knobpack.numbered.problem import bits
from knobpack.show.asked import Key
from knobpack.show.numbered import Numbered, Placed
from knobpack.solver.cp_sat import cp_model
from knobpack.solver.cp_sat.atoms_on_knobs import Bool, Linear, summed
from knobpack.solver.cp_sat.compact_model import CompactModel
from knobpack.solver.cp_sat.cpsat import Answer, solve
from knobpack.solver.watch import Watch
from knobpack.words import Travel
from knobpack.words.travel import hundredths

_A_HINT = 1.0
"""The effort for finding out what follows from a layout."""

Literal: TypeAlias = cp_model.IntVar | bool
"""A variable that is 0 or 1, or what it is known to be."""


class ShowModel:
    """The model of some songs of a show, the others as they are.

    Args:
        songs: all songs, in playing order.
        as_they_are: the position of each song that is not to be laid out, and how it stays.
        absent: the positions of songs that do not count yet.
        neighbours: the positions of each two songs that follow each other.
        weights: what each destination of the show counts.
    """

    def __init__(
        self,
        songs: Sequence[Numbered],
        as_they_are: Mapping[int, Placed],
        neighbours: Iterable[tuple[int, int]],
        weights: Mapping[Key, int],
        absent: Iterable[int] = (),
    ) -> None:
        gone = set(absent)
        self.songs, self.as_they_are, self.weights = songs, as_they_are, weights
        self.there = [at for at in range(len(songs)) if at not in gone]
        self.neighbours = [pair for pair in neighbours if gone.isdisjoint(pair)]
        self.knobs = songs[0].problem.knobs
        self.model = cp_model.CpModel()
        self.blocks = {
            at: CompactModel(songs[at].problem, self.model)
            for at in self.there
            if at not in as_they_are
        }
        for at, block in self.blocks.items():
            self._as_good_as_alone(songs[at], block)

    def _as_good_as_alone(self, song: Numbered, block: CompactModel) -> None:
        for tier, value in song.held.items():
            block.hold(tier, value)
        loads = [here for load in song.loads for here in block.touched(load) if here is not None]
        used = [(each, -1) for each in block.used.values()]
        self.model.add(summed([*((each, 1) for each in loads), *used]) <= song.most_joined)

    # What is made best --------------------------------------------------------------------------

    def best(self, cost: Linear, watch: Watch, *, effort: float, tidy: bool) -> Answer:
        """Make a cost least.

        Args:
            cost: the cost.
            watch: how long the search may go on.
            effort: how much of it this may take.
            tidy: whether it does not matter which knob is which.
        """
        self.model.minimize(cost)
        model = self.model
        if tidy and self._knobs_alike:
            model = model.clone()
            _precede(model, self._anchor)
        return solve(model, watch, effort=effort, linear=True)

    def tidied(self, placed: Mapping[int, Placed]) -> dict[int, Placed]:
        """The same with its knobs named as the search names them, where it does."""
        if not self._knobs_alike:
            return dict(placed)
        anchor = self._anchor
        on = next(placed[at].knobs for at, block in self.blocks.items() if block is anchor)
        atoms = (anchor.problem.atoms[number].items for number in _in_turn(anchor))
        met = [on[item] for items in atoms for item in bits(items) if item in on]
        open_to = sorted({knob for _, knob in anchor.on})
        name = dict(zip(dict.fromkeys([*met, *open_to]), open_to, strict=True))
        return {
            at: attrs.evolve(each, knobs={item: name[knob] for item, knob in each.knobs.items()})
            for at, each in placed.items()
        }

    def hold(self, cost: Linear, value: int) -> None:
        """From now on a cost is no more than ``value``."""
        self.model.add(cost <= value)

    def start_from(self, placed: Mapping[int, Placed], cost: Linear, watch: Watch) -> None:
        """Hint at how songs are laid out, and at all that follows from it.

        A hint that leaves out what follows is rarely made whole by the search. So that is solved
        for first, which takes next to nothing.
        """
        self.model.minimize(cost)
        chosen = list(self._chosen(placed))
        fixed = self.model.clone()
        for variable, value in chosen:
            fixed.add(variable == int(value))
        answer = solve(fixed, watch, effort=_A_HINT)
        proto = self.model.model_proto
        proto.clear_solution_hint()
        proto.solution_hint.vars.extend(range(len(answer.solution)))
        proto.solution_hint.values.extend(answer.solution)

    def _chosen(self, placed: Mapping[int, Placed]) -> Iterator[tuple[Bool, bool]]:
        """Where each atom is and over which travel each knob goes in such a layout."""
        for at, block in self.blocks.items():
            on = {block.atom_of[item]: knob for item, knob in placed[at].knobs.items()}
            goes = {knob: placed[at].goes[item] for item, knob in placed[at].knobs.items()}
            yield from ((v, on.get(number) == knob) for (number, knob), v in block.on.items())
            yield from ((v, number not in on) for number, v in block.out.items())
            travels = self.songs[at].travels
            for knob, chosen in block.travels.items():
                yield from ((v, goes.get(knob) == travels[each]) for each, v in chosen.items())

    def placed(self, answer: Answer) -> dict[int, Placed]:
        """How the songs are laid out in what was found."""
        if answer.value is None:
            return {}
        return {at: self._placed(at, answer.value) for at in self.blocks}

    def _placed(self, at: int, value: Callable[[Linear], int]) -> Placed:
        song, block = self.songs[at], self.blocks[at]
        on = [place for place, here in block.on.items() if value(here)]
        knobs = {i: knob for number, knob in on for i in bits(block.problem.atoms[number].items)}
        chosen = dict(song.problem.kept_travels)
        for knob, travels in block.travels.items():
            chosen.update((knob, each) for each, here in travels.items() if value(here))
        request = song.asked.request
        return Placed(
            knobs,
            {
                item: request.driven(song.names[item]) or song.travels[chosen[knob]]
                for item, knob in knobs.items()
            },
        )

    def of_songs(self, tier: str) -> Linear:
        """The value of a tier that is that of the songs, those left out that stay as they are."""
        cost = Linear.constant(0)
        for block in self.blocks.values():
            cost = cost + block.cost(tier)
        return cost

    # Where things are ---------------------------------------------------------------------------

    def _on(self, at: int, item: int, knob: int) -> Literal:
        if at in self.as_they_are:
            return self.as_they_are[at].knobs.get(item) == knob
        block = self.blocks[at]
        return block.on.get((block.atom_of[item], knob), False)

    def _out(self, at: int, item: int) -> Literal:
        if at in self.as_they_are:
            return item not in self.as_they_are[at].knobs
        block = self.blocks[at]
        return block.out.get(block.atom_of[item], False)

    def _touched(self, at: int, items: int) -> list[Literal]:
        """For each knob, whether it carries some of these items in a song."""
        if at in self.as_they_are:
            on = self.as_they_are[at].knobs
            here = {on[item] for item in bits(items) if item in on}
            return [knob in here for knob in range(self.knobs)]
        touched = self.blocks[at].touched(items)
        return [False if here is None else here for here in touched]

    def _clause(self, *literals: Literal) -> None:
        """At least one of these holds."""
        if not any(each is True for each in literals):
            self.model.add_bool_or([each for each in literals if each is not False])

    def _any(self, literals: Iterable[Literal]) -> Literal:
        """What is 1 at least where one of these is."""
        some = [each for each in literals if each is not False]
        if any(each is True for each in some):
            return True
        if len(some) < 2:
            return some[0] if some else False
        found = self.model.new_bool_var("")
        for each in some:
            self._clause(_not(each), found)
        return found

    # Relearning ---------------------------------------------------------------------------------

    @cached_property
    def points(self) -> Linear:
        """What destinations cost in *relearning*."""
        points = Linear.constant(0)
        for key, weight in self.weights.items():
            here = [
                (at, self.songs[at].item_of[key])
                for at in self.there
                if key in self.songs[at].item_of
            ]
            if not weight or len(here) < 2 or all(at in self.as_they_are for at, _ in here):
                points = points + weight * self._stays_at(here)
                continue
            met = [
                self._any(self._on(at, item, knob) for at, item in here)
                for knob in range(self.knobs)
            ]
            somewhere = self._somewhere(here, met)
            points = points + weight * (_total(met) - _total([somewhere]))
        return points

    @cached_property
    def roles(self) -> Linear:
        """What roles cost in *relearning*."""
        return self._classes({at: self.songs[at].roles for at in self.there})

    @cached_property
    def kinds(self) -> Linear:
        """What kinds cost in *relearning*."""
        return self._classes({at: self.songs[at].kinds for at in self.there})

    def _stays_at(self, here: Sequence[tuple[int, int]]) -> int:
        """On how many knobs more than one a destination is that no song can place anew."""
        if any(at not in self.as_they_are for at, _ in here):
            return 0
        found = {self.as_they_are[at].knobs.get(item) for at, item in here} - {None}
        return max(0, len(found) - 1)

    def _somewhere(self, here: Sequence[tuple[int, int]], met: Sequence[Literal]) -> Literal:
        """Whether a destination is placed in any song."""
        if any(self._out(at, item) is False for at, item in here):
            return True
        found = self.model.new_bool_var("")
        self._clause(*met, _not(found))
        return found

    def _classes(self, masks: Mapping[int, Mapping[str, int]]) -> Linear:
        """On how many knobs more each class is than in the song in which it is on most."""
        cost = Linear.constant(0)
        for what in dict.fromkeys(name for own in masks.values() for name in own):
            here = [at for at, own in masks.items() if what in own]
            if len(here) < 2:
                continue
            touched = {at: self._touched(at, masks[at][what]) for at in here}
            met = [self._any(column) for column in zip(*touched.values(), strict=True)]
            if all(at in self.as_they_are for at in here):
                most = max(sum(map(bool, touched[at])) for at in here)
                cost = cost + (sum(map(bool, met)) - most)
                continue
            more = self.model.new_int_var(0, self.knobs, "")
            widest = {at: self.model.new_bool_var("") for at in here}
            self.model.add_exactly_one(widest.values())
            for at, chosen in widest.items():
                over = _total(met) - _total(touched[at])
                self.model.add(more >= over).only_enforce_if(chosen)
            cost = cost + more
        return cost

    # Moves --------------------------------------------------------------------------------------

    @cached_property
    def moved(self) -> tuple[Linear, Linear]:
        """What bundles and destinations cost in *moves*."""
        bundles, points = Linear.constant(0), Linear.constant(0)
        for one, other in self.neighbours:
            common: dict[str, list[Key]] = {}
            for key in self.songs[one].item_of:
                if key in self.songs[other].item_of:
                    common.setdefault(key[0], []).append(key)
            for keys in common.values():
                moved = [self._moved(one, other, key) for key in keys]
                for key, each in zip(keys, moved, strict=True):
                    points = points + self.weights[key] * _total([each])
                bundles = bundles + self._bundles(one, other, keys)
        return bundles, points

    def _moved(self, one: int, other: int, key: Key) -> Literal:
        """Whether a destination changes its knob between two songs."""
        item, there = self.songs[one].item_of[key], self.songs[other].item_of[key]
        found = self.model.new_bool_var("")
        for knob in range(self.knobs):
            here, then = self._on(one, item, knob), self._on(other, there, knob)
            self._clause(_not(here), then, self._out(other, there), found)
        return found

    def _bundles(self, one: int, other: int, keys: Sequence[Key]) -> Linear:
        """How many bundles of a role move: the knobs that are left, or come to, if more."""
        sides = []
        for first, second in ((one, other), (other, one)):
            lost = []
            for knob in range(self.knobs):
                leaves = self.model.new_bool_var("")
                for key in keys:
                    item, there = self.songs[first].item_of[key], self.songs[second].item_of[key]
                    here, then = self._on(first, item, knob), self._on(second, there, knob)
                    self._clause(_not(here), then, self._out(second, there), leaves)
                lost.append(leaves)
            sides.append(summed([(each, 1) for each in lost]))
        found = self.model.new_int_var(0, self.knobs, "")
        for side in sides:
            self.model.add(found >= side)
        return Linear.constant(0) + found

    # Travels ------------------------------------------------------------------------------------

    @cached_property
    def turned(self) -> Linear:
        """What the travels of what stays on its knob cost."""
        cost = Linear.constant(0)
        for one, other in self.neighbours:
            for key in self.songs[one].item_of:
                if key in self.songs[other].item_of and self.weights[key]:
                    cost = cost + self._turned(one, other, key)
        return cost

    def _turned(self, one: int, other: int, key: Key) -> Linear:
        top, weight = self.songs[0].asked.request.surface.top, self.weights[key]
        before, after = self._goes(one, key), self._goes(other, key)
        songs, most = (self.songs[one], self.songs[other]), 0
        costs: dict[int, list[tuple[Literal, int]]] = {}
        for was, (travel, _) in enumerate(before):
            missed = [(literal, weight * hundredths(travel, goes, top)) for goes, literal in after]
            most = max([most, *(points for _, points in missed)])
            costs[was] = missed
        if not most:
            return Linear.constant(0)
        stays = self.model.new_bool_var("")
        for knob in range(self.knobs):
            here, there = (
                self._on(at, song.item_of[key], knob)
                for at, song in zip((one, other), songs, strict=True)
            )
            self._clause(_not(here), _not(there), stays)
        found = self.model.new_int_var(0, most, "")
        for was, (_, literal) in enumerate(before):
            if literal is False:
                continue
            over = Linear.constant(0)
            for then, points in costs[was]:
                over = over + points * _total([then])
            when = [stays] if literal is True else [stays, literal]
            self.model.add(found >= over).only_enforce_if(*when)
        return Linear.constant(0) + found

    def _goes(self, at: int, key: Key) -> list[tuple[Travel, Literal]]:
        """Each travel that a destination may go over in a song, and whether it does."""
        song = self.songs[at]
        item = song.item_of[key]
        own = song.asked.request.driven(song.names[item])
        if own is not None:
            return [(own, True)]
        if at in self.as_they_are:
            placed = self.as_they_are[at]
            return [(placed.goes[item], True)] if item in placed.knobs else []
        block, found = self.blocks[at], dict[int, list[Bool]]()
        number = block.atom_of[item]
        for knob in range(self.knobs):
            for travel, literal in block.goes.get((number, knob), {}).items():
                found.setdefault(travel, []).append(literal)
        return [(song.travels[each], self._any(literals)) for each, literals in found.items()]

    # Knobs that are alike -----------------------------------------------------------------------

    @cached_property
    def _knobs_alike(self) -> bool:
        """Whether any two knobs that anything may be on can be exchanged throughout."""
        if self.as_they_are:
            return False
        problems = [self.songs[at].problem for at in self.there]
        open_to = {atom.knobs for problem in problems for atom in problem.atoms if atom.knobs}
        return len(open_to) < 2 and not any(
            problem.pinned_knobs or problem.kept_travels or problem.travels_there
            for problem in problems
        )

    @cached_property
    def _anchor(self) -> CompactModel:
        """The song by which knobs are named: that with the most atoms."""
        return max(self.blocks.values(), key=lambda block: len(block.problem.atoms))


def _in_turn(block: CompactModel) -> list[int]:
    """The atoms of a song in the order in which they name the knobs, clashing ones first."""
    clashes = block.problem.clashes
    return sorted(range(len(clashes)), key=lambda number: -clashes[number].bit_count())


def _precede(model: cp_model.CpModel, block: CompactModel) -> None:
    """Let the first atoms of a song name the knobs: none is on a knob before one is on the last."""
    open_to, numbers = sorted({knob for _, knob in block.on}), _in_turn(block)
    for place, number in enumerate(numbers):
        for last, knob in pairwise(open_to):
            if (number, knob) in block.on:
                sooner = [(each, last) for each in numbers[:place] if (each, last) in block.on]
                model.add_bool_or([~block.on[number, knob], *(block.on[each] for each in sooner)])


def _not(literal: Literal) -> Literal:
    return not literal if isinstance(literal, bool) else cast("cp_model.IntVar", ~literal)


def _total(literals: Iterable[Literal]) -> Linear:
    """How many of these hold."""
    some = list(literals)
    variables = [(each, 1) for each in some if not isinstance(each, bool)]
    return summed(variables) + sum(1 for each in some if each is True)
